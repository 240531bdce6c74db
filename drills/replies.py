"""Which replies a drill may force on the tower at which call, and what each reply needs said with it.

One table, in the words of the trade; the tower turns a name into the message that is spoken.
"""

from typing import Literal, get_args

CallPoint = Literal["check_in", "initial", "gear_report", "request_closed", "entry_point", "outside_downwind"]
"""The calls of the trainee that the tower answers."""

CALL_POINTS: tuple[CallPoint, ...] = get_args(CallPoint)

REPLIES: dict[CallPoint, tuple[str, ...]] = {
    "check_in": ("overhead_approved", "stand_by", "say_again"),
    "initial": ("break_approved", "report_break", "break_at", "straight_through", "breakout"),
    "gear_report": (
        "cleared",
        "continue_approach",
        "extend_downwind",
        "go_around",
        "check_wheels_down",
    ),
    "request_closed": (
        "closed_approved",
        "closed_denied_breakout",
        "closed_denied_climb_out",
        "closed_denied_outside",
        "extend_upwind",
        "stand_by",
    ),
    "entry_point": ("report_initial", "stand_by"),
    "outside_downwind": ("report_initial",),
}

TAKES: dict[str, frozenset[str]] = {
    "breakout": frozenset({"point"}),
    "closed_denied_breakout": frozenset({"point"}),
    "closed_denied_climb_out": frozenset({"point", "altitude_ft"}),
    "break_at": frozenset({"where"}),
}
"""The keys that a reply needs beside its name; a reply that is not listed takes none."""

DETAILS = ("point", "altitude_ft", "where")
"""Every key that some reply needs, in the order of a step."""
