"""Where a flight will be: forecasts by flying its course ahead.

The assumption is stated by `Assumptions`: the aircraft gets what it wants, as far as its clearances
leave that open, and obeys. Nothing here changes the flight that is asked about. A flight whose
`now` lies behind the asked second is looked at as if advanced to it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from trainer.pattern.clearances import Intention
from trainer.pattern.errors import PatternError
from trainer.pattern.flight import Flight, LegChange
from trainer.pattern.leg import Leg
from trainer.traffic.course import Course

_PATTERN_HORIZON_S = 600.0
"""Longer than any class takes once round the outside."""


@dataclass(frozen=True)
class Assumptions:
    """What a flight is taken to be granted when it comes to need it."""

    break_approved: bool = True
    landing: Intention | None = "touch_and_go"
    closed: bool = True
    proceed: bool = False
    """Leaves the entry point at once; without, it holds until told."""


@dataclass(frozen=True)
class LegWindow:
    """On `leg` from `start` to `end`; the first begins now, the last ends with the horizon."""

    leg: Leg
    start: float
    end: float


def grant(flight: Course, assumed: Assumptions) -> None:
    """Give the present leg what it is assumed to get, unless it has it."""
    now, had = flight.now, flight.clearances
    match flight.leg:
        case Leg.INBOUND if assumed.proceed and not had.proceed_initial:
            flight.proceed_to_initial(now)
        case Leg.ENTRY_POINT if assumed.proceed:
            flight.proceed_to_initial(now)
        case Leg.INITIAL if assumed.break_approved and not had.break_approved:
            flight.approve_break(now)
        case Leg.FINAL_TURN | Leg.FINAL if assumed.landing is not None and had.landing is None:
            flight.clear_landing(now, assumed.landing)
        case Leg.DEPARTURE if assumed.closed and not had.closed_approved:
            flight.approve_closed(now)
        case _:
            pass


def _ahead(flight: Course, until: float, assumed: Assumptions) -> Iterator[LegChange]:
    """The coming leg changes, by flying on: hand in a fork."""
    while True:
        grant(flight, assumed)
        yield from flight.changes()
        if flight.path.ends_at > until:
            return
        flight.fly_on(max(flight.path.ends_at, flight.now))
        yield from flight.changes()


Foreseen = Flight | Course
"""A flight as it is, or a course on which something has been tried."""


def course_of(flight: Foreseen, now: float) -> Course:
    """A course of its own, flown on to `now`."""
    if isinstance(flight, Flight):
        return Course(flight, now)
    twin = flight.fork()
    twin.fly_on(now)
    twin.changes()
    return twin


def forecast(
    flight: Foreseen, now: float, horizon_s: float = 180.0, assumed: Assumptions | None = None
) -> list[LegWindow]:
    """The legs from `now` to `now + horizon_s`, without gaps."""
    twin, until = course_of(flight, now), now + horizon_s
    legs: list[LegWindow] = []
    leg, start = twin.leg, now
    for change in _ahead(twin, until, assumed or Assumptions()):
        if change.at > start:  # a leg left at once, as a hold is when cleared on, is not flown
            legs.append(LegWindow(leg, start, change.at))
        leg, start = change.leg, change.at
    return [*legs, LegWindow(leg, start, until)]


def between_initial_and_break(flight: Foreseen, now: float) -> tuple[float, float] | None:
    """From the report distance on initial to the roll-out of the flight's next break; None if it does not
    come to one within ten minutes, as when it holds at its point or stays in the closed pattern.

    A flight inside of this already gives `now` as the beginning.
    """
    twin, until = course_of(flight, now), now + _PATTERN_HORIZON_S
    start = _past_report(twin, now)
    for change in _ahead(twin, until, Assumptions()):
        match change.leg:
            case Leg.INITIAL:
                start = _past_report(twin, now)
            case Leg.INSIDE_DOWNWIND if start is not None:
                return start, change.at
            case Leg.BREAK_TURN:
                pass
            case _:
                start = None
    return None


def _past_report(flight: Course, now: float) -> float | None:
    """When a flight on initial passes, or passed, the report distance; a flight in the break has done so."""
    if flight.leg is Leg.BREAK_TURN:
        return now
    if flight.leg is not Leg.INITIAL:
        return None
    when = flight.path.when_at_x(flight.geometry.report_x_nm)
    return max(now, when if when is not None else now)


def closed_window(flight: Foreseen, now: float) -> tuple[float, float] | None:
    """If closed were approved now: from the pull-up to abeam the threshold on closed downwind, where an
    aircraft that breaks over the threshold rolls out. None if closed cannot be approved on this leg."""
    twin = course_of(flight, now)
    try:
        twin.approve_closed(twin.now)
    except PatternError:
        return None
    start = now if twin.leg is Leg.CLOSED_PULL_UP else None
    for change in _ahead(twin, now + _PATTERN_HORIZON_S, Assumptions()):
        if change.leg is Leg.CLOSED_PULL_UP:
            start = change.at
        if change.leg is Leg.CLOSED_DOWNWIND and start is not None:
            abeam = twin.path.when_at_x(0.0)
            return start, abeam if abeam is not None else change.at
    return None


def time_to_threshold(flight: Foreseen, now: float) -> float | None:
    """Seconds until the flight next comes over the landing threshold out of a final; None if it does not
    within ten minutes."""
    twin = course_of(flight, now)
    for change in _ahead(twin, now + _PATTERN_HORIZON_S, Assumptions()):
        if change.trigger == "pass_threshold":
            return change.at - now
    return None


def occupies_runway(flight: Foreseen, now: float) -> bool:
    """From over the threshold to lift-off, or until clear after a full stop. A low approach counts to
    midfield; an aircraft going around does not."""
    return course_of(flight, now).leg is Leg.RUNWAY
