"""Turns through air that moves: how they are made to end on their line over the ground.

A turn keeps its radius in the air while the speed changes: the pilot eases or adds bank. On the ground
that is a trochoid. There are two ways to come out right, and pilots use both. With the bank: `turn_onto`
chooses the radius so that the roll-out is on the line. With the moment: `towards` leads its goal by
as much as the wind carries the aircraft until it is there, so that the straights lie a little off.
All tracks here lie in the air, which is the field's plane at the moment when the leg begins.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from trainer.pattern.path import Speeds
from trainer.pattern.track import Arc, Pose, Straight, Track, follow, sweep_to
from trainer.pattern.wind import Wind

SpeedsOf = Callable[[Track], Speeds]
"""True airspeed along a track."""

_CLOSE_S = 1e-7
_CLOSE_NM = 1e-10
_CLOSE_KT = 1e-8
_ROUNDS = 80


@dataclass(frozen=True)
class InAir:
    """An aircraft at the beginning of a leg: where it goes over the ground, where it points, and how fast."""

    ground: Pose
    start: Pose
    true_kt: float
    wind: Wind

    @classmethod
    def over_ground(cls, pose: Pose, ground_kt: float, wind: Wind) -> "InAir":
        heading, true_kt = wind.through_air(pose.direction, ground_kt)
        return cls(pose, Pose(pose.x_nm, pose.y_nm, heading), true_kt, wind)

    def turn_onto(self, direction: float, y_nm: float, turn: int, speeds_of: SpeedsOf) -> Track:
        """One turn in the air that comes out along the line y, with the radius that the wind asks for."""
        pose, start, true_kt = self.ground, self.start, self.true_kt
        across = turn * (math.cos(pose.direction) - math.cos(direction))
        calm = (y_nm - pose.y_nm) / across
        if self.wind.calm:
            return follow(pose, (calm, turn, sweep_to(turn, pose.direction, direction)))

        def flown(radius: float) -> tuple[Track, float]:
            end_kt, track = true_kt, follow(start, 0.0)
            for _ in range(_ROUNDS):  # the crab at the end depends on the speed there, and that on the crab
                sweep = sweep_to(turn, start.direction, self.wind.heading(direction, end_kt))
                track = follow(start, (radius, turn, sweep))
                speeds = speeds_of(track)
                off_kt, end_kt = speeds.knots[-1][1] - end_kt, speeds.knots[-1][1]
                if abs(off_kt) < _CLOSE_KT:
                    break
            return track, track.end.y_nm + self.wind.carried_nm(speeds.duration)[1] - y_nm

        one, other = calm, calm * 1.05
        off_one, off = flown(one)[1], flown(other)[1]
        for _ in range(_ROUNDS):
            if abs(off) < _CLOSE_NM or off == off_one:
                break
            # Secant, kept from running off: a turn is never wider than four times the calm one.
            following = other - off * (other - one) / (off - off_one)
            one, off_one = other, off
            other = min(max(following, 0.1 * calm), 4.0 * calm)
            off = flown(other)[1]
        return flown(other)[0]

    def turn_then_to_y(
        self, direction: float, y_nm: float, turn: int, radius_nm: float, speeds_of: SpeedsOf
    ) -> Track:
        """A turn of this radius, then straight on in this direction until the line y is reached."""
        start, wind = self.start, self.wind
        final_kt = speeds_of(follow(start, 100.0)).knots[-1][1]  # where it has been changed to
        sweep = sweep_to(turn, start.direction, wind.heading(direction, final_kt))
        arc = Arc(start, radius_nm, turn, sweep)
        end = arc.at(arc.length)
        straight = 0.0
        for _ in range(_ROUNDS):
            track = Track((arc, Straight(end, straight)))
            drifted = wind.carried_nm(speeds_of(track).duration)[1]
            needed = max((y_nm - drifted - end.y_nm) / math.sin(end.direction), 0.0)
            if abs(needed - straight) < _CLOSE_NM:
                break
            straight = needed
        return track

    def then_straight_to_x(self, turn: Track, x_nm: float, speeds_of: SpeedsOf) -> Track:
        """After a turn that comes out along the runway line, straight on until this x."""
        straight, end = 0.0, turn.end
        for _ in range(_ROUNDS):
            track = Track((*turn.segments, Straight(end, straight)))
            drifted = self.wind.carried_nm(speeds_of(track).duration)[0]
            needed = max((x_nm - drifted - end.x_nm) / math.cos(end.direction), 0.0)
            if abs(needed - straight) < _CLOSE_NM:
                break
            straight = needed
        return track

    def towards(self, make: Callable[[Pose, float, float], Track], speeds_of: SpeedsOf) -> Track:
        """The track that `make` gives for a goal which drifts: make(start, seconds, airspeed at the end).

        Where the ways jump so that none arrives in time, the aircraft first flies straight on for a while.
        """
        start, true_kt = self.start, self.true_kt
        for ahead in (0.0, 0.5, 1.0, 2.0, 4.0):
            lead = (Straight(start, ahead),) if ahead else ()
            seconds, end_kt = 0.0, true_kt
            for _ in range(1 if self.wind.calm else _ROUNDS):
                track = Track((*lead, *make(start.ahead(ahead), seconds, end_kt).segments))
                speeds = speeds_of(track)
                off_s, off_kt = speeds.duration - seconds, speeds.at(speeds.duration) - end_kt
                if self.wind.calm or (abs(off_s) < _CLOSE_S and abs(off_kt) < _CLOSE_S):
                    return track
                seconds, end_kt = speeds.duration, speeds.at(speeds.duration)
        return track

    def led(self, goal: Pose, seconds: float, true_kt: float) -> Pose:
        """A place and direction over the ground, as seen in air that has drifted for so long."""
        x, y = self.wind.carried_nm(seconds)
        return Pose(goal.x_nm - x, goal.y_nm - y, self.wind.heading(goal.direction, true_kt))

    def circle(self, turn: int, radius_nm: float) -> tuple[Track, Speeds]:
        """A full turn that comes back to where it began: with a straight flown into the wind on the way."""
        start, true_kt = self.start, self.true_kt
        seconds = 2.0 * math.pi * radius_nm / max(true_kt - self.wind.speed_kt, 1.0) * 3600.0
        speeds = Speeds(((0.0, true_kt), (seconds, true_kt)))
        if self.wind.calm:
            return follow(start, (radius_nm, turn, 2.0 * math.pi)), speeds
        upwind = sweep_to(turn, start.direction, self.wind.direction + math.pi)
        into_wind = self.wind.speed_kt * seconds / 3600.0
        rest = 2.0 * math.pi - upwind
        return follow(start, (radius_nm, turn, upwind), into_wind, (radius_nm, turn, rest)), speeds
