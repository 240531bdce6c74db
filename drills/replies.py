"""Which replies a drill may force on the tower at which call, and what each reply needs said with it.

One table, in the words of the trade; the tower turns a name into the message that is spoken.
"""

from typing import Literal, get_args

CallPoint = Literal[
    "check_in",
    "entry_point",
    "initial",
    "break_report",
    "gear_report",
    "final",
    "request_closed",
    "outside_downwind",
]
"""The calls of the trainee that the tower answers."""

CALL_POINTS: tuple[CallPoint, ...] = get_args(CallPoint)

SILENCE = "silence"
"""No reply of the language: the tower says nothing, and the call has to be made again."""
BACK = ("say_again", "say_callsign", "say_position", "say_intentions", SILENCE)
"""What may come back to any call."""
_LANDING = (
    "cleared",
    "cleared_in_sequence",
    "sequence",
    "continue_approach",
    "extend_downwind",
    "short_approach",
    "three_sixty",
    "go_around",
    "check_wheels_down",
    "confirm_gear",
)

REPLIES: dict[CallPoint, tuple[str, ...]] = {
    "check_in": (
        "overhead_approved",
        "overhead_denied",
        "remain_outside",
        "hold_at",
        "entry_not_available",
        "verify_information",
        "runway_change",
        "say_altitude",
        "stand_by",
        *BACK,
    ),
    "entry_point": ("report_initial", "hold_at", "remain_outside", "overhead_denied", "stand_by", *BACK),
    "initial": (
        "break_approved",
        "report_break",
        "break_at",
        "break_in",
        "break_at_my_call",
        "break_in_sequence",
        "straight_through",
        "breakout",
        *BACK,
    ),
    "break_report": ("roger", *BACK),
    "gear_report": (*_LANDING, *BACK),
    "final": (
        *(each for each in _LANDING if each not in ("extend_downwind", "short_approach", "three_sixty")),
        *BACK,
    ),
    "request_closed": (
        "closed_approved",
        "closed_approved_when",
        "closed_denied_breakout",
        "closed_denied_climb_out",
        "closed_denied_outside",
        "extend_upwind",
        "stand_by",
        *BACK,
    ),
    "outside_downwind": ("report_initial", SILENCE, "say_again"),
}

TAKES: dict[str, frozenset[str]] = {
    "breakout": frozenset({"point"}),
    "closed_denied_breakout": frozenset({"point"}),
    "closed_denied_climb_out": frozenset({"point", "altitude_ft"}),
    "entry_not_available": frozenset({"point"}),
    "hold_at": frozenset({"point"}),
    "break_at": frozenset({"where"}),
    "break_in": frozenset({"seconds"}),
    "break_in_sequence": frozenset({"traffic"}),
    "sequence": frozenset({"traffic"}),
    "cleared_in_sequence": frozenset({"traffic"}),
    "closed_approved_when": frozenset({"behind"}),
    "three_sixty": frozenset({"side"}),
}
"""The keys that a reply needs beside its name; a reply that is not listed takes none."""

DETAILS = ("point", "altitude_ft", "where", "seconds", "traffic", "behind", "side")
"""Every key that some reply needs, in the order of a step."""

TRAPS: dict[str, str] = {
    "wrong_callsign": "says the call sign of `to` in place of the trainee's",
    "wrong_runway": "clears for another runway",
    "blocked": "is blocked: another station keys at the same time",
}
"""What can be wrong with a reply on purpose."""
Trap = Literal["wrong_callsign", "wrong_runway", "blocked"]

ANNOUNCED = (
    "altimeter",
    "birds",
    "wind_shear",
    "wind_check",
    "wake_turbulence",
    "full_stops_only",
    "straight_ins_closed",
    "pattern_closed",
    "emergency_in_pattern",
    "breakout",
    "go_around",
    "three_sixty",
    "straight_through",
    "how_do_you_hear",
    "say_altitude",
    "time",
    "traffic",
)
"""What the tower may be made to say of itself, in an event."""
TO_ALL = frozenset(
    {"altimeter", "birds", "wind_shear", "full_stops_only", "straight_ins_closed", "pattern_closed"}
)
"""Those of them that may be for all aircraft."""
EVENT_TAKES: dict[str, frozenset[str]] = {
    "altimeter": frozenset({"altimeter"}),
    "wind_check": frozenset({"wind"}),
    "emergency_in_pattern": frozenset({"point"}),
    "breakout": frozenset({"point"}),
    "three_sixty": frozenset({"side"}),
    "time": frozenset({"time"}),
    "traffic": frozenset({"traffic"}),
}
EVENT_DETAILS = ("altimeter", "wind", "point", "side", "time", "traffic")
