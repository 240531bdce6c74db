"""Other aircraft come into the session: a drill's own when it says, those of a demand when there is room.

What a radar unit does before it hands an aircraft over: one at a time to an entry point, nobody onto
initial or off the ground into somebody else. Who waits too long goes elsewhere.
"""

import math
from dataclasses import replace

from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import PatternPlan
from trainer.pattern.profiles import PROFILES
from trainer.session.plan import SessionPlan
from trainer.tower.arriving import INITIAL_GAP_S
from trainer.tower.picture import Picture
from trainer.tower.probe import MARGIN_NM, try_course
from trainer.traffic.course import Course
from trainer.traffic.demand import Visitor
from trainer.traffic.outlook import LEVELS_APART_FT, ON_THE_GROUND

PATIENCE_S = 600.0
LOOK_EVERY_S = 5.0
_AT_A_POINT = frozenset({Leg.INBOUND, Leg.ENTRY_POINT, Leg.BREAKOUT, Leg.CLIMB_OUT})
_STARTS = {
    "inbound": Leg.INBOUND,
    "straight_in": Leg.INBOUND,
    "initial": Leg.INITIAL,
    "departure": Leg.DEPARTURE,
}
RELEASE_S = 45.0
"""Nobody is over the threshold within this time of a take-off."""


class Arrivals:
    def __init__(self, plan: SessionPlan, pattern: PatternPlan) -> None:
        self._plan = plan
        self._pattern = pattern
        self._scripted = sorted(plan.traffic, key=lambda other: other.after_s)
        self._waiting = sorted(plan.visitors, key=lambda visitor: visitor.at)
        self._look_at = 0.0
        self.level = 100.0
        """The difficulty now: those of a higher one do not come."""
        self.keep_free_for: str | None = None
        """Whose place in the field's limit of aircraft is not taken by others, wherever he is."""

    @property
    def next_at(self) -> float:
        """When somebody next comes, or is looked at again."""
        scripted = self._scripted[0].after_s if self._scripted else float("inf")
        return min(scripted, max(self._waiting[0].at, self._look_at) if self._waiting else float("inf"))

    def scripted(self, now: float) -> list[tuple[str, Flight, tuple[str, ...], str]]:
        """Callsign, flight, circuits and leg of a drill's own traffic that appears by now."""
        come: list[tuple[str, Flight, tuple[str, ...], str]] = []
        while self._scripted and self._scripted[0].after_s <= now:
            other = self._scripted.pop(0)
            start = Leg(other.starts)
            via = (other.entry_point or self._plan.entry_point) if start is Leg.INBOUND else None
            profile = PROFILES[other.aircraft.replace("_", " ")]
            flight = Flight(self._pattern, profile, start=start, at=now, via=via)
            come.append((other.callsign, flight, tuple(other.circuits), other.starts))
        return come

    def too_long(self, now: float) -> list[Visitor]:
        """Those who have waited in vain."""
        gone = [visitor for visitor in self._waiting if visitor.at + PATIENCE_S < now]
        self._waiting = [visitor for visitor in self._waiting if visitor not in gone]
        return gone

    def next_visitor(self, now: float, picture: Picture) -> tuple[Visitor, Flight] | None:
        """The first of those waiting for whom there is room; one at a time."""
        if now < self._look_at:
            return None
        self._look_at = now + LOOK_EVERY_S
        self._waiting = [each for each in self._waiting if each.at > now or each.level <= self.level]
        for visitor in self._waiting:
            if visitor.at > now:
                return None
            flight = self._room_for(visitor, now, picture)
            if flight is not None:
                self._waiting.remove(visitor)
                return visitor, flight
        return None

    def bring_through(self, now: float) -> None:
        """Somebody is to come onto initial now, if there is room: one who would not have come at this level,
        else the next of the demand."""
        later = [each for each in self._waiting if each.at > now and not each.emergency]
        found = next((each for each in later if each.level > self.level), later[0] if later else None)
        if found is not None:
            self._waiting.remove(found)
            self._waiting.insert(0, replace(found, arrives="initial", at=now, level=0.0))
            self._look_at = now

    def _room_for(self, visitor: Visitor, now: float, picture: Picture) -> Flight | None:
        start = _STARTS[visitor.arrives]
        if self.keep_free_for and len(picture.others(self.keep_free_for)) >= max(1, picture.field.limit - 1):
            return None
        if start is Leg.INBOUND and any(
            flight.via == visitor.via and flight.leg in _AT_A_POINT for flight in picture.flights.values()
        ):
            return None
        if start is not Leg.INBOUND and len(picture.in_the_pattern) >= picture.field.limit:
            return None
        if start is Leg.DEPARTURE and not _runway_is_free(picture):
            return None
        via = visitor.via if start is Leg.INBOUND else None
        flight = Flight(self._pattern, visitor.profile, start=start, at=now, via=via)
        tried = try_course(visitor.callsign, picture, Course(flight, now), visitor.circuits[0])
        if not tried.is_free(picture) or _somebody_is_there(flight, picture):
            return None
        if start is Leg.INITIAL and not _alone_on_initial(now, picture):
            return None
        return flight


def _somebody_is_there(flight: Flight, picture: Picture) -> bool:
    """Now: what is foreseen begins some seconds later, when the other may be gone."""
    here = flight.position(flight.now)
    for flown in picture.flights.values():
        other = Course(flown, picture.now)
        there = other.motion()
        nm = math.hypot(here.x_nm - there.pose.x_nm, here.y_nm - there.pose.y_nm)
        level = abs(here.altitude_ft - there.altitude_ft) < LEVELS_APART_FT
        if level and other.leg not in ON_THE_GROUND and nm < picture.field.minimum_separation_nm + MARGIN_NM:
            return True
    return False


def _runway_is_free(picture: Picture) -> bool:
    for name in picture.flights:
        outlook = picture.outlook(name)
        if outlook.threshold is not None and 0.0 <= outlook.threshold - picture.now < RELEASE_S:
            return False
        if any(
            occupied.start <= picture.now < occupied.free_at(picture.same_runway_nm)
            for occupied in outlook.runway
        ):
            return False
    return True


def _alone_on_initial(now: float, picture: Picture) -> bool:
    return not any(
        leg is Leg.INITIAL and abs(at - now) < INITIAL_GAP_S
        for name in picture.flights
        for at, leg in picture.outlook(name).legs
    )
