"""The legs that lie around the present one, in the order in which they are flown: what a strip shows."""

from trainer.pattern.leg import Leg

OVERHEAD = (
    Leg.INBOUND,
    Leg.ENTRY_POINT,
    Leg.NINETY_TO_INITIAL,
    Leg.FORTY_FIVE_TO_INITIAL,
    Leg.INITIAL,
    Leg.BREAK_TURN,
    Leg.INSIDE_DOWNWIND,
    Leg.FINAL_TURN,
    Leg.FINAL,
    Leg.RUNWAY,
    Leg.DEPARTURE,
)
_FROM_NINETY = OVERHEAD[2:]
_ROUTES = (
    OVERHEAD,
    (Leg.CLOSED_PULL_UP, Leg.CLOSED_DOWNWIND, Leg.FINAL_TURN, Leg.FINAL, Leg.RUNWAY, Leg.DEPARTURE),
    (Leg.CROSSWIND, Leg.OUTSIDE_DOWNWIND, *_FROM_NINETY),
    (Leg.STRAIGHT_THROUGH, Leg.CROSSWIND, Leg.OUTSIDE_DOWNWIND, *_FROM_NINETY),
    (Leg.GOING_AROUND, Leg.CROSSWIND, Leg.OUTSIDE_DOWNWIND, *_FROM_NINETY),
    (Leg.BREAKOUT, Leg.ENTRY_POINT, *_FROM_NINETY),
    (Leg.CLIMB_OUT, Leg.ENTRY_POINT, *_FROM_NINETY),
    (Leg.STRAIGHT_IN, Leg.FINAL, Leg.RUNWAY, Leg.DEPARTURE),
    (Leg.THREE_SIXTY, Leg.INSIDE_DOWNWIND, Leg.FINAL_TURN, Leg.FINAL, Leg.RUNWAY, Leg.DEPARTURE),
    (Leg.FINAL, Leg.RUNWAY, Leg.CLEAR_OF_RUNWAY),
)


def route_with(leg: Leg, route: tuple[Leg, ...] = OVERHEAD) -> tuple[Leg, ...]:
    """The route that has this leg: the one flown so far if it does, else the first that does."""
    if leg in route:
        return route
    return next(other for other in _ROUTES if leg in other)
