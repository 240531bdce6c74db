"""The tower's own watch: two aircraft that will come too close are parted before they do."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations
from typing import NamedTuple

from phraseology.elements import Kind
from phraseology.replies import Message
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import MARGIN_NM, SAYING_S, Tried, attempt
from trainer.tower.words import HIGHER_FT, Way, opposite, points_by_distance, say
from trainer.traffic.course import Course
from trainer.traffic.outlook import meeting

ALERT_S = 120.0
"""How far ahead the tower acts of itself; what lies later may still be solved by what pilots ask for."""
ALERT_NM = 0.08
"""Beyond the field's minimum."""


class _Way(NamedTuple):
    """A reply, its fields, what the aircraft then does, and a second message."""

    name: str
    fields: dict[Kind, str]
    obey: Callable[[Course, float], None]
    then: Message | None = None


def part(picture: Picture, not_again: frozenset[str]) -> Decision | None:
    """The message that parts the first two who will come too close; None: all is well, or nothing helps.

    `not_again` are those who have a message to obey already.
    """
    if len(picture.flights) < 2:
        return None
    near = picture.field.minimum_separation_nm + ALERT_NM
    meetings = []
    ahead = {name: picture.outlook(name) for name in sorted(picture.flights)}
    for one, other in combinations(ahead, 2):
        both = ahead[one], ahead[other]
        close = picture.outlooks.meeting(one, other, both)
        if close and close.nm < near:  # the closest of all may lie far ahead, and another before it
            close = meeting(*both, picture.now, picture.now + ALERT_S)
        if close and close.nm < near and picture.now <= close.at < picture.now + ALERT_S:
            meetings.append((close.at, one, other, close.nm))
    for at, one, other, nm in sorted(meetings):
        decision = _part(one, other, at, nm, picture, not_again)
        if decision is not None:
            return decision
    return None


def _part(
    one: str, other: str, at: float, nm: float, picture: Picture, not_again: frozenset[str]
) -> Decision | None:
    reason = f"{one} and {other} would come within {nm:.2f} NM in {at - picture.now:.0f} s"
    best: tuple[float, str, _Way, Tried] | None = None
    for callsign in sorted((one, other), key=lambda name: _reluctance(name, picture)):
        if callsign in not_again:
            continue
        for way in _ways(callsign, picture):
            tried = attempt(callsign, picture, way.obey)
            if tried is None:
                continue
            if tried.is_free(picture):
                return _told(callsign, way, (reason,), tried)
            if best is None or tried.nm > best[0]:
                best = (tried.nm, callsign, way, tried)
    if best is None or best[0] <= nm + MARGIN_NM:
        return None
    if best[0] < picture.field.minimum_separation_nm and at - picture.now > 4.0 * SAYING_S:
        return None  # there may be something better yet
    _, callsign, way, tried = best
    return _told(callsign, way, (reason, "nothing better was possible"), tried)


def _told(callsign: str, way: _Way, reasons: tuple[str, ...], tried: Tried) -> Decision:
    decision = say(way.name, Asked("", callsign), way.fields, reasons, tried.course)
    return replace(decision, then=way.then)


def _reluctance(callsign: str, picture: Picture) -> tuple[bool, int]:
    """Those with priority last; before them those nearest to landing."""
    order = (Leg.FINAL, Leg.FINAL_TURN, Leg.CLOSED_DOWNWIND, Leg.INSIDE_DOWNWIND, Leg.BREAK_TURN)
    leg = picture.flights[callsign].leg
    return callsign in picture.priority, len(order) - order.index(leg) if leg in order else 0


def _ways(callsign: str, picture: Picture) -> Iterator[_Way]:
    """What can be told to it, the least disturbing first."""
    flight = picture.flights[callsign]
    match flight.leg:
        case Leg.INSIDE_DOWNWIND | Leg.CLOSED_DOWNWIND:
            if flight.clearances.extend_downwind:
                fields = {
                    Kind.RUNWAY: picture.runway,
                    Kind.WIND: picture.wind,
                    Kind.CLEARANCE: picture.landing(callsign),
                }
                yield _Way("turn_base", fields, lambda course, t: course.turn_base(t))
            else:
                yield _Way("extend_downwind", {}, lambda course, t: course.extend_downwind(t))
            yield from _full_turns(flight)
        case Leg.DEPARTURE | Leg.GOING_AROUND if not flight.clearances.extend_upwind:
            yield _Way("extend_upwind", {}, lambda course, t: course.extend_upwind(t))
        case Leg.INITIAL:
            if flight.clearances.break_approved:
                yield _Way(
                    "break_at",
                    {Kind.BREAK: "midfield"},
                    lambda course, t: course.approve_break(t, "midfield"),
                )
            if flight.position(max(picture.now, flight.now)).x_nm < -flight.plan.report_initial_nm:
                yield from _full_turns(flight)
            yield _Way(
                "straight_through",
                {Kind.REPORT: "outside_downwind"},
                lambda course, t: course.straight_through(t),
            )
        case Leg.OUTSIDE_DOWNWIND:
            yield from _full_turns(flight)
        case Leg.STRAIGHT_THROUGH:
            yield _Way("break_now", {}, lambda course, t: course.approve_break(t))
        case Leg.FINAL | Leg.FINAL_TURN | Leg.STRAIGHT_IN:
            yield _Way("go_around", {}, lambda course, t: course.go_around(t))
        case Leg.BREAKOUT | Leg.CLIMB_OUT:
            usual = picture.field.breakout_altitude_ft
            for altitude in (usual + HIGHER_FT, usual):
                yield _Way(
                    "maintain",
                    {Kind.ALTITUDE: str(altitude)},
                    lambda course, t, to=float(altitude): course.maintain(t, to),  # type: ignore[misc]
                )
        case _:
            pass
    yield from _breakouts(flight, picture)


def _full_turns(flight: Flight) -> Iterator[_Way]:
    """A full turn for spacing, away from the pattern first."""
    for side in (opposite(flight.plan.side), flight.plan.side):
        yield _Way(
            "three_sixty",
            {Kind.SIDE: side},
            lambda course, t, to=side: course.three_sixty(t, to),  # type: ignore[misc]
        )


def _breakouts(flight: Flight, picture: Picture) -> Iterator[_Way]:
    """To each point at the field's breakout altitude, then higher."""
    points = points_by_distance(flight, picture)
    callsign = next(name for name, each in picture.flights.items() if each is flight)
    for altitude in (None, picture.field.breakout_altitude_ft + HIGHER_FT):
        for point in points:
            yield _Way(
                "breakout",
                {Kind.REPORT: point},
                lambda course, t, to=point, up=altitude: course.breakout(t, to, up),  # type: ignore[misc]
                Way(point, None, altitude).then(callsign),
            )
