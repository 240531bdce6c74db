"""A path through time: a track in the plane, flown at a speed that changes, at altitudes that change.

A leg that must stay on its line is a track over the ground, at ground speed. A leg with turns in wind
is a track through the air, at true airspeed, and the air drifts. Either way the position is a closed
formula of the session time; nothing is stepped.
"""

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from trainer.pattern.track import Pose, Straight, Track
from trainer.pattern.wind import CALM, Wind

_SECONDS_PER_HOUR = 3600.0


class Motion(NamedTuple):
    """Where an aircraft is and how it moves over the ground: the pose's direction is its track."""

    pose: Pose
    altitude_ft: float
    speed_kt: float


def _piece_at(lines: tuple[tuple[float, float], ...], second: float) -> int:
    """Which of the straight lines between (second, value); the outer ones are carried on."""
    return bisect_right(lines, (second, math.inf), 1, len(lines) - 1) - 1


@dataclass(frozen=True)
class Speeds:
    """Speed along a track against time: straight lines between (second from the start, knots)."""

    knots: tuple[tuple[float, float], ...]
    _flown: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        flown = [0.0]
        for (begin, slow), (end, fast) in zip(self.knots, self.knots[1:], strict=False):
            flown.append(flown[-1] + (slow + fast) / 2.0 * (end - begin) / _SECONDS_PER_HOUR)
        object.__setattr__(self, "_flown", tuple(flown))

    @property
    def duration(self) -> float:
        return self.knots[-1][0]

    def _piece(self, index: int) -> tuple[float, float, float]:
        """Start second, speed there, and knots a second, of the piece after this knot."""
        (begin, speed), (end, next_speed) = self.knots[index], self.knots[index + 1]
        return begin, speed, (next_speed - speed) / (end - begin) if end > begin else 0.0

    def flown(self, second: float) -> tuple[float, float]:
        """NM flown by then, and the speed there."""
        index = _piece_at(self.knots, second)
        begin, speed, rate = self._piece(index)
        elapsed = second - begin
        nm = self._flown[index] + (speed + rate * elapsed / 2.0) * elapsed / _SECONDS_PER_HOUR
        return nm, speed + rate * elapsed

    def at(self, second: float) -> float:
        return self.flown(second)[1]

    def distance(self, second: float) -> float:
        """NM flown by then."""
        return self.flown(second)[0]

    def second(self, nm: float) -> float:
        """When that distance has been flown; the first such second where the aircraft stands."""
        if nm >= self._flown[-1]:
            return self.duration
        index = bisect_left(self._flown, nm, 1, len(self.knots) - 1) - 1
        begin, speed, rate = self._piece(index)
        left = (nm - self._flown[index]) * _SECONDS_PER_HOUR
        root = math.sqrt(max(speed**2 + 2.0 * rate * left, 0.0))
        return begin + (2.0 * left / (speed + root) if speed + root > 0.0 else 0.0)


def towards_speed(length_nm: float, speed_kt: float, target_kt: float, rate_kt_s: float) -> Speeds:
    """Change speed at the rate until the target is reached or the length is flown, then hold it."""
    rate = math.copysign(rate_kt_s, target_kt - speed_kt)
    change_s = (target_kt - speed_kt) / rate
    change_nm = (speed_kt + target_kt) / 2.0 * change_s / _SECONDS_PER_HOUR
    if change_nm >= length_nm:
        reached = math.sqrt(speed_kt**2 + 2.0 * rate * length_nm * _SECONDS_PER_HOUR)
        return Speeds(((0.0, speed_kt), ((reached - speed_kt) / rate, reached)))
    hold_s = (length_nm - change_nm) / target_kt * _SECONDS_PER_HOUR
    return Speeds(((0.0, speed_kt), (change_s, target_kt), (change_s + hold_s, target_kt)))


def evenly_to_speed(length_nm: float, speed_kt: float, target_kt: float) -> Speeds:
    """Change speed evenly over the whole length."""
    seconds = 2.0 * length_nm / (speed_kt + target_kt) * _SECONDS_PER_HOUR
    return Speeds(((0.0, speed_kt), (seconds, target_kt)))


Heights = tuple[tuple[float, float], ...]
"""Altitude against time: straight lines between (second from the start, feet)."""


def climb(seconds: float, altitude_ft: float, target_ft: float, rate_ft_min: float) -> Heights:
    """Climb or descend at the rate until the target is reached or the time is up, then hold."""
    needed_s = abs(target_ft - altitude_ft) / rate_ft_min * 60.0
    if needed_s >= seconds:
        change_ft = math.copysign(rate_ft_min * seconds / 60.0, target_ft - altitude_ft)
        return ((0.0, altitude_ft), (seconds, altitude_ft + change_ft))
    return ((0.0, altitude_ft), (needed_s, target_ft), (seconds, target_ft))


def _interpolate(heights: Heights, second: float) -> float:
    index = _piece_at(heights, second)
    (begin, low), (end, high) = heights[index], heights[index + 1]
    if end <= begin:
        return high
    return low + (high - low) * min(max((second - begin) / (end - begin), 0.0), 1.0)


@dataclass(frozen=True)
class Path:
    """A track flown from session second `starts_at`; with `repeats`, over and over (a hold).

    `drift` carries the track along: it is the wind where the track lies in the air, and calm where it
    lies on the ground. Lengths and distances are those along the track.
    """

    starts_at: float
    track: Track
    speeds: Speeds
    heights: Heights
    repeats: bool = False
    drift: Wind = CALM

    @cached_property
    def ends_at(self) -> float:
        """Session second at which the end of the track is reached; infinite for a hold."""
        return math.inf if self.repeats else self.starts_at + self.speeds.duration

    def at(self, time: float) -> Motion:
        """Motion at this session second, which must lie on the path."""
        second = min(max(time - self.starts_at, 0.0), self.ends_at - self.starts_at)
        lapped = self.repeats and second > self.speeds.duration
        if lapped:
            second = math.fmod(second, self.speeds.duration)
        altitude = self.heights[-1][1] if lapped else _interpolate(self.heights, second)
        nm, speed = self.speeds.flown(second)
        pose = self.track.at(nm)
        if self.drift.calm:
            return Motion(pose, altitude, speed)
        x, y = self.drift.carried_nm(second)
        direction, ground_kt = self.drift.over_ground(pose.direction, speed)
        return Motion(Pose(pose.x_nm + x, pose.y_nm + y, direction), altitude, ground_kt)

    def when_at_distance(self, nm: float) -> float:
        """Session second at which this much of the track has been flown."""
        return self.starts_at + self.speeds.second(nm)

    def when_at_x(self, x_nm: float) -> float | None:
        """Session second at which a straight part passes this x, or None if none does."""
        if self.drift.calm:
            nm = self.track.distance_to_x(x_nm)
            return None if nm is None else self.when_at_distance(nm)
        begin = 0.0
        for segment in self.track.segments:
            end = begin + segment.length
            if isinstance(segment, Straight):
                when = self._when_between(x_nm, self.when_at_distance(begin), self.when_at_distance(end))
                if when is not None:
                    return when
            begin = end
        return None

    def _when_between(self, x_nm: float, early: float, late: float) -> float | None:
        """Halving: on a straight the aircraft goes one way only, being faster than the wind."""

        def beyond(time: float) -> float:
            return self.at(time).pose.x_nm - x_nm

        first, last = beyond(early), beyond(late)
        if first * last > 0.0:
            return None
        while late - early > 1e-7:
            middle = (early + late) / 2.0
            early, late = (middle, late) if first * beyond(middle) > 0.0 else (early, middle)
        return early
