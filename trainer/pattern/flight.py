"""One aircraft in the pattern: its leg, its path, what it has been told.

Times are session seconds and only move forward. What happens without a clearance: no break
approval by the end of the break zone flies straight through and round the outside; no landing
clearance at the threshold goes around; no closed approval by the crosswind point goes round the
outside; nothing said at the entry point holds there.
"""

import copy
from dataclasses import dataclass, replace

from trainer.pattern.clearances import AskedReport, Circle, Clearances, Diversion, Intention
from trainer.pattern.errors import PatternError
from trainer.pattern.flying import Flying
from trainer.pattern.geometry import Geometry
from trainer.pattern.landing import runway_needed_ft
from trainer.pattern.leg import Leg
from trainer.pattern.legs import leg_path
from trainer.pattern.machine import INSTRUCTIONS, Situation, next_leg
from trainer.pattern.path import Motion, Path
from trainer.pattern.plan import BreakPoint, PatternPlan, Side
from trainer.pattern.profiles import Profile

_INSTANT_S = 1e-6
"""A leg that ends sooner than this has ended."""


@dataclass(frozen=True)
class LegChange:
    """`leg` was entered at second `at`; `trigger` is the machine's event that led there."""

    at: float
    leg: Leg
    trigger: str


@dataclass(frozen=True)
class Position:
    """In the runway-aligned plane; the track is in the reference of the runway's heading."""

    x_nm: float
    y_nm: float
    altitude_ft: float
    track_deg: float
    ground_speed_kt: float


def _spoken(event: str) -> str:
    return event.replace("_", " ")


class Flight:
    """A flight that begins on `start` at session second `at`; `via` names its entry point.

    `PatternError` if it cannot begin there, or if the field's pattern does not fit the class.
    """

    def __init__(
        self, plan: PatternPlan, profile: Profile, *, start: Leg, at: float, via: str | None = None
    ) -> None:
        self.geometry: Geometry = plan.geometry(profile)
        self.via = via
        self._motion = self._entered = self.geometry.start(start, via)
        onto_the_45 = via is not None and self.geometry.joins_onto_the_45(via)
        self._leg, self._situation = start, Situation(Clearances(), onto_the_45)
        self._changes: list[LegChange] = []
        self._now = self._leg_since = at
        self._plan_leg(flown_nm=0.0)

    @property
    def plan(self) -> PatternPlan:
        return self.geometry.plan

    @property
    def profile(self) -> Profile:
        return self.geometry.profile

    @property
    def now(self) -> float:
        """The second up to which this flight has been advanced."""
        return self._now

    @property
    def leg(self) -> Leg:
        return self._leg

    @property
    def leg_since(self) -> float:
        """When the present leg was entered."""
        return self._leg_since

    @property
    def clearances(self) -> Clearances:
        return self._situation.clearances

    @property
    def path(self) -> Path:
        """The whole of the present leg as things stand."""
        return self._path

    @property
    def end_trigger(self) -> str:
        """The event at the path's end; "" for a leg that has no end of its own."""
        return self._end_trigger

    @property
    def entered(self) -> Motion:
        """How the present leg was entered."""
        return self._entered

    @property
    def possible(self) -> tuple[str, ...]:
        """The instructions that can be given now, sorted."""
        return tuple(event for event in sorted(INSTRUCTIONS) if self._target(event) is not None)

    def fork(self) -> "Flight":
        """An independent copy, to look ahead with."""
        twin = copy.copy(self)
        twin._changes = []
        twin._situation = replace(self._situation)
        return twin

    def advance(self, to: float) -> list[LegChange]:
        """Fly on to this second; the legs entered since the last call, instructed ones included."""
        self._fly_on(to)
        changes, self._changes = self._changes, []
        return changes

    def position(self, time: float) -> Position:
        """Where the flight is at a second of its present leg; `PatternError` outside of it."""
        if not self._path.starts_at <= time <= self._path.ends_at:
            raise PatternError(
                f"second {time:g} is not on the present leg, {_spoken(self.leg)}, which lasts from "
                f"{self._path.starts_at:g} to {self._path.ends_at:g}: advance the flight to it, not past it"
            )
        motion = self._path.at(time)
        track = self.plan.heading_of(motion.pose.direction)
        return Position(motion.pose.x_nm, motion.pose.y_nm, motion.altitude_ft, track, motion.speed_kt)

    # Clearances and instructions. Each is given at a session second, flies on to it first, and
    # raises `PatternError` where the present leg has no use for it.

    def approve_break(self, t: float, where: BreakPoint = "threshold") -> None:
        """On initial, or flying straight through before the departure end. At the point; past it, at once."""
        self._fly_on(t)
        self._instruct("approve_break", replace(self.clearances, break_approved=True, break_at=where))

    def clear_landing(self, t: float, intention: Intention) -> None:
        """From downwind to the threshold. "option" is flown as a touch and go."""
        needed = runway_needed_ft(self.geometry, intention)
        if needed > self.plan.length_ft:
            raise PatternError(
                f"a {_spoken(intention)} of a {self.profile.name} needs {needed:.0f} ft and runway "
                f"{self.plan.runway_end} has {self.plan.length_ft:.0f}: clear another landing"
            )
        self._fly_on(t)
        self._instruct("clear_landing", replace(self.clearances, landing=intention))

    def approve_closed(self, t: float) -> None:
        """Pulls up at the departure end, or at once beyond it."""
        self._fly_on(t)
        self._instruct("approve_closed", replace(self.clearances, closed_approved=True))

    def breakout(self, t: float, point: str, altitude_ft: float | None = None) -> None:
        """Away from the pattern, climbing to the altitude (the field's breakout altitude), to the point."""
        altitude = self.plan.breakout_altitude_ft if altitude_ft is None else altitude_ft
        self._divert(t, Diversion("breakout", point, altitude))

    def climb_out(self, t: float, altitude_ft: float, point: str) -> None:
        """Runway heading to the altitude, then to the point."""
        self._divert(t, Diversion("climb_out", point, altitude_ft))

    def straight_through(self, t: float) -> None:
        self._fly_on(t)
        self._instruct("straight_through", replace(self.clearances, break_approved=False))

    def go_around(self, t: float) -> None:
        self._fly_on(t)
        self._instruct("go_around", self.clearances)

    def proceed_to_initial(self, t: float) -> None:
        """At the entry point at once; on the way to it, when it is reached, without holding."""
        self._fly_on(t)
        clearances = replace(self.clearances, proceed_initial=True, straight_in=False)
        self._instruct("proceed_to_initial", clearances)

    def straight_in(self, t: float) -> None:
        """From the entry point, the outside downwind or the 90 at once; on the way to a point, from there."""
        self._fly_on(t)
        clearances = replace(self.clearances, straight_in=True, proceed_initial=False)
        self._instruct("straight_in", clearances)

    def three_sixty(self, t: float, side: Side) -> None:
        """A full turn at once, then on from where it was begun. On initial and every downwind."""
        self._fly_on(t)
        self._instruct("three_sixty", replace(self.clearances, circle=Circle(side, self.leg)))

    def extend_downwind(self, t: float) -> None:
        """Past the perch until `turn_base`, or until the limit of `plan.BASE_LIMIT_NM`."""
        self._fly_on(t)
        clearances = replace(self.clearances, extend_downwind=True, short_approach=False)
        self._instruct("extend_downwind", clearances)

    def short_approach(self, t: float) -> None:
        """The final turn begins as soon as its roll-out is far and high enough; past that, at once."""
        self._fly_on(t)
        clearances = replace(self.clearances, short_approach=True, extend_downwind=False)
        self._instruct("short_approach", clearances)

    def turn_base(self, t: float) -> None:
        """Ends an extended downwind: past the perch at once, before it at the perch."""
        self._fly_on(t)
        self._instruct("turn_base", replace(self.clearances, extend_downwind=False))

    def extend_upwind(self, t: float) -> None:
        """Moves the crosswind point out by `plan.EXTENSION_NM`."""
        self._fly_on(t)
        self._instruct("extend_upwind", replace(self.clearances, extend_upwind=True))

    def maintain(self, t: float, altitude_ft: float) -> None:
        """Another altitude for a breakout or a climb-out under way; the way stays."""
        diversion = self.clearances.diversion
        if self.leg not in (Leg.BREAKOUT, Leg.CLIMB_OUT) or diversion is None:
            raise PatternError(f"no altitude to change on {_spoken(self.leg)}")
        self._fly_on(t)
        self._situation.clearances = replace(
            self.clearances, diversion=replace(diversion, altitude_ft=altitude_ft)
        )
        self._plan_leg(flown_nm=self._path.speeds.distance(self._now - self._leg_since))

    def refuse(self, t: float) -> None:
        """The pilot is unable: approvals and the landing clearance that he has not used are gone."""
        self._fly_on(t)
        self._situation.clearances = replace(
            self.clearances, break_approved=False, landing=None, closed_approved=False
        )
        self._plan_leg(flown_nm=self._path.speeds.distance(self._now - self._leg_since))

    def ask_report(self, call: AskedReport) -> None:
        """The tower wants a call that is otherwise not made; it lapses when its leg has been flown."""
        asked = self.clearances.asked_reports | {call}
        self._situation.clearances = replace(self.clearances, asked_reports=asked)

    def _divert(self, t: float, diversion: Diversion) -> None:
        self.plan.point(diversion.point)  # an unknown point is refused before anything changes
        self._fly_on(t)
        self._instruct(diversion.kind, replace(self.clearances, diversion=diversion), via=diversion.point)

    def _fly_on(self, to: float) -> None:
        if to < self._now:
            raise PatternError(f"second {to:g} is past: this flight has been advanced to {self._now:g}")
        while self._path.ends_at <= to + _INSTANT_S:
            self._now = min(max(self._now, self._path.ends_at), to)
            self._motion = self._path.at(self._path.ends_at)
            self._fire(self._end_trigger)
        self._now = to
        self._motion = self._path.at(to)
        x_nm = self._motion.pose.x_nm
        self._situation.before_departure_end = x_nm <= self.plan.length_nm
        self._situation.past_perch = x_nm <= self.geometry.perch_x_nm

    def _instruct(self, event: str, clearances: Clearances, via: str | None = None) -> None:
        if event not in INSTRUCTIONS or self._target(event) is None:
            possible = ", ".join(_spoken(each) for each in self.possible) or "nothing"
            raise PatternError(f"cannot {_spoken(event)} on {_spoken(self.leg)}; possible now: {possible}")
        if via is not None:
            self.via = via
            self._situation.onto_the_45 = self.geometry.joins_onto_the_45(via)
        self._situation.clearances = clearances
        self._fire(event)
        self._fly_on(self._now)  # the leg may now end where the aircraft is

    def _fire(self, event: str) -> None:
        target = self._target(event)
        if target is None:
            raise PatternError(f"{_spoken(event)} leads nowhere from {_spoken(self.leg)}")
        if target is not self.leg:
            self._leg, self._leg_since, self._entered = target, self._now, self._motion
            self._changes.append(LegChange(self._now, target, event))
            self._situation.clearances = self.clearances.left_after_entering(target)
            self._plan_leg(flown_nm=0.0)
        else:
            self._plan_leg(flown_nm=self._path.speeds.distance(self._now - self._leg_since))

    def _target(self, event: str) -> Leg | None:
        return next_leg(self._leg, event, lambda: self._situation)

    def _plan_leg(self, flown_nm: float) -> None:
        flying = Flying(self.geometry, self.clearances, self._entered, self._leg_since, self.via, flown_nm)
        self._path, self._end_trigger = leg_path(self.leg, flying)
