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
from phraseology.expected import Expected, Instead, Silence, Slot
from phraseology.heard import Heard, HeardBy
from phraseology.parse import Parsed, parse
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

DOUBT = 0.6
"""An element whose worst word was heard with less confidence than this is not held for or against anybody."""


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
    refused = expected.refusable and parsed.has(Kind.ACK, "unable")
    slots = expected.slots
    if refused:
        slots = tuple(replace(slot, missing=Severity.NONE) if slot.kind is not Kind.CALLSIGN else slot for slot in slots)
    judged, used = _judge_slots(slots, parsed)
    judged += _judge_the_rest(expected, parsed, used, refused)
    if expected.ordered:
        judged = _judge_order(expected, judged, parsed)
    judged = [_give_the_benefit_of_doubt(entry, heard, parsed) for entry in judged]
    return replace(_result(expected, parsed, judged), refused=refused)


def _result(expected: Expected, parsed: Parsed, judged: Iterable[Judged]) -> Assessment:
    return Assessment(expected.name, expected.title, " ".join(parsed.words), expected.model_call, tuple(judged))


def _judge_silence(expected: Expected, parsed: Parsed) -> list[Judged]:
    if not parsed.words:
        return []
    rules = expected.context.standard.rules
    accepts = any(
        element.kind not in (Kind.BREVITY, Kind.HESITATION, Kind.STATION, Kind.QUERY) for element in parsed.elements
    )
    severity = Severity.CRITICAL if accepts else Severity.MAJOR
    rule = rules["not_given"] if accepts else rules["not_for_you"]
    return [Judged("silence", "silence", " ".join(parsed.words), Verdict.WRONG, severity, rule)]


# -- the slots ------------------------------------------------------------------------------------


def _judge_slots(slots: tuple[Slot, ...], parsed: Parsed) -> tuple[list[Judged], set[Element]]:
    judged: list[Judged] = []
    used: set[Element] = set()
    for slot in slots:
        own = [element for element in parsed.all(slot.kind) if not _names_traffic(element, parsed)]
        others = [
            (element, instead) for instead in slot.instead for element in parsed.elements if instead.fits(element)
        ]
        fitting = [element for element, _ in others]
        own += [e for kind in slot.rivals for e in parsed.all(kind) if e not in fitting]
        entry, taken = _judge_slot(slot, own, others)
        used.update(taken)
        if entry is not None:
            judged.append(entry)
    return judged, used


def _judge_slot(
    slot: Slot, own: list[Element], others: list[tuple[Element, Instead]]
) -> tuple[Judged | None, list[Element]]:
    wrong = [e for e in own if e.negated or e.kind is not slot.kind or not slot.takes(e.value)]
    right = [element for element in own if element not in wrong]
    instead = [(element, how) for element, how in others if not element.negated]
    if wrong:
        worst = wrong[0]
        # Said right and also wrong without a correction: the tower can not know which is meant.
        heard = " / ".join(dict.fromkeys(("not " if e.negated else "") + e.value for e in own))
        entry = _entry(slot, heard if len(own) > 1 or worst.negated else worst.value, Verdict.WRONG, slot.wrong)
        return entry, own
    if right:
        sloppy = any(not element.standard or element.value in slot.tolerated for element in right)
        verdict = Verdict.NONSTANDARD if sloppy else Verdict.RIGHT
        return _entry(slot, right[0].value, verdict, Severity.MINOR if sloppy else Severity.NONE), own
    if instead:
        full = any(how.full and element.standard for element, how in instead)
        element = next((e for e, how in instead if how.full), instead[0][0])
        verdict = Verdict.RIGHT if full else Verdict.NONSTANDARD
        entry = _entry(slot, element.value, verdict, Severity.NONE if full else Severity.MINOR)
        return entry, [e for e, _ in instead]
    if slot.missing is Severity.NONE:
        return None, []
    return _entry(slot, "", Verdict.MISSING, slot.missing), []


def _entry(slot: Slot, heard: str, verdict: Verdict, severity: Severity) -> Judged:
    expected = slot.say if slot.say is not None else "any"
    return Judged(slot.kind.value, expected, heard, verdict, severity, slot.rule)


def _names_traffic(element: Element, parsed: Parsed) -> bool:
    """ "heron four two in sight": the callsign of the traffic, not one's own."""
    return element.kind is Kind.CALLSIGN and any(
        other.kind is Kind.TRAFFIC and other.start == element.end for other in parsed.elements
    )


# -- what no slot asked for -----------------------------------------------------------------------

_HARMLESS = frozenset({Kind.STATION, Kind.ACK, Kind.WIND, Kind.TRAFFIC, Kind.FOLLOW, Kind.SEQUENCE, Kind.POSITION,
                       Kind.REPORT, Kind.CALLSIGN, Kind.RUNWAY, Kind.BREAK, Kind.CLOSED, Kind.OVERHEAD})  # fmt: skip
"""Repeating these beside the call asks nobody for anything; only `Never` makes them wrong."""


def _judge_the_rest(expected: Expected, parsed: Parsed, used: set[Element], refused: bool) -> list[Judged]:
    rules = expected.context.standard.rules
    judged: list[Judged] = []
    for element in parsed.elements:
        claims = element.kind is Kind.CLEARANCE
        if (element in used and not claims) or (refused and element.kind is Kind.CLOSED):
            continue
        never = next((n for n in expected.never if n.forbids(element) and not element.negated), None)
        if never:
            judged.append(Judged(element.kind.value, "", element.value, Verdict.WRONG, never.severity, never.rule))
        elif element.kind is Kind.HESITATION:
            judged.append(_extra("hesitation", parsed, element, rules["hesitation"]))
        elif element.kind is Kind.BREVITY:
            judged.append(_extra("brevity", parsed, element, rules["brevity"]))
        elif element.kind not in _HARMLESS and not (expected.ordered is False and not _acts(element)):
            judged.append(Judged(element.kind.value, "", element.value, Verdict.EXTRA, Severity.MINOR, rules["brevity"]))
    if parsed.leftover:
        words = " ".join(parsed.words[place] for place in parsed.leftover)
        judged.append(Judged("brevity", "", words, Verdict.EXTRA, Severity.MINOR, rules["brevity"]))
    return judged


def _acts(element: Element) -> bool:
    return element.kind in (Kind.ACTION, Kind.REQUEST)


def _extra(name: str, parsed: Parsed, element: Element, rule: Rule) -> Judged:
    words = " ".join(parsed.words[element.start : element.end])
    return Judged(name, "", words, Verdict.EXTRA, Severity.MINOR, rule)


# -- order and doubt ------------------------------------------------------------------------------


def _judge_order(expected: Expected, judged: list[Judged], parsed: Parsed) -> list[Judged]:
    """Mark what stands before the callsign, or the callsign itself where it comes last."""
    callsign = next((e for e in parsed.all(Kind.CALLSIGN) if e.value == expected.context.callsign), None)
    if callsign is None:
        return judged
    asked = {slot.kind for slot in expected.slots} - {Kind.STATION, Kind.CALLSIGN}
    if not any(element.kind in asked and element.start < callsign.start for element in parsed.elements):
        return judged
    rule = expected.context.standard.rules["order"]
    return [
        replace(entry, verdict=Verdict.ORDER, severity=Severity.MINOR, rule=rule)
        if entry.element == Kind.CALLSIGN.value and entry.verdict is Verdict.RIGHT
        else entry
        for entry in judged
    ]


def _give_the_benefit_of_doubt(entry: Judged, heard: Heard, parsed: Parsed) -> Judged:
    """What the ears were not sure of is neither right nor wrong where it would matter."""
    if heard.by is HeardBy.TYPED or entry.verdict in (Verdict.EXTRA, Verdict.ORDER):
        return entry
    spans = [e for e in parsed.elements if e.kind.value == entry.element]
    doubtful = any(element.confidence < DOUBT for element in spans)
    if entry.verdict is Verdict.MISSING:
        doubtful = heard.by is HeardBy.LANGUAGE
    matters = entry.severity in (Severity.CRITICAL, Severity.MAJOR) or (
        entry.element in (Kind.CALLSIGN.value, Kind.RUNWAY.value, Kind.CLEARANCE.value)
    )
    if doubtful and matters:
        return replace(entry, verdict=Verdict.UNSURE, severity=Severity.NONE)
    return entry
