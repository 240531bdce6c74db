"""The tower decides from predicted positions; no script here."""

from dataclasses import replace

import pytest

from drills.check import load_field
from phraseology.elements import Kind
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import JET_TRAINER, TURBOPROP_TRAINER
from trainer.tower.picture import Asked, Picture
from trainer.tower.policy import decide, follow_up
from trainer.traffic.forecast import forecast

FIELD = load_field("corbel")
PLAN = PatternPlan.of(FIELD, "31")
ME, OTHER = "SABLE 21", "HERON 42"


def flight(leg: Leg, profile=TURBOPROP_TRAINER, at: float = 0.0) -> Flight:
    return Flight(PLAN, profile, start=leg, at=at, via="QUARRY" if leg is Leg.INBOUND else None)


def picture(now: float = 0.0, field=FIELD, **flights: Flight) -> Picture:
    named = {name.replace("_", " "): each for name, each in flights.items()}
    for each in named.values():
        each.advance(now)
    return Picture(now, field, "31", "calm", "2992", named)


def test_closed_is_approved_with_nobody_on_initial():
    seen = picture(SABLE_21=flight(Leg.DEPARTURE), HERON_42=flight(Leg.OUTSIDE_DOWNWIND, JET_TRAINER))
    assert decide(Asked("request_closed", ME), seen).message.kind == "closed_approved"


def test_closed_is_denied_for_an_aircraft_between_initial_and_its_break_and_the_reason_names_it():
    seen = picture(now=40.0, SABLE_21=flight(Leg.DEPARTURE), HERON_42=flight(Leg.INITIAL, JET_TRAINER))
    decision = decide(Asked("request_closed", ME), seen)
    assert decision.message.kind == "closed_denied_breakout"
    assert decision.message.value(Kind.REPORT) in FIELD.points
    assert OTHER in decision.reasons[0]


def test_closed_is_denied_with_a_climb_out_when_the_pattern_is_full():
    small = FIELD.model_copy(update={"limit": 1})
    seen = picture(field=small, SABLE_21=flight(Leg.DEPARTURE), HERON_42=flight(Leg.FINAL, JET_TRAINER))
    decision = decide(Asked("request_closed", ME), seen)
    assert decision.message.kind == "closed_denied_climb_out"
    assert decision.message.value(Kind.ALTITUDE) == "3700"


def test_landing_is_cleared_for_what_was_asked():
    seen = picture(SABLE_21=flight(Leg.INSIDE_DOWNWIND))
    message = decide(Asked("gear_report", ME, "low_approach"), seen).message
    assert message.kind == "cleared"
    assert message.value(Kind.CLEARANCE) == "low_approach"


def test_the_second_to_land_is_told_whom_to_follow():
    seen = picture(SABLE_21=flight(Leg.INSIDE_DOWNWIND), HERON_42=flight(Leg.FINAL_TURN, JET_TRAINER))
    message = decide(Asked("gear_report", ME, "touch_and_go"), seen).message
    assert message.kind == "cleared_in_sequence"
    assert message.value(Kind.SEQUENCE) == "2"
    assert message.value(Kind.FOLLOW) == "jet_trainer final_turn"


def test_an_occupied_runway_gives_no_clearance_until_it_is_free():
    lead, me = flight(Leg.FINAL), flight(Leg.FINAL, at=15.0)  # fifteen seconds behind
    lead.clear_landing(0.0, "full_stop")
    seen = picture(now=20.0, SABLE_21=me, HERON_42=lead)
    asked = Asked("gear_report", ME, "touch_and_go")
    assert decide(asked, seen).message.kind == "continue_approach"
    assert follow_up(asked, seen) is None or follow_up(asked, seen).message.kind == "go_around"
    gone = replace(seen, flights={ME: me})
    assert follow_up(asked, gone).message.kind == "cleared"


def test_the_break_is_moved_until_the_landing_has_room():
    """The one ahead breaks now; whoever is at the same place may not land with it."""
    ahead = flight(Leg.INITIAL)
    ahead.approve_break(0.0)
    message = decide(Asked("initial", ME), picture(SABLE_21=flight(Leg.INITIAL), HERON_42=ahead)).message
    assert message.kind == "break_at"
    assert message.value(Kind.BREAK) in ("midfield", "departure_end")


def test_closed_that_would_land_with_another_goes_round_the_outside():
    """A jet's closed circuit takes about as long as the rest of a turboprop's that is on downwind."""
    seen = picture(SABLE_21=flight(Leg.DEPARTURE, JET_TRAINER), HERON_42=flight(Leg.CLOSED_DOWNWIND))
    decision = decide(Asked("request_closed", ME), seen)
    assert decision.message.kind == "closed_denied_outside"
    assert OTHER in decision.reasons[0]


def test_an_aircraft_at_its_point_holds_while_another_would_meet_it_on_initial():
    held, other = flight(Leg.INBOUND), flight(Leg.INBOUND)
    other.proceed_to_initial(0.0)
    arrived = forecast(held, 0.0)[0].end
    seen = picture(now=arrived + 1.0, SABLE_21=held, HERON_42=other)
    decision = decide(Asked("entry_point", ME), seen)
    assert decision.message.kind == "stand_by"
    alone = replace(seen, flights={ME: held})
    assert decide(Asked("entry_point", ME), alone).message.kind == "report"


@pytest.mark.parametrize(("has_atis", "says_altimeter"), [(True, False), (False, True)])
def test_what_the_letter_covers_is_left_out(has_atis, says_altimeter):
    """FAA JO 7110.65 3-10-1: what the pilot has from the ATIS may be omitted."""
    seen = picture(SABLE_21=flight(Leg.INBOUND))
    message = decide(Asked("check_in", ME, has_atis=has_atis), seen).message
    assert message.has(Kind.ALTIMETER) is says_altimeter
    assert message.value(Kind.RUNWAY) == "31"
