"""Where each aircraft will be, sampled, and how close two will come: the tower's probe.

An outlook assumes what is stated: the aircraft flies what it has been told, lands as it said it
would, and is granted nothing else. So it goes round the outside where it has no break and no closed.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.traffic.course import Course
from trainer.traffic.forecast import Assumptions, Foreseen, course_of, grant

STEP_S = 4.0
"""Between samples, at whole multiples of it; from one to the next the motion is taken as straight."""
HORIZON_S = 240.0
FRESH_S = 100.0
"""An outlook with less than this left before its horizon is made anew."""
LEVELS_APART_FT = 400.0
"""Aircraft this far apart in height do not meet. Pattern levels lie 500 ft apart (FAA Pilot/Controller
Glossary, overhead maneuver); 100 ft are what a pilot may be off (CP)."""
FORESEEN_APART_FT = LEVELS_APART_FT + 50.0
"""Foreseen, it takes more: between two samples one may level off under the other, and a message is obeyed a
little later than it was tried. Less than 500 ft, or the levels of the pattern would meet."""

ON_THE_GROUND = frozenset({Leg.RUNWAY, Leg.CLEAR_OF_RUNWAY})

_LANDS = frozenset(
    {
        Leg.BREAK_TURN,
        Leg.INSIDE_DOWNWIND,
        Leg.CLOSED_PULL_UP,
        Leg.CLOSED_DOWNWIND,
        Leg.STRAIGHT_IN,
        Leg.FINAL_TURN,
        Leg.FINAL,
        Leg.RUNWAY,
    }
)
"""Whoever is on these is looked at up to the threshold and over it, beyond the horizon."""

Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Occupation:
    """On the runway from over the threshold at `start` to `end`: lift-off at `x_nm` and `speed_kt`, or clear
    of it, where `x_nm` is infinite."""

    start: float
    end: float
    x_nm: float
    speed_kt: float

    def free_at(self, separation_nm: float) -> float:
        """When the next may come over the threshold: clear, or airborne and so far past it."""
        return self.end + max(separation_nm - self.x_nm, 0.0) / max(self.speed_kt, 1.0) * 3600.0


@dataclass(frozen=True)
class Outlook:
    """`x_nm`, `y_nm`, `altitude_ft` at seconds `first * STEP_S` and on; NaN where it is on the ground."""

    first: int
    places: Samples
    """Shape (samples, 3)."""
    runway: tuple["Occupation", ...]
    threshold: float | None
    """When it next comes over the threshold."""
    legs: tuple[tuple[float, Leg], ...]
    """When each leg begins; the first is the present one."""

    @property
    def until(self) -> float:
        return (self.first + len(self.places) - 1) * STEP_S


@dataclass(frozen=True)
class Meeting:
    """The closest that two aircraft at about one level come: session second, and NM."""

    at: float
    nm: float


def look_ahead(flight: Foreseen, now: float, landing: str | None, horizon_s: float = HORIZON_S) -> Outlook:
    """The outlook of a flight, or of a course with a reply tried on it. `landing` None: it goes around."""
    course = course_of(flight, now)
    assumed = Assumptions(break_approved=False, landing=landing, closed=False)  # type: ignore[arg-type]
    first = int(np.ceil(now / STEP_S - 1e-9))
    count = int(horizon_s / STEP_S) + 1
    places = np.full((count, 3), np.nan)
    runway: list[Occupation] = []
    legs: list[tuple[float, Leg]] = [(now, course.leg)]
    threshold = None
    index, until = 0, (first + count - 1) * STEP_S
    while index < count or course.leg in _LANDS:
        grant(course, assumed)
        for change in course.changes():
            legs.append((change.at, change.leg))
        index = _sample(course, first, index, places)
        if course.leg is Leg.RUNWAY:
            runway.append(_occupation(course))
        if course.leg is Leg.FINAL and threshold is None:
            threshold = course.path.ends_at
        on_the_way_down = course.leg in _LANDS and not course.clearances.extend_downwind
        if course.leg is Leg.CLEAR_OF_RUNWAY or (course.path.ends_at > until and not on_the_way_down):
            break
        course.fly_on(max(course.path.ends_at, course.now))
    return Outlook(first, places, tuple(runway), threshold, tuple(legs))


def _occupation(course: Course) -> Occupation:
    end = course.path.at(course.path.ends_at)
    stops = course.clearances.landing == "full_stop"
    x_nm = float("inf") if stops else end.pose.x_nm
    return Occupation(course.leg_since, course.path.ends_at, x_nm, end.speed_kt)


def _sample(course: Course, first: int, index: int, places: Samples) -> int:
    """Fill in the present leg; the index of the first sample after it."""
    ends, path = course.path.ends_at, course.path
    airborne = course.leg not in ON_THE_GROUND
    while index < len(places) and (first + index) * STEP_S <= ends:
        if airborne:
            motion = path.at((first + index) * STEP_S)
            places[index] = (motion.pose.x_nm, motion.pose.y_nm, motion.altitude_ft)
        index += 1
    return index


def meeting(
    one: Outlook, other: Outlook, not_before: float = 0.0, not_after: float = math.inf
) -> Meeting | None:
    """The closest approach in both outlooks while less than `FORESEEN_APART_FT` apart in height; None if
    they never are."""
    first = max(one.first, other.first, int(not_before / STEP_S))
    last = min(one.first + len(one.places), other.first + len(other.places))
    if not_after < math.inf:
        last = min(last, int(not_after / STEP_S) + 2)
    if last - first < 2:
        return None
    between = (
        one.places[first - one.first : last - one.first]
        - (other.places[first - other.first : last - other.first])
    )
    start, step = between[:-1], np.diff(between, axis=0)
    travelled = np.einsum("ij,ij->i", step[:, :2], step[:, :2])
    along = -np.einsum("ij,ij->i", start[:, :2], step[:, :2]) / np.maximum(travelled, 1e-12)
    part = np.clip(along, 0.0, 1.0)[:, None]
    nearest = start + part * step
    apart = np.hypot(nearest[:, 0], nearest[:, 1])
    level = np.minimum(np.abs(start[:, 2]), np.abs(between[1:, 2])) < FORESEEN_APART_FT
    apart = np.where(level & ~np.isnan(apart), apart, np.inf)
    if not len(apart) or np.isinf(apart).all():
        return None
    where = int(np.argmin(apart))
    return Meeting((first + where + float(part[where, 0])) * STEP_S, float(apart[where]))


class Outlooks:
    """The outlooks of all flights, each made anew only when the flight was told something or it runs out.

    Whoever makes a flight do something says so by `forget`.
    """

    def __init__(self) -> None:
        self._known: dict[str, tuple[str | None, Outlook]] = {}
        self._met: dict[tuple[str, str], tuple[Outlook, Outlook, Meeting | None]] = {}
        self._intended: dict[str, tuple[Course, frozenset[Leg], float]] = {}

    def intend(self, callsign: str, course: Course, flight: Flight, landing: str | None) -> None:
        """What the aircraft will do by a message that is not yet on the air; it lapses when the flight enters
        a leg that is not on this course: the message was not heard, or not obeyed."""
        self.forget(callsign)
        outlook = look_ahead(course, course.now, landing)
        self._known[callsign] = (landing, outlook)
        self._intended[callsign] = (course, frozenset(leg for _, leg in outlook.legs), flight.leg_since)

    def forget(self, callsign: str) -> None:
        self._known.pop(callsign, None)
        self._intended.pop(callsign, None)

    def of(self, callsign: str, flight: Flight, now: float, landing: str | None) -> Outlook:
        """What is foreseen for the flight, at least `FRESH_S` ahead."""
        intended = self._intended.get(callsign)
        if intended and flight.leg_since != intended[2] and flight.leg not in intended[1]:
            self.forget(callsign)
            intended = None
        course = intended[0] if intended else None
        known = self._known.get(callsign)
        if known and known[0] == landing and known[1].until - now > FRESH_S:
            as_foreseen = course is not None or any(
                leg is flight.leg and abs(at - flight.leg_since) < 1.0 for at, leg in known[1].legs
            )
            if as_foreseen or known[1].legs[0][1] is flight.leg:
                return known[1]
        if course is not None and course.now < now:
            course.fly_on(now)
        outlook = look_ahead(course if course is not None else flight, now, landing)
        self._known[callsign] = (landing, outlook)
        return outlook

    def meeting(self, one: str, other: str, outlooks: tuple[Outlook, Outlook]) -> Meeting | None:
        """`meeting` of two outlooks, kept as long as both stand."""
        known = self._met.get((one, other))
        if known and known[0] is outlooks[0] and known[1] is outlooks[1]:
            return known[2]
        found = meeting(*outlooks)
        self._met[one, other] = (*outlooks, found)
        return found
