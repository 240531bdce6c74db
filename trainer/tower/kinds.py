"""Replies by what comes after them: another word, a question's answer, nothing."""

MORE_TO_COME = frozenset(
    {
        "break_at_my_call",
        "continue_approach",
        "extend_downwind",
        "extend_upwind",
        "hold_at",
        "remain_outside",
        "sequence",
        "short_approach",
        "stand_by",
        "straight_ins_closed",
    }
)
"""Replies after which the aircraft waits for another word."""

KEEPS_APART = frozenset(
    {
        "breakout",
        "closed_denied_breakout",
        "closed_denied_climb_out",
        "extend_downwind",
        "go_around",
        "three_sixty",
    }
)
"""Replies that turn an aircraft away from another: the tower does not err in them of itself."""

LAST_QUESTIONS = frozenset({"how_do_you_hear", "say_intentions"})
"""After one of these has led to nothing the tower goes on."""
ASKS_FIRST = frozenset({"check_wheels_down", "confirm_gear", "runway_change", "verify_information"})
"""Questions that come before the answer to a call: with the answer to them the call is decided."""
QUESTIONS = frozenset({"say_altitude", "say_callsign", "say_intentions", "say_position"})
"""Questions that a drill may have asked before the answer to a call."""
