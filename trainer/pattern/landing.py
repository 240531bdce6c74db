"""The runway leg: what is flown and rolled between the threshold and lift-off, or the turn-off."""

import math

from trainer.pattern.clearances import Intention
from trainer.pattern.geometry import Geometry
from trainer.pattern.kinematics import FEET_PER_NM
from trainer.pattern.path import Heights, Motion, Path, Speeds
from trainer.pattern.track import AWAY, follow

# All of common practice, without a published source.
_TOUCHDOWN_NM = 1000.0 / FEET_PER_NM
_ROLL_S = 6.0
_ROLL_KT_S = 1.5
_STAND_S = 10.0
_TAXI_KT = 20.0
_TURN_OFF_NM = 0.05


def _speeds(geometry: Geometry, landing: Intention, speed_kt: float) -> Speeds:
    """From the threshold; the first part, to touchdown, is the same for all."""
    profile = geometry.profile
    touchdown_s = _TOUCHDOWN_NM / speed_kt * 3600.0
    knots = [(0.0, speed_kt), (touchdown_s, speed_kt)]

    def then(seconds: float, kt: float) -> None:
        knots.append((knots[-1][0] + seconds, kt))

    match landing:
        case "touch_and_go" | "option":
            slow_kt = speed_kt - _ROLL_S * _ROLL_KT_S
            then(_ROLL_S, slow_kt)
            then((speed_kt - slow_kt) / profile.acceleration_kt_s, speed_kt)
        case "stop_and_go":
            then(speed_kt / profile.braking_kt_s, 0.0)
            then(_STAND_S, 0.0)
            then(speed_kt / profile.acceleration_kt_s, speed_kt)
        case "full_stop":
            then((speed_kt - _TAXI_KT) / profile.braking_kt_s, _TAXI_KT)
            then(3.0 * _TURN_OFF_NM / _TAXI_KT * 3600.0, _TAXI_KT)
        case "low_approach":
            past_touchdown_nm = max(geometry.plan.length_nm / 2.0 - _TOUCHDOWN_NM, 0.0)
            then(past_touchdown_nm / speed_kt * 3600.0, speed_kt)
    return Speeds(tuple(knots))


def runway_path(geometry: Geometry, landing: Intention, motion: Motion, at: float) -> Path:
    """From the threshold: touch and go and the option (flown as one) roll six seconds; a stop and go
    stands for ten; a low approach flies level to midfield; a full stop turns off away from the pattern."""
    speeds = _speeds(geometry, landing, motion.speed_kt)
    length = speeds.distance(speeds.duration)
    pieces: tuple[tuple[float, int, float] | float, ...] = (length,)
    ground = geometry.plan.elevation_ft
    touchdown_s = speeds.knots[1][0]
    heights: Heights = ((0.0, motion.altitude_ft), (touchdown_s, ground), (speeds.duration, ground))
    if landing == "full_stop":
        quarter = 2.0 * _TURN_OFF_NM / math.pi
        pieces = (length - 2.0 * _TURN_OFF_NM, (quarter, AWAY, math.pi / 2.0), _TURN_OFF_NM)
    if landing == "low_approach":
        heights = ((0.0, motion.altitude_ft), (speeds.duration, motion.altitude_ft))
    return Path(at, follow(motion.pose, *pieces), speeds, heights)


def runway_needed_ft(geometry: Geometry, landing: Intention) -> float:
    """Runway from the threshold to lift-off, or to taxi speed."""
    true_kt = geometry.true_kt(geometry.profile.final_kt, geometry.plan.elevation_ft)
    speed = geometry.plan.wind.ground_speed_kt(0.0, true_kt)
    speeds = _speeds(geometry, landing, speed)
    taxied_nm = 3.0 * _TURN_OFF_NM if landing == "full_stop" else 0.0
    return (speeds.distance(speeds.duration) - taxied_nm) * FEET_PER_NM
