"""The judge: one `Assessment` of what was heard against what was expected.

Every figure and every line that anybody sees of a call is a view of this one value. It never
guesses in the trainee's favour and never marks him down for what the recogniser was not sure of:
where it matters and the ears were in doubt, the verdict is `unsure` and the tower says "say again".
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from phraseology.elements import Element, Kind, Severity
from phraseology.expected import Expected, Silence, Slot
from phraseology.heard import Heard, HeardBy
from phraseology.parse import Parsed, parse
from phraseology.phrases import SOUND_ALIKES
from phraseology.standards import Rule


class Verdict(StrEnum):
    RIGHT = "right"
    WRONG = "wrong"
    MISSING = "missing"
    EXTRA = "extra"
    ORDER = "order"
    NONSTANDARD = "nonstandard"
    UNSURE = "unsure"


COST = {Severity.CRITICAL: 50, Severity.MAJOR: 25, Severity.MINOR: 5, Severity.NONE: 0}
"""Points of 100 that a verdict costs. Our own scale: two critical verdicts leave nothing."""

_MOOT_WHEN_REFUSED = frozenset({Kind.CLOSED, Kind.ACTION})
"""What is not done, or done instead, once the pilot has said "unable"."""

DOUBT = 0.9
"""An element whose worst word was heard with less confidence than this is not held for or against anybody.

Set where a crash of static over the callsign was in doubt in each of four voices; of calls in an unseen voice
at 20 dB about one in ten has such a word (DEVELOPERS.md, "What the ears were measured to do").
"""

NAME_DOUBT = 0.5
"""The same for the name of one's own callsign, where its figures are certain."""

HOLE_S = 0.5
"""Longer without a word than the pause of a comma: what seems to be missing may have been said there."""


_BEFORE_SPEECH_S = 0.3
"""A transmission begins so long before its first sound (the pre-roll of the end-of-speech detector)."""


@dataclass(frozen=True)
class Judged:
    """One element. `expected` and `heard` are values as people write them, "" for none."""

    element: str
    expected: str
    heard: str
    verdict: Verdict
    severity: Severity
    rule: Rule

    def as_json(self) -> dict[str, str]:
        return {
            "element": self.element,
            "expected": self.expected,
            "heard": self.heard,
            "verdict": self.verdict.value,
            "severity": self.severity.value,
            "rule": str(self.rule),
        }


@dataclass(frozen=True)
class Assessment:
    """The result. `refused` is set where the pilot answered "unable", which is always his right."""

    call: str
    title: str
    heard: str
    model_call: str
    elements: tuple[Judged, ...]
    refused: bool = False

    @property
    def critical(self) -> tuple[Judged, ...]:
        return tuple(judged for judged in self.elements if judged.severity is Severity.CRITICAL)

    @property
    def unsure(self) -> tuple[Judged, ...]:
        return tuple(judged for judged in self.elements if judged.verdict is Verdict.UNSURE)

    @property
    def accepted(self) -> bool:
        """The tower could act on it as it was meant: nothing critical, nothing major, nothing in doubt."""
        serious = (Severity.CRITICAL, Severity.MAJOR)
        return not self.unsure and all(judged.severity not in serious for judged in self.elements)

    @property
    def score(self) -> int:
        """0 to 100. What was not heard for sure costs nothing."""
        return max(0, 100 - sum(COST[judged.severity] for judged in self.elements))

    @property
    def faults(self) -> tuple[Judged, ...]:
        return tuple(judged for judged in self.elements if judged.verdict is not Verdict.RIGHT)

    def as_json(self) -> dict[str, Any]:
        """The published form of the command line's `--json`."""
        return {
            "call": self.call,
            "accepted": self.accepted,
            "score": self.score,
            "critical": [judged.element for judged in self.critical],
            "heard": self.heard,
            "model_call": self.model_call,
            "elements": [judged.as_json() for judged in self.elements],
        }


def assess(expected: Expected, heard: Heard | str) -> Assessment:
    """Judge what was heard. A string is a typed line. Silence is judged too, by `expected.silence`."""
    if isinstance(heard, str):
        heard = Heard.typed(heard)
    parsed = parse(heard, expected.context.world)
    said_something = bool(parsed.words)
    if expected.silence is Silence.REQUIRED:
        return _result(expected, parsed, _judge_silence(expected, parsed))
    if expected.silence is Silence.ALLOWED and not said_something:
        return _result(expected, parsed, [])
    refused = expected.refusable and _refuses(expected, parsed)
    slots = expected.slots
    if refused:
        slots = tuple(
            slot if slot.kind is Kind.CALLSIGN else replace(slot, missing=Severity.NONE)
            for slot in slots
            if slot.kind not in _MOOT_WHEN_REFUSED
        )
    findings = [_judge_slot(slot, parsed) for slot in slots]
    if expected.ordered:
        findings = _judge_order(expected, findings)
    findings += _judge_the_rest(expected, parsed, findings, refused)
    judged = [_give_the_benefit_of_doubt(found, heard) for found in findings]
    return replace(_result(expected, parsed, filter(None, judged)), refused=refused)


def _result(expected: Expected, parsed: Parsed, judged: Iterable[Judged]) -> Assessment:
    return Assessment(
        expected.name, expected.title, " ".join(parsed.words), expected.model_call, tuple(judged)
    )


def _refuses(expected: Expected, parsed: Parsed) -> bool:
    """ "unable", or "unable closed" where closed was approved; after a denial that only repeats it."""
    approved = any(slot.kind is Kind.CLOSED and slot.takes("approved") for slot in expected.slots)
    return parsed.has(Kind.ACK, "unable") or (approved and parsed.has(Kind.CLOSED, "denied"))


def _judge_silence(expected: Expected, parsed: Parsed) -> list[Judged]:
    if not parsed.words:
        return []
    rules = expected.context.standard.rules
    asks = parsed.has(Kind.QUERY)  # a question accepts nothing, though it was not for him to ask
    accepts = not asks and any(
        element.kind not in (Kind.BREVITY, Kind.HESITATION, Kind.STATION) for element in parsed.elements
    )
    severity = Severity.CRITICAL if accepts else Severity.MAJOR
    rule = rules["not_given"] if accepts else rules["not_for_you"]
    return [Judged("silence", "silence", " ".join(parsed.words), Verdict.WRONG, severity, rule)]


# -- the slots ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Finding:
    """A verdict and the elements it rests on; `judged` None where there is nothing to say."""

    judged: Judged | None
    taken: tuple[Element, ...] = ()
    slot: Slot | None = None


def _judge_slot(slot: Slot, parsed: Parsed) -> _Finding:
    instead = [(element, how) for how in slot.instead for element in parsed.elements if how.fits(element)]
    fitting = [element for element, _ in instead]
    own = [
        element
        for kind in (slot.kind, *sorted(slot.rivals))
        for element in parsed.all(kind)
        if element not in fitting and (slot.takes(element.value) or not _names_traffic(element, parsed, slot.say))
    ]
    wrong = [e for e in own if e.negated or e.kind is not slot.kind or not slot.takes(e.value)]
    instead = [(element, how) for element, how in instead if not element.negated]
    if wrong:
        # Said right and also wrong without a correction: the tower can not know which is meant.
        heard = " / ".join(dict.fromkeys(("not " if e.negated else "") + e.value for e in own))
        return _Finding(_entry(slot, heard, Verdict.WRONG, slot.wrong), tuple(own), slot)
    if own:
        sloppy = any(not element.standard or element.value in slot.tolerated for element in own)
        return _Finding(_understood(slot, own[0].value, full=not sloppy), tuple(own), slot)
    if instead:
        full = any(how.full and element.standard for element, how in instead)
        value = next((e.value for e, how in instead if how.full), instead[0][0].value)
        return _Finding(_understood(slot, value, full=full), tuple(e for e, _ in instead), slot)
    if slot.missing is Severity.NONE:
        return _Finding(None, (), slot)
    return _Finding(_entry(slot, "", Verdict.MISSING, slot.missing), (), slot)


def _understood(slot: Slot, heard: str, *, full: bool) -> Judged:
    return _entry(
        slot,
        heard,
        Verdict.RIGHT if full else Verdict.NONSTANDARD,
        Severity.NONE if full else Severity.MINOR,
    )


def _entry(slot: Slot, heard: str, verdict: Verdict, severity: Severity) -> Judged:
    expected = slot.say if slot.say is not None and slot.accept is not None else "any"
    return Judged(slot.kind.value, expected, heard, verdict, severity, slot.rule)


def _resembles(callsign: str, own: str | None) -> bool:
    """The same word, the same figures, or only one of the two said."""
    name, _, figures = callsign.partition(" ")
    own_name, _, own_figures = (own or "").partition(" ")
    return not figures or name == own_name or figures == own_figures or sorted(figures) == sorted(own_figures)


def _names_traffic(element: Element, parsed: Parsed, own: str | None) -> bool:
    """ "heron four two in sight", "looking for heron four two": the traffic's callsign beside one's own."""
    if element.kind is not Kind.CALLSIGN or (
        len(parsed.all(Kind.CALLSIGN)) < 2 and _resembles(element.value, own)
    ):
        return False
    return any(
        other.start == element.end or (other.end in (element.start, element.start - 1))
        for other in parsed.all(Kind.TRAFFIC)
    )


# -- what no slot asked for -----------------------------------------------------------------------

_HARMLESS = frozenset(Kind) - {
    Kind.ALTITUDE,
    Kind.ATIS,
    Kind.REQUEST,
    Kind.INTENTION,
    Kind.CLEARANCE,
    Kind.GEAR,
    Kind.ALTIMETER,
    Kind.ACTION,
    Kind.QUERY,
    Kind.WHERE,
    Kind.POINT,
    Kind.BREVITY,
    Kind.HESITATION,
}
"""Repeating these beside the call asks nobody for anything; only `Never` makes them wrong."""


def _judge_the_rest(
    expected: Expected, parsed: Parsed, findings: list[_Finding], refused: bool
) -> list[_Finding]:
    rules = expected.context.standard.rules
    used = {element for found in findings for element in found.taken}
    rest: list[_Finding] = []
    for element in parsed.elements:
        claims = element.kind is Kind.CLEARANCE
        if (element in used and not claims) or (refused and element.kind in _MOOT_WHEN_REFUSED):
            continue
        never = next((n for n in expected.never if n.forbids(element) and not element.negated), None)
        if never:
            entry = Judged(element.kind.value, "", element.value, Verdict.WRONG, never.severity, never.rule)
            rest.append(_Finding(entry, (element,)))
        elif element.kind is Kind.HESITATION:
            rest.append(_extra("hesitation", parsed, element, rules["hesitation"]))
        elif element.kind is Kind.BREVITY:
            rest.append(_extra("brevity", parsed, element, rules["brevity"]))
        elif element.kind not in _HARMLESS and (expected.ordered or _acts(element)):
            entry = Judged(
                element.kind.value, "", element.value, Verdict.EXTRA, Severity.MINOR, rules["brevity"]
            )
            rest.append(_Finding(entry, (element,)))
    if parsed.leftover:
        words = " ".join(parsed.words[place] for place in parsed.leftover)
        rest.append(_Finding(Judged("brevity", "", words, Verdict.EXTRA, Severity.MINOR, rules["brevity"])))
    return rest


def _acts(element: Element) -> bool:
    return element.kind in (Kind.ACTION, Kind.REQUEST)


def _extra(name: str, parsed: Parsed, element: Element, rule: Rule) -> _Finding:
    words = " ".join(parsed.words[element.start : element.end])
    return _Finding(Judged(name, "", words, Verdict.EXTRA, Severity.MINOR, rule), (element,))


# -- order and doubt ------------------------------------------------------------------------------


def _judge_order(expected: Expected, findings: list[_Finding]) -> list[_Finding]:
    """Mark what comes after something that should follow it.

    Held to the order are whom, who, and what the call must carry. Altitude, letter,
    runway and distance may stand anywhere behind the callsign (common practice).
    """
    rule = expected.context.standard.rules["order"]
    held = [found for found in findings if found.slot and found.taken and _is_held_to_order(found.slot)]
    late: list[_Finding] = []
    for number, found in enumerate(held):
        start = min(element.start for element in found.taken)
        if any(element.start < start for later in held[number + 1 :] for element in later.taken):
            late.append(found)
    return [
        replace(
            found, judged=replace(found.judged, verdict=Verdict.ORDER, severity=Severity.MINOR, rule=rule)
        )
        if found in late and found.judged and found.judged.verdict is Verdict.RIGHT
        else found
        for found in findings
    ]


def _is_held_to_order(slot: Slot) -> bool:
    if slot.kind in (Kind.ALTITUDE, Kind.ATIS, Kind.RUNWAY, Kind.DISTANCE):
        return False
    return slot.kind is Kind.STATION or slot.missing is not Severity.NONE


def _give_the_benefit_of_doubt(found: _Finding, heard: Heard) -> Judged | None:
    """What the ears were not sure of is neither right nor wrong where it would matter."""
    entry = found.judged
    if entry is None or heard.by is HeardBy.TYPED or entry.verdict in (Verdict.EXTRA, Verdict.ORDER):
        return entry
    doubtful = any(_is_doubtful(element, entry.verdict) for element in found.taken)
    incomplete = (
        entry.verdict is Verdict.WRONG and entry.element == Kind.CALLSIGN.value and " " not in entry.heard
    )
    doubtful = doubtful or _sounds_like_the_right_one(entry)
    if entry.verdict is Verdict.MISSING or incomplete:
        doubtful = doubtful or heard.by is HeardBy.LANGUAGE or _has_a_hole(heard)
    matters = entry.severity in (Severity.CRITICAL, Severity.MAJOR) or (
        entry.element in (Kind.CALLSIGN.value, Kind.RUNWAY.value, Kind.CLEARANCE.value)
    )
    if doubtful and matters:
        return replace(entry, verdict=Verdict.UNSURE, severity=Severity.NONE)
    return entry


def _is_doubtful(element: Element, verdict: Verdict) -> bool:
    """The name of one's own callsign has no rival but words that are nobody's: its figures settle it."""
    if element.kind is Kind.CALLSIGN and verdict in (Verdict.RIGHT, Verdict.NONSTANDARD):
        return element.figures_confidence < DOUBT or element.confidence < NAME_DOUBT
    return element.confidence < DOUBT


def _sounds_like_the_right_one(entry: Judged) -> bool:
    """ "table two one" for SABLE 21: the figures are right, and no ear tells the words apart for sure."""
    if entry.element != Kind.CALLSIGN.value:
        return False
    own, _, figures = entry.expected.partition(" ")
    return entry.heard in {f"{word.upper()} {figures}" for word in SOUND_ALIKES.get(own, ())}


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
