"""How fast session time runs against the clock on the wall."""

from drills.drill import Pace

QUICK = 4.0
"""Between calls, at the quick pace."""


def speed(pace: Pace, *, awaited: bool, on_air: bool, typing: bool) -> float:
    """Session seconds a wall second; 0 is a clock that stands still.

    `awaited`: a call or an answer of the trainee is due. `on_air`: somebody transmits or is about
    to, the trainee included. Typing takes longer than speaking, so a due call that is being typed
    stops the clock at any pace.
    """
    if awaited and not on_air and (typing or pace == "patient"):
        return 0.0
    if pace == "quick" and not awaited and not on_air:
        return QUICK
    return 1.0
