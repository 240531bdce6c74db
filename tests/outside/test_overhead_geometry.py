"""The overhead pattern that the program flies, against what is published about overhead manoeuvres."""

import math
from dataclasses import replace

import pytest

from trainer.pattern.flight import Flight
from trainer.pattern.geometry import Geometry
from trainer.pattern.kinematics import bank_for_radius_deg, true_airspeed_kt, turn_radius_nm
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES, TURBOPROP_TRAINER, Profile

PLAN = PatternPlan(
    runway_end="31",
    heading_deg=310.0,
    length_nm=9000.0 * 0.3048 / 1852.0,
    side="left",
    elevation_ft=1180.0,
    overhead_altitude_ft=2700.0,
    conventional_altitude_ft=2200.0,
    breakout_altitude_ft=3700.0,
    outside_offset_nm=2.5,
    initial_nm=5.0,
    report_initial_nm=3.0,
    points={"QUARRY": (270.0, 8.0)},
)

every_class = pytest.mark.parametrize("profile", PROFILES.values(), ids=PROFILES.keys())


def flown(profile: Profile, plan: PatternPlan = PLAN) -> dict[Leg, tuple[float, Flight]]:
    """One circuit from initial to the runway; each leg's first second, and the flight there."""
    flight = Flight(plan, profile, start=Leg.INITIAL, at=0.0)
    flight.approve_break(1.0)
    legs: dict[Leg, tuple[float, Flight]] = {Leg.INITIAL: (0.0, flight.fork())}
    while Leg.RUNWAY not in legs:
        if flight.leg is Leg.INSIDE_DOWNWIND and flight.clearances.landing is None:
            flight.clear_landing(flight.now, "touch_and_go")
        for change in flight.advance(flight.path.ends_at):
            legs[change.leg] = (change.at, flight.fork())
    return legs


@every_class
def test_two_turns_of_180_degrees(profile: Profile) -> None:
    """FAA Pilot/Controller Glossary, overhead maneuver. +-0.001 degrees."""
    legs = flown(profile)
    for turn, after in ((Leg.BREAK_TURN, Leg.INSIDE_DOWNWIND), (Leg.FINAL_TURN, Leg.FINAL)):
        (begin, turning), (end, done) = legs[turn], legs[after]
        before = turning.position(begin).track_deg
        assert abs(math.remainder(before - done.position(end).track_deg, 360.0)) == pytest.approx(
            180.0, abs=1e-3
        )


@every_class
def test_initial_of_three_to_five_miles(profile: Profile) -> None:
    """FAA Pilot/Controller Glossary, overhead maneuver; the begin is the field file's 5 NM."""
    at, flight = flown(profile)[Leg.INITIAL]
    position = flight.position(at)
    assert 3.0 <= -position.x_nm <= 5.0
    assert position.y_nm == pytest.approx(0.0, abs=1e-9)


@every_class
@pytest.mark.parametrize("overhead_ft", [2700.0, 2200.0])
def test_roll_out_floors(profile: Profile, overhead_ft: float) -> None:
    """Not under 1/4 mile from the threshold, not under 300 ft above ground: Pilot/Controller Glossary."""
    plan = replace(PLAN, overhead_altitude_ft=overhead_ft)
    at, flight = flown(profile, plan)[Leg.FINAL]
    position = flight.position(at)
    assert -position.x_nm >= 0.25
    assert position.altitude_ft - plan.elevation_ft >= 300.0


def test_a_tight_break_still_rolls_out_300_feet_up() -> None:
    """The same floors where the downwind is so close that 45 degrees would put the roll-out too low."""
    tight = replace(TURBOPROP_TRAINER, initial_kt=150.0, break_bank_deg=60.0)
    geometry = Geometry(PLAN, tight)
    assert geometry.downwind_offset_nm < 0.5
    at, flight = flown(tight)[Leg.FINAL]
    assert flight.position(at).altitude_ft - PLAN.elevation_ft == pytest.approx(300.0, abs=0.5)


@every_class
def test_altitude_is_held_until_the_second_turn(profile: Profile) -> None:
    """NAVEDTRA 14342A. +-0.1 ft."""
    legs = flown(profile)
    for leg in (Leg.INITIAL, Leg.BREAK_TURN, Leg.INSIDE_DOWNWIND, Leg.FINAL_TURN):
        at, flight = legs[leg]
        assert flight.position(at).altitude_ft == pytest.approx(PLAN.overhead_altitude_ft, abs=0.1)


@every_class
def test_the_downwind_is_as_far_out_as_the_break_is_wide(profile: Profile) -> None:
    """Computed, 2 V^2 / (g tan bank) with the true airspeed at pattern altitude. 0.1 %."""
    at, flight = flown(profile)[Leg.INSIDE_DOWNWIND]
    true_kt = true_airspeed_kt(profile.initial_kt, PLAN.overhead_altitude_ft)
    assert flight.position(at).y_nm == pytest.approx(
        2.0 * turn_radius_nm(true_kt, profile.break_bank_deg), rel=1e-3
    )


@every_class
def test_perch_at_45_degrees_puts_the_roll_out_as_far_as_the_downwind_is_wide(profile: Profile) -> None:
    """Common practice for the perch, computed for the roll-out. +-0.001 NM."""
    legs = flown(profile)
    perch, roll_out = (legs[leg][1].position(legs[leg][0]) for leg in (Leg.FINAL_TURN, Leg.FINAL))
    assert -perch.x_nm == pytest.approx(perch.y_nm, abs=1e-3)
    assert -roll_out.x_nm == pytest.approx(perch.y_nm, abs=1e-3)


@every_class
def test_the_final_turn_needs_less_bank_than_the_break(profile: Profile) -> None:
    """Common practice: the break is the hard turn."""
    at, flight = flown(profile)[Leg.FINAL_TURN]
    here = flight.position(at)
    assert bank_for_radius_deg(here.ground_speed_kt, here.y_nm / 2.0) < profile.break_bank_deg


def test_speeds_of_the_turboprop_trainer() -> None:
    """CNATRA P-868: 200 kt initial, 120 kt pattern, 100-110 kt final, all indicated. +-0.5 kt as true."""
    legs = flown(TURBOPROP_TRAINER)
    expected = {Leg.BREAK_TURN: (200, 200), Leg.FINAL_TURN: (120, 120), Leg.RUNWAY: (100, 110)}
    for leg, (slowest, fastest) in expected.items():
        at, flight = legs[leg]
        here = flight.position(at)
        low, high = (true_airspeed_kt(kt, here.altitude_ft) for kt in (slowest, fastest))
        assert low - 0.5 <= here.ground_speed_kt <= high + 0.5


@pytest.mark.parametrize(("profile_name", "fewest_s", "most_s"), [("turboprop trainer", 52, 54)])
def test_time_from_three_miles_to_the_threshold(profile_name: str, fewest_s: float, most_s: float) -> None:
    """Computed: 3 NM at 200 kt take 54 s at sea level; 208 kt true at 2,700 ft make it 52."""
    _, flight = flown(PROFILES[profile_name])[Leg.INITIAL]
    report = flight.path.when_at_x(-3.0)
    threshold = flight.path.when_at_x(0.0)
    assert report is not None
    assert threshold is not None
    assert fewest_s - 0.5 <= threshold - report <= most_s
