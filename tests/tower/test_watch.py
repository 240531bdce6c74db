"""The tower parts two aircraft that will come too close, and leaves those alone that will not."""

import math

from drills.check import load_field
from phraseology.elements import Kind
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES
from trainer.session.aircraft import obey
from trainer.tower.picture import Picture
from trainer.tower.probe import LATER_S, SOONER_S, attempt
from trainer.tower.watch import part
from trainer.tower.words import HIGHER_FT
from trainer.traffic.separation import SeparationWatch

FIELD = load_field("corbel")
PLAN = PatternPlan.of(FIELD, "31")


def overtaking(seconds_behind: float) -> dict[str, Flight]:
    """A fast jet on initial behind a turboprop trainer; neither has a break."""
    slow = Flight(PLAN, PROFILES["turboprop trainer"], start=Leg.INITIAL, at=0.0)
    fast = Flight(PLAN, PROFILES["fast jet"], start=Leg.INITIAL, at=seconds_behind)
    slow.advance(seconds_behind)
    return {"ADZE 52": fast, "HERON 42": slow}


def closest(flights: dict[str, Flight], begin: float, parted: bool) -> float:
    if parted:
        decision = part(Picture(begin, FIELD, "31", "calm", "2992", flights), frozenset())
        assert decision is not None
        assert "HERON 42" in decision.reasons[0]
        assert obey(flights[decision.message.to], decision.message, begin) is None
    watch = SeparationWatch()
    for second in range(int(begin), int(begin) + 90):
        for flight in flights.values():
            flight.advance(float(second))
        watch.look(float(second), flights)
    nearest = watch.nearest()
    return nearest.nm if nearest else float("inf")


def test_an_overtaking_that_would_come_too_close_is_parted_in_time() -> None:
    assert closest(overtaking(25.0), 25.0, parted=False) < FIELD.minimum_separation_nm
    assert closest(overtaking(25.0), 25.0, parted=True) >= FIELD.minimum_separation_nm


def test_nobody_is_disturbed_who_keeps_apart() -> None:
    alone = {"HERON 42": overtaking(25.0)["HERON 42"]}
    assert part(Picture(25.0, FIELD, "31", "calm", "2992", alone), frozenset()) is None


def test_who_has_just_been_told_something_is_not_told_again() -> None:
    flights = overtaking(25.0)
    seen = Picture(25.0, FIELD, "31", "calm", "2992", flights)
    assert part(seen, frozenset(flights)) is None


def nearest_of(flights: dict[str, Flight], begin: float, seconds: int) -> float:
    """How close they come if nobody tells them anything more."""
    watch = SeparationWatch()
    for second in range(int(begin) + 1, int(begin) + seconds):
        for flight in flights.values():
            flight.advance(float(second))
        watch.look(float(second), flights)
    nearest = watch.nearest()
    return nearest.nm if nearest else float("inf")


def breaking_out_to_one_point() -> dict[str, Flight]:
    """Both at the higher altitude: seed 5588 of `many_sessions.py`, where a message had been repeated that
    another altitude for the other had made wrong."""
    higher = float(FIELD.breakout_altitude_ft + HIGHER_FT)
    flights = {"HERON 76": Flight(PLAN, PROFILES["turboprop trainer"], start=Leg.INITIAL, at=0.0)}
    flights["TOPAZ 73"] = Flight(PLAN, PROFILES["fast jet"], start=Leg.INITIAL, at=30.0)
    for flight in flights.values():
        flight.breakout(flight.now + 1.0, "QUARRY", higher)
        flight.advance(100.0)
    return flights


def test_two_at_the_higher_altitude_of_a_breakout_are_parted_by_the_lower() -> None:
    assert nearest_of(breaking_out_to_one_point(), 100.0, 120) < FIELD.minimum_separation_nm
    flights = breaking_out_to_one_point()
    decision = part(Picture(100.0, FIELD, "31", "calm", "2992", flights), frozenset())
    assert decision is not None
    assert decision.message.kind == "maintain"
    assert decision.message.value(Kind.ALTITUDE) == str(FIELD.breakout_altitude_ft)
    assert obey(flights[decision.message.to], decision.message, 105.0) is None
    assert nearest_of(flights, 105.0, 120) >= FIELD.minimum_separation_nm


def onto_the_45_together(until: float, proceeds_at: float = math.inf) -> dict[str, Flight]:
    """Seed 6267: a trainer comes round the 90 while a jet holds beside the 45."""
    wind = PatternPlan.of(FIELD, "31", "015/8")
    slow = Flight(wind, PROFILES["turboprop trainer"], start=Leg.INBOUND, at=247.0, via="QUARRY")
    slow.proceed_to_initial(276.5)
    fast = Flight(wind, PROFILES["fast jet"], start=Leg.INBOUND, at=475.0, via="WEIR")
    if proceeds_at <= until:
        fast.proceed_to_initial(proceeds_at)
    flights = {"TOPAZ 66": slow, "MARTEN 95": fast}
    for flight in flights.values():
        flight.advance(until)
    return flights


def test_whoever_holds_is_told_nothing_that_endangers_if_it_is_obeyed_a_little_sooner_or_later() -> None:
    """From a hold the way onto the 45 may be a circle longer two seconds later."""
    free = {}
    for at in range(518, 557, 3):
        seen = Picture(float(at), FIELD, "31", "015/8", "2992", onto_the_45_together(float(at)))
        tried = attempt("MARTEN 95", seen, lambda course, t: course.proceed_to_initial(t))
        assert tried is not None
        free[at] = tried.is_free(seen)
    assert not free[524], "obeyed 3.75 s later they would have met"
    assert any(free.values())
    for at in (at for at, is_free in free.items() if is_free):
        for after in (SOONER_S, 3.75, LATER_S):
            flights = onto_the_45_together(at + after, at + after)
            assert nearest_of(flights, at + after, 60) >= FIELD.minimum_separation_nm, (at, after)


def test_where_no_way_is_roomy_one_that_keeps_the_minimum_is_taken_while_there_is_one() -> None:
    """Seed 6267 again, the jet on its way: to wait for a better one leaves none."""
    assert nearest_of(onto_the_45_together(531.0, 527.75), 531.0, 60) < FIELD.minimum_separation_nm
    flights = onto_the_45_together(531.0, 527.75)
    decision = part(Picture(531.0, FIELD, "31", "015/8", "2992", flights), frozenset())
    assert decision is not None
    assert decision.reasons[-1] == "nothing better was possible"
    assert obey(flights[decision.message.to], decision.message, 536.0) is None
    assert nearest_of(flights, 536.0, 60) >= FIELD.minimum_separation_nm
