"""Traffic and tower without a trainee: separation is held, everything ends, the same seed is the same bytes."""

from dataclasses import replace

import pytest

from drills.check import load_field
from trainer.pattern.profiles import PROFILES
from trainer.session.airspace import Airspace
from trainer.session.events import Blocked, CallMissed, LegEntered, OtherSpoke, TowerSpoke
from trainer.session.pilots import BY_THE_BOOK, Habits
from trainer.session.plan import SessionPlan
from trainer.simulating import simulate, speech_seconds
from trainer.traffic.demand import Arrival, Visitor

PLACES = (("corbel", "31"), ("wickstone", "08L"), ("corbel", "13"), ("wickstone", "26R"))
WINDS = ("calm", "320/15", "090/20")
DEMANDS = (4.0, 8.0, 14.0, 10.0, 6.0)


def plan(seed: int, hours: float = 0.25) -> SessionPlan:
    field, runway = PLACES[seed % 4]
    demand = DEMANDS[seed % 5]
    return SessionPlan.of_demand(load_field(field), runway, demand, hours, seed, WINDS[seed % 3])


@pytest.mark.parametrize("seed", range(100, 130))
def test_no_two_that_obey_come_closer_than_the_field_allows(seed: int) -> None:
    found = simulate(plan(seed))
    nearest = found.separation.nearest()
    assert nearest is None or nearest.nm >= found.plan.field.minimum_separation_nm, nearest


def test_the_same_seed_gives_the_same_bytes_and_another_seed_does_not() -> None:
    first, second = simulate(plan(3)).log(), simulate(plan(3)).log()
    assert first == second
    assert len(first.splitlines()) > 30
    assert simulate(replace(plan(3), seed=4, visitors=plan(7).visitors)).log() != first


def alone(habits: Habits, arrives: Arrival = "inbound", emergency: bool = False, seed: int = 0) -> list:
    """One aircraft that has the field to itself; the events."""
    jet = PROFILES["jet trainer"]
    visitor = Visitor("HERON 42", jet, arrives, "QUARRY", 1.0, ("full_stop",), 4500, emergency)
    one = replace(plan(0), visitors=(visitor,), habits=habits, time_limit_s=1500.0, seed=seed)
    airspace = Airspace(one, speech_seconds)
    events = []
    while not airspace.is_over:
        events += airspace.advance(airspace.now + 5.0)
    return events


def legs(events: list) -> list[str]:
    return [event.leg for event in events if isinstance(event, LegEntered)]


def replies(events: list) -> list[str]:
    return [event.reply for event in events if isinstance(event, TowerSpoke)]


def test_by_the_book_it_breaks_and_lands() -> None:
    events = alone(BY_THE_BOOK)
    assert legs(events)[-5:] == ["inside_downwind", "final_turn", "final", "runway", "clear_of_runway"]
    assert replies(events) == ["overhead_approved", "break_approved", "cleared"]
    words = [event.words for event in events if isinstance(event, OtherSpoke)]
    assert words[0].startswith("corbel tower, heron four two")
    assert "heron four two, runway three one, cleared to land" in words


def test_who_never_speaks_is_given_nothing() -> None:
    """No initial call: no break. Nothing at all: it holds at its point."""
    events = alone(Habits(silent=1.0))
    assert legs(events)[-1] == "entry_point"
    assert not [event for event in events if isinstance(event, OtherSpoke)]
    silent_on_initial = alone(Habits(silent=1.0), arrives="initial")
    assert "straight_through" in legs(silent_on_initial)
    assert "break_turn" not in legs(silent_on_initial)


def test_without_a_gear_report_the_tower_asks_and_then_sends_it_around() -> None:
    visitor = Visitor("HERON 42", PROFILES["jet trainer"], "initial", "QUARRY", 1.0, ("full_stop",), 4500)
    airspace = Airspace(replace(plan(0), visitors=(visitor,), habits=BY_THE_BOOK), speech_seconds)
    events = []
    while not airspace.is_over and "going_around" not in legs(events):
        events += airspace.advance(airspace.now + 1.0)
        aircraft = airspace.aircraft.get("HERON 42")
        if aircraft is not None and aircraft.flight.leg.value.endswith("downwind"):
            assert aircraft.pilot is not None
            aircraft.pilot._habits = Habits(silent=1.0)
    assert "check_wheels_down" in replies(events)
    assert "runway" not in legs(events)
    assert any(isinstance(event, CallMissed) and "gear_report" in event.call for event in events)


def test_a_wrong_call_is_judged_and_asked_back_as_the_trainees_is() -> None:
    events = alone(Habits(wrong=1.0), arrives="initial")
    asked = set(replies(events)) & {"say_callsign", "say_again", "say_position", "check_wheels_down"}
    assert asked


def test_a_blocked_transmission_is_made_again() -> None:
    events = alone(Habits(blocked=0.3))
    assert [event for event in events if isinstance(event, Blocked)]
    assert "clear_of_runway" in legs(events)


def test_an_error_of_the_tower_is_challenged_and_put_right() -> None:
    """A clearance for the other end of the runway is not accepted: it is challenged, and given anew.

    One in two messages is wrong here, so the seeds are tried until such a clearance has come.
    """
    for seed in range(30):
        events = alone(Habits(traps=0.5), arrives="initial", seed=seed)
        wrong = [
            e for e in events if isinstance(e, TowerSpoke) and "cleared" in e.words and "one three" in e.words
        ]
        if wrong:
            break
    challenge = next(e for e in events if isinstance(e, OtherSpoke) and e.at > wrong[0].at)
    assert challenge.words == "heron four two, verify runway three one"
    after = [e for e in events if isinstance(e, TowerSpoke) and e.at > challenge.at]
    assert after[0].reply in ("cleared", "continue_approach", "go_around")


def test_a_message_to_a_callsign_that_nobody_has_is_not_taken_by_anybody() -> None:
    events = alone(Habits(traps=1.0), arrives="initial")
    assert {event.to for event in events if isinstance(event, TowerSpoke)} - {"HERON 42"}
    assert "break_turn" not in legs(events)


@pytest.mark.parametrize("emergency", [False, True])
def test_a_straight_in_and_an_emergency_are_flown_to_the_runway(emergency: bool) -> None:
    events = alone(BY_THE_BOOK, arrives="straight_in", emergency=emergency)
    assert legs(events) == ["straight_in", "final", "runway", "clear_of_runway"]
    assert ("say_fuel_and_souls" in replies(events)) is emergency
    assert replies(events)[-2:] == ["report", "cleared"]
