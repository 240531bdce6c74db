"""Which replies a practice drill may have the tower give, and which others calls come with them.

Each of them was flown by the book: it comes up, needs no other aircraft, and the drill goes on to its end.
"""

FORCIBLE: dict[str, tuple[str, ...]] = {
    "check_in": (
        "overhead_approved", "verify_information", "stand_by", "say_altitude", "overhead_denied",
        "entry_not_available", "hold_at", "remain_outside", "runway_change",
    ),
    "initial": (
        "break_approved", "report_break", "break_at", "straight_through", "breakout", "break_in",
        "break_at_my_call",
    ),
    "gear_report": (
        "cleared", "continue_approach", "go_around", "extend_downwind", "check_wheels_down", "confirm_gear",
        "short_approach", "three_sixty",
    ),
    "request_closed": (
        "closed_approved", "closed_denied_breakout", "closed_denied_outside", "closed_denied_climb_out",
        "stand_by", "extend_upwind",
    ),
}  # fmt: skip
"""By call, in the order in which a beginner should meet them (our own choice)."""

BROUGHT_BY: dict[str, tuple[str, str]] = {
    "entry_point": ("request_closed", "closed_denied_breakout"),
    "break_report": ("initial", "report_break"),
    "outside_downwind": ("initial", "straight_through"),
}
"""Calls that come only after such a reply: the call that it answers, and the reply."""

ONCE = "check_in"
"""The call that a session has once."""
COMES_BACK_TO_INITIAL = frozenset(
    {
        "straight_through",
        "breakout",
        "closed_denied_breakout",
        "closed_denied_outside",
        "closed_denied_climb_out",
    }
)
"""Replies after which the trainee comes to initial again."""
