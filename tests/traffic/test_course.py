"""A course foresees what the strict machine then does; an outlook is where the flight then is."""

import math
import random

import numpy as np
import pytest

from drills.check import load_field
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.machine import INSTRUCTIONS
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES
from trainer.traffic.course import Course
from trainer.traffic.outlook import STEP_S, Occupation, Outlook, Outlooks, look_ahead, meeting

STARTS = (
    Leg.INBOUND,
    Leg.INITIAL,
    Leg.BREAK_TURN,
    Leg.INSIDE_DOWNWIND,
    Leg.FINAL,
    Leg.DEPARTURE,
    Leg.OUTSIDE_DOWNWIND,
)


def plan(wind: str = "calm") -> PatternPlan:
    return PatternPlan.of(load_field("corbel"), "31", wind)


def tell(to: Flight | Course, event: str, at: float) -> None:
    """The instruction with some argument that it takes."""
    match event:
        case "breakout":
            to.breakout(at, "SILO")
        case "climb_out":
            to.climb_out(at, 3700.0, "WEIR")
        case "clear_landing":
            to.clear_landing(at, "touch_and_go")
        case "three_sixty":
            to.three_sixty(at, "left")
        case _:
            getattr(to, event)(at)


TRIED = sorted(INSTRUCTIONS)


@pytest.mark.parametrize("wind", ["calm", "010/18"])
@pytest.mark.parametrize("seed", range(12))
def test_a_course_told_the_same_enters_the_same_legs_at_the_same_seconds(seed: int, wind: str) -> None:
    rng = random.Random(seed)
    profile = PROFILES[rng.choice(sorted(PROFILES))]
    flight = Flight(plan(wind), profile, start=rng.choice(STARTS), at=0.0, via="QUARRY")
    course = Course(flight, 0.0)
    now = 0.0
    for _ in range(25):
        now += rng.uniform(5.0, 60.0)
        flown = flight.advance(now)
        course.fly_on(now)
        assert [(c.leg, c.trigger) for c in course.changes()] == [(c.leg, c.trigger) for c in flown]
        assert course.leg_since == pytest.approx(flight.leg_since, abs=1e-6)
        if flight.leg is Leg.CLEAR_OF_RUNWAY:
            return
        possible = [event for event in TRIED if event in flight.possible]
        assert [event for event in TRIED if course.can(event)] == possible
        if possible:
            event = rng.choice(possible)
            tell(flight, event, now)
            tell(course, event, now)


@pytest.mark.parametrize("start", STARTS)
def test_the_outlook_is_where_the_flight_then_is(start: Leg) -> None:
    flight = Flight(plan("330/12"), PROFILES["jet trainer"], start=start, at=0.0, via="SILO")
    outlook = look_ahead(flight, 0.0, "touch_and_go")
    for index, place in enumerate(outlook.places):
        at = (outlook.first + index) * STEP_S
        flight.advance(at)
        if flight.leg is Leg.FINAL and flight.clearances.landing is None:
            flight.clear_landing(at, "touch_and_go")
        if flight.leg in (Leg.RUNWAY, Leg.CLEAR_OF_RUNWAY):
            assert math.isnan(place[0])
            continue
        here = flight.position(at)
        assert (place[0], place[1]) == pytest.approx((here.x_nm, here.y_nm), abs=1e-3)


def test_two_on_one_initial_meet_where_the_faster_overtakes() -> None:
    slow = Flight(plan(), PROFILES["turboprop trainer"], start=Leg.INITIAL, at=0.0)
    fast = Flight(plan(), PROFILES["fast jet"], start=Leg.INITIAL, at=20.0)
    slow.advance(20.0)
    close = meeting(look_ahead(slow, 20.0, None), look_ahead(fast, 20.0, None))
    assert close is not None
    # 20 s at about 206 kt are 1.1 NM, closing at about 100 kt: 41 s (computed from the profiles)
    assert close.nm < 0.1
    assert 50.0 < close.at < 75.0


def test_levels_apart_never_meet() -> None:
    high = Flight(plan(), PROFILES["fast jet"], start=Leg.INITIAL, at=0.0)
    low = Flight(plan(), PROFILES["fast jet"], start=Leg.FINAL, at=0.0)
    horizon_s = 20.0  # the one at 2,700 ft, the other under 2,000
    assert meeting(look_ahead(high, 0.0, None, horizon_s), look_ahead(low, 0.0, None, horizon_s)) is None


@pytest.mark.parametrize(("lower_ft", "meet"), [((1187.0, 1300.0), True), ((1127.0, 1200.0), False)])
def test_one_who_levels_off_under_a_climber_meets_him_between_samples(
    lower_ft: tuple[float, float], meet: bool
) -> None:
    """Seed 32253: 440 and 461 ft apart at the samples, 394 at the levelling off in between."""
    low, high = (
        Outlook(86, np.array([(1.2, 0.0, begins), (1.4, 0.0, ends)]), (), None, ((344.0, Leg.DEPARTURE),))
        for begins, ends in (lower_ft, (1627.0, 1761.0))
    )
    assert (meeting(low, high) is not None) is meet


def test_what_was_intended_lapses_when_the_flight_does_something_else() -> None:
    """Seed 37267: his radio was out, he went straight through, and the tower went on foreseeing his break."""
    flight = Flight(plan(), PROFILES["fast jet"], start=Leg.INITIAL, at=0.0)
    breaks = Course(flight, 0.0)
    breaks.approve_break(5.0)
    outlooks = Outlooks()
    outlooks.intend("MARTEN 55", breaks, flight, "touch_and_go")
    flight.advance(20.0)
    foreseen = outlooks.of("MARTEN 55", flight, 20.0, "touch_and_go")
    assert Leg.BREAK_TURN in [leg for _, leg in foreseen.legs], "until he flies on without one"
    now = flight.path.ends_at + 1.0
    flight.advance(now)
    assert flight.leg is Leg.STRAIGHT_THROUGH
    foreseen = outlooks.of("MARTEN 55", flight, now, "touch_and_go")
    assert [leg for _, leg in foreseen.legs][:3] == [
        Leg.STRAIGHT_THROUGH,
        Leg.CROSSWIND,
        Leg.OUTSIDE_DOWNWIND,
    ]


def test_the_runway_is_free_when_the_one_ahead_is_far_enough_past_the_threshold() -> None:
    lifted = Occupation(start=100.0, end=120.0, x_nm=0.5, speed_kt=120.0)
    assert lifted.free_at(0.4) == 120.0
    assert lifted.free_at(1.0) == pytest.approx(135.0)  # half a mile at two miles a minute
    assert Occupation(100.0, 150.0, math.inf, 20.0).free_at(1.0) == 150.0
