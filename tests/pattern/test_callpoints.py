"""Where each call belongs, and when."""

import pytest

from trainer.pattern.callpoints import Window, windows
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES, TURBOPROP_TRAINER, Profile


def flight(plan: PatternPlan, start: Leg, via: str | None = None) -> Flight:
    return Flight(plan, TURBOPROP_TRAINER, start=start, at=0.0, via=via)


def only(flying: Flight) -> Window:
    (window,) = windows(flying)
    return window


def test_initial_is_due_at_the_distance_the_tower_asks_for(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    window = only(flying)
    assert window.call == "initial"
    assert flying.position(window.opens_at_s).x_nm == pytest.approx(-3.5)
    assert flying.position(window.due_at_s).x_nm == pytest.approx(-3.0)
    assert flying.position(window.closes_at_s).x_nm == pytest.approx(-0.5)


def test_an_approval_does_not_move_the_initial_window(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INITIAL)
    before = only(flying)
    flying.approve_break(60.0, "departure_end")
    assert only(flying) == before


def test_gear_report_opens_abeam_and_closes_a_third_into_the_final_turn(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.CLOSED_DOWNWIND)
    downwind = only(flying)
    assert downwind.call == "gear_report"
    assert flying.position(downwind.opens_at_s).x_nm == pytest.approx(0.0, abs=1e-6)
    assert downwind.due_at_s == pytest.approx(flying.path.ends_at)
    flying.advance(flying.path.ends_at)
    turning = only(flying)
    assert turning.due_at_s == pytest.approx(downwind.due_at_s)
    assert turning.closes_at_s == pytest.approx(downwind.closes_at_s)
    whole = flying.path.ends_at - flying.leg_since
    assert turning.closes_at_s - flying.leg_since == pytest.approx(whole / 3.0)


def test_an_extended_downwind_keeps_the_gear_report_open(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.CLOSED_DOWNWIND)
    before = only(flying)
    flying.extend_downwind(5.0)
    after = only(flying)
    assert after.due_at_s == pytest.approx(before.due_at_s)
    assert after.closes_at_s > before.closes_at_s + 60.0


def test_request_closed_runs_from_lift_off_to_the_crosswind_point(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.DEPARTURE)
    window = only(flying)
    assert (window.call, window.opens_at_s) == ("request_closed", 0.0)
    assert flying.position(window.due_at_s).x_nm == pytest.approx(corbel.length_nm)
    assert window.closes_at_s == flying.path.ends_at
    flying.approve_closed(1.0)
    assert windows(flying) == []


def test_check_in_then_the_point(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INBOUND, "SILO")
    check_in, point = windows(flying)
    assert (check_in.call, check_in.opens_at_s) == ("check_in", 0.0)
    assert check_in.closes_at_s <= point.opens_at_s
    assert (point.call, point.due_at_s) == ("entry_point", flying.path.ends_at)
    flying.advance(point.due_at_s)
    assert only(flying).due_at_s == pytest.approx(point.due_at_s)
    assert only(flying).closes_at_s == pytest.approx(point.closes_at_s)


def test_cleared_to_initial_there_is_nothing_to_say_at_the_point(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.INBOUND, "SILO")
    flying.proceed_to_initial(20.0)
    assert windows(flying) == []


def test_a_breakout_reports_its_point(corbel: PatternPlan) -> None:
    flying = flight(corbel, Leg.DEPARTURE)
    flying.breakout(10.0, "WEIR")
    assert (only(flying).call, only(flying).due_at_s) == ("entry_point", flying.path.ends_at)


def test_outside_downwind_and_the_break_are_reported_only_if_asked(corbel: PatternPlan) -> None:
    outside, breaking = flight(corbel, Leg.OUTSIDE_DOWNWIND), flight(corbel, Leg.BREAK_TURN)
    assert windows(outside) == windows(breaking) == []
    outside.ask_report("outside_downwind")
    breaking.ask_report("break_report")
    assert outside.position(only(outside).due_at_s).x_nm == pytest.approx(corbel.length_nm / 2.0)
    assert only(breaking).call == "break_report"
    outside.advance(outside.path.ends_at)
    breaking.advance(breaking.path.ends_at)
    assert outside.clearances.asked_reports == breaking.clearances.asked_reports == frozenset()


@pytest.mark.parametrize("profile", PROFILES.values(), ids=PROFILES.keys())
def test_windows_are_in_order_and_leave_time_to_speak(either_end: PatternPlan, profile: Profile) -> None:
    """Over two circuits: opens, due, closes in order, and at least 5 s to make the call in."""
    flying = Flight(either_end, profile, start=Leg.INBOUND, at=0.0, via="QUARRY")
    calls = set()
    while flying.now < 1_500.0:
        for window in windows(flying):
            assert window.opens_at_s <= window.due_at_s <= window.closes_at_s
            assert window.closes_at_s - window.opens_at_s >= 5.0
            calls.add(window.call)
        now = flying.now
        if flying.leg is Leg.ENTRY_POINT:
            flying.proceed_to_initial(now)
        if flying.leg is Leg.INITIAL:
            flying.approve_break(now)
        if flying.leg is Leg.FINAL:
            flying.clear_landing(now, "touch_and_go")
        flying.advance(max(flying.path.ends_at, now))
    assert calls == {"check_in", "entry_point", "initial", "gear_report", "request_closed"}
