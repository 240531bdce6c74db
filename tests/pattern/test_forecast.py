"""Looking ahead: what is forecast is what then happens, and the flight asked about stays as it was."""

from itertools import pairwise

import pytest

from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import TURBOPROP_TRAINER
from trainer.traffic.forecast import (
    Assumptions,
    between_initial_and_break,
    closed_window,
    forecast,
    occupies_runway,
    time_to_threshold,
)


def on(flying: Flight, leg: Leg) -> bool:
    return flying.leg is leg


def flight(plan: PatternPlan, start: Leg, via: str | None = None) -> Flight:
    return Flight(plan, TURBOPROP_TRAINER, start=start, at=0.0, via=via)


def test_the_forecast_is_what_then_happens(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    ahead = forecast(flying, 0.0, 400.0)
    assert (flying.leg, flying.now) == (Leg.INITIAL, 0.0)
    flying.approve_break(0.0)
    for window in ahead:
        flying.advance((window.start + window.end) / 2.0)
        assert flying.leg is window.leg
        assert flying.leg_since == pytest.approx(window.start, abs=1e-4)
        if flying.leg is Leg.FINAL:
            flying.clear_landing(flying.now, "touch_and_go")
        if flying.leg is Leg.DEPARTURE:
            flying.approve_closed(flying.now)
    assert [window.leg for window in ahead[-3:]] == [
        Leg.DEPARTURE,
        Leg.CLOSED_PULL_UP,
        Leg.CLOSED_DOWNWIND,
    ]


def test_a_forecast_has_no_gaps_and_fills_the_horizon(corbel: PatternPlan) -> None:
    ahead = forecast(flight(corbel, Leg.DEPARTURE), 10.0, 180.0)
    assert (ahead[0].start, ahead[-1].end) == (10.0, 190.0)
    for before, after in pairwise(ahead):
        assert before.end == after.start


def test_the_assumptions_decide(corbel: PatternPlan) -> None:
    refused = Assumptions(break_approved=False, landing=None, closed=False)
    on_initial = forecast(flight(corbel, Leg.INITIAL), 0.0, 130.0, refused)
    on_final = forecast(flight(corbel, Leg.FINAL), 0.0, 130.0, refused)
    assert [window.leg for window in on_initial[:2]] == [Leg.INITIAL, Leg.STRAIGHT_THROUGH]
    assert [window.leg for window in on_final[:4]] == [
        Leg.FINAL,
        Leg.GOING_AROUND,
        Leg.DEPARTURE,
        Leg.CROSSWIND,
    ]
    holding = flight(corbel, Leg.ENTRY_POINT, "QUARRY")
    assert [window.leg for window in forecast(holding, 0.0)] == [Leg.ENTRY_POINT]
    proceeding = forecast(holding, 0.0, assumed=Assumptions(proceed=True))
    assert proceeding[0].leg is Leg.NINETY_TO_INITIAL


def test_between_initial_and_break_runs_from_the_report_to_the_roll_out(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.FORTY_FIVE_TO_INITIAL)
    window = between_initial_and_break(flying, 0.0)
    assert window is not None
    flying.advance(window[0])
    assert on(flying, Leg.INITIAL)
    assert flying.position(window[0]).x_nm == pytest.approx(-3.0, abs=1e-4)
    flying.approve_break(window[0])
    flying.advance(window[1] + 0.01)
    assert on(flying, Leg.INSIDE_DOWNWIND)
    assert flying.leg_since == pytest.approx(window[1], abs=1e-3)


def test_between_initial_and_break_begins_now_if_it_has_begun(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    inside = between_initial_and_break(flying, 60.0)
    assert inside is not None
    assert inside[0] == 60.0
    breaking = between_initial_and_break(flight(corbel, Leg.BREAK_TURN), 5.0)
    assert breaking is not None
    assert breaking[0] == 5.0


@pytest.mark.parametrize(
    ("start", "via"),
    [(Leg.ENTRY_POINT, "QUARRY"), (Leg.CLOSED_DOWNWIND, None), (Leg.DEPARTURE, None)],
)
def test_nobody_holding_or_in_the_closed_pattern_is_between(
    corbel: PatternPlan, start: Leg, via: str | None
) -> None:
    assert between_initial_and_break(flight(corbel, start, via), 0.0) is None


def test_closed_window_runs_from_the_pull_up_to_abeam_the_threshold(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.DEPARTURE)
    window = closed_window(flying, 5.0)
    assert window is not None
    assert not flying.clearances.closed_approved
    flying.approve_closed(5.0)
    flying.advance(window[0] + 0.01)
    assert on(flying, Leg.CLOSED_PULL_UP)
    assert flying.leg_since == pytest.approx(window[0], abs=1e-3)
    flying.advance(window[1])
    assert on(flying, Leg.CLOSED_DOWNWIND)
    assert flying.position(window[1]).x_nm == pytest.approx(0.0, abs=1e-4)


def test_closed_window_begins_now_beyond_the_departure_end(corbel: PatternPlan) -> None:
    window = closed_window(flight(corbel, Leg.DEPARTURE), 35.0)
    assert window is not None
    assert window[0] == 35.0


def test_no_closed_window_where_closed_cannot_be_approved(corbel: PatternPlan) -> None:
    assert closed_window(flight(corbel, Leg.INITIAL), 5.0) is None


def test_time_to_threshold(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.FINAL_TURN)
    seconds = time_to_threshold(flying, 10.0)
    assert seconds is not None
    flying.clear_landing(10.0, "low_approach")
    flying.advance(10.0 + seconds + 0.01)
    assert on(flying, Leg.RUNWAY)
    assert flying.position(10.0 + seconds + 0.01).x_nm == pytest.approx(0.0, abs=1e-3)
    assert time_to_threshold(flight(corbel, Leg.ENTRY_POINT, "SILO"), 0.0) is None


def test_the_runway_is_occupied_from_the_threshold_to_lift_off(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.FINAL)
    flying.clear_landing(0.0, "stop_and_go")
    over = flying.path.ends_at
    assert not occupies_runway(flying, over - 1.0)
    assert occupies_runway(flying, over + 1.0)
    assert occupies_runway(flying, over + 40.0)
    assert not occupies_runway(flying, over + 120.0)
    assert on(flying, Leg.FINAL)


def test_an_aircraft_going_around_does_not_occupy_the_runway(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.FINAL)
    assert not occupies_runway(flying, flying.path.ends_at + 3.0)
