"""One place and flight of the demo world in which every call and reply can be shown and tested.

Data, and the `Context` and `Message` made of it: SABLE 21, alone, at Corbel Field or at Wickstone.
"""

from dataclasses import dataclass
from typing import Any

from phraseology.calls import CALLS
from phraseology.elements import Kind
from phraseology.expected import Context
from phraseology.parse import World
from phraseology.replies import Message, message
from phraseology.standards import Standard


@dataclass(frozen=True)
class Place:
    """A field of the demo world; `runway` is in use, `other_runway` is the one of a runway change.

    `pattern_ft` and `breakout_ft` are altitudes above sea level.
    """

    name: str
    runway: str
    other_runway: str
    wind: str
    pattern_ft: int
    breakout_ft: int


_CORBEL = Place("corbel", "31", "13", "310/8", 2700, 3700)
_WICKSTONE = Place("wickstone", "08L", "26R", "080/8", 1800, 2800)
_PLACE_OF = {"icao": _WICKSTONE, "uk_military": _WICKSTONE}
"""Where the example is flown, if not at Corbel Field."""

_CALLSIGN = "SABLE 21"

_WHEN_CALLING: dict[str, dict[str, Any]] = {
    "check_in": {"altitude_ft": 3500},
    "announce_inbound": {"altitude_ft": 3500},
    "straight_through": {"position": "initial"},
    "gear_report": {"position": "perch"},
    "going_around": {"position": "final"},
    "request_closed": {"position": "upwind"},
    "breaking_out": {"position": "initial"},
}
"""What the example flight's context is at a call, where it is not the usual one."""

_AT_BREAKOUT_ALTITUDE = frozenset({"climbing_out", "breaking_out", "closed_denied_climb_out"})
"""Calls and replies whose altitude is that of a breakout, not of the pattern."""

SAID_FOR_INSTANCE: dict[Kind, str] = {
    Kind.FLIGHT: "2",
    Kind.PART: "all_after runway",
    Kind.ACTION: "going_around",
    Kind.REQUEST: "straight_in",
    Kind.INTENTION: "full_stop",
    Kind.FUEL: "20",
    Kind.SOULS: "2",
}
"""A value for an element of which a call fixes none."""

_FIELDS: dict[Kind, str] = {
    Kind.ALTIMETER: "2992",
    Kind.QNH: "1013",
    Kind.REPORT: "QUARRY",
    Kind.SIDE: "left",
    Kind.HOLD: "QUARRY",
    Kind.UNAVAILABLE: "QUARRY",
    Kind.ATIS: "alfa",
    Kind.CLEARANCE: "touch_and_go",
    Kind.SEQUENCE: "2",
    Kind.FOLLOW: "jet_trainer inside_downwind",
    Kind.CONDITION: "after traffic initial",
    Kind.TRAFFIC_INFORMATION: "jet_trainer initial 3",
    Kind.READABILITY: "5",
    Kind.TIME: "0710",
    Kind.HEADING: "130",
    Kind.SPEED: "200",
    Kind.FREQUENCY: "118.1",
}
"""A value for every field of the replies that is the same everywhere."""

_FIELDS_OF: dict[str, dict[Kind, str]] = {
    "overhead_approved": {Kind.REPORT: "initial 3"},
    "overhead_denied": {Kind.REPORT: "final 5"},
    "entry_not_available": {Kind.REPORT: "SILO"},
    "report": {Kind.REPORT: "initial 3"},
    "straight_through": {Kind.REPORT: "outside_downwind"},
    "break_at": {Kind.BREAK: "midfield"},
    "break_in": {Kind.BREAK: "in 5"},
    "go_around": {Kind.REPORT: "outside_downwind"},
    "closed_denied_climb_out": {Kind.REPORT: "SILO"},
    "closed_denied_outside": {Kind.REPORT: "initial"},
    "emergency_in_pattern": {Kind.ACTION: "breaking_out"},
}
"""The fields of one reply, where they are not the usual ones."""


def _place(standard: Standard) -> Place:
    return _PLACE_OF.get(standard.name, _CORBEL)


def _altitude_ft(name: str, place: Place) -> int:
    return place.breakout_ft if name in _AT_BREAKOUT_ALTITUDE else place.pattern_ft


def example_context(standard: Standard, call: str = "") -> Context:
    """The example flight, SABLE 21 alone, with everything fixed that the call `call` can be held to."""
    place = _place(standard)
    unattended = call in CALLS and CALLS[call].without_tower
    context = Context(
        standard=standard,
        world=World(points=frozenset({"QUARRY", "SILO", "WEIR"})),
        callsign=_CALLSIGN,
        runway=place.runway,
        station=f"{place.name} {'traffic' if unattended else 'tower'}",
        intention="touch_and_go",
        point="QUARRY",
        altitude_ft=_altitude_ft(call, place),
        distance_nm=3,
        atis="alfa",
        position="inside_downwind",
        where="10 west",
        side="left",
        nature="engine_failure",
        fuel_min=20,
        souls=2,
    )
    return context.with_(**_WHEN_CALLING.get(call, {}))


def example_message(reply: str, standard: Standard) -> Message:
    """The reply as the tower says it to the example flight, with all that it can carry."""
    place = _place(standard)
    fields = _FIELDS | {
        Kind.RUNWAY: place.runway,
        Kind.WIND: place.wind,
        Kind.ALTITUDE: str(_altitude_ft(reply, place)),
    }
    if reply == "runway_change":
        fields[Kind.RUNWAY] = place.other_runway
    if reply not in ("altimeter", "qnh"):
        del fields[Kind.ALTIMETER if standard.numbers.pressure == "qnh" else Kind.QNH]
    return message(reply, _CALLSIGN, fields | _FIELDS_OF.get(reply, {}))
