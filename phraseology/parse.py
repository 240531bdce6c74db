"""From words to elements: one reader for pilots and controllers alike.

Here the speaker's own doings are taken out of the way, hesitations and what he took back himself;
`reading` reads the rest.
"""

from collections.abc import Sequence
from dataclasses import replace

from phraseology.elements import Element, Kind
from phraseology.heard import Heard
from phraseology.numbers import NUMBER_WORDS, read_digits
from phraseology.parsed import Parsed, World
from phraseology.phrases import CORRECTION, DISREGARD, HESITATIONS, SIDES
from phraseology.reading import Reader
from phraseology.reading.cursor import Words
from phraseology.reading.names import callsign
from phraseology.reading.quantities import MILES, UNITS
from phraseology.words import tokens

__all__ = ["Parsed", "World", "parse"]

_KIN = (
    frozenset({Kind.STATION, Kind.FIELD}),
    frozenset({Kind.CLEARANCE, Kind.INTENTION}),
    frozenset({Kind.POINT, Kind.REPORT, Kind.WHERE, Kind.HOLD}),
    frozenset({Kind.POSITION, Kind.REPORT, Kind.DISTANCE, Kind.ACTION}),
)
"""Kinds that a correction may exchange: "cleared to land, correction, touch and go"."""

_NAMING = frozenset({Kind.CONDITION, Kind.FOLLOW, Kind.TRAFFIC_INFORMATION})
"""Kinds that hold another's callsign, which a correction may exchange alone."""


def parse(heard: Heard | str, world: World) -> Parsed:
    """Read a transmission. A string is taken as a typed line."""
    if isinstance(heard, str):
        heard = Heard.typed(heard)
    words: list[str] = []
    confidences: list[float] = []
    for word in heard.words:
        spoken = tokens(word.text)
        words += spoken
        confidences += [word.confidence] * len(spoken)
    # A hesitation costs its point, but "sable uh two um one" has said SABLE 21: read on without it.
    hesitations = [place for place, word in enumerate(words) if word in HESITATIONS]
    said = [place for place, word in enumerate(words) if word not in HESITATIONS]
    said = _without_what_was_taken_back(words, said, world)
    read = Reader(tuple(words[place] for place in said), [confidences[place] for place in said], world).read()
    kept = sorted(said + hesitations)
    return _put_back(read, words, confidences, said, kept)


def _put_back(
    read: Parsed, words: list[str], confidences: list[float], said: list[int], kept: list[int]
) -> Parsed:
    """What was read of the words at `said`, as indices into the words at `kept`, with the hesitations."""
    index = {place: number for number, place in enumerate(kept)}
    elements = [replace(e, start=index[said[e.start]], end=index[said[e.end - 1]] + 1) for e in read.elements]
    for number, place in enumerate(kept):
        if words[place] in HESITATIONS:
            found = Element(Kind.HESITATION, "hesitation", number, number + 1, confidence=confidences[place])
            elements.append(found)
    return Parsed(
        tuple(words[place] for place in kept),
        tuple(sorted(elements, key=lambda element: element.start)),
        tuple(index[said[place]] for place in read.leftover),
        tuple(confidences[place] for place in kept),
    )


def _without_what_was_taken_back(words: Sequence[str], said: list[int], world: World) -> list[int]:
    """Leave out what the speaker took back himself, so that only the corrected words are read."""
    spoken = [words[place] for place in said]
    if DISREGARD in spoken:
        cut = len(spoken) - spoken[::-1].index(DISREGARD)
        spoken, said = spoken[cut:], said[cut:]
    while CORRECTION in spoken:
        at = spoken.index(CORRECTION)
        drop_from = _start_of_corrected(spoken[:at], spoken[at + 1 :], world)
        spoken, said = spoken[:drop_from] + spoken[at + 1 :], said[:drop_from] + said[at + 1 :]
    return said


def _start_of_corrected(before: list[str], after: list[str], world: World) -> int:
    """Index of the first word that "correction" takes back.

    Figures take back figures, else an element takes back its like.
    """
    if after and after[0] in NUMBER_WORDS:
        new = read_digits(after, 0, 5)
        start, figures = len(before), 0
        while start and before[start - 1] in MILES:
            start -= 1
        while start and before[start - 1] in NUMBER_WORDS and new and figures < len(new.figures):
            start -= 1
            figures += 1
        if figures:
            return start
    if before and after and before[-1] in NUMBER_WORDS and after[0] in UNITS:
        return len(before) - 1  # "three, correction, thousand": no figure is left to it
    if before and after and before[-1] in SIDES and after[0] in SIDES:
        return len(before) - 1
    certain = [1.0] * max(len(before), len(after))
    old = Reader(tuple(before), certain, world).read().elements
    following = Reader(tuple(after), certain, world).read().elements
    if old and following:
        kind = following[0].kind
        if kind is Kind.CALLSIGN and old[-1].kind in _NAMING:
            return _last_name(before, old[-1].start, world)
        if kind is Kind.ATIS and old[-1].kind is Kind.ATIS and following[0].end == 1:
            return old[-1].end - 1
        kin = {kind}.union(*(kinds for kinds in _KIN if kind in kinds))
        alike = [e for e in old if e.kind is kind] or [e for e in old if e.kind in kin]
        if alike:
            return alike[-1].start
    return old[-1].end if old else 0  # words that say nothing yet are what he thought better of


def _last_name(before: list[str], start: int, world: World) -> int:
    """Where the last callsign in the words from `start` begins."""
    words = Words(tuple(before), world)
    places = [at for at in range(start, len(before)) if (name := callsign(words, at)) and " " in name.value]
    return places[-1] if places else start
