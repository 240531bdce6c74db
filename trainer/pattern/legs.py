"""The path of each leg, and the event at its end.

A path runs from where the leg was entered. When a clearance moves the leg's end it is made anew
from that same motion, so what has been flown of it stays as it was and a flight never jumps.
Turns keep their radius while the speed changes: the pilot eases or adds bank.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from trainer.pattern.clearances import Clearances
from trainer.pattern.geometry import Geometry
from trainer.pattern.kinematics import glide_path_nm, turn_radius_nm
from trainer.pattern.landing import runway_path
from trainer.pattern.leg import Leg
from trainer.pattern.path import Motion, Path, Speeds, climb, evenly_to_speed, towards_speed
from trainer.pattern.plan import BASE_LIMIT_NM
from trainer.pattern.track import (
    AWAY,
    TOWARDS,
    Arc,
    Pose,
    Straight,
    Track,
    follow,
    half_turn,
    to_point,
    to_pose,
)

_LONGEST_TURN_AWAY = math.radians(300.0)


@dataclass(frozen=True)
class Flying:
    """What a leg's path is made from: `motion` and `at` are those of entering the leg."""

    geometry: Geometry
    clearances: Clearances
    motion: Motion
    at: float
    via: str | None
    flown_nm: float = 0.0
    """How much of the leg lies behind: its end cannot be moved there."""

    def path(self, track: Track, calibrated_kt: float, altitude_ft: float) -> Path:
        """The track flown with a change towards this speed and altitude, at the class's rates."""
        geometry, motion = self.geometry, self.motion
        target = geometry.true_kt(calibrated_kt, altitude_ft)
        profile = geometry.profile
        rate = profile.acceleration_kt_s if target > motion.speed_kt else profile.deceleration_kt_s
        speeds = towards_speed(track.length, motion.speed_kt, target, rate)
        climbs = altitude_ft > motion.altitude_ft
        climb_rate = profile.climb_ft_min if climbs else profile.descent_ft_min
        heights = climb(speeds.duration, motion.altitude_ft, altitude_ft, climb_rate)
        return Path(self.at, track, speeds, heights)

    def outside(self, track: Track, altitude_ft: float | None = None) -> Path:
        plan = self.geometry.plan
        altitude = plan.overhead_altitude_ft if altitude_ft is None else altitude_ft
        return self.path(track, self.geometry.profile.outside_kt, altitude)

    def along_to_x(self, x_nm: float) -> Track:
        """Straight on to this x; to where the aircraft is if it has been passed."""
        pose = self.motion.pose
        return follow(pose, max((x_nm - pose.x_nm) * math.cos(pose.direction), self.flown_nm))

    @property
    def manoeuvring_radius_nm(self) -> float:
        """Of a turn begun at the present speed, or at the outside speed if that is higher."""
        geometry = self.geometry
        speed = max(self.motion.speed_kt, geometry.true_kt(geometry.profile.outside_kt))
        return turn_radius_nm(speed, geometry.profile.turn_bank_deg)


def _inbound(flying: Flying) -> tuple[Path, str]:
    assert flying.via is not None  # a flight cannot begin inbound without a point
    point = flying.geometry.plan.point(flying.via)
    return flying.outside(to_point(flying.motion.pose, *point, flying.manoeuvring_radius_nm)), "reach_point"


def _entry_point(flying: Flying) -> tuple[Path, str]:
    motion = flying.motion
    circle = follow(motion.pose, (flying.manoeuvring_radius_nm, TOWARDS, 2.0 * math.pi))
    speeds = evenly_to_speed(circle.length, motion.speed_kt, motion.speed_kt)
    level = ((0.0, motion.altitude_ft), (speeds.duration, motion.altitude_ft))
    return Path(flying.at, circle, speeds, level, repeats=True), ""


def _ninety(flying: Flying) -> tuple[Path, str]:
    geometry, pose = flying.geometry, flying.motion.pose
    side = 1 if pose.y_nm >= 0.0 else -1
    joining = to_pose(pose, geometry.ninety_start(side), geometry.radius_nm)
    across = abs(geometry.ninety_start(side).y_nm - geometry.ninety_end(side).y_nm)
    track = Track((*joining.segments, Straight(geometry.ninety_start(side), across)))
    return flying.outside(track), "turn_onto_the_45"


def _forty_five(flying: Flying) -> tuple[Path, str]:
    initial = Pose(flying.geometry.initial_x_nm, 0.0, 0.0)
    track = to_pose(flying.motion.pose, initial, flying.geometry.radius_nm)
    return flying.outside(track), "turn_onto_initial"


def _initial(flying: Flying) -> tuple[Path, str]:
    plan, clearances = flying.geometry.plan, flying.clearances
    end = plan.break_x_nm(clearances.break_at) if clearances.break_approved else plan.break_zone_nm
    track = flying.along_to_x(end)
    return flying.path(
        track, flying.geometry.profile.initial_kt, plan.overhead_altitude_ft
    ), "pass_break_point"


def _straight_through(flying: Flying) -> tuple[Path, str]:
    plan, clearances = flying.geometry.plan, flying.clearances
    if clearances.break_approved:
        end, trigger = plan.break_x_nm(clearances.break_at), "pass_break_point"
    else:
        end, trigger = flying.geometry.crosswind_x_nm(), "pass_crosswind_point"
    track = flying.along_to_x(end)
    return flying.path(track, flying.geometry.profile.initial_kt, plan.overhead_altitude_ft), trigger


def _pattern_half_turn(flying: Flying) -> tuple[Path, str]:
    """The break, level; the closed pull-up, climbing: both to the offset of the downwind."""
    geometry = flying.geometry
    track = half_turn(flying.motion.pose, geometry.downwind_offset_nm / 2.0)
    return flying.path(track, geometry.profile.pattern_kt, geometry.plan.overhead_altitude_ft), "roll_out"


def _downwind(flying: Flying) -> tuple[Path, str]:
    geometry = flying.geometry
    further = BASE_LIMIT_NM if flying.clearances.extend_downwind else 0.0
    track = flying.along_to_x(geometry.perch_x_nm - further)
    return flying.path(track, geometry.profile.pattern_kt, geometry.plan.overhead_altitude_ft), "pass_perch"


def _final_turn(flying: Flying) -> tuple[Path, str]:
    geometry, motion = flying.geometry, flying.motion
    track = half_turn(motion.pose, motion.pose.y_nm / 2.0)
    altitude = min(motion.altitude_ft, geometry.glide_altitude_ft(track.end.x_nm))
    target = geometry.true_kt(geometry.profile.final_kt, altitude)
    speeds = evenly_to_speed(track.length, motion.speed_kt, target)
    heights = ((0.0, motion.altitude_ft), (speeds.duration, altitude))
    return Path(flying.at, track, speeds, heights), "roll_out"


def _final(flying: Flying) -> tuple[Path, str]:
    geometry, motion = flying.geometry, flying.motion
    track = flying.along_to_x(0.0)
    end = geometry.glide_altitude_ft(0.0)
    level_nm = max(track.length - glide_path_nm(max(motion.altitude_ft - end, 0.0)), 0.0)
    target = geometry.true_kt(geometry.profile.final_kt, end)
    speeds = towards_speed(track.length, motion.speed_kt, target, geometry.profile.deceleration_kt_s)
    heights = (
        (0.0, motion.altitude_ft),
        (speeds.second(level_nm), motion.altitude_ft),
        (speeds.duration, end),
    )
    return Path(flying.at, track, speeds, heights), "pass_threshold"


def _runway(flying: Flying) -> tuple[Path, str]:
    landing = flying.clearances.landing
    assert landing is not None  # the machine lets nobody on the runway without
    path = runway_path(flying.geometry, landing, flying.motion, flying.at)
    return path, "turn_off" if landing == "full_stop" else "lift_off"


def _going_around(flying: Flying) -> tuple[Path, str]:
    geometry = flying.geometry
    midfield = Pose(geometry.plan.length_nm / 2.0, 0.0, 0.0)
    track = to_pose(flying.motion.pose, midfield, geometry.downwind_offset_nm / 2.0)
    return _climbing_away(flying, track), "pass_midfield"


def _climbing_away(flying: Flying, track: Track) -> Path:
    """Not above the conventional pattern before the turn: initial is overhead (CP)."""
    geometry, now_ft = flying.geometry, flying.motion.altitude_ft
    altitude = max(now_ft, geometry.plan.conventional_altitude_ft)
    return flying.path(track, geometry.profile.climb_kt, altitude)


def _departure(flying: Flying) -> tuple[Path, str]:
    geometry, clearances = flying.geometry, flying.clearances
    if clearances.closed_approved:
        return _climbing_away(flying, flying.along_to_x(geometry.plan.length_nm)), "pull_closed"
    track = flying.along_to_x(geometry.crosswind_x_nm(clearances.extend_upwind))
    return _climbing_away(flying, track), "pass_crosswind_point"


def _crosswind(flying: Flying) -> tuple[Path, str]:
    geometry, pose = flying.geometry, flying.motion.pose
    radius = geometry.radius_nm
    across = geometry.plan.outside_offset_nm - 2.0 * radius
    track = follow(pose, (radius, TOWARDS, math.pi / 2.0), across)
    return flying.outside(track), "turn_onto_outside"


def _outside_downwind(flying: Flying) -> tuple[Path, str]:
    geometry = flying.geometry
    corner = Pose(geometry.ninety_x_nm + geometry.radius_nm, geometry.plan.outside_offset_nm, math.pi)
    return flying.outside(to_pose(flying.motion.pose, corner, geometry.radius_nm)), "turn_onto_the_90"


def _breakout(flying: Flying) -> tuple[Path, str]:
    """Turns away from the pattern, that is against its turns, unless that were most of a circle."""
    diversion = flying.clearances.diversion
    assert diversion is not None  # set by the instruction that leads here
    point = flying.geometry.plan.point(diversion.point)
    pose, radius = flying.motion.pose, flying.manoeuvring_radius_nm
    track = to_point(pose, *point, radius, (AWAY,))
    first = track.segments[0]
    if isinstance(first, Arc) and first.sweep > _LONGEST_TURN_AWAY:
        track = to_point(pose, *point, radius)
    return flying.outside(track, diversion.altitude_ft), "reach_point"


def _climb_out(flying: Flying) -> tuple[Path, str]:
    """Runway heading until the altitude is reached and the departure end passed, then to the point."""
    diversion = flying.clearances.diversion
    assert diversion is not None  # set by the instruction that leads here
    geometry, motion = flying.geometry, flying.motion
    to_climb_s = max(diversion.altitude_ft - motion.altitude_ft, 0.0) / geometry.profile.climb_ft_min * 60.0
    fastest = max(motion.speed_kt, geometry.true_kt(geometry.profile.outside_kt, diversion.altitude_ft))
    ahead = max(fastest * to_climb_s / 3600.0, geometry.plan.length_nm - motion.pose.x_nm, 0.0)
    straight = follow(motion.pose, ahead)
    onward = to_point(straight.end, *geometry.plan.point(diversion.point), flying.manoeuvring_radius_nm)
    track = Track((*straight.segments, *onward.segments))
    return flying.outside(track, max(diversion.altitude_ft, motion.altitude_ft)), "reach_point"


def _clear_of_runway(flying: Flying) -> tuple[Path, str]:
    motion = flying.motion
    level = ((0.0, motion.altitude_ft), (0.0, motion.altitude_ft))
    standing = Speeds(((0.0, 0.0), (1.0, 0.0)))
    return Path(flying.at, follow(motion.pose, 0.0), standing, level, repeats=True), ""


_PATHS: dict[Leg, Callable[[Flying], tuple[Path, str]]] = {
    Leg.INBOUND: _inbound,
    Leg.ENTRY_POINT: _entry_point,
    Leg.NINETY_TO_INITIAL: _ninety,
    Leg.FORTY_FIVE_TO_INITIAL: _forty_five,
    Leg.INITIAL: _initial,
    Leg.BREAK_TURN: _pattern_half_turn,
    Leg.INSIDE_DOWNWIND: _downwind,
    Leg.FINAL_TURN: _final_turn,
    Leg.FINAL: _final,
    Leg.RUNWAY: _runway,
    Leg.DEPARTURE: _departure,
    Leg.CLOSED_PULL_UP: _pattern_half_turn,
    Leg.CLOSED_DOWNWIND: _downwind,
    Leg.CROSSWIND: _crosswind,
    Leg.OUTSIDE_DOWNWIND: _outside_downwind,
    Leg.STRAIGHT_THROUGH: _straight_through,
    Leg.BREAKOUT: _breakout,
    Leg.CLIMB_OUT: _climb_out,
    Leg.GOING_AROUND: _going_around,
    Leg.CLEAR_OF_RUNWAY: _clear_of_runway,
}


def leg_path(leg: Leg, flying: Flying) -> tuple[Path, str]:
    """The path from here on, and the event at its end ("" for a leg that has no end of its own)."""
    return _PATHS[leg](flying)
