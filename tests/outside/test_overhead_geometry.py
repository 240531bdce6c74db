"""The overhead pattern that the program flies, against what is published about overhead manoeuvres."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from drills.check import load_field
from drills.field import Field
from trainer.pattern.flight import Flight
from trainer.pattern.geometry import Geometry
from trainer.pattern.kinematics import bank_for_radius_deg, true_airspeed_kt, turn_radius_nm
from trainer.pattern.leg import Leg
from trainer.pattern.machine import transition_table
from trainer.pattern.plan import BreakPoint, PatternPlan
from trainer.pattern.profiles import PROFILES, TURBOPROP_TRAINER, Profile
from trainer.pattern.summary import figures

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

CORBEL, WICKSTONE = load_field("corbel"), load_field("wickstone")
ENDS = [(field, runway.end) for field in (CORBEL, WICKSTONE) for runway in field.runways]
every_end = pytest.mark.parametrize(
    ("field", "end"), ENDS, ids=[f"{field.field} {end}" for field, end in ENDS]
)
every_wind = pytest.mark.parametrize("wind", ["calm", "350/20", "150/12", "230/25"])
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


@every_end
@every_wind
@every_class
def test_the_published_bounds_hold_at_every_runway_in_wind(
    field: Field, end: str, wind: str, profile: Profile
) -> None:
    """FAA Pilot/Controller Glossary, overhead maneuver: two 180-degree turns, roll-out not under 1/4 mile and
    300 ft; NAVEDTRA 14342A: altitude held until the second turn. +-0.001 degrees, 0.1 ft."""
    plan = PatternPlan.of(field, end, wind)
    legs = flown(profile, plan)
    at = {leg: flight.position(second) for leg, (second, flight) in legs.items()}
    assert abs(math.remainder(at[Leg.INSIDE_DOWNWIND].track_deg - plan.heading_deg - 180.0, 360.0)) < 1e-3
    assert abs(math.remainder(at[Leg.FINAL].track_deg - plan.heading_deg, 360.0)) < 1e-3
    assert at[Leg.FINAL].y_nm == pytest.approx(0.0, abs=1e-6)
    assert -at[Leg.FINAL].x_nm >= 0.25
    assert at[Leg.FINAL].altitude_ft - plan.elevation_ft >= 300.0
    for leg in (Leg.INITIAL, Leg.BREAK_TURN, Leg.INSIDE_DOWNWIND, Leg.FINAL_TURN):
        assert at[leg].altitude_ft == pytest.approx(plan.overhead_altitude_ft, abs=0.1)
    assert at[Leg.FINAL_TURN].y_nm == pytest.approx(at[Leg.INSIDE_DOWNWIND].y_nm, abs=1e-6)


@every_end
def test_the_break_is_to_the_side_of_the_field_file(field: Field, end: str) -> None:
    """Common practice: each of the parallels breaks away from the other; the compass decides here."""
    plan = PatternPlan.of(field, end)
    second, flight = flown(TURBOPROP_TRAINER, plan)[Leg.BREAK_TURN]
    turned = math.remainder(flight.position(second + 3.0).track_deg - plan.heading_deg, 360.0)
    assert (turned < 0.0) is (field.runway(end).break_side == "left")


@every_class
@pytest.mark.parametrize(("where", "share"), [("threshold", 0.0), ("midfield", 0.5), ("departure_end", 1.0)])
def test_the_break_points(profile: Profile, where: BreakPoint, share: float) -> None:
    """CNATRA P-806: the tower may move the break. +-1e-6 NM."""
    flight = Flight(PLAN, profile, start=Leg.INITIAL, at=0.0)
    flight.approve_break(1.0, where)
    flight.advance(flight.path.ends_at)
    assert flight.leg is Leg.BREAK_TURN
    assert flight.position(flight.now).x_nm == pytest.approx(share * PLAN.length_nm, abs=1e-6)


@every_class
@pytest.mark.parametrize("share", [0.05, 0.2, 0.32, 0.4, 0.9])
def test_the_break_on_the_controllers_call(profile: Profile, share: float) -> None:
    """CNATRA P-806, "at its call": at once where it comes, in the break zone, which is the first third
    (common practice), and past it too. +-1e-6 NM."""
    flight = Flight(PLAN, profile, start=Leg.INITIAL, at=0.0)
    initial = flight.path
    x_nm = share * PLAN.length_nm
    if share > 1.0 / 3.0:
        flight.advance(initial.ends_at)
        assert flight.position(flight.now).x_nm == pytest.approx(PLAN.length_nm / 3.0, abs=1e-6)
    when = flight.path.when_at_x(x_nm)
    assert when is not None
    flight.approve_break(when)
    assert flight.leg is Leg.BREAK_TURN
    assert flight.position(when).x_nm == pytest.approx(x_nm, abs=1e-6)


def test_inside_downwind_only_from_initial_and_closed_downwind_only_from_a_pull_up() -> None:
    """Common practice. A three-sixty leads back to the downwind that it was begun on."""
    into: dict[str, set[str]] = {}
    for leg, _, following in transition_table():
        if leg != following:
            into.setdefault(following, set()).add(leg)
    assert into["inside_downwind"] == {"break_turn", "three_sixty"}
    assert into["break_turn"] == {"initial", "straight_through"}
    assert into["closed_downwind"] == {"closed_pull_up", "three_sixty"}
    assert into["closed_pull_up"] == {"departure"}
    assert into["final_turn"] == {"inside_downwind", "closed_downwind"}


@every_class
def test_the_outside_turns_are_perpendicular_and_at_45_degrees(profile: Profile) -> None:
    """The names of the legs: 90 and 45 to initial, crosswind. Calm; +-0.01 degrees on the straight parts."""
    found = figures(PLAN, profile)
    for leg, course in (
        (Leg.CROSSWIND, 90.0),
        (Leg.NINETY_TO_INITIAL, -90.0),
        (Leg.FORTY_FIVE_TO_INITIAL, -45.0),
    ):
        places = found.leg(leg).places
        courses = [
            math.degrees(math.atan2(other[1] - one[1], other[0] - one[0])) for one, other in pairwise(places)
        ]
        assert min(abs(each - course) for each in courses) < 0.01, leg


@every_class
def test_what_each_class_pulls(profile: Profile) -> None:
    """Turboprop trainer 45 degrees in the break: CNATRA P-868. Fast jet 60 degrees and 2 g: common practice.
    The load is 1/cos bank. No turn but the break is harder than it, and none is flown over 60 degrees."""
    found = figures(PLAN, profile)
    breaking = found.leg(Leg.BREAK_TURN)
    expected = {"turboprop trainer": (45.0, 1.414), "jet trainer": (55.0, 1.743), "fast jet": (60.0, 2.0)}
    assert (breaking.bank_deg, breaking.load_factor) == pytest.approx(expected[profile.name], abs=0.001)
    for leg in found.legs:
        assert leg.bank_deg is None or leg.bank_deg <= breaking.bank_deg + 1e-6
    final_turn, pull_up = found.leg(Leg.FINAL_TURN), found.leg(Leg.CLOSED_PULL_UP)
    assert final_turn.radius_nm == pytest.approx(breaking.radius_nm)
    assert pull_up.radius_nm == pytest.approx(breaking.radius_nm)


@every_class
def test_the_final_turn_descends_at_a_rate_that_is_flown(profile: Profile) -> None:
    """Common practice: 1,000 ft a minute or so, never over the class's own descent."""
    turn = figures(PLAN, profile).leg(Leg.FINAL_TURN)
    rate = (turn.begin_altitude_ft - turn.end_altitude_ft) / turn.seconds * 60.0
    assert 700.0 <= rate <= min(1_500.0, profile.descent_ft_min)


@every_class
def test_a_go_around_stays_below_initial(profile: Profile) -> None:
    """Common practice: those on initial are overhead; it climbs no higher than the conventional pattern."""
    flight = Flight(PLAN, profile, start=Leg.FINAL, at=0.0)
    flight.go_around(5.0)
    while flight.leg is not Leg.CROSSWIND:
        assert flight.position(flight.now).altitude_ft <= PLAN.conventional_altitude_ft + 0.1
        assert flight.position(flight.now).y_nm == pytest.approx(0.0, abs=1e-6)
        flight.advance(max(flight.path.ends_at, flight.now))
