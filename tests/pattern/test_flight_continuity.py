"""Whatever is said to an aircraft, and whenever: it never jumps, and never flies what it cannot."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.pattern.flight import Flight
from trainer.pattern.kinematics import bank_for_radius_deg
from trainer.pattern.landing import runway_needed_ft
from trainer.pattern.leg import Leg
from trainer.pattern.path import Motion
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES, Profile
from trainer.pattern.track import Arc
from trainer.pattern.wind import MAX_WIND_KT, Wind

POINTS = st.sampled_from(["QUARRY", "SILO", "WEIR"])


def instruct(flight: Flight, instruction: str, draw: st.DataObject) -> None:
    """Give the instruction now, with drawn details."""
    now = flight.now
    match instruction:
        case "approve_break":
            flight.approve_break(now, draw.draw(st.sampled_from(["threshold", "midfield", "departure_end"])))
        case "clear_landing":
            landings = ["touch_and_go", "full_stop", "low_approach", "stop_and_go", "option"]
            landing = draw.draw(st.sampled_from(landings))
            if runway_needed_ft(flight.geometry, landing) <= flight.plan.length_ft:
                flight.clear_landing(now, landing)
        case "breakout":
            flight.breakout(now, draw.draw(POINTS))
        case "climb_out":
            flight.climb_out(now, draw.draw(st.floats(2_500, 6_000)), draw.draw(POINTS))
        case "three_sixty":
            flight.three_sixty(now, draw.draw(st.sampled_from(["left", "right"])))
        case _:
            getattr(flight, instruction)(now)


def assert_flyable(flight: Flight, profile: Profile) -> None:
    """Every turn of the present leg at every speed of it takes no more bank than the break, or, where the
    wind pushes the aircraft out of a turn, 70 degrees."""
    most = profile.break_bank_deg + 0.5 if flight.plan.wind.calm else 70.0
    fastest = max(speed for _, speed in flight.path.speeds.knots)
    if flight.leg is Leg.RUNWAY:
        return
    for segment in flight.path.track.segments:
        if isinstance(segment, Arc) and segment.sweep > 1e-6:
            assert bank_for_radius_deg(fastest, segment.radius) <= most


def assert_no_jump(before: Motion, after: Motion, seconds: float, profile: Profile, wind: Wind) -> None:
    """Nor faster in the air than the class accelerates, climbs and turns."""
    moved = math.hypot(after.pose.x_nm - before.pose.x_nm, after.pose.y_nm - before.pose.y_nm)
    fastest = max(before.speed_kt, after.speed_kt) + 12.0 * seconds
    assert moved <= fastest * seconds / 3600.0 + 1e-6
    (heading, slow), (new_heading, fast) = (
        wind.through_air(motion.pose.direction, motion.speed_kt) for motion in (before, after)
    )
    assert abs(fast - slow) <= 6.05 * seconds + 1e-6
    rate = max(profile.climb_ft_min, profile.descent_ft_min)
    assert abs(after.altitude_ft - before.altitude_ft) <= rate / 60.0 * seconds + 1e-3
    turned = abs(math.remainder(new_heading - heading, 2.0 * math.pi))
    if after.altitude_ft > 1_180.0 or after.speed_kt > 60.0:  # never more than 15 degrees a second
        assert turned <= math.radians(15.0) * seconds + 1e-6


@settings(max_examples=150, deadline=None)
@given(
    profile=st.sampled_from(list(PROFILES.values())),
    start=st.sampled_from([Leg.INITIAL, Leg.INBOUND, Leg.DEPARTURE, Leg.CLOSED_DOWNWIND]),
    wind=st.one_of(st.just((0.0, 0.0)), st.tuples(st.floats(0, 360), st.floats(0, MAX_WIND_KT))),
    waits=st.lists(st.floats(0.0, 90.0), min_size=3, max_size=10),
    draw=st.data(),
)
def test_no_instruction_makes_a_flight_jump(
    corbel: PatternPlan,
    profile: Profile,
    start: Leg,
    wind: tuple[float, float],
    waits: list[float],
    draw: st.DataObject,
) -> None:
    plan = replace(corbel, wind_from_deg=wind[0], wind_kt=wind[1])
    flight = Flight(plan, profile, start=start, at=0.0, via="QUARRY")
    step = 0.5
    for wait in waits:
        until = flight.now + wait
        while flight.now < until:
            before, seconds = flight.path.at(flight.now), min(step, until - flight.now)
            flight.advance(flight.now + seconds)
            if flight.leg is Leg.CLEAR_OF_RUNWAY:
                return  # off the runway the flight is over: it stands where it turned off
            assert_no_jump(before, flight.path.at(flight.now), seconds, profile, plan.wind)
        if not flight.possible:
            continue
        before = flight.path.at(flight.now)
        instruct(flight, draw.draw(st.sampled_from(flight.possible)), draw)
        assert_no_jump(before, flight.path.at(flight.now), 1e-5, profile, plan.wind)
        assert_flyable(flight, profile)


@pytest.mark.parametrize("profile", PROFILES.values(), ids=PROFILES.keys())
@pytest.mark.parametrize("wind_kt", [0.0, 30.0])
def test_ground_speed_is_the_rate_of_the_position(
    corbel: PatternPlan, profile: Profile, wind_kt: float
) -> None:
    """Central difference over 0.02 s on every leg of a circuit. +-0.5 kt."""
    plan = replace(corbel, wind_from_deg=350.0, wind_kt=wind_kt)
    flight = Flight(plan, profile, start=Leg.INITIAL, at=0.0)
    flight.approve_break(0.0)
    seen = set()
    while flight.now < 600.0:
        if flight.leg is Leg.FINAL and flight.clearances.landing is None:
            flight.clear_landing(flight.now, "touch_and_go")
        path = flight.path
        for share in (0.1, 0.5, 0.9):
            second = path.starts_at + share * (path.ends_at - path.starts_at)
            before, after = path.at(second - 0.01).pose, path.at(second + 0.01).pose
            moved = math.hypot(after.x_nm - before.x_nm, after.y_nm - before.y_nm)
            assert moved / 0.02 * 3600.0 == pytest.approx(path.at(second).speed_kt, abs=0.5)
            seen.add(flight.leg)
        flight.advance(path.ends_at)
    assert {Leg.BREAK_TURN, Leg.FINAL_TURN, Leg.RUNWAY, Leg.CROSSWIND, Leg.OUTSIDE_DOWNWIND} <= seen


@settings(max_examples=40, deadline=None)
@given(steps=st.lists(st.floats(0.1, 60.0), min_size=2, max_size=12))
def test_the_steps_of_the_clock_do_not_matter(corbel: PatternPlan, steps: list[float]) -> None:
    """Advancing in any steps gives the same legs at the same seconds as in one."""
    in_steps, at_once = (Flight(corbel, PROFILES["fast jet"], start=Leg.FINAL, at=0.0) for _ in range(2))
    changes = [change for step in steps for change in in_steps.advance(in_steps.now + step)]
    expected = at_once.advance(in_steps.now)
    assert [(change.leg, change.trigger) for change in changes] == [
        (change.leg, change.trigger) for change in expected
    ]
    assert [change.at for change in changes] == pytest.approx([change.at for change in expected], abs=1e-4)
