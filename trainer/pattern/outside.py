"""The paths of the legs that lie outside the overhead circuit: to the points, round the outside, straight in.

Turns have one radius here, and it is their moment that the wind moves.
"""

import math
from dataclasses import replace

from trainer.pattern.flying import Flying
from trainer.pattern.path import Path
from trainer.pattern.plan import STRAIGHT_IN_NM
from trainer.pattern.track import (
    AWAY,
    TOWARDS,
    Arc,
    Piece,
    Pose,
    Straight,
    Track,
    follow,
    sweep_to,
    to_point,
    to_pose,
)
from trainer.pattern.turns import SpeedsOf

_LONGEST_TURN_AWAY = math.radians(300.0)
_NEAR_NM = 0.5


def _outside_speeds(flying: Flying, altitude_ft: float | None = None) -> SpeedsOf:
    return flying.airspeeds(flying.geometry.profile.outside_kt, _altitude(flying, altitude_ft))


def _outside(flying: Flying, track: Track, altitude_ft: float | None = None) -> Path:
    speeds = _outside_speeds(flying, altitude_ft)(track)
    return flying.path(track, speeds, _altitude(flying, altitude_ft))


def _altitude(flying: Flying, altitude_ft: float | None) -> float:
    return flying.geometry.plan.overhead_altitude_ft if altitude_ft is None else altitude_ft


def _to_pose(flying: Flying, goal: Pose, radius_nm: float) -> Track:
    return flying.air.towards(
        lambda start, seconds, kt: to_pose(start, flying.air.led(goal, seconds, kt), radius_nm),
        _outside_speeds(flying),
    )


def _to_point(
    flying: Flying, turns: tuple[int, ...] = (TOWARDS, AWAY), first: tuple[Piece, ...] = ()
) -> Track:
    """To the entry point by one of these turns, after these pieces."""
    assert flying.via is not None  # every leg that leads to a point names it
    x, y = flying.geometry.plan.point(flying.via)

    def make(start: Pose, seconds: float, kt: float) -> Track:
        goal = flying.air.led(Pose(x, y, 0.0), seconds, kt)
        before = follow(start, *first)
        begins = before.end if first else start
        way = to_point(begins, goal.x_nm, goal.y_nm, flying.manoeuvring_radius_nm, turns)
        return Track((*before.segments, *way.segments))

    diversion = flying.clearances.diversion
    return flying.air.towards(make, _outside_speeds(flying, diversion.altitude_ft if diversion else None))


def inbound(flying: Flying) -> tuple[Path, str]:
    return _outside(flying, _to_point(flying)), "reach_point"


def entry_point(flying: Flying) -> tuple[Path, str]:
    track, speeds = flying.air.circle(TOWARDS, flying.manoeuvring_radius_nm)
    path = flying.path(track, speeds, flying.motion.altitude_ft)
    return replace(path, repeats=True), ""


def ninety(flying: Flying) -> tuple[Path, str]:
    geometry, pose = flying.geometry, flying.motion.pose
    side = 1 if pose.y_nm >= 0.0 else -1
    goal, end_y = geometry.ninety_start(side), geometry.ninety_end(side).y_nm
    speeds_of = _outside_speeds(flying)
    if _on_the_outside_downwind(flying):
        track = flying.air.turn_then_to_y(goal.direction, end_y, TOWARDS, geometry.radius_nm, speeds_of)
        return _outside(flying, track), "turn_onto_the_45"
    joining = _to_pose(flying, goal, geometry.radius_nm)
    true_kt = geometry.true_kt(geometry.profile.outside_kt)
    across = abs(goal.y_nm - end_y) * true_kt / flying.wind.ground_speed_kt(goal.direction, true_kt)
    return _outside(flying, Track((*joining.segments, Straight(joining.end, across)))), "turn_onto_the_45"


def _on_the_outside_downwind(flying: Flying) -> bool:
    """About to turn off it: there the 90 is one turn, wherever it comes out."""
    corner, pose = flying.geometry.outside_corner, flying.motion.pose
    turned = abs(math.remainder(pose.direction - corner.direction, 2.0 * math.pi))
    return turned < math.radians(10.0) and pose.distance_to(corner) < _NEAR_NM


def forty_five(flying: Flying) -> tuple[Path, str]:
    initial = Pose(flying.geometry.initial_x_nm, 0.0, 0.0)
    return _outside(flying, _to_pose(flying, initial, flying.geometry.radius_nm)), "turn_onto_initial"


def straight_in(flying: Flying) -> tuple[Path, str]:
    """To the runway line, and along it to where the report is due: level at the conventional pattern,
    or at the glide path if that is lower there."""
    geometry, plan = flying.geometry, flying.geometry.plan
    line = Pose(-plan.report_initial_nm - STRAIGHT_IN_NM, 0.0, 0.0)
    joining = _to_pose(flying, line, flying.manoeuvring_radius_nm)
    true_kt = geometry.true_kt(geometry.profile.outside_kt)
    along = STRAIGHT_IN_NM * true_kt / flying.wind.ground_speed_kt(0.0, true_kt)
    track = Track((*joining.segments, Straight(joining.end, along)))
    altitude = min(plan.conventional_altitude_ft, geometry.glide_altitude_ft(-plan.report_initial_nm))
    path = flying.path(track, _outside_speeds(flying)(track), altitude)
    return path, "turn_onto_final"


def crosswind(flying: Flying) -> tuple[Path, str]:
    """Perpendicular to the runway, to where the turn onto the outside downwind begins."""
    geometry, speeds_of = flying.geometry, _outside_speeds(flying)
    end_y = geometry.crosswind_end_y_nm
    track = flying.air.turn_then_to_y(math.pi / 2.0, end_y, TOWARDS, geometry.radius_nm, speeds_of)
    return _outside(flying, track), "turn_onto_outside"


def outside_downwind(flying: Flying) -> tuple[Path, str]:
    geometry = flying.geometry
    return _outside(flying, _to_pose(flying, geometry.outside_corner, geometry.radius_nm)), "turn_onto_the_90"


def breakout(flying: Flying) -> tuple[Path, str]:
    """Turns away from the pattern, that is against its turns, unless that were most of a circle."""
    diversion = flying.clearances.diversion
    assert diversion is not None  # set by the instruction that leads here
    track = _to_point(flying, (AWAY,))
    first = track.segments[0]
    if isinstance(first, Arc) and first.sweep > _LONGEST_TURN_AWAY:
        track = _to_point(flying)
    return _outside(flying, track, diversion.altitude_ft), "reach_point"


def climb_out(flying: Flying) -> tuple[Path, str]:
    """Runway heading until the altitude is reached and the departure end passed, then to the point.

    Runway heading is a heading: the wind is not allowed for (Pilot/Controller Glossary, from memory).
    """
    diversion = flying.clearances.diversion
    assert diversion is not None  # set by the instruction that leads here
    geometry, start, true_kt = flying.geometry, flying.air.start, flying.air.true_kt
    to_climb_ft = max(diversion.altitude_ft - flying.motion.altitude_ft, 0.0)
    to_climb_s = to_climb_ft / geometry.profile.climb_ft_min * 60.0
    fastest = max(true_kt, geometry.true_kt(geometry.profile.outside_kt, diversion.altitude_ft))
    ahead = max(fastest * to_climb_s / 3600.0, geometry.plan.length_nm - start.x_nm, 0.0)
    turn = AWAY if math.remainder(start.direction, 2.0 * math.pi) > 0.0 else TOWARDS
    onto_heading = (flying.manoeuvring_radius_nm, turn, sweep_to(turn, start.direction, 0.0))
    track = _to_point(flying, first=(onto_heading, ahead))
    return _outside(flying, track, max(diversion.altitude_ft, flying.motion.altitude_ft)), "reach_point"
