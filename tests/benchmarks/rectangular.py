"""A conventional rectangular pattern for the study of denials: the same machinery, with other geometry.

An aircraft joins at 45 degrees to the middle of the downwind, flies downwind, base and final, and after a go
a crosswind to the downwind again. The tower, its rules, the calls and the strict machine of legs are those of
the overhead pattern; each leg of the machine stands for the one that plays its part:

| leg of the machine | flown here |
|---|---|
| 90 and 45 to initial | to the line that meets the downwind at 45 degrees, 500 ft above the circuit until near it |
| initial | on that line, down to the conventional altitude and to the pattern speed; reported 3 NM out |
| break turn, inside downwind | the turn of 45 degrees onto the downwind, and the downwind from midfield |
| closed pull-up, closed downwind | crosswind from the departure end, and the whole downwind |
| final turn | base: a quarter turn, a straight, a quarter turn |
| straight through | not let in: turns away from the circuit, back to the beginning of the line |
| crosswind, outside downwind | closed denied: out across the downwind, climbing 500 ft above it, and back to the line |

Sources: the legs, the join at 45 degrees to midfield and the crosswind beyond the departure end within 300 ft
of the circuit's altitude are AIM 4-3-2 and 4-3-3 (from memory); turns of at most 30 degrees of bank are the Airplane
Flying Handbook's advice (from memory). Base is begun 45 degrees past the threshold, as the perch is (common
practice). Airspeeds and rates are those of the class (`trainer.pattern.profiles`). Calm only.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from trainer.pattern.errors import PatternError
from trainer.pattern.flying import Flying
from trainer.pattern.geometry import ESTABLISHED_NM, Geometry
from trainer.pattern.kinematics import turn_radius_nm
from trainer.pattern.leg import Leg
from trainer.pattern.path import Motion, Path, evenly_to_speed
from trainer.pattern.plan import BASE_LIMIT_NM, PatternPlan
from trainer.pattern.profiles import Profile
from trainer.pattern.track import AWAY, TOWARDS, Pose, Track, follow, sweep_to, to_pose
from trainer.session.plan import SessionPlan

BANK_DEG = 30.0
BASE_STRAIGHT_NM = 0.3
"""Of the shorter of crosswind and base, between its two turns (our own choice)."""
REPORT_NM = 3.0
"""On the line, before the downwind."""
DECIDES_NM = 1.5
"""Whoever has not been let in turns away this long before the downwind: clear of it by the separation."""
_INTO_THE_45 = -0.75 * math.pi
_LEAD_NM = (1.5, 1.0)
"""How long before the line's beginning the two legs that lead to it come upon it."""
_NEAR = 1e-6


@dataclass(frozen=True)
class RectangularPlan(PatternPlan):
    bank_deg: float | None = BANK_DEG
    """None: each class's own bank of the turns outside, 40 or 45 degrees."""

    def geometry(self, profile: Profile) -> "RectangularGeometry":
        return RectangularGeometry(self, profile)


@dataclass(frozen=True)
class RectangularSession(SessionPlan):
    bank_deg: float | None = BANK_DEG

    @property
    def pattern(self) -> RectangularPlan:
        return replace(RectangularPlan.of(self.field, self.runway, self.wind), bank_deg=self.bank_deg)


@dataclass(frozen=True)
class RectangularGeometry(Geometry):
    plan: RectangularPlan

    def __post_init__(self) -> None:
        if not self.plan.wind.calm:
            raise PatternError("the rectangular pattern of the study is flown in calm air only")

    def turn_nm(self, calibrated_kt: float) -> float:
        """Radius of a turn in the circuit."""
        bank = self.plan.bank_deg or self.profile.turn_bank_deg
        return turn_radius_nm(self.true_kt(calibrated_kt, self.plan.conventional_altitude_ft), bank)

    @cached_property
    def downwind_offset_nm(self) -> float:
        """Room for the wider of the two half rounds: crosswind at the climbing speed, base at the pattern's."""
        widest = max(self.turn_nm(self.profile.climb_kt), self.turn_nm(self.profile.pattern_kt))
        return 2.0 * widest + BASE_STRAIGHT_NM

    @property
    def report_x_nm(self) -> float:
        return self.on_the_line(REPORT_NM).x_nm

    def on_the_line(self, nm: float) -> Pose:
        """So far before the downwind, on the line that meets it at midfield."""
        join = Pose(self.plan.length_nm / 2.0, self.downwind_offset_nm, _INTO_THE_45)
        return join.ahead(-nm)

    @property
    def begins_nm(self) -> float:
        return REPORT_NM + ESTABLISHED_NM

    @cached_property
    def crosswind_end_y_nm(self) -> float:
        return self.on_the_line(self.begins_nm).y_nm

    def joins_onto_the_45(self, point: str) -> bool:
        return False

    def start(self, leg: Leg, via: str | None) -> Motion:
        if leg is not Leg.INITIAL:
            return super().start(leg, via)
        altitude_ft = self.plan.conventional_altitude_ft
        speed_kt = self.true_kt(self.profile.outside_kt, altitude_ft)
        return Motion(self.on_the_line(self.begins_nm), altitude_ft, speed_kt)

    @property
    def own_legs(self) -> Mapping[Leg, Callable[[Flying], tuple[Path, str]]]:
        return _LEGS


def _here(flying: Flying) -> RectangularGeometry:
    assert isinstance(flying.geometry, RectangularGeometry)
    return flying.geometry


def _level(flying: Flying, track: Track, calibrated_kt: float, altitude_ft: float) -> Path:
    return flying.path(track, flying.airspeeds(calibrated_kt, altitude_ft)(track), altitude_ft)


def _onto_the_line(flying: Flying, before_nm: float) -> Track:
    """To this place on the line: straight where the aircraft is on it already."""
    geometry, pose = _here(flying), flying.motion.pose
    goal = geometry.on_the_line(geometry.begins_nm + before_nm)
    ahead = math.hypot(goal.x_nm - pose.x_nm, goal.y_nm - pose.y_nm)
    straight = pose.ahead(ahead)
    turned = abs(math.remainder(pose.direction - goal.direction, 2.0 * math.pi))
    if straight.distance_to(goal) < _NEAR and turned < _NEAR:
        return follow(pose, ahead)
    return to_pose(pose, goal, flying.manoeuvring_radius_nm)


def _outside_downwind(flying: Flying) -> tuple[Path, str]:
    track, geometry = _onto_the_line(flying, _LEAD_NM[0]), _here(flying)
    above = geometry.plan.overhead_altitude_ft
    return _level(flying, track, geometry.profile.outside_kt, above), "turn_onto_the_90"


def _ninety(flying: Flying) -> tuple[Path, str]:
    track, geometry = _onto_the_line(flying, _LEAD_NM[1]), _here(flying)
    above = geometry.plan.overhead_altitude_ft
    return _level(flying, track, geometry.profile.outside_kt, above), "turn_onto_the_45"


def _forty_five(flying: Flying) -> tuple[Path, str]:
    track, geometry = _onto_the_line(flying, 0.0), _here(flying)
    circuit = geometry.plan.conventional_altitude_ft
    return _level(flying, track, geometry.profile.outside_kt, circuit), "turn_onto_initial"


def _line(flying: Flying) -> tuple[Path, str]:
    """Initial: along the line to the turn onto the downwind, or to where one turns away."""
    geometry, clearances = _here(flying), flying.clearances
    if clearances.break_approved and clearances.break_at != "threshold":
        raise PatternError("the downwind is joined at midfield only")
    to_join = math.hypot(*_from_the_join(flying))
    # A turn of 45 degrees meets the downwind this long before the join.
    lead = geometry.turn_nm(geometry.profile.pattern_kt) * math.tan(math.pi / 8.0)
    before = lead if clearances.break_approved else DECIDES_NM
    track = follow(flying.motion.pose, max(to_join - before, flying.flown_nm))
    circuit = geometry.plan.conventional_altitude_ft
    return _level(flying, track, geometry.profile.pattern_kt, circuit), "pass_break_point"


def _from_the_join(flying: Flying) -> tuple[float, float]:
    join, pose = _here(flying).on_the_line(0.0), flying.motion.pose
    return pose.x_nm - join.x_nm, pose.y_nm - join.y_nm


def _onto_the_downwind(flying: Flying) -> tuple[Path, str]:
    geometry = _here(flying)
    circuit = geometry.plan.conventional_altitude_ft
    speeds_of = flying.airspeeds(geometry.profile.pattern_kt, circuit)
    track = flying.air.turn_onto(math.pi, geometry.downwind_offset_nm, AWAY, speeds_of)
    return flying.path(track, speeds_of(track), circuit), "roll_out"


def _downwind(flying: Flying) -> tuple[Path, str]:
    geometry, clearances = _here(flying), flying.clearances
    end = geometry.short_perch_x_nm if clearances.short_approach else geometry.perch_x_nm
    track = flying.along_to_x(end - (BASE_LIMIT_NM if clearances.extend_downwind else 0.0))
    circuit = geometry.plan.conventional_altitude_ft
    return _level(flying, track, geometry.profile.pattern_kt, circuit), "pass_perch"


def _crosswind_to_downwind(flying: Flying) -> tuple[Path, str]:
    geometry = _here(flying)
    track = _two_quarters(flying, geometry.turn_nm(geometry.profile.climb_kt), geometry.downwind_offset_nm)
    circuit = geometry.plan.conventional_altitude_ft
    return _level(flying, track, geometry.profile.pattern_kt, circuit), "roll_out"


def _base(flying: Flying) -> tuple[Path, str]:
    """As the final turn: evenly down to the glide path at the roll-out, evenly to the final's speed."""
    geometry, motion = _here(flying), flying.motion
    track = _two_quarters(flying, geometry.turn_nm(geometry.profile.pattern_kt), motion.pose.y_nm)
    speeds = evenly_to_speed(track.length, flying.air.true_kt, geometry.final_turn_end_kt)
    altitude = min(motion.altitude_ft, geometry.glide_altitude_ft(track.end.x_nm))
    heights = ((0.0, motion.altitude_ft), (speeds.duration, altitude))
    return Path(flying.at, track, speeds, heights), "roll_out"


def _two_quarters(flying: Flying, radius_nm: float, across_nm: float) -> Track:
    quarter = (radius_nm, TOWARDS, math.pi / 2.0)
    return follow(flying.motion.pose, quarter, across_nm - 2.0 * radius_nm, quarter)


def _turns_away(flying: Flying) -> tuple[Path, str]:
    """Not let in: away from the circuit, to fly out across and come back to the line."""
    geometry, pose = _here(flying), flying.motion.pose
    sweep = sweep_to(AWAY, pose.direction, math.pi / 2.0)
    track = follow(pose, (geometry.turn_nm(geometry.profile.pattern_kt), AWAY, sweep))
    circuit = geometry.plan.conventional_altitude_ft
    return _level(flying, track, geometry.profile.pattern_kt, circuit), "pass_crosswind_point"


_LEGS: dict[Leg, Callable[[Flying], tuple[Path, str]]] = {
    Leg.OUTSIDE_DOWNWIND: _outside_downwind,
    Leg.NINETY_TO_INITIAL: _ninety,
    Leg.FORTY_FIVE_TO_INITIAL: _forty_five,
    Leg.INITIAL: _line,
    Leg.BREAK_TURN: _onto_the_downwind,
    Leg.INSIDE_DOWNWIND: _downwind,
    Leg.CLOSED_PULL_UP: _crosswind_to_downwind,
    Leg.CLOSED_DOWNWIND: _downwind,
    Leg.FINAL_TURN: _base,
    Leg.STRAIGHT_THROUGH: _turns_away,
}
