"""Where a path lies: straight and arc segments in a plane, and the shortest ways between.

The plane is the field's, or that of the air where there is wind (`path.Path`). Lengths are NM; directions
are radians, 0 along the landing direction, growing towards the pattern's side. A turn is `TOWARDS` (as
the pattern turns) or `AWAY`.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from typing import NamedTuple

TOWARDS = 1
AWAY = -1
_FULL = 2.0 * math.pi


class Pose(NamedTuple):
    """A place and the direction of flight there."""

    x_nm: float
    y_nm: float
    direction: float

    def ahead(self, nm: float) -> "Pose":
        return Pose(
            self.x_nm + nm * math.cos(self.direction),
            self.y_nm + nm * math.sin(self.direction),
            self.direction,
        )

    def distance_to(self, other: "Pose") -> float:
        return math.hypot(other.x_nm - self.x_nm, other.y_nm - self.y_nm)

    def centre(self, radius_nm: float, turn: int) -> tuple[float, float]:
        """Centre of the circle that a turn from here follows."""
        return (
            self.x_nm - turn * radius_nm * math.sin(self.direction),
            self.y_nm + turn * radius_nm * math.cos(self.direction),
        )


class Straight(NamedTuple):
    start: Pose
    length: float

    def at(self, nm: float) -> Pose:
        return self.start.ahead(nm)


class Arc(NamedTuple):
    """`sweep` is the angle turned through, radians, never negative."""

    start: Pose
    radius: float
    turn: int
    sweep: float

    @property
    def length(self) -> float:
        return self.radius * self.sweep

    def at(self, nm: float) -> Pose:
        x, y = self.start.centre(self.radius, self.turn)
        direction = self.start.direction + self.turn * nm / self.radius
        return Pose(
            x + self.turn * self.radius * math.sin(direction),
            y - self.turn * self.radius * math.cos(direction),
            direction,
        )


Segment = Straight | Arc


@dataclass(frozen=True)
class Track:
    """Segments end to end. An empty track is refused: a track is always somewhere."""

    segments: tuple[Segment, ...]
    _starts: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        lengths = [segment.length for segment in self.segments]
        object.__setattr__(self, "_starts", tuple(accumulate(lengths, initial=0.0)))

    @property
    def length(self) -> float:
        return self._starts[-1]

    @property
    def end(self) -> Pose:
        return self.segments[-1].at(self.segments[-1].length)

    @property
    def turn_radius_nm(self) -> float:
        """Of the first turn; infinite where there is none."""
        return next((part.radius for part in self.segments if isinstance(part, Arc)), math.inf)

    def at(self, nm: float) -> Pose:
        """Pose after this distance; outside 0..length the end segments are carried on."""
        index = bisect_right(self._starts, nm, 1, len(self.segments)) - 1
        return self.segments[index].at(nm - self._starts[index])

    def distance_to_x(self, x_nm: float) -> float | None:
        """Distance to where a straight segment first passes this x, or None."""
        for start, segment in zip(self._starts, self.segments, strict=False):
            along = math.cos(segment.start.direction)
            if isinstance(segment, Straight) and abs(along) > 1e-9:
                nm = (x_nm - segment.start.x_nm) / along
                if -1e-9 <= nm <= segment.length + 1e-9:
                    return start + max(nm, 0.0)
        return None


Piece = tuple[float, int, float] | float


def follow(start: Pose, *pieces: Piece) -> Track:
    """Track from here: a number flies that far straight on, (radius, turn, sweep) turns."""
    segments: list[Segment] = []
    here = start
    for piece in pieces:
        segment: Segment = Straight(here, piece) if isinstance(piece, float) else Arc(here, *piece)
        segments.append(segment)
        here = segment.at(segment.length)
    return Track(tuple(segments))


def sweep_to(turn: int, origin: float, target: float) -> float:
    """Angle of a turn from one direction to the other, 0 to a full circle."""
    angle = (turn * (target - origin)) % _FULL
    return 0.0 if _FULL - angle < 1e-9 else angle


def to_point(
    start: Pose, x_nm: float, y_nm: float, radius_nm: float, turns: Sequence[int] = (TOWARDS, AWAY)
) -> Track:
    """Turn until the point is ahead, then fly to it; the shorter of the allowed turns.

    A point inside every allowed turning circle cannot be reached by one turn: the aircraft first
    flies straight on until it can.
    """
    ways = []
    for turn in turns:
        centre_x, centre_y = start.centre(radius_nm, turn)
        away = math.hypot(x_nm - centre_x, y_nm - centre_y)
        if away >= radius_nm:
            direction = math.atan2(y_nm - centre_y, x_nm - centre_x) + turn * math.asin(radius_nm / away)
            straight = math.sqrt(away**2 - radius_nm**2)
            ways.append(
                follow(start, (radius_nm, turn, sweep_to(turn, start.direction, direction)), straight)
            )
    if ways:
        return min(ways, key=lambda way: way.length)
    onward = to_point(start.ahead(2.0 * radius_nm), x_nm, y_nm, radius_nm, turns)
    return Track((Straight(start, 2.0 * radius_nm), *onward.segments))


def to_pose(start: Pose, goal: Pose, radius_nm: float) -> Track:
    """Shortest turn - straight - turn from one pose to the other (Dubins 1957, the CSC words)."""
    ways: list[tuple[float, tuple[Piece, ...]]] = []
    for first in (TOWARDS, AWAY):
        for last in (TOWARDS, AWAY):
            x, y = start.centre(radius_nm, first)
            goal_x, goal_y = goal.centre(radius_nm, last)
            between = math.hypot(goal_x - x, goal_y - y)
            across = 0.0 if first == last else 2.0 * radius_nm
            if between < across:
                continue
            if between < 1e-9:  # one and the same circle: there is no straight to take a direction from
                direction = start.direction
            else:
                lean = math.asin(across / between)
                direction = math.atan2(goal_y - y, goal_x - x) + first * lean
            begin = sweep_to(first, start.direction, direction)
            straight = math.sqrt(between**2 - across**2)
            end = sweep_to(last, direction, goal.direction)
            length = radius_nm * begin + straight + radius_nm * end
            ways.append((length, ((radius_nm, first, begin), straight, (radius_nm, last, end))))
    return follow(start, *min(ways, key=lambda way: way[0])[1])
