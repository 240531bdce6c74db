"""Trying a reply before it is said: would the aircraft, obeying it, come too close to anybody?"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from trainer.pattern.errors import PatternError
from trainer.pattern.leg import Leg
from trainer.tower.picture import Picture
from trainer.traffic.course import Course
from trainer.traffic.outlook import Outlook, look_ahead, meeting

MARGIN_NM = 0.15
"""Kept beyond the field's minimum: a message is obeyed some seconds later than it was tried."""
SAYING_S = 5.0
"""From the decision to the aircraft's reaction: planning 0.6 s, gap 0.5 s, and the message itself."""
SOONER_S, LATER_S = 2.5, 8.0
"""A short message obeyed at once; a long one, or one that waited for the air."""
_CIRCLES = frozenset({Leg.ENTRY_POINT, Leg.THREE_SIXTY})
"""From these the way may be most of a circle longer if the message is obeyed a second later."""


@dataclass(frozen=True)
class Tried:
    """A course with a reply obeyed on it: whom it meets, how close and when; nobody: infinitely far."""

    course: Course
    outlook: Outlook
    nm: float
    at: float
    whom: str | None

    def is_free(self, picture: Picture) -> bool:
        return self.nm >= picture.field.minimum_separation_nm + MARGIN_NM

    def account(self, picture: Picture) -> str:
        return f"{self.whom} would be {self.nm:.1f} NM away in {max(self.at - picture.now, 0.0):.0f} s"


def attempt(callsign: str, picture: Picture, obey: Callable[[Course, float], None]) -> Tried | None:
    """What comes of a reply; None where the aircraft could not obey it. Where it circles, the nearest of what
    comes of it sooner and later."""
    tried = _obeyed(callsign, picture, obey, SAYING_S)
    if tried is None or picture.flights[callsign].leg not in _CIRCLES:
        return tried
    others = (_obeyed(callsign, picture, obey, after_s) for after_s in (SOONER_S, LATER_S))
    near = min([tried, *filter(None, others)], key=lambda each: each.nm)
    return replace(tried, nm=near.nm, at=near.at, whom=near.whom)


def _obeyed(
    callsign: str, picture: Picture, obey: Callable[[Course, float], None], after_s: float
) -> Tried | None:
    course = Course(picture.flights[callsign], picture.now)
    try:
        obey(course, picture.now + after_s)
    except PatternError:
        return None
    return try_course(callsign, picture, course)


def try_course(callsign: str, picture: Picture, course: Course, landing: str | None = None) -> Tried:
    """The nearest that this course comes to the outlooks of all others."""
    # The course may already be some seconds ahead: from there on it is compared.
    outlook = look_ahead(course, max(course.now, picture.now), landing or picture.landing(callsign))
    nm, at, whom = float("inf"), 0.0, None
    for name in picture.others(callsign):
        close = meeting(outlook, picture.outlook(name))
        if close is not None and close.nm < nm:
            nm, at, whom = close.nm, close.at, name
    return Tried(course, outlook, nm, at, whom)


def runway_blocker(callsign: str, picture: Picture, outlook: Outlook | None = None) -> str | None:
    """Who is, or will be, on the runway or too near beyond its threshold when this aircraft crosses it."""
    own = outlook or picture.outlook(callsign)
    if own.threshold is None:
        return None
    for name in picture.others(callsign):
        for occupied in picture.outlook(name).runway:
            if occupied.start <= own.threshold < occupied.free_at(picture.same_runway_nm):
                return name
    return None
