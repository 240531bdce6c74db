"""The path of each leg, and the event at its end.

A path runs from where the leg was entered. When a clearance moves the leg's end it is made anew
from that same motion, so what has been flown of it stays as it was and a flight never jumps.
What the wind does to it is in `turns`; the legs outside the overhead circuit are in `outside`.
"""

import math
from collections.abc import Callable

from trainer.pattern import outside
from trainer.pattern.flying import Flying
from trainer.pattern.kinematics import glide_path_nm
from trainer.pattern.landing import runway_path
from trainer.pattern.leg import Leg
from trainer.pattern.path import Path, Speeds, evenly_to_speed
from trainer.pattern.plan import BASE_LIMIT_NM
from trainer.pattern.track import (
    AWAY,
    TOWARDS,
    Pose,
    Track,
    follow,
    to_pose,
)

_GLIDE_STEP_NM = 0.1
_ON_THE_LINE_NM = 1e-3
_ON_COURSE = 0.9999


def _three_sixty(flying: Flying) -> tuple[Path, str]:
    circle = flying.clearances.circle
    assert circle is not None  # set by the instruction that leads here
    plan = flying.geometry.plan
    track, speeds = flying.air.circle(TOWARDS if circle.side == plan.side else AWAY, flying.present_radius_nm)
    return flying.path(track, speeds, flying.motion.altitude_ft), "complete_circle"


def _initial(flying: Flying) -> tuple[Path, str]:
    plan, clearances = flying.geometry.plan, flying.clearances
    end = plan.break_x_nm(clearances.break_at) if clearances.break_approved else plan.break_zone_nm
    track = flying.along_to_x(end)
    initial_kt = flying.geometry.profile.initial_kt
    return flying.straight(track, initial_kt, plan.overhead_altitude_ft), "pass_break_point"


def _straight_through(flying: Flying) -> tuple[Path, str]:
    plan, clearances = flying.geometry.plan, flying.clearances
    if clearances.break_approved:
        end, trigger = plan.break_x_nm(clearances.break_at), "pass_break_point"
    else:
        end, trigger = flying.geometry.crosswind_x_nm(), "pass_crosswind_point"
    track = flying.along_to_x(end)
    return flying.straight(track, flying.geometry.profile.initial_kt, plan.overhead_altitude_ft), trigger


def _pattern_half_turn(flying: Flying) -> tuple[Path, str]:
    """The break, level; the closed pull-up, climbing: both to the line of the downwind."""
    geometry = flying.geometry
    altitude = geometry.plan.overhead_altitude_ft
    speeds_of = flying.airspeeds(geometry.profile.pattern_kt, altitude)
    track = flying.air.turn_onto(math.pi, geometry.downwind_offset_nm, TOWARDS, speeds_of)
    return flying.path(track, speeds_of(track), altitude), "roll_out"


def _downwind(flying: Flying) -> tuple[Path, str]:
    geometry, clearances = flying.geometry, flying.clearances
    end = geometry.short_perch_x_nm if clearances.short_approach else geometry.perch_x_nm
    track = flying.along_to_x(end - (BASE_LIMIT_NM if clearances.extend_downwind else 0.0))
    altitude = geometry.plan.overhead_altitude_ft
    return flying.straight(track, geometry.profile.pattern_kt, altitude), "pass_perch"


def _final_turn(flying: Flying) -> tuple[Path, str]:
    geometry, motion = flying.geometry, flying.motion
    true_kt = flying.air.true_kt
    target = geometry.final_turn_end_kt

    def speeds_of(track: Track) -> Speeds:
        return evenly_to_speed(track.length, true_kt, target)

    track = flying.air.turn_onto(0.0, 0.0, TOWARDS, speeds_of)
    speeds = speeds_of(track)
    end_x = track.end.x_nm + flying.wind.carried_nm(speeds.duration)[0]
    altitude = min(motion.altitude_ft, geometry.glide_altitude_ft(end_x))
    heights = ((0.0, motion.altitude_ft), (speeds.duration, altitude))
    return Path(flying.at, track, speeds, heights, drift=flying.wind), "roll_out"


def _final(flying: Flying) -> tuple[Path, str]:
    geometry, motion = flying.geometry, flying.motion
    track = flying.along_to_x(0.0)
    end = geometry.glide_altitude_ft(0.0)
    level_nm = max(track.length - glide_path_nm(max(motion.altitude_ft - end, 0.0)), 0.0)
    speeds = flying.ground_speeds(track.length, geometry.true_kt(geometry.profile.final_kt, end))
    # Level, then down a line over the ground: in steps, since the speed may still be changing.
    steps = max(math.ceil((track.length - level_nm) / _GLIDE_STEP_NM), 1)
    down = (level_nm + (track.length - level_nm) * step / steps for step in range(steps + 1))
    per_nm = (end - motion.altitude_ft) / max(track.length - level_nm, 1e-9)
    glide = ((speeds.second(nm), motion.altitude_ft + per_nm * (nm - level_nm)) for nm in down)
    heights = ((0.0, motion.altitude_ft), *glide)
    return Path(flying.at, track, speeds, heights), "pass_threshold"


def _runway(flying: Flying) -> tuple[Path, str]:
    landing = flying.clearances.landing
    assert landing is not None  # the machine lets nobody on the runway without
    path = runway_path(flying.geometry, landing, flying.motion, flying.at)
    return path, "turn_off" if landing == "full_stop" else "lift_off"


def _going_around(flying: Flying) -> tuple[Path, str]:
    """To midfield: straight on, or the final turn finished first."""
    geometry, motion = flying.geometry, flying.motion
    midfield = Pose(geometry.plan.length_nm / 2.0, 0.0, 0.0)
    altitude = _not_above_conventional(flying)
    if abs(motion.pose.y_nm) < _ON_THE_LINE_NM and math.cos(motion.pose.direction) > _ON_COURSE:
        track = flying.along_to_x(midfield.x_nm)
        return flying.straight(track, geometry.profile.climb_kt, altitude), "pass_midfield"
    speeds_of = flying.airspeeds(geometry.profile.climb_kt, altitude)
    half = geometry.downwind_offset_nm / 2.0
    if flying.wind.calm:
        track = to_pose(motion.pose, midfield, half)
    else:
        track = flying.air.turn_onto(0.0, 0.0, TOWARDS, speeds_of)
        speeds = speeds_of(track)
        end_x = track.end.x_nm + flying.wind.carried_nm(speeds.duration)[0]
        if not 0.5 * half < track.turn_radius_nm < 2.0 * half:
            track = flying.air.towards(
                lambda start, s, kt: to_pose(start, flying.air.led(midfield, s, kt), half / 2.0), speeds_of
            )
        elif end_x < midfield.x_nm:
            track = flying.air.then_straight_to_x(track, midfield.x_nm, speeds_of)
    return flying.path(track, speeds_of(track), altitude), "pass_midfield"


def _not_above_conventional(flying: Flying) -> float:
    """Not above the conventional pattern before the turn: initial is overhead (CP)."""
    return max(flying.motion.altitude_ft, flying.geometry.plan.conventional_altitude_ft)


def _departure(flying: Flying) -> tuple[Path, str]:
    geometry, clearances = flying.geometry, flying.clearances
    if clearances.closed_approved:
        end, trigger = geometry.plan.length_nm, "pull_closed"
    else:
        end, trigger = geometry.crosswind_x_nm(clearances.extend_upwind), "pass_crosswind_point"
    track = flying.along_to_x(end)
    return flying.straight(track, geometry.profile.climb_kt, _not_above_conventional(flying)), trigger


def _clear_of_runway(flying: Flying) -> tuple[Path, str]:
    motion = flying.motion
    level = ((0.0, motion.altitude_ft), (0.0, motion.altitude_ft))
    standing = Speeds(((0.0, 0.0), (1.0, 0.0)))
    return Path(flying.at, follow(motion.pose, 0.0), standing, level, repeats=True), ""


_PATHS: dict[Leg, Callable[[Flying], tuple[Path, str]]] = {
    Leg.INBOUND: outside.inbound,
    Leg.ENTRY_POINT: outside.entry_point,
    Leg.NINETY_TO_INITIAL: outside.ninety,
    Leg.FORTY_FIVE_TO_INITIAL: outside.forty_five,
    Leg.INITIAL: _initial,
    Leg.BREAK_TURN: _pattern_half_turn,
    Leg.INSIDE_DOWNWIND: _downwind,
    Leg.FINAL_TURN: _final_turn,
    Leg.FINAL: _final,
    Leg.RUNWAY: _runway,
    Leg.DEPARTURE: _departure,
    Leg.CLOSED_PULL_UP: _pattern_half_turn,
    Leg.CLOSED_DOWNWIND: _downwind,
    Leg.CROSSWIND: outside.crosswind,
    Leg.OUTSIDE_DOWNWIND: outside.outside_downwind,
    Leg.STRAIGHT_THROUGH: _straight_through,
    Leg.BREAKOUT: outside.breakout,
    Leg.CLIMB_OUT: outside.climb_out,
    Leg.GOING_AROUND: _going_around,
    Leg.STRAIGHT_IN: outside.straight_in,
    Leg.THREE_SIXTY: _three_sixty,
    Leg.CLEAR_OF_RUNWAY: _clear_of_runway,
}


def leg_path(leg: Leg, flying: Flying) -> tuple[Path, str]:
    """The path from here on, and the event at its end ("" for a leg that has no end of its own)."""
    return flying.geometry.own_legs.get(leg, _PATHS[leg])(flying)
