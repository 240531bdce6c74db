"""Traffic and tower without a trainee: separation is held, everything ends, the same seed is the same bytes."""

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from drills.check import load_field
from phraseology.elements import Kind
from phraseology.readback import answer_to
from phraseology.replies import message
from trainer.commands.simulate import simulate, speech_seconds
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.profiles import PROFILES
from trainer.session.airspace import Airspace
from trainer.session.arrivals import Arrivals
from trainer.session.events import Blocked, CallMissed, LegEntered, OtherSpoke, TowerSpoke
from trainer.session.frequency import Transmission
from trainer.session.pilots import BY_THE_BOOK, Habits
from trainer.session.plan import SessionPlan
from trainer.tower.kinds import KEEPS_APART
from trainer.tower.picture import Asked, Picture
from trainer.tower.probe import attempt
from trainer.tower.words import HIGHER_FT, Way, break_out
from trainer.traffic.demand import Arrival, Visitor
from trainer.traffic.outlook import LEVELS_APART_FT

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


def test_the_gear_is_reported_once_an_approach_however_early() -> None:
    before_the_perch = 0
    for seed in range(12):
        events = alone(replace(BY_THE_BOOK, wishes=1e-9), seed=seed)
        reports = [e for e in events if isinstance(e, OtherSpoke) and "gear down" in e.words]
        assert len(reports) == legs(events).count("final_turn")
        turn = next(e.at for e in events if isinstance(e, LegEntered) and e.leg == "final_turn")
        before_the_perch += reports[0].at < turn - 2.0
    assert before_the_perch > 2


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


def test_who_is_asked_for_his_callsign_says_it() -> None:
    """A wrong figure in it: the tower does not know who called, and asks "station calling"."""
    asked = 0
    for seed in range(40):
        events = alone(Habits(wrong=0.5), arrives="initial", seed=seed)
        for number, event in enumerate(events):
            if isinstance(event, TowerSpoke) and event.reply == "say_callsign":
                spoken = [
                    later for later in events[number + 1 :] if isinstance(later, OtherSpoke | TowerSpoke)
                ]
                assert isinstance(spoken[0], OtherSpoke), spoken[:2]
                asked += 1
    assert asked > 3


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


def test_the_tower_does_not_err_in_what_keeps_aircraft_apart() -> None:
    """Said to a callsign that nobody has, a breakout or a go-around parts nobody."""
    said = []
    for seed in range(100, 106):
        flown = simulate(replace(plan(seed), habits=Habits(traps=0.5)))
        said += [event for event in flown.events if isinstance(event, TowerSpoke)]
    erring = {event.reply for event in said if "an error of the tower" in event.reasons}
    assert erring
    assert {event.reply for event in said} & KEEPS_APART
    assert not erring & KEEPS_APART


def test_an_answer_that_nobody_waits_for_any_more_is_passed_over() -> None:
    """Seed 20071: told twice, he has answered once, and then answers again, with a slip."""
    visitor = Visitor("HERON 42", PROFILES["jet trainer"], "initial", "QUARRY", 1.0, ("full_stop",), 4500)
    airspace = Airspace(replace(plan(0), visitors=(visitor,), habits=BY_THE_BOOK), speech_seconds)
    airspace.advance(3.0)
    aircraft = airspace.aircraft["HERON 42"]
    for window in aircraft.open_windows():
        aircraft.has_made(window.call)
    expected = answer_to(message("report", "HERON 42", {Kind.REPORT: "initial 3"}), aircraft.context)
    slip = Transmission("HERON 42", "heron four two, roger", airspace.now, meant=expected, right=False)
    airspace._tower_hears(aircraft, slip)
    assert replies(airspace.advance(10.0)) == []


def test_what_an_aircraft_with_its_radio_out_was_told_is_not_foreseen() -> None:
    """Once the message has ended; before that it is taken as obeyed."""
    visitor = Visitor("MARTEN 55", PROFILES["fast jet"], "initial", "QUARRY", 1.0, ("full_stop",), 4500)
    airspace = Airspace(replace(plan(0), visitors=(visitor,), habits=BY_THE_BOOK), speech_seconds)

    def breaks() -> bool:
        return Leg.BREAK_TURN in [leg for _, leg in airspace.picture().outlook("MARTEN 55").legs]

    while not any(station == "tower" for station, _ in airspace._frequency.waiting_words()):
        airspace.advance(airspace.now + 0.25)
    airspace.aircraft["MARTEN 55"].deaf_until = 600.0
    assert breaks()
    while "break_approved" not in replies(airspace.advance(airspace.now + 0.25)):
        pass
    airspace.advance(airspace.now + 5.0)
    assert airspace.aircraft["MARTEN 55"].flight.leg is Leg.INITIAL
    assert not breaks()


def test_an_altitude_that_was_blocked_and_will_be_repeated_stays_foreseen(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Seed 5588: meanwhile another was sent to that altitude, and then both were there."""
    visitor = Visitor("TOPAZ 73", PROFILES["fast jet"], "initial", "QUARRY", 1.0, ("full_stop",), 4500)
    airspace = Airspace(replace(plan(0), visitors=(visitor,), habits=BY_THE_BOOK), speech_seconds)
    airspace.advance(3.0)
    higher = airspace.plan.field.breakout_altitude_ft + HIGHER_FT

    def foreseen_ft() -> float:
        return float(airspace.picture().outlook("TOPAZ 73").places[20, 2])

    def without_words(kind: str) -> Callable[[Transmission], bool]:
        return lambda over: over.message is not None and over.message.kind == kind

    seen = airspace.picture()
    tried = attempt("TOPAZ 73", seen, lambda course, t: course.breakout(t, "QUARRY", float(higher)))
    way = Way("QUARRY", tried, higher)
    asked = Asked("", "TOPAZ 73")
    airspace._desk._carry_out(asked, break_out("breakout", asked, seen, ("the test",), way))
    monkeypatch.setattr(airspace, "_is_blocked", without_words("maintain"))
    while not any(isinstance(event, Blocked) for event in airspace.advance(airspace.now + 0.25)):
        assert airspace.now < 60.0
    airspace.advance(airspace.now + 1.0)
    assert airspace.aircraft["TOPAZ 73"].flight.leg is Leg.BREAKOUT
    assert foreseen_ft() == higher
    monkeypatch.setattr(airspace, "_is_blocked", without_words("nothing"))
    assert "maintain" in replies(airspace.advance(airspace.now + 30.0))
    assert airspace.aircraft["TOPAZ 73"].flight.clearances.diversion.altitude_ft == higher


@pytest.mark.parametrize("after", range(2, 13))
def test_nobody_comes_onto_initial_beside_one_who_breaks_out_of_it(after: int) -> None:
    """Seed 20463: he was 383 ft higher and climbing, and out of the way only at the next look ahead."""
    flown = plan(0)
    leaves = Flight(flown.pattern, PROFILES["fast jet"], start=Leg.INITIAL, at=0.0)
    leaves.breakout(1.0, "QUARRY")
    leaves.advance(float(after))
    picture = Picture(float(after), flown.field, flown.runway, "calm", "2992", {"TOPAZ 17": leaves})
    visitor = Visitor(
        "TOPAZ 91", PROFILES["turboprop trainer"], "initial", "QUARRY", 0.0, ("full_stop",), 4500
    )
    found = Arrivals(replace(flown, visitors=(visitor,)), flown.pattern).next_visitor(float(after), picture)
    if found is not None:
        here, there = found[1].position(float(after)), leaves.position(float(after))
        nm = math.hypot(here.x_nm - there.x_nm, here.y_nm - there.y_nm)
        climbed = there.altitude_ft - here.altitude_ft >= LEVELS_APART_FT
        assert climbed or nm >= flown.field.minimum_separation_nm
    assert (found is None) == (after < 7), "as soon as he is 400 ft higher there is room"


@pytest.mark.parametrize("emergency", [False, True])
def test_a_straight_in_and_an_emergency_are_flown_to_the_runway(emergency: bool) -> None:
    events = alone(BY_THE_BOOK, arrives="straight_in", emergency=emergency)
    assert legs(events) == ["straight_in", "final", "runway", "clear_of_runway"]
    assert ("say_fuel_and_souls" in replies(events)) is emergency
    assert replies(events)[-2:] == ["report", "cleared"]
