"""How a leg's path is made from a track: the speeds and the altitudes along it.

A straight leg is held over the ground, with the crab that the wind asks for; turns are in `turns`.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from trainer.pattern.clearances import Clearances
from trainer.pattern.geometry import Geometry
from trainer.pattern.kinematics import turn_radius_nm
from trainer.pattern.path import Heights, Motion, Path, Speeds, climb, towards_speed
from trainer.pattern.track import Track, follow
from trainer.pattern.turns import InAir, SpeedsOf
from trainer.pattern.wind import Wind


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

    @property
    def wind(self) -> Wind:
        return self.geometry.plan.wind

    @cached_property
    def air(self) -> InAir:
        """The aircraft as it moves through the air at the beginning of the leg."""
        return InAir.over_ground(self.motion.pose, self.motion.speed_kt, self.wind)

    def _rate_kt_s(self, true_kt: float) -> float:
        profile = self.geometry.profile
        return profile.acceleration_kt_s if true_kt > self.air.true_kt else profile.deceleration_kt_s

    def airspeeds(self, calibrated_kt: float, altitude_ft: float) -> SpeedsOf:
        """True airspeed along a track in the air: towards this one at the class's rate."""
        target = self.geometry.true_kt(calibrated_kt, altitude_ft)
        rate = self._rate_kt_s(target)
        return lambda track: towards_speed(track.length, self.air.true_kt, target, rate)

    def heights(self, seconds: float, altitude_ft: float) -> Heights:
        """Climb or descend at the class's rate."""
        profile, now_ft = self.geometry.profile, self.motion.altitude_ft
        rate = profile.climb_ft_min if altitude_ft > now_ft else profile.descent_ft_min
        return climb(seconds, now_ft, altitude_ft, rate)

    def path(self, track: Track, speeds: Speeds, altitude_ft: float) -> Path:
        """The path of a track in the air."""
        heights = self.heights(speeds.duration, altitude_ft)
        return Path(self.at, track, speeds, heights, drift=self.wind)

    # -- straight, over the ground ----------------------------------------------------------------

    def along_to_x(self, x_nm: float) -> Track:
        """Straight on to this x; to where the aircraft is if it has been passed."""
        pose = self.motion.pose
        return follow(pose, max((x_nm - pose.x_nm) * math.cos(pose.direction), self.flown_nm))

    def ground_speeds(self, length_nm: float, true_kt: float) -> Speeds:
        """Ground speed along a straight, while the airspeed changes to this one at the class's rate."""
        begin, direction = self.motion.speed_kt, self.motion.pose.direction
        if self.wind.calm:
            return towards_speed(length_nm, begin, true_kt, self._rate_kt_s(true_kt))
        end = self.wind.ground_speed_kt(direction, true_kt)
        seconds = abs(true_kt - self.air.true_kt) / self._rate_kt_s(true_kt)
        return towards_speed(length_nm, begin, end, abs(end - begin) / seconds if seconds > 1e-9 else 1.0)

    def straight(self, track: Track, calibrated_kt: float, altitude_ft: float) -> Path:
        """A straight track over the ground, with a change towards this speed and altitude."""
        target = self.geometry.true_kt(calibrated_kt, altitude_ft)
        speeds = self.ground_speeds(track.length, target)
        return Path(self.at, track, speeds, self.heights(speeds.duration, altitude_ft))

    @property
    def manoeuvring_radius_nm(self) -> float:
        """Of a turn begun at the present speed, or at the outside speed if that is higher."""
        geometry = self.geometry
        speed = max(self.air.true_kt, geometry.true_kt(geometry.profile.outside_kt))
        return turn_radius_nm(speed, geometry.profile.turn_bank_deg)

    @property
    def present_radius_nm(self) -> float:
        """Of a turn at the present speed, at the bank of the outside turns."""
        return turn_radius_nm(self.air.true_kt, self.geometry.profile.turn_bank_deg)
