"""Wind: it moves the aircraft, and every leg still ends on its line."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.check import load_field
from drills.values import STRONGEST_WIND_KT
from trainer.pattern.errors import PatternError
from trainer.pattern.flight import Flight
from trainer.pattern.geometry import Geometry
from trainer.pattern.kinematics import bank_for_radius_deg, true_airspeed_kt
from trainer.pattern.leg import Leg
from trainer.pattern.path import Motion
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES, TURBOPROP_TRAINER, Profile
from trainer.pattern.summary import round_trip
from trainer.pattern.track import Arc, Pose
from trainer.pattern.wind import MAX_WIND_KT, Wind

WINDS = st.tuples(st.floats(0, 360), st.floats(0, MAX_WIND_KT))
CLASSES = st.sampled_from(list(PROFILES.values()))
ON_LINE_NM = 1e-6


def in_wind(plan: PatternPlan, wind: tuple[float, float]) -> PatternPlan:
    return replace(plan, wind_from_deg=wind[0], wind_kt=wind[1])


def end_of(flight: Flight) -> Motion:
    return flight.path.at(flight.path.ends_at)


@settings(max_examples=60, deadline=None)
@given(wind=WINDS, profile=CLASSES)
def test_every_leg_ends_on_its_line(
    either_end: PatternPlan, wind: tuple[float, float], profile: Profile
) -> None:
    """Computed: the lines of the calm pattern. +-1e-6 NM, 2 mm; directions +-0.001 degrees."""
    plan = in_wind(either_end, wind)
    geometry, calm = Geometry(plan, profile), Geometry(either_end, profile)
    ends: dict[Leg, Motion] = {}  # of the first of each leg
    for leg, path in round_trip(plan, profile):
        ends.setdefault(leg, path.at(path.ends_at))
    lines = {
        Leg.INITIAL: (0.0, 0.0),
        Leg.BREAK_TURN: (calm.downwind_offset_nm, 180.0),
        Leg.CLOSED_PULL_UP: (calm.downwind_offset_nm, 180.0),
        Leg.INSIDE_DOWNWIND: (calm.downwind_offset_nm, 180.0),
        Leg.FINAL_TURN: (0.0, 0.0),
        Leg.FINAL: (0.0, 0.0),
        Leg.DEPARTURE: (0.0, 0.0),
        Leg.OUTSIDE_DOWNWIND: (plan.outside_offset_nm, 180.0),
        Leg.FORTY_FIVE_TO_INITIAL: (0.0, 0.0),
    }
    for leg, (y_nm, course_deg) in lines.items():
        assert ends[leg].pose.y_nm == pytest.approx(y_nm, abs=ON_LINE_NM), leg
        off = math.remainder(math.degrees(ends[leg].pose.direction) - course_deg, 360.0)
        assert abs(off) < 1e-3, leg
    assert ends[Leg.FORTY_FIVE_TO_INITIAL].pose.x_nm == pytest.approx(geometry.initial_x_nm, abs=ON_LINE_NM)


@settings(max_examples=60, deadline=None)
@given(wind=WINDS, profile=CLASSES)
def test_the_roll_out_stays_where_it_is_without_wind(
    corbel: PatternPlan, wind: tuple[float, float], profile: Profile
) -> None:
    """The perch is moved instead. +-0.01 NM: where downwind is too short to slow down on, it is not exact."""
    flight = Flight(in_wind(corbel, wind), profile, start=Leg.FINAL_TURN, at=0.0)
    assert end_of(flight).pose.x_nm == pytest.approx(-flight.geometry.roll_out_nm, abs=0.01)
    assert end_of(flight).altitude_ft - corbel.elevation_ft >= 300.0


@pytest.mark.parametrize(("wind_from", "nearer"), [(310.0, True), (130.0, False)])
def test_a_headwind_on_final_brings_the_perch_nearer(
    corbel: PatternPlan, wind_from: float, nearer: bool
) -> None:
    """Common practice: turn earlier when the wind will carry you out."""
    calm = Flight(corbel, TURBOPROP_TRAINER, start=Leg.FINAL_TURN, at=0.0).geometry
    windy = Flight(
        in_wind(corbel, (wind_from, 20.0)), TURBOPROP_TRAINER, start=Leg.FINAL_TURN, at=0.0
    ).geometry
    assert (windy.perch_x_nm > calm.perch_x_nm) is nearer
    assert windy.perch_x_nm != pytest.approx(calm.perch_x_nm, abs=0.1)


@pytest.mark.parametrize(("wind_from", "more"), [(220.0, True), (40.0, False)])
def test_a_wind_towards_the_runway_asks_for_more_bank_in_the_final_turn(
    corbel: PatternPlan, wind_from: float, more: bool
) -> None:
    """Common practice: an overshooting crosswind. Runway 31 left: the pattern lies south-west."""
    banks = []
    for wind in ((0.0, 0.0), (wind_from, 20.0)):
        flight = Flight(in_wind(corbel, wind), TURBOPROP_TRAINER, start=Leg.FINAL_TURN, at=0.0)
        banks.append(bank_for_radius_deg(flight.path.speeds.at(0.0), flight.path.track.turn_radius_nm))
    assert (banks[1] > banks[0]) is more
    assert abs(banks[1] - banks[0]) > 3.0


def test_a_constant_bank_turn_is_a_trochoid_on_the_ground(corbel: PatternPlan) -> None:
    """Computed: centre drifting with the wind, radius V^2 / (g tan bank), against the flight's own path."""
    plan = in_wind(corbel, (220.0, 20.0))
    flight = Flight(plan, TURBOPROP_TRAINER, start=Leg.INSIDE_DOWNWIND, at=0.0)
    flight.three_sixty(5.0, "right")
    arc = flight.path.track.segments[0]
    assert isinstance(arc, Arc)
    true_kt, wind = flight.path.speeds.at(0.0), plan.wind
    centre_x, centre_y = arc.start.centre(arc.radius, arc.turn)
    for share in (0.2, 0.5, 0.9):
        second = share * arc.length / true_kt * 3600.0
        here = flight.path.at(5.0 + second).pose
        x, y = wind.carried_nm(second)
        assert math.hypot(here.x_nm - centre_x - x, here.y_nm - centre_y - y) == pytest.approx(arc.radius)
    assert bank_for_radius_deg(true_kt, arc.radius) == pytest.approx(TURBOPROP_TRAINER.turn_bank_deg)


def test_crab_and_ground_speed_on_a_straight_leg(corbel: PatternPlan) -> None:
    """Computed: 20 kt from 40 degrees off the nose, 200 kt calibrated at 2,700 ft (wind triangle)."""
    plan = in_wind(corbel, (350.0, 20.0))
    flight = Flight(plan, TURBOPROP_TRAINER, start=Leg.INITIAL, at=0.0)
    true_kt = true_airspeed_kt(200.0, 2_700.0)
    crab = math.asin(12.856 / true_kt)
    assert flight.position(30.0).track_deg == pytest.approx(310.0)
    assert flight.position(30.0).ground_speed_kt == pytest.approx(true_kt * math.cos(crab) - 15.321, abs=0.01)
    heading, _ = plan.wind.through_air(0.0, flight.position(30.0).ground_speed_kt)
    assert plan.heading_of(heading) == pytest.approx(310.0 + math.degrees(crab), abs=0.01)


@given(WINDS, st.floats(-math.pi, math.pi), st.floats(90, 350))
def test_air_and_ground_are_inverse(wind: tuple[float, float], direction: float, true_kt: float) -> None:
    blowing = Wind.of(310.0, 1, *wind)
    heading = blowing.heading(direction, true_kt)
    ground = blowing.over_ground(heading, true_kt)
    assert math.remainder(ground[0] - direction, 2.0 * math.pi) == pytest.approx(0.0, abs=1e-9)
    assert ground[1] == pytest.approx(blowing.ground_speed_kt(direction, true_kt))
    back = blowing.through_air(*ground)
    assert math.remainder(back[0] - heading, 2.0 * math.pi) == pytest.approx(0.0, abs=1e-9)
    assert back[1] == pytest.approx(true_kt)


def test_a_hold_comes_round_to_where_it_began(corbel: PatternPlan) -> None:
    """A turn with a straight flown into the wind; its time is the calm one over (1 - wind / airspeed)."""
    flight = Flight(
        in_wind(corbel, (45.0, 30.0)), TURBOPROP_TRAINER, start=Leg.ENTRY_POINT, at=0.0, via="QUARRY"
    )
    calm = Flight(corbel, TURBOPROP_TRAINER, start=Leg.ENTRY_POINT, at=0.0, via="QUARRY")
    lap, true_kt = flight.path.speeds.duration, calm.position(0.0).ground_speed_kt
    assert lap == pytest.approx(calm.path.speeds.duration / (1.0 - 30.0 / true_kt), rel=1e-3)
    flight.advance(50.0 * lap)
    x, y = corbel.point("QUARRY")
    here = flight.position(50.0 * lap)
    assert (here.x_nm, here.y_nm) == pytest.approx((x, y), abs=1e-4)
    for second in range(0, 400, 7):
        there = flight.path.at(second).pose
        assert there.distance_to(Pose(x, y, 0.0)) < 2.5 * flight.geometry.radius_nm


@pytest.mark.parametrize("point", ["QUARRY", "SILO", "WEIR"])
@pytest.mark.parametrize("start", [Leg.INITIAL, Leg.FINAL_TURN, Leg.DEPARTURE, Leg.CLOSED_DOWNWIND])
@pytest.mark.parametrize("profile", PROFILES.values(), ids=PROFILES.keys())
@pytest.mark.parametrize("wind_from", [40.0, 160.0, 280.0])
def test_a_breakout_reaches_its_point(
    corbel: PatternPlan, point: str, start: Leg, profile: Profile, wind_from: float
) -> None:
    flight = Flight(in_wind(corbel, (wind_from, 30.0)), profile, start=start, at=0.0)
    flight.breakout(10.0, point)
    assert (end_of(flight).pose.x_nm, end_of(flight).pose.y_nm) == pytest.approx(
        corbel.point(point), abs=1e-6
    )


def test_runway_heading_is_a_heading(corbel: PatternPlan) -> None:
    """Pilot/Controller Glossary, runway heading, from memory: drift is not corrected for."""
    plan = in_wind(corbel, (40.0, 20.0))
    flight = Flight(plan, TURBOPROP_TRAINER, start=Leg.DEPARTURE, at=0.0)
    flight.climb_out(10.0, 4_000.0, "SILO")
    here = flight.position(40.0)
    heading, _ = plan.wind.through_air(flight.path.at(40.0).pose.direction, here.ground_speed_kt)
    assert plan.heading_of(heading) == pytest.approx(310.0)
    assert here.track_deg < 308.0
    assert (end_of(flight).pose.x_nm, end_of(flight).pose.y_nm) == pytest.approx(
        corbel.point("SILO"), abs=1e-6
    )


def test_a_tailwind_needs_more_runway(corbel: PatternPlan) -> None:
    short = replace(corbel, length_nm=2_800.0 * 0.3048 / 1852.0)
    into, down = (
        Flight(in_wind(short, (wind, 25.0)), TURBOPROP_TRAINER, start=Leg.FINAL, at=0.0)
        for wind in (310.0, 130.0)
    )
    into.clear_landing(1.0, "touch_and_go")
    with pytest.raises(PatternError, match="clear another landing"):
        down.clear_landing(1.0, "touch_and_go")


@pytest.mark.parametrize(
    ("wind", "flown"),
    [("calm", (0.0, 0.0)), ("310/8", (310.0, 8.0)), ("310/8/15", (310.0, 8.0)), ("variable/5", (0.0, 0.0))],
)
def test_the_wind_that_the_tower_says_is_the_one_that_is_flown(wind: str, flown: tuple[float, float]) -> None:
    plan = PatternPlan.of(load_field("corbel"), "31", wind)
    assert (plan.wind_from_deg, plan.wind_kt) == flown
    assert plan.wind.x_kt == pytest.approx(-flown[1])


def test_a_field_too_tight_for_its_wind_is_refused(corbel: PatternPlan) -> None:
    tight, jet = replace(corbel, outside_offset_nm=2.3), PROFILES["jet trainer"]
    Flight(tight, jet, start=Leg.INITIAL, at=0.0)
    with pytest.raises(
        PatternError, match=r"too near for a jet trainer in this wind: write .* 2\.5 NM or more"
    ):
        Flight(in_wind(tight, (220.0, 30.0)), jet, start=Leg.INITIAL, at=0.0)


def test_a_drill_may_have_every_wind_that_is_flown() -> None:
    assert STRONGEST_WIND_KT == MAX_WIND_KT


@pytest.mark.parametrize(
    ("wind", "message"),
    [
        ("brisk", 'no wind "brisk": write direction and knots, as in 310/12, or calm'),
        ("400/10", 'no wind "400/10"'),
        ("310/90", "a wind of 90 kt cannot be flown: write 0 to 30 kt"),
    ],
)
def test_a_wind_that_cannot_be_flown_is_refused(wind: str, message: str) -> None:
    with pytest.raises(PatternError, match=message):
        Flight(PatternPlan.of(load_field("corbel"), "31", wind), TURBOPROP_TRAINER, start=Leg.INITIAL, at=0.0)
