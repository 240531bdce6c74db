"""The tower's own watch: two aircraft that will come too close are parted before they do."""

from collections.abc import Callable, Iterator
from itertools import combinations

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import MARGIN_NM, SAYING_S, Tried, attempt
from trainer.tower.words import points_by_distance, say
from trainer.traffic.course import Course

ALERT_S = 120.0
"""How far ahead the tower acts of itself; what lies later may still be solved by what pilots ask for."""
ALERT_NM = 0.05
"""Beyond the field's minimum."""

_Way = tuple[str, dict[Kind, str], Callable[[Course, float], None]]


def part(picture: Picture, not_again: frozenset[str]) -> Decision | None:
    """The message that parts the first two who will come too close; None: all is well, or nothing helps.

    `not_again` are those who have a message to obey already.
    """
    near = picture.field.minimum_separation_nm + ALERT_NM
    meetings = []
    for one, other in combinations(sorted(picture.flights), 2):
        close = picture.outlooks.meeting(one, other, (picture.outlook(one), picture.outlook(other)))
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
            tried = attempt(callsign, picture, way[2])
            if tried is None:
                continue
            if tried.is_free(picture):
                return say(way[0], Asked("", callsign), way[1], (reason,), tried.course)
            if best is None or tried.nm > best[0]:
                best = (tried.nm, callsign, way, tried)
    if best is None or best[0] <= nm + MARGIN_NM or at - picture.now > 4.0 * SAYING_S:
        return None
    _, callsign, way, tried = best
    return say(way[0], Asked("", callsign), way[1], (reason, "nothing better was possible"), tried.course)


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
                yield "turn_base", fields, lambda course, t: course.turn_base(t)
            else:
                yield "extend_downwind", {}, lambda course, t: course.extend_downwind(t)
        case Leg.DEPARTURE | Leg.GOING_AROUND if not flight.clearances.extend_upwind:
            yield "extend_upwind", {}, lambda course, t: course.extend_upwind(t)
        case Leg.INITIAL:
            if flight.clearances.break_approved:
                yield (
                    "break_at",
                    {Kind.BREAK: "midfield"},
                    lambda course, t: course.approve_break(t, "midfield"),
                )
            yield (
                "straight_through",
                {Kind.REPORT: "outside_downwind"},
                lambda course, t: course.straight_through(t),
            )
        case Leg.STRAIGHT_THROUGH:
            yield "break_now", {}, lambda course, t: course.approve_break(t)
        case Leg.FINAL | Leg.FINAL_TURN:
            yield "go_around", {}, lambda course, t: course.go_around(t)
        case _:
            pass
    for point in points_by_distance(flight, picture):
        yield (
            "breakout",
            {Kind.REPORT: point},
            lambda course, t, to=point: course.breakout(t, to),  # type: ignore[misc]
        )
