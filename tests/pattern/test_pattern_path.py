"""Speed and altitude along a path are closed formulas: they agree with each other and with sums."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.pattern.path import Path, Speeds, climb, evenly_to_speed, towards_speed
from trainer.pattern.track import TOWARDS, Pose, follow

speeds_kt = st.floats(60, 350)
lengths = st.floats(0.0, 20.0)
rates = st.floats(0.5, 6.0)


@given(lengths, speeds_kt, speeds_kt, rates)
def test_the_whole_length_is_flown(length: float, speed: float, target: float, rate: float) -> None:
    speeds = towards_speed(length, speed, target, rate)
    assert speeds.distance(speeds.duration) == pytest.approx(length, abs=1e-9)
    assert speeds.at(0.0) == pytest.approx(speed)


@given(st.floats(0.01, 20.0), speeds_kt, speeds_kt, rates, st.floats(0.0, 1.0))
def test_second_is_the_inverse_of_distance(
    length: float, speed: float, target: float, rate: float, share: float
) -> None:
    for speeds in (towards_speed(length, speed, target, rate), evenly_to_speed(length, speed, target)):
        assert speeds.distance(speeds.second(share * length)) == pytest.approx(share * length, abs=1e-9)


@given(st.floats(0.5, 20.0), st.floats(0.0, 1.0), speeds_kt, speeds_kt, rates)
def test_moving_the_end_leaves_what_was_flown(
    length: float, share: float, speed: float, target: float, rate: float
) -> None:
    """What a flight relies on when a clearance moves the end of its leg."""
    whole, shorter = (towards_speed(nm, speed, target, rate) for nm in (length, length * share))
    second = shorter.duration / 2.0
    assert shorter.distance(second) == pytest.approx(whole.distance(second), abs=1e-9)
    assert shorter.at(second) == pytest.approx(whole.at(second), abs=1e-6)


@given(speeds_kt, speeds_kt, rates, st.floats(0.0, 60.0))
def test_distance_is_the_sum_of_speed(speed: float, target: float, rate: float, second: float) -> None:
    speeds = towards_speed(20.0, speed, target, rate)
    steps = 2_000
    width = second / steps
    summed = sum(speeds.at((step + 0.5) * width) for step in range(steps)) * width / 3600.0
    assert speeds.distance(second) == pytest.approx(summed, abs=1e-3)


def test_a_standing_aircraft_stays_where_it_is() -> None:
    speeds = Speeds(((0.0, 100.0), (20.0, 0.0), (30.0, 0.0), (50.0, 100.0)))
    assert speeds.distance(20.0) == speeds.distance(25.0) == speeds.distance(30.0)
    assert speeds.second(speeds.distance(25.0)) == pytest.approx(20.0)
    assert speeds.at(25.0) == 0.0


def test_climb_reaches_the_target_at_the_rate_and_stops_there() -> None:
    assert climb(60.0, 1_000.0, 2_000.0, 2_000.0) == ((0.0, 1_000.0), (30.0, 2_000.0), (60.0, 2_000.0))
    assert climb(15.0, 1_000.0, 2_000.0, 2_000.0) == ((0.0, 1_000.0), (15.0, 1_500.0))
    assert climb(30.0, 2_000.0, 1_000.0, 1_000.0)[-1] == (30.0, 1_500.0)


def test_a_hold_comes_round_to_where_it_began() -> None:
    track = follow(Pose(3.0, 4.0, 1.0), (1.0, TOWARDS, 2.0 * math.pi))
    speeds = evenly_to_speed(track.length, 180.0, 180.0)
    hold = Path(100.0, track, speeds, ((0.0, 2_700.0), (speeds.duration, 2_700.0)), repeats=True)
    lap = 2.0 * math.pi / 180.0 * 3600.0
    assert hold.ends_at == math.inf
    for laps in (1, 2, 50):
        there = hold.at(100.0 + laps * lap + 7.0)
        here = hold.at(107.0)
        assert there.pose.x_nm == pytest.approx(here.pose.x_nm, abs=1e-6)
        assert there.pose.y_nm == pytest.approx(here.pose.y_nm, abs=1e-6)


def test_when_at_x_is_a_session_second() -> None:
    track = follow(Pose(0.0, 0.0, 0.0), 5.0)
    path = Path(100.0, track, evenly_to_speed(5.0, 180.0, 180.0), ((0.0, 0.0), (100.0, 0.0)))
    assert path.when_at_x(2.0) == pytest.approx(140.0)
    assert path.when_at_x(6.0) is None
