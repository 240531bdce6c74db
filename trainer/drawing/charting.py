"""The ground under a flight as it is kept with a session, so that its drawing needs no field file later."""

from typing import Any

from trainer.drawing.svg import north_up
from trainer.logbook.store import TrackPoint
from trainer.pattern.flight import Flight
from trainer.pattern.plan import PatternPlan


def chart_of(plan: PatternPlan) -> dict[str, Any]:
    """Runway ends and points, NM east and north of the threshold, rounded to 2 m, for the session's meta."""
    places = {name: plan.point(name) for name in sorted(plan.points)}
    return {
        "runway": [_rounded(north_up(plan, place)) for place in ((0.0, 0.0), (plan.length_nm, 0.0))],
        "points": {name: _rounded(north_up(plan, place)) for name, place in places.items()},
    }


def track_point(flight: Flight, at: float) -> TrackPoint:
    """Where the flight is at session second `at`."""
    here = flight.position(at)
    east, north = _rounded(north_up(flight.plan, (here.x_nm, here.y_nm)))
    return TrackPoint(round(at, 2), east, north, float(round(here.altitude_ft)), flight.leg.value)


def _rounded(place: tuple[float, float]) -> tuple[float, float]:
    return round(place[0], 3), round(place[1], 3)
