"""The trainee's side of the conversation: what he owes, what is due, and which call he meant."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from phraseology.assess import Assessment, Delivery, assess
from phraseology.calls import TOWER_CALLS
from phraseology.elements import Kind
from phraseology.expected import Expected
from phraseology.heard import Heard
from phraseology.parse import Parsed, parse
from trainer.session.aircraft import Aircraft
from trainer.session.owed import Owed
from trainer.tower.picture import Asked

ANYTIME = (
    "going_around",
    "breaking_out",
    "straight_through",
    "say_again",
    "unable",
    "stand_by",
    "traffic_in_sight",
    "negative_contact",
    "radio_check",
    "minimum_fuel",
    "emergency",
    "emergency_details",
    "intention",
)
"""Calls that a pilot may make wherever he is."""


@dataclass(frozen=True)
class Spoken:
    """A transmission of the trainee, read as one call or answer."""

    expected: Expected
    parsed: Parsed
    assessment: Assessment
    is_answer: bool


def due_calls(aircraft: Aircraft) -> list[Expected]:
    """The calls that belong where the aircraft is, in the order they fall due."""
    calls = [window.call for window in aircraft.open_windows()]
    if not aircraft.contact and "check_in" not in calls:
        calls.insert(0, "check_in")
    if not aircraft.contact:
        calls = [call for call in calls if call != "entry_point"]
    return [aircraft.expect(call) for call in calls]


def possible_calls(aircraft: Aircraft, due: Sequence[Expected]) -> list[Expected]:
    """Every other call of the language: sayable here, even if out of place."""
    named = {expected.name for expected in due}
    return [aircraft.expect(call) for call in TOWER_CALLS if call not in named]


def understand(
    heard: Heard,
    owed: Owed | None,
    due: Sequence[Expected],
    possible: Sequence[Expected],
    stepped_on: str | None = None,
    late_s: Mapping[str, float] | None = None,
    courtesy: Expected | None = None,
) -> Spoken:
    """Which call or answer this was: of those that its words give away, the one that fits best.

    What is owed goes before what is due, and that before anything else; words that give nothing
    away are taken as an attempt at what is owed or due. `stepped_on` is the station that was speaking,
    `late_s` how late each call is by a drill's own measure, seconds. `courtesy` is the answer that may be
    given and is not due: his callsign, "roger".
    """
    fallback = [owed.expected] if owed else list(due[:1]) or list(possible[:1])
    parsed = parse(heard, fallback[0].context.world)
    if courtesy is not None and owed is None and only_acknowledges(parsed):
        return Spoken(courtesy, parsed, assess(courtesy, heard, Delivery(stepped_on=stepped_on)), True)
    for candidates in ([owed.expected] if owed else [], due, possible):
        given_away = [expected for expected in candidates if expected.given_away_by(parsed)]
        if given_away:
            best = max(given_away, key=lambda expected: assess(expected, heard).score)
            break
    else:
        best = fallback[0]
    expected_here = [*([owed.expected] if owed else []), *due]
    out_of_place = best not in expected_here and best.name not in ANYTIME
    late = (late_s or {}).get(best.name, 0.0)
    delivery = Delivery(late_s=late, out_of_place=out_of_place, stepped_on=stepped_on)
    assessment = assess(best, heard, delivery)
    return Spoken(best, parsed, assessment, owed is not None and best is owed.expected)


def asked_by(spoken: Spoken, callsign: str, atis: str | None, intention: str | None) -> Asked:
    """The meaning of a call for the tower: what was said where it was said, else what is known."""
    said = spoken.parsed.value(Kind.INTENTION) or spoken.parsed.value(Kind.CLEARANCE)
    letter = spoken.parsed.value(Kind.ATIS)
    return Asked(
        spoken.expected.name,
        callsign,
        said or intention,
        has_atis=letter in (atis, "numbers"),
        request=spoken.parsed.value(Kind.REQUEST),
        letter=letter,
        gear=spoken.parsed.value(Kind.GEAR),
        point=spoken.parsed.value(Kind.POINT) or spoken.parsed.value(Kind.REPORT),
    )


def only_calls(parsed: Parsed, callsign: str) -> bool:
    """Nothing was said but whom and who: "corbel tower, sable two one"."""
    kinds = {element.kind for element in parsed.elements}
    return kinds == {Kind.STATION, Kind.CALLSIGN} and parsed.value(Kind.CALLSIGN) == callsign


def only_acknowledges(parsed: Parsed) -> bool:
    """Nothing was said but who, and that he has heard: "sable two one, roger"."""
    kinds = {element.kind for element in parsed.elements}
    return bool(kinds) and kinds <= {Kind.CALLSIGN, Kind.ACK}
