"""The tower's light signals to an aircraft in flight that cannot hear it (14 CFR 91.125)."""

IN_FLIGHT = {
    "steady green": "cleared to land",
    "flashing green": "return for landing",
    "steady red": "give way, keep circling",
    "flashing red": "unsafe, do not land",
    "alternating red and green": "use extreme caution",
}
"""Each signal and its meaning."""

_CLEARS = frozenset({"cleared", "cleared_in_sequence", "turn_base"})
_WAITS = frozenset(
    {
        "continue_approach",
        "extend_downwind",
        "go_around",
        "hold_at",
        "remain_outside",
        "sequence",
        "stand_by",
        "straight_through",
        "three_sixty",
    }
)
_AWAY = frozenset({"breakout", "closed_denied_breakout", "closed_denied_climb_out"})
_CAUTION = frozenset({"birds", "emergency_in_pattern", "pattern_closed", "wake_turbulence", "wind_shear"})
_NONE = frozenset({"roger", "readback_correct", "wind_check", "altimeter", "qnh", "time", "traffic"})


def light_for(reply: str) -> str | None:
    """The signal that comes nearest to a reply (our own choice); None: no light is shown for it."""
    if reply in _NONE:
        return None
    for replies, signal in (
        (_CLEARS, "steady green"),
        (_WAITS, "steady red"),
        (_AWAY, "flashing red"),
        (_CAUTION, "alternating red and green"),
    ):
        if reply in replies:
            return signal
    return "flashing green"
