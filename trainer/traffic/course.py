"""What a flight is about to fly, as a value that is cheap to fork: the tower tries its replies on it.

A `Course` starts where a flight is and follows the same paths and the same table of legs. What it
foresees is held equal to what flights then do by `tests/traffic/test_course.py`.
"""

import copy
from dataclasses import replace
from typing import Any

from trainer.pattern.clearances import Circle, Diversion, Intention
from trainer.pattern.errors import PatternError
from trainer.pattern.flight import Flight, LegChange
from trainer.pattern.flying import Flying
from trainer.pattern.leg import Leg
from trainer.pattern.legs import leg_path
from trainer.pattern.machine import Situation, next_leg
from trainer.pattern.path import Motion, Path
from trainer.pattern.plan import BreakPoint, Side

_INSTANT_S = 1e-6


class Course:
    """The coming legs of a flight from second `now` on, as told so far and as tried out."""

    def __init__(self, flight: Flight, now: float) -> None:
        self.geometry = flight.geometry
        self.leg = flight.leg
        self.clearances = flight.clearances
        self.via = flight.via
        self.path: Path = flight.path
        self.leg_since = flight.leg_since
        self.now = flight.now
        self._end_trigger = flight.end_trigger
        self._entered: Motion = flight.entered
        self._changes: list[LegChange] = []
        self.fly_on(max(now, flight.now))
        self._changes.clear()

    def fork(self) -> "Course":
        twin = copy.copy(self)
        twin._changes = []
        return twin

    def motion(self) -> Motion:
        """Where it is at `now`."""
        return self.path.at(self.now)

    # -- instructions, as `Flight` has them; `PatternError` where the leg has no use for one ------

    def can(self, event: str) -> bool:
        return self._target(event) is not None

    def approve_break(self, t: float, where: BreakPoint = "threshold") -> None:
        self._instruct(t, "approve_break", break_approved=True, break_at=where)

    def clear_landing(self, t: float, intention: Intention) -> None:
        self._instruct(t, "clear_landing", landing=intention)

    def approve_closed(self, t: float) -> None:
        self._instruct(t, "approve_closed", closed_approved=True)

    def straight_through(self, t: float) -> None:
        self._instruct(t, "straight_through", break_approved=False)

    def go_around(self, t: float) -> None:
        self._instruct(t, "go_around")

    def proceed_to_initial(self, t: float) -> None:
        self._instruct(t, "proceed_to_initial", proceed_initial=True, straight_in=False)

    def straight_in(self, t: float) -> None:
        self._instruct(t, "straight_in", straight_in=True, proceed_initial=False)

    def three_sixty(self, t: float, side: Side) -> None:
        self.fly_on(t)
        self._instruct(t, "three_sixty", circle=Circle(side, self.leg))

    def extend_downwind(self, t: float) -> None:
        self._instruct(t, "extend_downwind", extend_downwind=True, short_approach=False)

    def short_approach(self, t: float) -> None:
        self._instruct(t, "short_approach", short_approach=True, extend_downwind=False)

    def turn_base(self, t: float) -> None:
        self._instruct(t, "turn_base", extend_downwind=False)

    def extend_upwind(self, t: float) -> None:
        self._instruct(t, "extend_upwind", extend_upwind=True)

    def breakout(self, t: float, point: str, altitude_ft: float | None = None) -> None:
        altitude = self.geometry.plan.breakout_altitude_ft if altitude_ft is None else altitude_ft
        self._divert(t, Diversion("breakout", point, altitude))

    def climb_out(self, t: float, altitude_ft: float, point: str) -> None:
        self._divert(t, Diversion("climb_out", point, altitude_ft))

    def maintain(self, t: float, altitude_ft: float) -> None:
        self.fly_on(t)
        diversion = self.clearances.diversion
        if self.leg not in (Leg.BREAKOUT, Leg.CLIMB_OUT) or diversion is None:
            raise PatternError(f"no altitude to change on {self.leg}")
        self.clearances = replace(self.clearances, diversion=replace(diversion, altitude_ft=altitude_ft))
        self._replan()

    def _divert(self, t: float, diversion: Diversion) -> None:
        self.fly_on(t)
        if self.can(diversion.kind):
            self.via = diversion.point
        self._instruct(t, diversion.kind, diversion=diversion)

    def _instruct(self, t: float, event: str, **told: Any) -> None:
        self.fly_on(t)
        if not self.can(event):
            raise PatternError(f"cannot {event.replace('_', ' ')} on {self.leg.replace('_', ' ')}")
        self.clearances = replace(self.clearances, **told)
        self._fire(event)
        self.fly_on(self.now)

    # -- time -----------------------------------------------------------------------------------

    def fly_on(self, to: float) -> None:
        while self.path.ends_at <= to + _INSTANT_S:
            self.now = min(max(self.now, self.path.ends_at), to)
            self._fire(self._end_trigger)
        self.now = max(self.now, to)

    def changes(self) -> list[LegChange]:
        """The legs entered since the last time."""
        changes, self._changes = self._changes, []
        return changes

    def _guards(self) -> Situation:
        """What the table's guards read, as the flight has it."""
        x_nm = self.motion().pose.x_nm
        return Situation(
            self.clearances,
            self.via is not None and self.geometry.joins_onto_the_45(self.via),
            before_departure_end=x_nm <= self.geometry.plan.length_nm,
            past_perch=x_nm <= self.geometry.perch_x_nm,
        )

    def _target(self, event: str) -> Leg | None:
        return next_leg(self.leg, event, self._guards)

    def _fire(self, event: str) -> None:
        target = self._target(event)
        if target is None:
            raise PatternError(f"{event!r} leads nowhere from {self.leg}")
        if target is self.leg:
            self._replan()
            return
        self._entered = self.path.at(min(self.now, self.path.ends_at))
        self.leg, self.leg_since = target, self.now
        self._changes.append(LegChange(self.now, target, event))
        self.clearances = self.clearances.left_after_entering(target)
        self._replan()

    def _replan(self) -> None:
        flown = self.path.speeds.distance(self.now - self.leg_since) if self.now > self.leg_since else 0.0
        flying = Flying(self.geometry, self.clearances, self._entered, self.leg_since, self.via, flown)
        self.path, self._end_trigger = leg_path(self.leg, flying)
