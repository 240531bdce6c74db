"""What one aircraft does with a clearance, and without."""

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from drills.field import Field
from trainer.pattern.clearances import Intention
from trainer.pattern.errors import PatternError
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import CROSSWIND_NM, EXTENSION_NM, BreakPoint, PatternPlan
from trainer.pattern.profiles import FAST_JET, PROFILES, TURBOPROP_TRAINER, Profile


def on(flying: Flight, leg: Leg) -> bool:
    return flying.leg is leg


def flight(plan: PatternPlan, start: Leg, via: str | None = None) -> Flight:
    return Flight(plan, TURBOPROP_TRAINER, start=start, at=0.0, via=via)


def legs_flown(flying: Flight, legs: int) -> list[Leg]:
    """The next legs, with nothing more said."""
    flown: list[Leg] = []
    flying.advance(flying.now)  # what has been entered already
    while len(flown) < legs:
        flown += [change.leg for change in flying.advance(max(flying.path.ends_at, flying.now))]
    return flown[:legs]


def to(flying: Flight, leg: Leg) -> Flight:
    """Fly on until this leg has just been entered, landing and breaking as cleared on the way."""
    while flying.leg is not leg:
        if flying.leg is Leg.INITIAL and not flying.clearances.break_approved:
            flying.approve_break(flying.now)
        if flying.leg is Leg.FINAL:
            flying.clear_landing(flying.now, "touch_and_go")
        flying.advance(max(flying.path.ends_at, flying.now))
    return flying


def test_a_full_circuit_with_times(corbel: PatternPlan) -> None:
    """Two landings, one closed, then round the outside; the seconds follow from speeds and lengths."""
    flying = flight(corbel, Leg.INITIAL)
    flying.approve_break(60.0)
    changes = flying.advance(150.0)
    flying.clear_landing(150.0, "touch_and_go")
    changes += flying.advance(280.0)
    flying.approve_closed(290.0)
    changes += flying.advance(450.0)
    flying.clear_landing(450.0, "option")
    changes += flying.advance(1_000.0)
    assert [(change.leg.value, change.trigger, round(change.at)) for change in changes] == [
        ("break_turn", "pass_break_point", 87),
        ("inside_downwind", "roll_out", 130),
        ("final_turn", "pass_perch", 166),
        ("final", "roll_out", 227),
        ("runway", "pass_threshold", 270),
        ("departure", "lift_off", 286),
        ("closed_pull_up", "pull_closed", 315),
        ("closed_downwind", "roll_out", 372),
        ("final_turn", "pass_perch", 451),
        ("final", "roll_out", 512),
        ("runway", "pass_threshold", 554),
        ("departure", "lift_off", 570),
        ("crosswind", "pass_crosswind_point", 626),
        ("outside_downwind", "turn_onto_outside", 670),
        ("ninety_to_initial", "turn_onto_the_90", 824),
        ("forty_five_to_initial", "turn_onto_the_45", 858),
        ("initial", "turn_onto_initial", 883),
        ("straight_through", "pass_break_point", 978),
    ]


def test_one_leg_of_the_circuit_by_hand(corbel: PatternPlan) -> None:
    """5 NM at 207.9 kt true, 200 kt calibrated at 2,700 ft: 86.6 s."""
    assert flight(corbel, Leg.BREAK_TURN).position(0.0).ground_speed_kt == pytest.approx(207.9, abs=0.5)
    flying = flight(corbel, Leg.INITIAL)
    flying.approve_break(0.0)
    assert flying.path.ends_at == pytest.approx(5.0 / 207.9 * 3600.0, abs=0.3)


def test_nothing_said_at_the_entry_point_holds_there(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INBOUND, "QUARRY")
    assert legs_flown(flying, 1) == [Leg.ENTRY_POINT]
    x, y = corbel.point("QUARRY")
    flying.advance(3_600.0)
    assert on(flying, Leg.ENTRY_POINT)
    here = flying.position(3_600.0)
    assert math.hypot(here.x_nm - x, here.y_nm - y) <= 2.0 * flying.geometry.radius_nm + 1e-6
    flying.proceed_to_initial(3_600.0)
    assert on(flying, Leg.NINETY_TO_INITIAL)
    assert legs_flown(flying, 2) == [Leg.FORTY_FIVE_TO_INITIAL, Leg.INITIAL]


@pytest.mark.parametrize(
    ("via", "first"), [("QUARRY", Leg.NINETY_TO_INITIAL), ("WEIR", Leg.FORTY_FIVE_TO_INITIAL)]
)
def test_cleared_inbound_does_not_hold(corbel: PatternPlan, via: str, first: Leg) -> None:
    """WEIR lies beyond initial, near the runway line: no perpendicular leg from there."""
    flying = flight(corbel, Leg.INBOUND, via)
    flying.proceed_to_initial(10.0)
    assert legs_flown(flying, 1) == [first]
    assert not flying.clearances.proceed_initial


def test_no_break_approval_goes_straight_through_and_round_the_outside(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    assert legs_flown(flying, 6) == [
        Leg.STRAIGHT_THROUGH,
        Leg.CROSSWIND,
        Leg.OUTSIDE_DOWNWIND,
        Leg.NINETY_TO_INITIAL,
        Leg.FORTY_FIVE_TO_INITIAL,
        Leg.INITIAL,
    ]


@pytest.mark.parametrize(("where", "share"), [("threshold", 0.0), ("midfield", 0.5), ("departure_end", 1.0)])
def test_the_break_is_where_the_tower_put_it(corbel: PatternPlan, where: BreakPoint, share: float) -> None:
    flying = flight(corbel, Leg.INITIAL)
    flying.approve_break(50.0, where)
    to(flying, Leg.BREAK_TURN)
    assert flying.position(flying.now).x_nm == pytest.approx(share * corbel.length_nm, abs=1e-6)


def test_a_late_approval_breaks_at_once_up_to_the_departure_end(corbel: PatternPlan) -> None:
    in_zone = flight(corbel, Leg.INITIAL)
    late = 5.2 / 207.9 * 3600.0
    in_zone.approve_break(late)
    assert on(in_zone, Leg.BREAK_TURN)
    past_zone = flight(corbel, Leg.STRAIGHT_THROUGH)
    past_zone.approve_break(15.0)
    assert on(past_zone, Leg.BREAK_TURN)
    with pytest.raises(PatternError, match="cannot approve break on straight through"):
        flight(corbel, Leg.STRAIGHT_THROUGH).approve_break(30.0)


def test_carry_straight_through_undoes_the_approval(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    flying.approve_break(40.0)
    flying.straight_through(50.0)
    assert legs_flown(flying, 2) == [Leg.CROSSWIND, Leg.OUTSIDE_DOWNWIND]


def test_no_landing_clearance_goes_around(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.FINAL)
    assert legs_flown(flying, 3) == [Leg.GOING_AROUND, Leg.DEPARTURE, Leg.CROSSWIND]


def test_going_around_in_the_final_turn_finishes_the_turn(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.FINAL_TURN)
    flying.go_around(50.0)
    low = flying.position(50.0).altitude_ft
    to(flying, Leg.DEPARTURE)
    here = flying.position(flying.now)
    assert (here.x_nm, here.y_nm) == pytest.approx((corbel.length_nm / 2.0, 0.0), abs=1e-6)
    assert low < here.altitude_ft <= corbel.conventional_altitude_ft


@pytest.mark.parametrize("landing", ["touch_and_go", "stop_and_go", "low_approach", "option"])
@pytest.mark.parametrize("profile", PROFILES.values(), ids=PROFILES.keys())
def test_a_landing_that_goes_lifts_off_before_the_departure_end(
    corbel: PatternPlan, landing: Intention, profile: Profile
) -> None:
    flying = Flight(corbel, profile, start=Leg.FINAL, at=0.0)
    flying.clear_landing(1.0, landing)
    assert legs_flown(flying, 2) == [Leg.RUNWAY, Leg.DEPARTURE]
    assert 0.0 < flying.position(flying.now).x_nm < corbel.length_nm
    assert flying.clearances.landing is None


def test_a_full_stop_ends_clear_of_the_runway(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.FINAL)
    flying.clear_landing(1.0, "full_stop")
    assert legs_flown(flying, 2) == [Leg.RUNWAY, Leg.CLEAR_OF_RUNWAY]
    assert flying.advance(10_000.0) == []
    parked = flying.position(10_000.0)
    assert parked.y_nm < -0.05
    assert (parked.altitude_ft, parked.ground_speed_kt) == (corbel.elevation_ft, 0.0)
    assert flying.possible == ()
    with pytest.raises(PatternError, match="possible now: nothing"):
        flying.breakout(10_001.0, "QUARRY")


def test_closed_pulls_up_at_the_departure_end_or_at_once_beyond(corbel: PatternPlan) -> None:
    early = flight(corbel, Leg.DEPARTURE)
    early.approve_closed(5.0)
    to(early, Leg.CLOSED_PULL_UP)
    assert early.position(early.now).x_nm == pytest.approx(corbel.length_nm, abs=1e-6)
    late = flight(corbel, Leg.DEPARTURE)
    late.approve_closed(30.0)
    assert on(late, Leg.CLOSED_PULL_UP)
    assert late.position(30.0).x_nm > corbel.length_nm
    to(late, Leg.CLOSED_DOWNWIND)
    assert late.position(late.now).y_nm == pytest.approx(late.geometry.downwind_offset_nm)
    assert not late.clearances.closed_approved


def test_no_closed_approval_goes_crosswind(corbel: PatternPlan) -> None:
    for extend, further in ((False, 0.0), (True, EXTENSION_NM)):
        flying = flight(corbel, Leg.DEPARTURE)
        if extend:
            flying.extend_upwind(5.0)
        to(flying, Leg.CROSSWIND)
        end = corbel.length_nm + CROSSWIND_NM + further
        assert flying.position(flying.now).x_nm == pytest.approx(end, abs=1e-6)


def test_the_outside_downwind_lies_at_the_fields_offset(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.CROSSWIND)
    to(flying, Leg.NINETY_TO_INITIAL)
    here = flying.position(flying.now)
    assert here.y_nm == pytest.approx(corbel.outside_offset_nm)
    assert here.altitude_ft == pytest.approx(corbel.overhead_altitude_ft)
    assert here.track_deg == pytest.approx(130.0)


def test_extended_downwind_turns_base_when_told(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INSIDE_DOWNWIND)
    flying.extend_downwind(10.0)
    flying.advance(70.0)
    assert on(flying, Leg.INSIDE_DOWNWIND)
    assert flying.position(70.0).x_nm < flying.geometry.perch_x_nm
    flying.turn_base(70.0)
    assert on(flying, Leg.FINAL_TURN)
    to(flying, Leg.FINAL)
    here = flying.position(flying.now)
    assert here.y_nm == pytest.approx(0.0, abs=1e-9)
    assert here.altitude_ft == pytest.approx(flying.geometry.glide_altitude_ft(here.x_nm), abs=0.1)


def test_turn_base_before_the_perch_turns_at_the_perch(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INSIDE_DOWNWIND)
    flying.extend_downwind(5.0)
    flying.turn_base(10.0)
    assert on(flying, Leg.INSIDE_DOWNWIND)
    to(flying, Leg.FINAL_TURN)
    assert flying.position(flying.now).x_nm == pytest.approx(flying.geometry.perch_x_nm)


def test_an_extended_downwind_that_nobody_ends_turns_by_itself(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INSIDE_DOWNWIND)
    flying.extend_downwind(5.0)
    assert legs_flown(flying, 3) == [Leg.FINAL_TURN, Leg.FINAL, Leg.GOING_AROUND]


@pytest.mark.parametrize("point", ["QUARRY", "SILO", "WEIR"])
@pytest.mark.parametrize("start", [Leg.INITIAL, Leg.FINAL_TURN, Leg.DEPARTURE, Leg.CLOSED_DOWNWIND])
def test_a_breakout_climbs_to_the_point_and_holds(corbel: PatternPlan, start: Leg, point: str) -> None:
    flying = flight(corbel, start)
    flying.breakout(10.0, point)
    assert legs_flown(flying, 1) == [Leg.ENTRY_POINT]
    here = flying.position(flying.now)
    assert (here.x_nm, here.y_nm) == pytest.approx(corbel.point(point), abs=1e-6)
    assert here.altitude_ft == pytest.approx(corbel.breakout_altitude_ft)
    assert (flying.via, flying.clearances.diversion) == (point, None)


def test_a_breakout_from_downwind_turns_away_from_the_runway(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INSIDE_DOWNWIND)
    flying.breakout(5.0, "SILO")
    assert flying.position(15.0).y_nm > flying.geometry.downwind_offset_nm


def test_a_climb_out_keeps_runway_heading_to_the_altitude(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.DEPARTURE)
    flying.climb_out(10.0, 4_000.0, "SILO")
    second = 10.0
    while flying.position(second).altitude_ft < 3_999.0:
        assert flying.position(second).track_deg == pytest.approx(310.0)
        second += 1.0
    assert legs_flown(flying, 1) == [Leg.ENTRY_POINT]
    assert flying.position(flying.now).altitude_ft == pytest.approx(4_000.0)


@pytest.mark.parametrize(
    ("start", "via", "instruct", "message"),
    [
        (
            Leg.INBOUND,
            "QUARRY",
            lambda flying: flying.approve_closed(1.0),
            "cannot approve closed on inbound; possible now: breakout, proceed to initial, straight in",
        ),
        (
            Leg.DEPARTURE,
            None,
            lambda flying: flying.clear_landing(1.0, "touch_and_go"),
            "cannot clear landing on departure; possible now: "
            "approve closed, breakout, climb out, extend upwind",
        ),
        (
            Leg.INITIAL,
            None,
            lambda flying: flying.go_around(1.0),
            "cannot go around on initial; possible now: "
            "approve break, breakout, straight through, three sixty",
        ),
        (
            Leg.INITIAL,
            None,
            lambda flying: flying.breakout(1.0, "BARN"),
            "no entry point 'BARN' here; use one of QUARRY, SILO, WEIR",
        ),
    ],
)
def test_what_does_not_fit_the_leg_is_refused_and_changes_nothing(
    corbel: PatternPlan, start: Leg, via: str | None, instruct: Callable[[Flight], None], message: str
) -> None:
    flying = flight(corbel, start, via)
    before = (flying.leg, flying.clearances, flying.via, flying.path)
    with pytest.raises(PatternError) as refused:
        instruct(flying)
    assert str(refused.value) == message
    assert (flying.leg, flying.clearances, flying.via, flying.path) == before


def test_time_does_not_run_backwards(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    flying.advance(20.0)
    with pytest.raises(PatternError, match="second 10 is past"):
        flying.advance(10.0)
    with pytest.raises(PatternError, match="second 500 is not on the present leg, initial"):
        flying.position(500.0)


def test_a_fork_leaves_the_flight_alone(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    twin = flying.fork()
    twin.breakout(10.0, "SILO")
    assert (flying.leg, flying.now, flying.clearances.diversion, flying.via) == (Leg.INITIAL, 0.0, None, None)
    assert flying.advance(1.0) == []


@pytest.mark.parametrize("leg", [Leg.BREAKOUT, Leg.RUNWAY, Leg.CLEAR_OF_RUNWAY])
def test_a_leg_that_a_flight_cannot_begin_on(corbel: PatternPlan, leg: Leg) -> None:
    with pytest.raises(PatternError, match="a flight cannot begin on"):
        flight(corbel, leg)


def test_inbound_needs_an_entry_point(corbel: PatternPlan) -> None:
    with pytest.raises(PatternError, match="needs an entry point: via one of QUARRY, SILO, WEIR"):
        flight(corbel, Leg.INBOUND)


def test_an_outside_downwind_that_is_too_near_is_refused(corbel: PatternPlan) -> None:
    with pytest.raises(PatternError, match=r"too near for a fast jet: write an outside offset of 2\.2 NM"):
        Flight(replace(corbel, outside_offset_nm=1.5), FAST_JET, start=Leg.INITIAL, at=0.0)


def test_a_runway_too_short_to_stop_and_go(corbel: PatternPlan) -> None:
    flying = Flight(replace(corbel, length_nm=0.8), FAST_JET, start=Leg.FINAL, at=0.0)
    with pytest.raises(PatternError, match="a stop and go of a fast jet needs"):
        flying.clear_landing(1.0, "stop_and_go")


def test_the_plan_of_a_field_file() -> None:
    field = Field.model_validate(
        {
            "field": "Corbel Field",
            "tower": "Corbel Tower",
            "standard": "us_military_tower",
            "elevation_ft": 1180,
            "overhead_altitude_ft": 2700,
            "conventional_altitude_ft": 2200,
            "breakout_altitude_ft": 3700,
            "outside_offset_nm": 2.5,
            "initial_nm": 5,
            "report_initial_nm": 3,
            "limit": 4,
            "minimum_separation_nm": 0.5,
            "runways": (
                {"end": "13", "heading_deg": 130, "length_ft": 9000, "break": "right"},
                {"end": "31", "heading_deg": 310, "length_ft": 9000, "break": "left"},
            ),
            "points": {"QUARRY": {"bearing_deg": 270, "distance_nm": 8}},
        }
    )
    left, right = PatternPlan.of(field, "31"), PatternPlan.of(field, "13")
    assert left.length_ft == pytest.approx(9000.0)
    # QUARRY is west: ahead and to the left of 31, so behind 13 and to the right: the pattern side of both.
    assert left.point("QUARRY") == pytest.approx((0.741 + 8 * 0.7660, 8 * 0.6428), abs=0.001)
    assert right.point("QUARRY") == pytest.approx((0.741 - 8 * 0.7660, 8 * 0.6428), abs=0.001)
    assert left.heading_of(math.pi / 2.0) == pytest.approx(220.0)
    assert right.heading_of(math.pi / 2.0) == pytest.approx(220.0)
