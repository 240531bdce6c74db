"""A drill file: one flight as an instructor briefs it."""

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, PlainValidator, WithJsonSchema
from pydantic import Field as Key

from drills.errors import quoted, suggestion
from drills.field import PointName, RunwayEnd
from drills.replies import REPLIES, CallPoint
from drills.shape import Text, Written, rule
from phraseology.phrases import LETTERS

Aircraft = Literal["turboprop_trainer", "jet_trainer", "fast_jet"]
Pace = Literal["real", "quick", "patient"]
Approach = Literal["touch_and_go", "low_approach", "stop_and_go", "option", "full_stop"]
TrafficLeg = Literal[
    "inbound", "initial", "inside_downwind", "closed_downwind", "outside_downwind", "departure"
]


WIND_PATTERN = "calm|(?:([0-9]{3})|variable)/([0-9]{1,2})(?:/([0-9]{1,2}))?"
STRONGEST_WIND_KT = 30
"""The strongest that the trainer flies."""


def _callsign(text: str) -> str:
    """FAA JO 7110.65 2-4-9: a word of 3 to 6 letters and 1 to 4 digits. Its 7 characters are a warning."""
    found = re.fullmatch(r"([A-Z]{3,6}) ([0-9]{1,4})", text)
    if not found:
        raise rule(
            f"{quoted(text)} is not a military call sign (FAA JO 7110.65 2-4-9)",
            "write a word of 3 to 6 capital letters, a space and 1 to 4 figures, such as SABLE 21",
        )
    return text


def _letter(text: str) -> str:
    if text not in LETTERS:
        raise rule(f"{quoted(text)} is not a letter of the spelling alphabet", suggestion(text, LETTERS))
    return text


def _altimeter(text: str) -> str:
    if not re.fullmatch(r"[0-9]{2}\.[0-9]{2}", text) or not 28.0 <= float(text) <= 31.5:
        raise rule(
            f"{quoted(text)} is not an altimeter setting",
            'write inches of mercury from 28.00 to 31.50 in quotes, as in "29.92"',
        )
    return text


def _wind(text: str) -> str:
    found = re.fullmatch(WIND_PATTERN, text)
    if not found:
        raise rule(
            f"{quoted(text)} is not a wind",
            'write where it comes from and its knots, "310/8", with gusts "310/8/15", or calm',
        )
    if found[1] and not 1 <= int(found[1]) <= 360:
        raise rule(f"the wind {quoted(text)} comes from no direction", "write 001 to 360, magnetic")
    speeds = [int(speed) for speed in found.groups()[1:] if speed]
    if speeds and (speeds[0] > STRONGEST_WIND_KT or speeds != sorted(speeds)):
        raise rule(
            f"the wind {quoted(text)} cannot be flown",
            f"write {STRONGEST_WIND_KT} kt at most, and gusts above the wind",
        )
    return text


def _occurrence(value: Any) -> int | str:
    if isinstance(value, int) and not isinstance(value, bool) and value >= 1:
        return value
    if value == "any":
        return "any"
    raise rule(
        f"occurrence cannot be {quoted(getattr(value, 'written', value))}",
        'write 1 for the first time, 2 for the second and so on, or "any"',
    )


Callsign = Annotated[
    str,
    AfterValidator(_callsign),
    WithJsonSchema({"type": "string", "pattern": "^[A-Z]{3,6} [0-9]{1,4}$"}),
]
Letter = Annotated[str, AfterValidator(_letter), WithJsonSchema({"enum": list(LETTERS)})]
Altimeter = Annotated[
    str,
    AfterValidator(_altimeter),
    WithJsonSchema({"type": "string", "pattern": r"^[0-9]{2}\.[0-9]{2}$"}),
]
Wind = Annotated[
    str, AfterValidator(_wind), WithJsonSchema({"type": "string", "pattern": f"^(?:{WIND_PATTERN})$"})
]
Occurrence = Annotated[
    int | str,
    PlainValidator(_occurrence),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 1}, {"const": "any"}]}),
]
Reply = Annotated[
    str, WithJsonSchema({"enum": list(dict.fromkeys(reply for of in REPLIES.values() for reply in of))})
]
Minutes = Annotated[float, Key(gt=0, le=180)]
Approaches = Annotated[tuple[Approach, ...], Key(min_length=1, max_length=30)]


class Traffic(Written):
    """Another aircraft in the pattern."""

    callsign: Callsign = Key(description="Its call sign.")
    aircraft: Aircraft = Key(description="Its class.")
    starts: TrafficLeg = Key(description="The leg of the pattern on which it appears.")
    after_s: float = Key(
        default=0.0, ge=0, le=10_800, description="When it appears, seconds after the session begins."
    )
    circuits: Approaches = Key(description="What it does on each approach, in order; then it leaves.")


class TowerStep(Written):
    """What the tower is made to answer to one call; without a step it decides from the traffic."""

    on: CallPoint = Key(description="The call that is answered.")
    occurrence: Occurrence = Key(
        default="any", description='Which call of that kind in the session, from 1, or "any".'
    )
    reply: Reply = Key(description="The answer; each call has its own.")
    point: PointName | None = Key(default=None, description="The entry point that the answer names.")
    altitude_ft: int | None = Key(
        default=None, ge=0, le=60_000, description="The altitude that the answer names, feet above sea level."
    )
    where: Literal["midfield", "departure_end"] | None = Key(
        default=None, description="Where to break, for break_at."
    )
    note: Text | None = Key(default=None, description="A word of the instructor, for the debrief.")


class Drill(Written):
    """One flight: who, where, with what traffic, and what the tower is made to answer."""

    drill: Text = Key(description="Title.")
    goal: Text = Key(description="What the trainee should be able to do afterwards.")
    expected_minutes: Minutes = Key(description="How long it usually takes, minutes.")
    field: str = Key(description='A bundled field ("corbel"), or a field file relative to this one.')
    runway: RunwayEnd = Key(description='The runway end in use, in quotes: "31".')
    callsign: Callsign = Key(description="The trainee's call sign.")
    aircraft: Aircraft = Key(description="The class of the trainee's aircraft.")
    entry_point: PointName = Key(description="The entry point by which the trainee arrives.")
    altitude_ft: int = Key(ge=0, le=60_000, description="Altitude at check-in, feet above sea level.")
    atis: Letter = Key(description="The letter word of the current ATIS information.")
    altimeter: Altimeter = Key(description='Altimeter setting, inches of mercury, in quotes: "29.92".')
    wind: Wind = Key(
        default="calm", description='Surface wind, magnetic, as in "310/8"; gusts are said only.'
    )
    pace: Pace = Key(default="real", description="How time runs between the calls.")
    time_limit_minutes: Minutes = Key(description="The session ends after this long, minutes.")
    circuits: Approaches = Key(
        description="What the trainee is to do on each approach, in order; the last ends the drill."
    )
    traffic: tuple[Traffic, ...] = Key(default=(), max_length=12, description="The other aircraft.")
    tower: tuple[TowerStep, ...] = Key(default=(), max_length=60, description="Answers forced on the tower.")
