"""Straight and arc segments, and the shortest ways between poses."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.pattern.track import AWAY, TOWARDS, Pose, Track, follow, to_point, to_pose

places = st.floats(-12, 12)
directions = st.floats(-math.pi, math.pi)
poses = st.builds(Pose, places, places, directions)
radii = st.floats(0.2, 2.0)


def gap(one: Pose, other: Pose) -> float:
    turned = abs(math.remainder(one.direction - other.direction, 2 * math.pi))
    return math.hypot(one.x_nm - other.x_nm, one.y_nm - other.y_nm) + turned


def assert_smooth(track: Track) -> None:
    for before, after in zip(track.segments, track.segments[1:], strict=False):
        assert gap(before.at(before.length), after.start) < 1e-6


def test_a_half_turn_ends_abeam_and_opposite() -> None:
    end = follow(Pose(1.0, 0.0, 0.0), (0.6, TOWARDS, math.pi)).end
    assert gap(end, Pose(1.0, 1.2, math.pi)) < 1e-9
    assert follow(Pose(1.0, 0.0, 0.0), (0.6, AWAY, math.pi)).end.y_nm == pytest.approx(-1.2)


def test_at_gives_the_right_segment_and_carries_the_last_on() -> None:
    track = follow(Pose(0.0, 0.0, 0.0), 2.0, (1.0, TOWARDS, math.pi / 2))
    assert gap(track.at(2.0), Pose(2.0, 0.0, 0.0)) < 1e-9
    assert gap(track.at(track.length), Pose(3.0, 1.0, math.pi / 2)) < 1e-9
    assert track.at(-1.0).x_nm == pytest.approx(-1.0)


def test_distance_to_x_is_found_on_straights_only() -> None:
    track = follow(Pose(0.0, 0.0, 0.0), 2.0, (1.0, TOWARDS, math.pi), 3.0)
    assert track.distance_to_x(1.5) == pytest.approx(1.5)
    assert track.distance_to_x(-0.5) == pytest.approx(2.0 + math.pi + 2.5)
    assert track.distance_to_x(2.9) is None


@given(poses, poses, radii)
def test_to_pose_arrives_smoothly(start: Pose, goal: Pose, radius: float) -> None:
    track = to_pose(start, goal, radius)
    assert gap(track.at(0.0), start) < 1e-9
    assert_smooth(track)
    assert gap(track.end, goal) < 1e-6


@given(poses, poses, radii)
def test_to_pose_is_as_long_backwards(start: Pose, goal: Pose, radius: float) -> None:
    """The shortest way is symmetric: flown from the goal's back to the start's back it is as long."""
    behind = Pose(start.x_nm, start.y_nm, start.direction + math.pi)
    ahead = Pose(goal.x_nm, goal.y_nm, goal.direction + math.pi)
    there, back = to_pose(start, goal, radius).length, to_pose(ahead, behind, radius).length
    assert there == pytest.approx(back, abs=1e-6)


@given(poses, places, places, radii)
def test_to_point_arrives_smoothly(start: Pose, x: float, y: float, radius: float) -> None:
    track = to_point(start, x, y, radius)
    assert_smooth(track)
    assert math.hypot(track.end.x_nm - x, track.end.y_nm - y) < 1e-6


@given(poses, places, places, radii)
def test_to_point_never_beats_the_straight_line(start: Pose, x: float, y: float, radius: float) -> None:
    track = to_point(start, x, y, radius)
    assert track.length >= math.hypot(start.x_nm - x, start.y_nm - y) - 1e-9


def test_to_point_turns_the_shorter_way_unless_told() -> None:
    start = Pose(0.0, 0.0, 0.0)
    assert to_point(start, 5.0, 5.0, 1.0).length < to_point(start, 5.0, 5.0, 1.0, (AWAY,)).length


def test_a_point_inside_the_turning_circle_is_reached_all_the_same() -> None:
    track = to_point(Pose(0.0, 0.0, 0.0), 0.0, 1.0, 1.0, (TOWARDS,))
    assert_smooth(track)
    assert math.hypot(track.end.x_nm, track.end.y_nm - 1.0) < 1e-6
