"""The sizes of one class's pattern at one field, and where a flight may begin.

Everything follows from the plan and the profile: the break's diameter is the offset of the
downwind, the perch lies 45 degrees back from the threshold, the roll-out as far out as the
downwind is wide (see `perch_x_nm` for when it lies further).
"""

import math
from dataclasses import dataclass
from functools import cached_property

from trainer.pattern.errors import PatternError
from trainer.pattern.kinematics import glide_path_ft, glide_path_nm, true_airspeed_kt, turn_radius_nm
from trainer.pattern.leg import Leg
from trainer.pattern.path import Motion
from trainer.pattern.plan import ARRIVAL_NM, CROSSWIND_NM, EXTENSION_NM, PatternPlan
from trainer.pattern.profiles import Profile
from trainer.pattern.track import Pose

THRESHOLD_HEIGHT_FT = 50.0
"""Height over the threshold (CP)."""
MINIMUM_ROLL_OUT_NM = 0.25
MINIMUM_ROLL_OUT_FT = 300.0
"""Roll-out floors: FAA Pilot/Controller Glossary, overhead maneuver."""
ESTABLISHED_NM = 0.5
"""Initial is flown at least this long before its report is due (CP)."""

_STRAIGHT_ON_THE_45_NM = 0.3


@dataclass(frozen=True)
class Geometry:
    plan: PatternPlan
    profile: Profile

    def __post_init__(self) -> None:
        needed = max(
            self._ninety_end_y_nm + self.radius_nm, 2.0 * self.radius_nm, 1.2 * self.downwind_offset_nm
        )
        if self.plan.outside_offset_nm < needed:
            raise PatternError(
                f"the outside downwind at {self.plan.outside_offset_nm:g} NM is too near for a "
                f"{self.profile.name}: write an outside offset of {math.ceil(needed * 10) / 10:g} NM or more"
            )

    def true_kt(self, calibrated_kt: float, altitude_ft: float | None = None) -> float:
        """True airspeed, at the overhead altitude unless another is given."""
        height = self.plan.overhead_altitude_ft if altitude_ft is None else altitude_ft
        return true_airspeed_kt(calibrated_kt, height)

    @cached_property
    def radius_nm(self) -> float:
        """Of every turn outside: the 90, the 45, crosswind, holding."""
        return turn_radius_nm(self.true_kt(self.profile.outside_kt), self.profile.turn_bank_deg)

    @cached_property
    def downwind_offset_nm(self) -> float:
        """Diameter of the break: twice the radius at the speed of initial and the break's bank."""
        return 2.0 * turn_radius_nm(self.true_kt(self.profile.initial_kt), self.profile.break_bank_deg)

    @cached_property
    def roll_out_nm(self) -> float:
        """As far from the threshold as the downwind is wide, or where the glide path is high enough."""
        floor = glide_path_nm(MINIMUM_ROLL_OUT_FT - THRESHOLD_HEIGHT_FT)
        return max(self.downwind_offset_nm, floor, MINIMUM_ROLL_OUT_NM)

    @property
    def perch_x_nm(self) -> float:
        """Abeam the roll-out; seen from there the threshold is 45 degrees back, or more (CP)."""
        return -self.roll_out_nm

    def glide_altitude_ft(self, x_nm: float) -> float:
        """Altitude of the three-degree path at this x, before the threshold."""
        return self.plan.elevation_ft + THRESHOLD_HEIGHT_FT + glide_path_ft(-x_nm)

    def crosswind_x_nm(self, extended: bool = False) -> float:
        """Where a flight without closed approval turns crosswind."""
        return self.plan.length_nm + CROSSWIND_NM + (EXTENSION_NM if extended else 0.0)

    @property
    def initial_x_nm(self) -> float:
        """Where initial begins, wings level on the runway line."""
        return -max(self.plan.initial_nm, self.plan.report_initial_nm + ESTABLISHED_NM)

    @cached_property
    def _corner_nm(self) -> float:
        """From a 45-degree corner to where its turn begins."""
        return self.radius_nm * math.tan(math.pi / 8.0)

    @cached_property
    def _forty_five_nm(self) -> float:
        """How far out, and across, the 45 to initial reaches, corner to corner."""
        return (2.0 * self._corner_nm + _STRAIGHT_ON_THE_45_NM) / math.sqrt(2.0)

    @property
    def ninety_x_nm(self) -> float:
        return self.initial_x_nm - self._corner_nm - self._forty_five_nm

    @property
    def _ninety_end_y_nm(self) -> float:
        return self._forty_five_nm + self._corner_nm

    def ninety_start(self, side: int) -> Pose:
        """Wings level, perpendicular to the runway line; `side` 1 is the pattern's, -1 the other."""
        y = self.plan.outside_offset_nm - self.radius_nm
        return Pose(self.ninety_x_nm, side * y, -side * math.pi / 2.0)

    def ninety_end(self, side: int) -> Pose:
        """Where the turn onto the 45 begins."""
        return Pose(self.ninety_x_nm, side * self._ninety_end_y_nm, -side * math.pi / 2.0)

    def joins_onto_the_45(self, point: str) -> bool:
        """The point lies beyond the beginning of initial, within 60 degrees of the runway line."""
        x, y = self.plan.point(point)
        return abs(math.atan2(y, self.initial_x_nm - x)) <= math.radians(60.0)

    def start(self, leg: Leg, via: str | None) -> Motion:
        """How a flight begins on this leg; `PatternError` if it cannot."""
        if leg in (Leg.INBOUND, Leg.ENTRY_POINT):
            return self._start_at_point(leg, via)
        plan, profile, half = self.plan, self.profile, math.pi
        offset, outside = self.downwind_offset_nm, plan.outside_offset_nm
        lift_off = plan.length_nm / 2.0
        starts: dict[Leg, tuple[Pose, float, float]] = {
            Leg.NINETY_TO_INITIAL: (
                Pose(self.ninety_x_nm + self.radius_nm, outside, half),
                plan.overhead_altitude_ft,
                profile.outside_kt,
            ),
            Leg.FORTY_FIVE_TO_INITIAL: (self.ninety_end(1), plan.overhead_altitude_ft, profile.outside_kt),
            Leg.INITIAL: (Pose(self.initial_x_nm, 0.0, 0.0), plan.overhead_altitude_ft, profile.initial_kt),
            Leg.BREAK_TURN: (Pose(0.0, 0.0, 0.0), plan.overhead_altitude_ft, profile.initial_kt),
            Leg.STRAIGHT_THROUGH: (Pose(0.0, 0.0, 0.0), plan.overhead_altitude_ft, profile.initial_kt),
            Leg.INSIDE_DOWNWIND: (Pose(0.0, offset, half), plan.overhead_altitude_ft, profile.pattern_kt),
            Leg.CLOSED_DOWNWIND: (
                Pose(plan.length_nm, offset, half),
                plan.overhead_altitude_ft,
                profile.pattern_kt,
            ),
            Leg.FINAL_TURN: (
                Pose(self.perch_x_nm, offset, half),
                plan.overhead_altitude_ft,
                profile.pattern_kt,
            ),
            Leg.FINAL: (
                Pose(-self.roll_out_nm, 0.0, 0.0),
                self.glide_altitude_ft(-self.roll_out_nm),
                profile.final_kt,
            ),
            Leg.DEPARTURE: (Pose(lift_off, 0.0, 0.0), plan.elevation_ft, profile.final_kt),
            Leg.CROSSWIND: (
                Pose(self.crosswind_x_nm(), 0.0, 0.0),
                plan.conventional_altitude_ft,
                profile.climb_kt,
            ),
            Leg.OUTSIDE_DOWNWIND: (
                Pose(self.crosswind_x_nm(), outside, half),
                plan.overhead_altitude_ft,
                profile.outside_kt,
            ),
        }
        if leg not in starts:
            choices = ", ".join(sorted((Leg.INBOUND, Leg.ENTRY_POINT, *starts)))
            raise PatternError(f"a flight cannot begin on {leg}; use one of {choices}")
        pose, altitude_ft, calibrated_kt = starts[leg]
        return Motion(pose, altitude_ft, self.true_kt(calibrated_kt, altitude_ft))

    def _start_at_point(self, leg: Leg, via: str | None) -> Motion:
        if via is None:
            choices = ", ".join(sorted(self.plan.points))
            raise PatternError(f"a flight that begins {leg} needs an entry point: via one of {choices}")
        x, y = self.plan.point(via, ARRIVAL_NM if leg is Leg.INBOUND else 0.0)
        towards_field = math.atan2(-y, self.plan.length_nm / 2.0 - x)
        speed = self.true_kt(self.profile.outside_kt)
        return Motion(Pose(x, y, towards_field), self.plan.overhead_altitude_ft, speed)
