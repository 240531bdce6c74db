"""One pass over the words of a transmission: which element starts where."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

from phraseology.elements import Element, Kind
from phraseology.numbers import NUMBER_WORDS, read_digits
from phraseology.parsed import Parsed, World
from phraseology.phrases import AIRCRAFT_TYPES, CONNECTIVES, LETTERS, NEGATIONS, PHRASES, SIDES
from phraseology.reading import composite, fixed, names, quantities
from phraseology.reading.cursor import Words

_NEVER_NEGATED = frozenset({Kind.CALLSIGN, Kind.STATION, Kind.FIELD, Kind.BREVITY, Kind.HESITATION})
"""Everything else is turned round by a negation right before it."""

_ReadsAt = Callable[[Words, int], Element | None]
_TYPES = frozenset(name.split()[0] for name in AIRCRAFT_TYPES)
_SEEN = frozenset(
    form.split()[0]
    for entry in PHRASES
    if entry.kind is Kind.TRAFFIC
    for form in (*entry.forms, *entry.careless)
)
_NUMBERS = frozenset(NUMBER_WORDS)
_PEOPLE = frozenset({"souls", "soul", "persons", "people", "pob"})

_READERS: tuple[tuple[frozenset[str] | None, _ReadsAt], ...] = (
    (frozenset({"all", "word", "the", "your"}) | fixed.ITEMS, fixed.part),
    (frozenset({"report"}), composite.report),
    (frozenset({"follow", "following"}), composite.follow),
    (frozenset({"traffic"}), composite.traffic_information),
    (_TYPES | _SEEN, composite.sighting),
    (frozenset({"after", "behind", "at"}), composite.condition),
    (frozenset({"hold", "holding"}), composite.hold),
    (None, composite.unavailable),
    (None, names.station),
    (None, names.field),
    (frozenset({"runway"}), quantities.runway),
    (frozenset({"wind", "surface"}), quantities.wind),
    (_NUMBERS | {"altimeter"}, quantities.altimeter),
    (frozenset({"qnh"}), quantities.qnh),
    (frozenset({"heading"}), quantities.heading),
    (_NUMBERS, quantities.frequency),
    (frozenset({"time"}), quantities.time),
    (_NUMBERS | {"fuel", "remaining"}, quantities.fuel),
    (_NUMBERS | _PEOPLE, quantities.souls),
    (_NUMBERS | {"speed"}, quantities.speed),
    (frozenset({"break", "breaking"}), quantities.break_after),
    (frozenset({"readability", "read", "reading"}), quantities.readability),
    (None, names.callsign),
    (frozenset({"flight"}), names.flight),
    (frozenset({"number"}), quantities.sequence),
    (_NUMBERS, quantities.where),
    (_NUMBERS, quantities.where_in_short),
    (_NUMBERS, quantities.distance),
    (_NUMBERS | {"flight"}, quantities.altitude),
    (frozenset({"have", "with", "information", *LETTERS}), fixed.atis),
    (SIDES, fixed.side),
    (None, fixed.phrase),
    (None, names.point),
)
"""In this order each is asked what starts at a place: what goes on further goes before what stops sooner.

With the words that it can start with; None is any word.
"""


@cache
def _readers_of(word: str) -> tuple[_ReadsAt, ...]:
    return tuple(reads for starts, reads in _READERS if starts is None or word in starts)


class Reader:
    """One pass over the words; `confidences` has one entry a word."""

    def __init__(self, words: tuple[str, ...], confidences: Sequence[float], world: World) -> None:
        self._words = Words(words, world)
        self._confidences = confidences

    def read(self) -> Parsed:
        elements: list[Element] = []
        leftover: list[int] = []
        said = self._words.said
        at = 0
        while at < len(said):
            element = next(
                (found for reads in _readers_of(said[at]) if (found := reads(self._words, at))), None
            )
            if element is None:
                leftover.append(at)
                at += 1
                continue
            side = fixed.side_within(self._words, element)
            elements += [self._finish(found) for found in (side, element) if found]
            at = element.end
        elements, leftover = self._rescue_figures(elements, leftover)
        meaningless = tuple(
            place for place in leftover if said[place] not in CONNECTIVES and said[place] not in NEGATIONS
        )
        return Parsed(said, tuple(elements), meaningless)

    def _finish(self, element: Element) -> Element:
        before = element.start - 1
        while self._words.at(before) in ("a", "the", "for", "be"):
            before -= 1
        negated = element.kind not in _NEVER_NEGATED and self._words.at(before) in NEGATIONS
        confidence = min(self._confidences[element.start : element.end], default=1.0)
        figures = min(self._confidences[element.start + 1 : element.end], default=1.0)
        return replace(element, negated=negated, confidence=confidence, figures_confidence=figures)

    # -- figures without their word ----------------------------------------------------------------

    def _rescue_figures(
        self, elements: list[Element], leftover: list[int]
    ) -> tuple[list[Element], list[int]]:
        """Give runs of bare figures a kind: a callsign, a runway or an altitude without its word.

        What can be none of them stays left over.
        """
        kept: list[int] = []
        at = 0
        while at < len(leftover):
            first = last = leftover[at]
            while self._words.at(last) in NUMBER_WORDS and last in leftover[at:]:
                last += 1
            found = self._bare_figures(first, last, elements)
            if found:
                elements.append(self._finish(found))
            else:
                kept += range(first, max(last, first + 1))
            at += max(last - first, 1)
        return sorted(elements, key=lambda element: element.start), kept

    def _bare_figures(self, first: int, last: int, elements: list[Element]) -> Element | None:
        number = read_digits(self._words.said[:last], first, 8)
        if number is None or number.length < last - first or self._words.at(last) in quantities.UNITS:
            return None
        count, value = len(number.figures), int(number.figures)
        if count in (4, 5) and number.figures.endswith("00") and value:
            return Element(Kind.ALTITUDE, str(value), first, last, standard=False)
        if not any(element.kind is Kind.CALLSIGN for element in elements):
            return Element(Kind.CALLSIGN, number.figures, first, last, standard=False)
        if count == 2 and 1 <= value <= 36:
            return Element(Kind.RUNWAY, str(value), first, last, standard=False)
        return None
