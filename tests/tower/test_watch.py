"""The tower parts two aircraft that will come too close, and leaves those alone that will not."""

from drills.check import load_field
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES
from trainer.session.aircraft import obey
from trainer.tower.picture import Picture
from trainer.tower.watch import part
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
