"""The sizes of one class's pattern at one field, and where a flight may begin.

Everything follows from the plan and the profile: the break's diameter is the offset of the
downwind, the perch lies 45 degrees back from the threshold, the roll-out as far out as the
downwind is wide (see `perch_x_nm` for when it lies further). The lines on the ground are the same in
any wind; what the wind moves is where a turn onto them begins.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from trainer.pattern.errors import PatternError
from trainer.pattern.kinematics import glide_path_ft, glide_path_nm, true_airspeed_kt, turn_radius_nm
from trainer.pattern.leg import Leg
from trainer.pattern.path import Motion, Path, Speeds, evenly_to_speed
from trainer.pattern.plan import ARRIVAL_NM, CROSSWIND_NM, EXTENSION_NM, PatternPlan
from trainer.pattern.profiles import Profile
from trainer.pattern.track import TOWARDS, Pose, Track
from trainer.pattern.turns import InAir

if TYPE_CHECKING:
    from trainer.pattern.flying import Flying

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
        """The turn from the outside downwind to the 90 must end before the one to the 45 begins; in wind
        half of the straight on the 45 may be given up for that."""
        offset = self.plan.outside_offset_nm
        to_the_90 = offset - self.ninety_start(1).y_nm
        if not self.plan.wind.calm:
            to_the_90 -= _STRAIGHT_ON_THE_45_NM / 2.0
        needed = max(self.ninety_end(1).y_nm + to_the_90, 2.0 * self.radius_nm, 1.2 * self.downwind_offset_nm)
        if offset < needed:
            wind = "" if self.plan.wind.calm else " in this wind"
            raise PatternError(
                f"the outside downwind at {offset:g} NM is too near for a {self.profile.name}{wind}: "
                f"write an outside offset of {math.ceil(needed * 10) / 10:g} NM or more"
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
        return max(self.downwind_offset_nm, self.short_roll_out_nm)

    @cached_property
    def perch_x_nm(self) -> float:
        """Abeam the roll-out; seen from there the threshold is 45 degrees back, or more (CP). In wind it is
        moved by as much as the final turn will be carried along the runway, so that the roll-out stays."""
        return -self.roll_out_nm - self._carried_in_the_final_turn_nm

    @property
    def short_roll_out_nm(self) -> float:
        """Of a short approach: the nearest place that is high enough."""
        return max(glide_path_nm(MINIMUM_ROLL_OUT_FT - THRESHOLD_HEIGHT_FT), MINIMUM_ROLL_OUT_NM)

    @property
    def short_perch_x_nm(self) -> float:
        """The perch of a short approach."""
        return self.perch_x_nm + self.roll_out_nm - self.short_roll_out_nm

    @cached_property
    def final_turn_end_kt(self) -> float:
        """True airspeed at the roll-out."""
        return self.true_kt(self.profile.final_kt, self.glide_altitude_ft(-self.roll_out_nm))

    @cached_property
    def _carried_in_the_final_turn_nm(self) -> float:
        """Along the runway, from the perch to the roll-out."""
        wind, perch = self.plan.wind, Pose(0.0, self.downwind_offset_nm, math.pi)
        if wind.calm:
            return 0.0
        true_kt = self.true_kt(self.profile.pattern_kt)
        air = InAir(perch, Pose(0.0, perch.y_nm, wind.heading(math.pi, true_kt)), true_kt, wind)

        def speeds_of(track: Track) -> Speeds:
            return evenly_to_speed(track.length, true_kt, self.final_turn_end_kt)

        track = air.turn_onto(0.0, 0.0, TOWARDS, speeds_of)
        return track.end.x_nm + wind.carried_nm(speeds_of(track).duration)[0]

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

    @property
    def report_x_nm(self) -> float:
        """Where the report on initial is due."""
        return -self.plan.report_initial_nm

    @property
    def own_legs(self) -> "Mapping[Leg, Callable[[Flying], tuple[Path, str]]]":
        """Legs that this circuit flies otherwise than the overhead does; another shape overrides it."""
        return {}

    @cached_property
    def _outside_true_kt(self) -> float:
        return self.true_kt(self.profile.outside_kt)

    def _turned(self, start: Pose, direction: float, turn: int) -> Pose:
        """Where one of the turns outside comes out."""
        return self.plan.wind.turned(start, direction, turn, self.radius_nm, self._outside_true_kt)

    def ninety_end(self, side: int) -> Pose:
        """Where the turn onto the 45 begins; `side` 1 is the pattern's, -1 the other. From there a turn, a
        short straight and a turn end where initial begins."""
        begin = Pose(0.0, 0.0, -side * math.pi / 2.0)
        on_the_45 = self._turned(begin, -side * math.pi / 4.0, side).ahead(_STRAIGHT_ON_THE_45_NM)
        end = self._turned(on_the_45, 0.0, side)
        return Pose(self.initial_x_nm - end.x_nm, -end.y_nm, begin.direction)

    def ninety_start(self, side: int) -> Pose:
        """Wings level, perpendicular to the runway line."""
        if side == 1:
            return self._turned(self.outside_corner, -math.pi / 2.0, TOWARDS)
        y = self.radius_nm - self.plan.outside_offset_nm
        return Pose(self.ninety_end(side).x_nm, y, math.pi / 2.0)

    @cached_property
    def outside_corner(self) -> Pose:
        """Where the outside downwind ends and the turn to the 90 begins."""
        begin = Pose(0.0, self.plan.outside_offset_nm, math.pi)
        carried = self._turned(begin, -math.pi / 2.0, TOWARDS).x_nm
        return Pose(self.ninety_end(1).x_nm - carried, begin.y_nm, math.pi)

    @cached_property
    def crosswind_end_y_nm(self) -> float:
        """Where the turn from crosswind to the outside downwind begins."""
        begin = Pose(0.0, 0.0, math.pi / 2.0)
        return self.plan.outside_offset_nm - self._turned(begin, math.pi, TOWARDS).y_nm

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
                self.outside_corner,
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
        true_kt = self.true_kt(calibrated_kt, altitude_ft)
        return Motion(pose, altitude_ft, plan.wind.ground_speed_kt(pose.direction, true_kt))

    def _start_at_point(self, leg: Leg, via: str | None) -> Motion:
        if via is None:
            choices = ", ".join(sorted(self.plan.points))
            raise PatternError(f"a flight that begins {leg} needs an entry point: via one of {choices}")
        x, y = self.plan.point(via, ARRIVAL_NM if leg is Leg.INBOUND else 0.0)
        towards_field = math.atan2(-y, self.plan.length_nm / 2.0 - x)
        ground_kt = self.plan.wind.ground_speed_kt(towards_field, self._outside_true_kt)
        return Motion(Pose(x, y, towards_field), self.plan.overhead_altitude_ft, ground_kt)
