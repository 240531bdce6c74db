"""What the ears were not sure of is neither right nor wrong where it would matter.

A recogniser errs most where two words sound alike. So an element whose words were unclear is in doubt,
and one that differs from the right one only by a sound-alike ("table" for "sable") needs surer ears before
it is held against anybody. It works one way only: nothing doubtful ever becomes right.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from phraseology.alignment import Op, align
from phraseology.assessment import Judged, Verdict
from phraseology.elements import Element, Kind, Severity
from phraseology.errors import PhraseologyError
from phraseology.expected import Slot
from phraseology.heard import Heard, HeardBy
from phraseology.likeness import ALIKE, likeness
from phraseology.parse import Parsed
from phraseology.render import say
from phraseology.standards import Standard
from phraseology.words import tokens

DOUBT = 0.85
"""An element whose worst word was heard with less confidence than this is not held for or against anybody.

At the costs of DEVELOPERS.md ("Ears"), with `NAME_DOUBT`, the cheapest on both halves of 1,360 calls in
unseen voices; in a later run on one half only, where 0.6 was cheaper on the other.
"""

NAME_DOUBT = 0.7
"""The same for the name of one's own callsign, where its figures are certain."""

SURE_OF_A_RIVAL = 0.995
"""A word that sounds like the right one is held against the speaker only from this confidence on."""

HOLE_S = 0.5
"""Longer without a word than the pause of a comma: what seems to be missing may have been said there."""

_BEFORE_SPEECH_S = 0.3
"""A transmission begins so long before its first sound (the pre-roll of the end-of-speech detector)."""

_ALWAYS_MATTER = frozenset({Kind.CALLSIGN.value, Kind.RUNWAY.value, Kind.CLEARANCE.value})


@dataclass(frozen=True)
class Finding:
    """A verdict and the elements it rests on; `judged` None where there is nothing to say."""

    judged: Judged | None
    taken: tuple[Element, ...] = ()
    slot: Slot | None = None


def with_doubt(
    found: Finding, parsed: Parsed, heard: Heard, standard: Standard, unused: Sequence[Element] = ()
) -> Judged | None:
    """The verdict, or `UNSURE` where it matters and the ears were in doubt. A typed line is certain.

    `unused` are the elements that no part of the call asked for.
    """
    entry = found.judged
    if entry is None or heard.by is HeardBy.TYPED or entry.verdict in (Verdict.EXTRA, Verdict.ORDER):
        return entry
    matters = entry.severity in (Severity.CRITICAL, Severity.MAJOR) or entry.element in _ALWAYS_MATTER
    if matters and _in_doubt(entry, found, parsed, heard, standard, unused):
        return replace(entry, verdict=Verdict.UNSURE, severity=Severity.NONE)
    return entry


def _in_doubt(
    entry: Judged,
    found: Finding,
    parsed: Parsed,
    heard: Heard,
    standard: Standard,
    unused: Sequence[Element],
) -> bool:
    if any(_is_unclear(element, entry.verdict) for element in found.taken):
        return True
    if entry.verdict is Verdict.WRONG and _is_a_rival(found, parsed, standard):
        return True
    half = entry.verdict is Verdict.WRONG and entry.element == Kind.CALLSIGN.value and " " not in entry.heard
    if entry.verdict is not Verdict.MISSING and not half:
        return False
    if any(element.confidence < SURE_OF_A_RIVAL for element in unused):
        return True  # what nobody asked for, and was not clear, may have been just what is missing
    return heard.by is HeardBy.LANGUAGE or _has_a_hole(heard) or _may_have_been_said(found, parsed, standard)


def _is_unclear(element: Element, verdict: Verdict) -> bool:
    """The name of one's own callsign has no rival but words that are nobody's: its figures settle it."""
    if element.kind is Kind.CALLSIGN and verdict in (Verdict.RIGHT, Verdict.NONSTANDARD):
        return element.figures_confidence < DOUBT or element.confidence < NAME_DOUBT
    return element.confidence < DOUBT


def _is_a_rival(found: Finding, parsed: Parsed, standard: Standard) -> bool:
    """It differs from the right value only in sound-alikes of its words, and those were not certain."""
    right = _model_words(found.slot, standard)
    if not right or len(found.taken) != 1:
        return False
    element = found.taken[0]
    said = parsed.words[element.start : element.end]
    differing = [
        (place, word, wanted)
        for place, (word, wanted) in enumerate(zip(said, right, strict=False), element.start)
        if word != wanted
    ]
    if len(said) != len(right) or not differing:
        return False
    return all(
        likeness(word, wanted) >= ALIKE and parsed.confidence(place) < SURE_OF_A_RIVAL
        for place, word, wanted in differing
    )


def _may_have_been_said(found: Finding, parsed: Parsed, standard: Standard) -> bool:
    """In its place stands an uncertain word that means nothing and sounds like one of the missing ones."""
    wanted = _model_words(found.slot, standard)
    if not wanted or not parsed.leftover:
        return False
    steps = align(wanted, parsed.words, phonetic=True)
    return any(
        step.op is Op.SUBSTITUTE
        and step.heard in parsed.leftover
        and likeness(wanted[step.expected], parsed.words[step.heard]) >= ALIKE
        and parsed.confidence(step.heard) < SURE_OF_A_RIVAL
        for step in steps
    )


def _model_words(slot: Slot | None, standard: Standard) -> Sequence[str]:
    if slot is None or slot.say is None:
        return ()
    try:
        return tokens(say(slot.kind, slot.say, standard))
    except PhraseologyError:
        return ()


def _has_a_hole(heard: Heard) -> bool:
    """Somewhere before or between the words there was time for another one."""
    last = _BEFORE_SPEECH_S
    for word in heard.words:
        if word.start is None or word.end is None:
            return False
        if word.start - last > HOLE_S:
            return True
        last = word.end
    return False
