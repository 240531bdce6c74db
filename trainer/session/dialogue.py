"""The trainee's side of the conversation: what he owes, what is due, and which call he meant."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from phraseology.assess import Assessment, Judged, Verdict, assess
from phraseology.calls import CALLS
from phraseology.elements import Kind, Severity
from phraseology.expected import Expected
from phraseology.heard import Heard
from phraseology.parse import Parsed, parse
from phraseology.replies import Message
from trainer.session.aircraft import Aircraft
from trainer.tower.picture import Asked

ANYTIME = ("going_around", "breaking_out", "straight_through", "say_again")
"""Calls that a pilot may make wherever he is."""

OUT_OF_PLACE_RULE = "position"


@dataclass(frozen=True)
class Owed:
    """An answer that the tower waits for. `then` is the call that it acts on once it has the answer."""

    message: Message
    expected: Expected
    since: float
    repeated: int = 0
    then: Asked | None = None


@dataclass(frozen=True)
class Spoken:
    """A transmission of the trainee, read as one call or answer."""

    expected: Expected
    parsed: Parsed
    assessment: Assessment
    is_answer: bool


def due_calls(aircraft: Aircraft, contact_made: bool) -> list[Expected]:
    """The calls that belong where the aircraft is, in the order they fall due."""
    calls = [window.call for window in aircraft.open_windows()]
    if not contact_made and "check_in" not in calls:
        calls.insert(0, "check_in")
    if not contact_made:
        calls = [call for call in calls if call != "entry_point"]
    return [aircraft.expect(call) for call in calls]


def possible_calls(aircraft: Aircraft, due: Sequence[Expected]) -> list[Expected]:
    """Every other call of the language: sayable here, even if out of place."""
    named = {expected.name for expected in due}
    return [aircraft.expect(call) for call in CALLS if call not in named]


def understand(
    heard: Heard, owed: Owed | None, due: Sequence[Expected], possible: Sequence[Expected]
) -> Spoken:
    """Which call or answer this was: of those that its words give away, the one that fits best.

    What is owed goes before what is due, and that before anything else; words that give nothing
    away are taken as an attempt at what is owed or due.
    """
    fallback = [owed.expected] if owed else list(due[:1]) or list(possible[:1])
    parsed = parse(heard, fallback[0].context.world)
    for candidates in ([owed.expected] if owed else [], due, possible):
        given_away = [expected for expected in candidates if expected.given_away_by(parsed)]
        if given_away:
            best = max(given_away, key=lambda expected: assess(expected, heard).score)
            break
    else:
        best = fallback[0]
    assessment = assess(best, heard)
    expected_here = [*([owed.expected] if owed else []), *due]
    if best not in expected_here and best.name not in ANYTIME:
        assessment = _out_of_place(assessment, best)
    return Spoken(best, parsed, assessment, owed is not None and best is owed.expected)


def _out_of_place(assessment: Assessment, expected: Expected) -> Assessment:
    rule = expected.context.standard.rules[OUT_OF_PLACE_RULE]
    place = Judged("place", "where it belongs", expected.title.lower(), Verdict.WRONG, Severity.MAJOR, rule)
    return replace(assessment, elements=(*assessment.elements, place))


def asked_by(spoken: Spoken, callsign: str, atis: str | None, intention: str | None) -> Asked:
    """The meaning of a call for the tower: what was said where it was said, else what is known."""
    said = spoken.parsed.value(Kind.INTENTION) or spoken.parsed.value(Kind.CLEARANCE)
    letter = spoken.parsed.value(Kind.ATIS)
    return Asked(spoken.expected.name, callsign, said or intention, has_atis=letter in (atis, "numbers"))
