"""The pattern seen from above as plain values, for a plan view. Distances NM, times session seconds."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from phraseology.calls import CALLS
from trainer.drawing.svg import Place, north_up
from trainer.live.route import OVERHEAD, route_with
from trainer.live.session import LiveSession
from trainer.pattern.leg import Leg
from trainer.pattern.path import Path
from trainer.pattern.plan import PatternPlan
from trainer.pattern.summary import figures

Up = Literal["runway up", "runway across", "north up"]
"""How the page lies: the landing direction goes up or to the right, or north is up."""
_FAR_LEGS = frozenset({Leg.INBOUND, Leg.ENTRY_POINT, Leg.BREAKOUT, Leg.CLIMB_OUT})
"""Flown away from the pattern: then the view takes in the aircraft and its point."""
_SAMPLES = 60


@dataclass(frozen=True)
class CallPoint:
    """Where a call belongs."""

    name: str
    at: Place
    is_next: bool = False


@dataclass(frozen=True)
class Seen:
    """An aircraft: where it is, and the direction of its track as a step of length 1."""

    callsign: str
    at: Place
    going: Place
    own: bool


@dataclass(frozen=True)
class ChartView:
    """In the plane of the runway: x along the landing direction, y to the pattern's side.

    `flown` and `ahead` are the two parts of the present leg; `frame` are places that must be in sight.
    """

    leg: Leg
    next_leg: Leg | None
    flown: tuple[Place, ...]
    ahead: tuple[Place, ...]
    calls: tuple[CallPoint, ...]
    aircraft: tuple[Seen, ...]
    frame: tuple[Place, ...]


class Chart:
    """The fixed part of a session's plan view; `view` gives what moves."""

    def __init__(self, live: LiveSession) -> None:
        self._live = live
        self.plan: PatternPlan = live.plan.pattern
        found = figures(self.plan, live.plan.profile)
        self.legs: tuple[tuple[Leg, tuple[Place, ...]], ...] = tuple(
            (each.leg, each.places[::2] + each.places[-1:]) for each in found.legs
        )
        self.runway = ((0.0, 0.0), (self.plan.length_nm, 0.0))
        self.points = {name: self.plan.point(name) for name in sorted(self.plan.points)}
        self._calls = (
            CallPoint(CALLS["initial"].title, (-self.plan.report_initial_nm, 0.0)),
            CallPoint(CALLS["gear_report"].title, (-found.perch_back_nm, found.downwind_offset_nm)),
            CallPoint(CALLS["request_closed"].title, (self.plan.length_nm, 0.0)),
        )
        self._route: tuple[Leg, ...] = OVERHEAD
        self._leg_places: tuple[Path | None, tuple[Place, ...]] = (None, ())

    def view(self) -> ChartView:
        """As it is now."""
        session = self._live.session
        flight, now = session.trainee.flight, session.now
        self._route = route_with(flight.leg, self._route)
        after = self._route.index(flight.leg) + 1
        places = self._present_leg(flight.path)
        share = 0.0
        if math.isfinite(flight.path.ends_at) and flight.path.ends_at > flight.path.starts_at:
            share = (now - flight.path.starts_at) / (flight.path.ends_at - flight.path.starts_at)
        here = min(max(round(share * (len(places) - 1)), 0), len(places) - 1)
        aircraft = tuple(
            self._seen(name, each.flight.path, each is session.trainee)
            for name, each in session.aircraft.items()
        )
        return ChartView(
            leg=flight.leg,
            next_leg=self._route[after] if after < len(self._route) else None,
            flown=places[: here + 1],
            ahead=places[here:],
            calls=self._call_points(),
            aircraft=aircraft,
            frame=self._frame(flight.leg, flight.via, aircraft),
        )

    def _present_leg(self, path: Path) -> tuple[Place, ...]:
        if self._leg_places[0] is not path:
            seconds = (path.ends_at if math.isfinite(path.ends_at) else path.starts_at + 120) - path.starts_at
            times = (path.starts_at + seconds * step / _SAMPLES for step in range(_SAMPLES + 1))
            poses = (path.at(time).pose for time in times)
            self._leg_places = path, tuple((pose.x_nm, pose.y_nm) for pose in poses)
        return self._leg_places[1]

    def _seen(self, callsign: str, path: Path, own: bool) -> Seen:
        pose = path.at(self._live.session.now).pose
        going = (math.cos(pose.direction), math.sin(pose.direction))
        return Seen(callsign, (pose.x_nm, pose.y_nm), going, own)

    def _call_points(self) -> tuple[CallPoint, ...]:
        """The usual ones; the one that comes next on this leg is where the flight will be then."""
        path = self._live.session.trainee.flight.path
        for window in self._live.session.trainee.open_windows():
            if window.due_at_s <= path.ends_at:
                pose = path.at(window.due_at_s).pose
                following = CallPoint(CALLS[window.call].title, (pose.x_nm, pose.y_nm), True)
                return (*(call for call in self._calls if call.name != following.name), following)
        return self._calls

    def _frame(self, leg: Leg, via: str | None, aircraft: tuple[Seen, ...]) -> tuple[Place, ...]:
        if leg not in _FAR_LEGS:
            return ()
        here = next(each.at for each in aircraft if each.own)
        rounded = tuple(math.copysign(math.ceil(abs(value)), value) for value in here)
        point = (self.points[via],) if via in self.points else ()
        return ((rounded[0], rounded[1]), *point)


def turned(plan: PatternPlan, up: Up) -> Callable[[Place], Place]:
    """From the runway's plane to a page, in NM to the right and up."""
    side = 1.0 if plan.side == "left" else -1.0
    if up == "north up":
        return lambda place: north_up(plan, place)
    if up == "runway across":
        return lambda place: (place[0], side * place[1])
    return lambda place: (-side * place[1], place[0])
