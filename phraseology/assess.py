"""The judge: one `Assessment` of what was heard against what was expected.

It never guesses in the trainee's favour and never marks him down for what the recogniser was not sure of:
where it matters and the ears were in doubt (`doubt`), the verdict is `unsure` and the tower says "say again".
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from phraseology.assessment import COST, Assessment, Judged, Verdict
from phraseology.doubt import DOUBT, HOLE_S, NAME_DOUBT, Finding, with_doubt
from phraseology.elements import Element, Kind, Severity
from phraseology.expected import Expected, Silence, Slot
from phraseology.heard import Heard
from phraseology.numbers import NUMBER_WORDS
from phraseology.parse import Parsed, parse
from phraseology.standards import Rule

__all__ = ["COST", "DOUBT", "HOLE_S", "NAME_DOUBT", "Assessment", "Delivery", "Judged", "Verdict", "assess"]

_MOOT_WHEN_REFUSED = frozenset({Kind.CLOSED, Kind.ACTION})
"""What is not done, or done instead, once the pilot has said "unable"."""

IN_TIME_S = 3.0
"""So much before or after its place a call is still in time (our own choice: a transmission's length)."""


@dataclass(frozen=True)
class Delivery:
    """When and where the call was made, as the session saw it; the words alone do not tell.

    `early_s` and `late_s` are seconds before its place opened and after it closed. `stepped_on` is the
    station over which it was said. `out_of_place` is set where another call, or none, belonged.
    """

    early_s: float = 0.0
    late_s: float = 0.0
    stepped_on: str | None = None
    out_of_place: bool = False


def assess(expected: Expected, heard: Heard | str, delivery: Delivery | None = None) -> Assessment:
    """Judge what was heard. A string is a typed line. Silence is judged too, by `expected.silence`."""
    if isinstance(heard, str):
        heard = Heard.typed(heard)
    parsed = parse(heard, expected.context.world)
    said_something = bool(heard.words)
    if expected.silence is Silence.REQUIRED:
        return _result(expected, parsed, _judge_silence(expected, parsed, heard))
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
    standard = expected.context.standard
    asked_for = {element for found in findings if found.slot for element in found.taken}
    unused = [element for element in parsed.elements if element not in asked_for]
    judged = [entry for found in findings if (entry := with_doubt(found, parsed, heard, standard, unused))]
    if delivery is not None and said_something:
        judged += _judge_delivery(expected, delivery)
    return replace(_result(expected, parsed, judged), refused=refused)


def _judge_delivery(expected: Expected, delivery: Delivery) -> list[Judged]:
    """What was wrong about when and where it was said."""
    rules = expected.context.standard.rules
    title = expected.title.lower()
    judged: list[Judged] = []
    if delivery.out_of_place:
        judged.append(
            Judged("place", "where it belongs", title, Verdict.WRONG, Severity.MAJOR, rules["position"])
        )
    for how, seconds in (("early", delivery.early_s), ("late", delivery.late_s)):
        if seconds > IN_TIME_S:
            said = f"{seconds:.0f} s {how}"
            judged.append(Judged("timing", "in time", said, Verdict.WRONG, Severity.MINOR, rules["timing"]))
    if delivery.stepped_on is not None:
        over = f"over {delivery.stepped_on}"
        judged.append(
            Judged("timing", "a free frequency", over, Verdict.WRONG, Severity.MAJOR, rules["listen_first"])
        )
    return judged


def _result(expected: Expected, parsed: Parsed, judged: Iterable[Judged]) -> Assessment:
    return Assessment(
        expected.name, expected.title, " ".join(parsed.words), expected.model_call, tuple(judged)
    )


def _refuses(expected: Expected, parsed: Parsed) -> bool:
    """ "unable", or "unable closed" where closed was approved; after a denial that only repeats it."""
    approved = any(slot.kind is Kind.CLOSED and slot.takes("approved") for slot in expected.slots)
    return parsed.has(Kind.ACK, "unable") or (approved and parsed.has(Kind.CLOSED, "denied"))


def _judge_silence(expected: Expected, parsed: Parsed, heard: Heard) -> list[Judged]:
    """Whatever was transmitted breaks it, even what was taken back."""
    if not heard.words:
        return []
    rules = expected.context.standard.rules
    asks = parsed.has(Kind.QUERY)  # a question accepts nothing, though it was not for him to ask
    accepts = not asks and any(
        element.kind not in (Kind.BREVITY, Kind.HESITATION, Kind.STATION) for element in parsed.elements
    )
    severity = Severity.CRITICAL if accepts else Severity.MAJOR
    rule = rules["not_given"] if accepts else rules["not_for_you"]
    return [Judged("silence", "silence", heard.text, Verdict.WRONG, severity, rule)]


# -- the slots ------------------------------------------------------------------------------------


def _judge_slot(slot: Slot, parsed: Parsed) -> Finding:
    instead = [(element, how) for how in slot.instead for element in parsed.elements if how.fits(element)]
    fitting = [element for element, _ in instead]
    own = [
        element
        for kind in (slot.kind, *sorted(slot.rivals))
        for element in parsed.all(kind)
        if element not in fitting
        and (slot.takes(element.value) or not _names_traffic(element, parsed, slot.say))
    ]
    wrong = [e for e in own if e.negated or e.kind is not slot.kind or not slot.takes(e.value)]
    instead = [(element, how) for element, how in instead if not element.negated]
    if wrong:
        # Said right and also wrong without a correction: the tower can not know which is meant.
        heard = " / ".join(dict.fromkeys(("not " if e.negated else "") + e.value for e in own))
        return Finding(_entry(slot, heard, Verdict.WRONG, slot.wrong), tuple(own), slot)
    if own:
        sloppy = any(not element.standard or element.value in slot.tolerated for element in own)
        return Finding(_understood(slot, own[0].value, full=not sloppy), tuple(own), slot)
    if instead:
        full = any(how.full and element.standard for element, how in instead)
        value = next((e.value for e, how in instead if how.full), instead[0][0].value)
        return Finding(_understood(slot, value, full=full), tuple(e for e, _ in instead), slot)
    if slot.missing is Severity.NONE:
        return Finding(None, (), slot)
    return Finding(_entry(slot, "", Verdict.MISSING, slot.missing), (), slot)


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
    if element.kind is not Kind.CALLSIGN or _resembles(element.value, own):
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
    expected: Expected, parsed: Parsed, findings: list[Finding], refused: bool
) -> list[Finding]:
    rules = expected.context.standard.rules
    used = {element for found in findings for element in found.taken}
    rest: list[Finding] = []
    for element in parsed.elements:
        claims = element.kind is Kind.CLEARANCE
        if (element in used and not claims) or (refused and element.kind in _MOOT_WHEN_REFUSED):
            continue
        never = next((n for n in expected.never if n.forbids(element) and not element.negated), None)
        if never:
            entry = Judged(element.kind.value, "", element.value, Verdict.WRONG, never.severity, never.rule)
            rest.append(Finding(entry, (element,)))
        elif element.kind is Kind.HESITATION:
            rest.append(_extra("hesitation", parsed, element, rules["hesitation"]))
        elif element.kind is Kind.BREVITY:
            rest.append(_extra("brevity", parsed, element, rules["brevity"]))
        elif element.kind is Kind.ALTIMETER and parsed.words[element.start] in NUMBER_WORDS:
            figures = list(parsed.words[element.start : element.end])
            rest.append(_unread(figures, Severity.MAJOR, rules["brevity"]))
        elif element.kind not in _HARMLESS and (expected.ordered or _acts(element)):
            entry = Judged(
                element.kind.value, "", element.value, Verdict.EXTRA, Severity.MINOR, rules["brevity"]
            )
            rest.append(Finding(entry, (element,)))
    if parsed.leftover:
        words = [parsed.words[place] for place in parsed.leftover]
        any_figure = any(_is_a_figure(parsed, place) for place in parsed.leftover)
        rest.append(_unread(words, Severity.MAJOR if any_figure else Severity.MINOR, rules["brevity"]))
    return rest


_ALSO_NO_FIGURES = frozenset({"two", "four"})


def _is_a_figure(parsed: Parsed, place: int) -> bool:
    """Of what? The tower can not pass over a figure. But a lone "two" may be "to", a "four" "for"."""
    beside = {*parsed.words[max(0, place - 1) : place], *parsed.words[place + 1 : place + 2]}
    alone = parsed.words[place] in _ALSO_NO_FIGURES and not beside & NUMBER_WORDS
    return parsed.words[place] in NUMBER_WORDS and not alone


def _unread(words: list[str], severity: Severity, rule: Rule) -> Finding:
    return Finding(Judged("brevity", "", " ".join(words), Verdict.EXTRA, severity, rule))


def _acts(element: Element) -> bool:
    return element.kind in (Kind.ACTION, Kind.REQUEST)


def _extra(name: str, parsed: Parsed, element: Element, rule: Rule) -> Finding:
    words = " ".join(parsed.words[element.start : element.end])
    return Finding(Judged(name, "", words, Verdict.EXTRA, Severity.MINOR, rule), (element,))


# -- order and doubt ------------------------------------------------------------------------------


def _judge_order(expected: Expected, findings: list[Finding]) -> list[Finding]:
    """Mark what comes after something that should follow it.

    Held to the order are whom, who, and what the call must carry. Altitude, letter,
    runway and distance may stand anywhere behind the callsign (common practice).
    """
    rule = expected.context.standard.rules["order"]
    held = [found for found in findings if found.slot and found.taken and _is_held_to_order(found)]
    late: list[Finding] = []
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


def _is_held_to_order(found: Finding) -> bool:
    slot = found.slot
    if slot is None or found.taken[0].value == "declared":  # "declaring an emergency" is part of a sentence
        return False
    if slot.kind in (Kind.ALTITUDE, Kind.ATIS, Kind.RUNWAY, Kind.DISTANCE):
        return False
    return slot.kind is Kind.STATION or slot.missing is not Severity.NONE
