"""The tower on the go: closed approved, approved later, or denied and what to do instead."""

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.tower.arriving import time_to_the_break
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import Tried, attempt
from trainer.tower.words import (
    break_out,
    freest_breakout,
    lands_too_near,
    points_by_distance,
    report_initial,
    say,
)
from trainer.traffic.course import Course
from trainer.traffic.forecast import between_initial_and_break, closed_window

LATER_S = 40.0
"""Closed is approved behind one on initial that is out of its break within this time (our own choice)."""

UPWIND_S = 20.0
"""Closed that has no room now is tried again this much later, further upwind (our own choice)."""


def request_closed(asked: Asked, picture: Picture) -> Decision:
    flight = picture.flights[asked.callsign]
    count = len(picture.in_the_pattern)
    own = closed_window(flight, picture.now)
    for name, other in picture.others(asked.callsign).items():
        theirs = between_initial_and_break(other, picture.now)
        if own and theirs and own[0] < theirs[1] and theirs[0] < own[1]:
            reason = (
                f"{time_to_the_break(name, picture)}: between initial and the end of its break from"
                f" {theirs[0] - picture.now:.0f} to {theirs[1] - picture.now:.0f} s from now, while closed"
                f" would be flown from {own[0] - picture.now:.0f} to {own[1] - picture.now:.0f} s"
            )
            return _behind(name, theirs[1], asked, picture, reason) or _denied(
                asked, picture, reason, outside_first=False
            )
    if count > picture.field.limit:
        reason = f"{count} aircraft in the overhead pattern, the limit is {picture.field.limit}"
        return _climb_out(asked, picture, reason)
    tried = attempt(asked.callsign, picture, lambda course, t: course.approve_closed(t))
    if tried is None:
        return say("stand_by", asked, {}, ("closed cannot be flown from here",))
    close = lands_too_near(asked.callsign, tried.outlook, picture)
    if close is None and tried.is_free(picture):
        return say("closed_approved", asked, {}, ("nobody is between initial and the break",), tried.course)
    reason = f"closed would land with {close}" if close else tried.account(picture)
    return _denied(asked, picture, reason, outside_first=True)


def _outside(asked: Asked, picture: Picture) -> Tried | None:
    """What it flies if it is told nothing: crosswind and round."""
    return attempt(asked.callsign, picture, lambda course, t: course.fly_on(t))


def _denied(asked: Asked, picture: Picture, reason: str, *, outside_first: bool) -> Decision:
    """Round the outside, or away: the first that meets nobody, else the one that keeps furthest."""
    outside = _outside(asked, picture)
    if outside_first and (outside is None or outside.is_free(picture)):
        return say("closed_denied_outside", asked, report_initial(picture), (reason,))
    later = _later(asked, picture, reason) if outside_first else None
    if later is not None:
        return later
    way = freest_breakout(asked.callsign, picture)
    out = way.tried
    if out is None or not out.is_free(picture):
        up = _climbing_out(asked, picture)
        if up is not None and up[0].is_free(picture):
            return say("closed_denied_climb_out", asked, up[1], (reason,), up[0].course)
    if outside is not None and (out is None or (outside.nm > out.nm and not out.is_free(picture))):
        return say("closed_denied_outside", asked, report_initial(picture), (reason,))
    return break_out("closed_denied_breakout", asked, picture, (reason,), way)


def _later(asked: Asked, picture: Picture, reason: str) -> Decision | None:
    """On along the runway line, where a pull-up some seconds later has room."""
    if picture.flights[asked.callsign].clearances.extend_upwind:
        return None
    further = attempt(asked.callsign, picture, lambda course, t: course.extend_upwind(t))
    if further is None or not further.is_free(picture):
        return None

    def obey(course: Course, t: float) -> None:
        course.extend_upwind(t)
        course.approve_closed(t + UPWIND_S)

    tried = attempt(asked.callsign, picture, obey)
    if tried is None or not tried.is_free(picture) or lands_too_near(asked.callsign, tried.outlook, picture):
        return None
    more = f"{UPWIND_S:.0f} s later there would be room"
    return say("extend_upwind", asked, {}, (reason, more), further.course)


def _behind(whom: str, broken: float, asked: Asked, picture: Picture, reason: str) -> Decision | None:
    """Closed behind the one on initial, upwind until then, where he is out of the break soon."""
    if broken - picture.now > LATER_S or picture.flights[whom].leg not in (Leg.INITIAL, Leg.BREAK_TURN):
        return None

    def obey(course: Course, t: float) -> None:
        course.extend_upwind(t)
        course.approve_closed(max(broken, t))

    tried = attempt(asked.callsign, picture, obey)
    if tried is None or not tried.is_free(picture) or lands_too_near(asked.callsign, tried.outlook, picture):
        return None
    fields = {Kind.CONDITION: "after traffic initial"}
    return say("closed_approved_when", asked, fields, (reason,), tried.course, after=whom)


def _climb_out(asked: Asked, picture: Picture, reason: str) -> Decision:
    up = _climbing_out(asked, picture)
    if up is None or not up[0].is_free(picture):
        return _denied(asked, picture, reason, outside_first=True)
    return say("closed_denied_climb_out", asked, up[1], (reason,), up[0].course)


def _climbing_out(asked: Asked, picture: Picture) -> tuple[Tried, dict[Kind, str]] | None:
    """The first point to which a climb-out is free, else the nearest; with the fields of the message."""
    altitude = float(picture.field.breakout_altitude_ft)
    best: tuple[Tried, dict[Kind, str]] | None = None
    for point in points_by_distance(picture.flights[asked.callsign], picture):
        tried = attempt(
            asked.callsign,
            picture,
            lambda course, t, to=point: course.climb_out(t, altitude, to),  # type: ignore[misc]
        )
        fields = {Kind.ALTITUDE: f"{altitude:.0f}", Kind.REPORT: point}
        if tried is not None and tried.is_free(picture):
            return tried, fields
        if tried is not None and best is None:
            best = tried, fields
    return best
