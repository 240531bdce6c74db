"""What a tower uses to space aircraft: the short approach, the three-sixty, the straight-in."""

import math
from dataclasses import replace

import pytest

from trainer.pattern.callpoints import windows
from trainer.pattern.errors import PatternError
from trainer.pattern.flight import Flight
from trainer.pattern.kinematics import bank_for_radius_deg
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan, Side
from trainer.pattern.profiles import PROFILES, TURBOPROP_TRAINER, Profile

every_class = pytest.mark.parametrize("profile", PROFILES.values(), ids=PROFILES.keys())
WINDS = pytest.mark.parametrize("wind", [(0.0, 0.0), (340.0, 20.0), (200.0, 20.0)])


def flight(
    plan: PatternPlan,
    start: Leg,
    profile: Profile = TURBOPROP_TRAINER,
    wind: tuple[float, float] = (0.0, 0.0),
    via: str | None = None,
) -> Flight:
    windy = replace(plan, wind_from_deg=wind[0], wind_kt=wind[1])
    return Flight(windy, profile, start=start, at=0.0, via=via)


def to_end(flying: Flight) -> None:
    flying.advance(max(flying.path.ends_at, flying.now))


def leg_of(flying: Flight) -> Leg:
    return flying.leg


@every_class
@WINDS
@pytest.mark.parametrize("start", [Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND])
def test_a_short_approach_rolls_out_near_but_not_under_the_floors(
    corbel: PatternPlan, profile: Profile, wind: tuple[float, float], start: Leg
) -> None:
    """FAA Pilot/Controller Glossary: not under 1/4 mile, nor under 300 ft. +-1 ft in wind, for the speed."""
    usual, short = flight(corbel, start, profile, wind), flight(corbel, start, profile, wind)
    short.short_approach(0.0)
    landings = []
    for flying in (usual, short):
        while flying.leg is not Leg.FINAL:
            to_end(flying)
        landings.append(flying.position(flying.now))
    assert -landings[1].x_nm < -landings[0].x_nm - 0.3
    assert -landings[1].x_nm >= 0.25
    assert landings[1].altitude_ft - corbel.elevation_ft >= 299.0
    assert landings[1].y_nm == pytest.approx(0.0, abs=1e-6)
    assert not short.clearances.short_approach


def test_a_short_approach_past_its_perch_turns_at_once(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INSIDE_DOWNWIND)
    when = flying.path.when_at_x(flying.geometry.perch_x_nm + 0.2)
    assert when is not None
    flying.short_approach(when)
    assert leg_of(flying) is Leg.FINAL_TURN
    assert flying.position(when).x_nm == pytest.approx(flying.geometry.perch_x_nm + 0.2, abs=1e-6)


def test_a_short_approach_and_an_extended_downwind_undo_each_other(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INSIDE_DOWNWIND)
    flying.extend_downwind(1.0)
    flying.short_approach(2.0)
    assert (flying.clearances.extend_downwind, flying.clearances.short_approach) == (False, True)
    flying.extend_downwind(3.0)
    assert (flying.clearances.extend_downwind, flying.clearances.short_approach) == (True, False)


@WINDS
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    "start", [Leg.INITIAL, Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND, Leg.OUTSIDE_DOWNWIND]
)
def test_a_three_sixty_comes_back_to_where_it_began(
    either_end: PatternPlan, start: Leg, side: Side, wind: tuple[float, float]
) -> None:
    flying = flight(either_end, start, wind=wind)
    flying.three_sixty(10.0, side)
    assert flying.leg is Leg.THREE_SIXTY
    before, first = flying.position(10.0), flying.position(13.0)
    turned = math.remainder(first.track_deg - before.track_deg, 360.0)
    assert (turned < 0.0) is (side == "left")
    to_end(flying)
    after = flying.position(flying.now)
    assert leg_of(flying) is start
    assert (after.x_nm, after.y_nm) == pytest.approx((before.x_nm, before.y_nm), abs=1e-6)
    assert after.ground_speed_kt == pytest.approx(before.ground_speed_kt, abs=1e-6)
    assert math.remainder(after.track_deg - before.track_deg, 360.0) == pytest.approx(0.0, abs=1e-6)
    assert flying.clearances.circle is None


def test_a_three_sixty_takes_the_time_of_its_bank(corbel: PatternPlan) -> None:
    """Computed, 2 pi V / (g tan bank): 124.8 kt true and 40 degrees, 49.0 s."""
    flying = flight(corbel, Leg.CLOSED_DOWNWIND)
    flying.three_sixty(0.0, "right")
    true_kt = flying.position(0.0).ground_speed_kt
    assert true_kt == pytest.approx(124.8, abs=0.1)
    assert flying.path.ends_at == pytest.approx(49.0, abs=0.1)
    assert bank_for_radius_deg(true_kt, flying.path.track.turn_radius_nm) == pytest.approx(40.0)


def test_a_circling_flight_keeps_its_landing_clearance_and_its_fork_circles_too(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INSIDE_DOWNWIND)
    flying.clear_landing(1.0, "low_approach")
    flying.three_sixty(2.0, "right")
    twin = flying.fork()
    to_end(twin)
    assert (twin.leg, twin.clearances.landing) == (Leg.INSIDE_DOWNWIND, "low_approach")
    assert flying.leg is Leg.THREE_SIXTY


@every_class
@WINDS
@pytest.mark.parametrize("via", ["QUARRY", "SILO", "WEIR"])
def test_a_straight_in_comes_down_the_glide_path(
    corbel: PatternPlan, profile: Profile, wind: tuple[float, float], via: str
) -> None:
    """On the runway line, level at the conventional pattern, then on three degrees. +-0.1 ft."""
    flying = flight(corbel, Leg.INBOUND, profile, wind, via)
    flying.straight_in(5.0)
    to_end(flying)
    assert flying.leg is Leg.STRAIGHT_IN
    flying.clear_landing(flying.now, "full_stop")
    to_end(flying)
    here = flying.position(flying.now)
    assert leg_of(flying) is Leg.FINAL
    assert (here.x_nm, here.y_nm) == pytest.approx((-corbel.report_initial_nm, 0.0), abs=0.01)
    assert math.remainder(here.track_deg - 310.0, 360.0) == pytest.approx(0.0, abs=0.05)
    assert here.altitude_ft <= max(
        corbel.conventional_altitude_ft, flying.geometry.glide_altitude_ft(here.x_nm)
    )
    half_mile = flying.path.when_at_x(-0.5)
    assert half_mile is not None
    low = flying.position(half_mile)
    assert low.altitude_ft == pytest.approx(flying.geometry.glide_altitude_ft(-0.5), abs=0.1)
    to_end(flying)
    assert leg_of(flying) is Leg.RUNWAY
    assert not flying.clearances.straight_in


@pytest.mark.parametrize("start", [Leg.OUTSIDE_DOWNWIND, Leg.NINETY_TO_INITIAL, Leg.ENTRY_POINT])
def test_a_straight_in_from_the_outside_begins_at_once(corbel: PatternPlan, start: Leg) -> None:
    flying = flight(corbel, start, via="SILO")
    flying.straight_in(4.0)
    assert flying.leg is Leg.STRAIGHT_IN
    to_end(flying)
    assert leg_of(flying) is Leg.FINAL


def test_a_straight_in_reports_on_final_and_nothing_else(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.ENTRY_POINT, via="SILO")
    flying.straight_in(4.0)
    (report,) = windows(flying)
    assert (report.call, report.due_at_s) == ("final", flying.path.ends_at)
    assert flying.position(report.due_at_s).x_nm == pytest.approx(-corbel.report_initial_nm, abs=1e-3)
    to_end(flying)
    assert [window.call for window in windows(flying)] == ["final"]
    assert windows(flying)[0].closes_at_s == pytest.approx(report.closes_at_s)
    assert windows(flight(corbel, Leg.FINAL)) == []


def test_the_last_word_decides_between_initial_and_straight_in(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INBOUND, via="QUARRY")
    flying.straight_in(1.0)
    flying.proceed_to_initial(2.0)
    to_end(flying)
    assert flying.leg is Leg.NINETY_TO_INITIAL
    with pytest.raises(PatternError, match="cannot straight in on final"):
        flight(corbel, Leg.FINAL).straight_in(1.0)
