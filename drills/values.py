"""The values of a drill file: call signs, letters, pressures, winds, occurrences, each with its remedy."""

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, PlainValidator, WithJsonSchema
from pydantic import Field as Key

from drills.errors import quoted, suggestion
from drills.shape import rule
from phraseology.phrases import LETTERS

Aircraft = Literal["turboprop_trainer", "jet_trainer", "fast_jet"]
Pace = Literal["real", "quick", "patient"]
Hints = Literal["nothing", "words", "cue"]
StandardName = Literal["us_military_tower", "us_civil_tower", "icao", "uk_military"]
Approach = Literal["touch_and_go", "low_approach", "stop_and_go", "option", "full_stop"]
TrafficLeg = Literal[
    "inbound", "initial", "inside_downwind", "closed_downwind", "outside_downwind", "departure"
]
OwnLeg = Literal[
    "inbound",
    "entry_point",
    "ninety_to_initial",
    "forty_five_to_initial",
    "initial",
    "inside_downwind",
    "final",
    "departure",
    "closed_downwind",
    "crosswind",
    "outside_downwind",
    "breakout",
    "climb_out",
]
"""Legs on which something can happen to an aircraft."""
Nature = Literal["engine_failure", "engine_fire", "bird_strike", "smoke", "oil_pressure", "fuel_leak"]

WIND_PATTERN = "calm|(?:([0-9]{3})|variable)/([0-9]{1,2})(?:/([0-9]{1,2}))?"
MOST_DEMAND = 20
"""Aircraft an hour; more than a field's pattern has room for."""
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
    inches = re.fullmatch(r"[0-9]{2}\.[0-9]{2}", text) and 28.0 <= float(text) <= 31.5
    hectopascals = re.fullmatch(r"[0-9]{3,4}", text) and 948 <= int(text) <= 1066
    if not (inches or hectopascals):
        raise rule(
            f"{quoted(text)} is not an altimeter setting",
            'write inches of mercury from 28.00 to 31.50, as in "29.92", or a QNH, as in "1013", in quotes',
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


def _behind(text: str) -> str:
    return text if text == "departure_end" else _callsign(text)


def _listed(value: Any) -> Any:
    return value if isinstance(value, tuple) else (value,)


_CALLSIGN = {"type": "string", "pattern": "^[A-Z]{3,6} [0-9]{1,4}$"}
Callsign = Annotated[str, AfterValidator(_callsign), WithJsonSchema(_CALLSIGN)]
Behind = Annotated[
    str,
    AfterValidator(_behind),
    WithJsonSchema({"anyOf": [_CALLSIGN, {"const": "departure_end"}]}),
]
Callsigns = Annotated[
    tuple[Callsign, ...],
    BeforeValidator(_listed),
    Key(min_length=1, max_length=20),
    WithJsonSchema(
        {"anyOf": [_CALLSIGN, {"type": "array", "items": _CALLSIGN, "minItems": 1, "maxItems": 20}]}
    ),
]
Letter = Annotated[str, AfterValidator(_letter), WithJsonSchema({"enum": list(LETTERS)})]
Altimeter = Annotated[
    str,
    AfterValidator(_altimeter),
    WithJsonSchema({"type": "string", "pattern": r"^(?:[0-9]{2}\.[0-9]{2}|[0-9]{3,4})$"}),
]
Wind = Annotated[
    str, AfterValidator(_wind), WithJsonSchema({"type": "string", "pattern": f"^(?:{WIND_PATTERN})$"})
]
Occurrence = Annotated[
    int | str,
    PlainValidator(_occurrence),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 1}, {"const": "any"}]}),
]
Minutes = Annotated[float, Key(gt=0, le=180)]
Seconds = Annotated[float, Key(ge=0, le=10_800)]
Altitude = Annotated[int, Key(ge=0, le=60_000)]
Approaches = Annotated[tuple[Approach, ...], Key(min_length=1, max_length=30)]
