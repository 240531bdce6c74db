"""The tower on arrivals: check-in, entry points, the way to initial, and what is done from initial."""

from typing import get_args

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.pattern.plan import BreakPoint
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import MARGIN_NM, SAYING_S, Tried, attempt
from trainer.tower.words import (
    ahead_of,
    freest_breakout,
    lands_too_near,
    report_initial,
    say,
    sequence,
)
from trainer.traffic.forecast import between_initial_and_break
from trainer.traffic.outlook import Outlook

INITIAL_GAP_S = 35.0
"""Least time between two aircraft on initial (our own choice)."""
ON_THE_WAY = frozenset(
    {
        Leg.NINETY_TO_INITIAL,
        Leg.FORTY_FIVE_TO_INITIAL,
        Leg.OUTSIDE_DOWNWIND,
        Leg.CROSSWIND,
        Leg.STRAIGHT_THROUGH,
    }
)


def check_in(asked: Asked, picture: Picture) -> Decision:
    if asked.request == "straight_in":
        return _straight_in(asked, picture)
    fields = {Kind.RUNWAY: picture.runway, **report_initial(picture)}
    if asked.has_atis:
        reasons = (
            "the aircraft has the information: wind and altimeter may be left out (JO 7110.65 3-10-1)",
        )
    else:
        fields |= {Kind.WIND: picture.wind, **picture.pressure}
        reasons = ("no information letter was reported: wind and altimeter are given",)
    return _to_initial(asked, picture, "overhead_approved", fields, reasons)


def _straight_in(asked: Asked, picture: Picture) -> Decision:
    """Straight in where it meets nobody and the runway will be its own; an emergency in any case."""
    tried = attempt(asked.callsign, picture, lambda course, t: course.straight_in(t))
    if tried is None:
        return say("stand_by", asked, {}, ("a straight-in cannot be flown from here",))
    emergency = asked.callsign in picture.priority
    close = lands_too_near(asked.callsign, tried.outlook, picture)
    if emergency or (close is None and tried.is_free(picture)):
        reason = "an emergency goes before all others" if emergency else "final will be free"
        return say("report", asked, _report_final(picture), (reason,), tried.course)
    return _waits(asked, picture, f"it would land with {close}" if close else tried.account(picture))


def _report_final(picture: Picture) -> dict[Kind, str]:
    return {Kind.REPORT: f"final {picture.field.report_initial_nm:g}"}


def _waits(asked: Asked, picture: Picture, reason: str) -> Decision:
    """Hold at the point on the way there, stand by where it is already known what to do."""
    flight = picture.flights[asked.callsign]
    if asked.call == "check_in" and flight.via and flight.leg in (Leg.INBOUND, Leg.BREAKOUT, Leg.CLIMB_OUT):
        return say("hold_at", asked, {Kind.HOLD: flight.via}, (reason,))
    return say("stand_by", asked, {}, (reason,))


def _straight_in_instead(asked: Asked, picture: Picture, reason: str) -> Decision | None:
    """The overhead is full: straight in, if that is free."""
    tried = attempt(asked.callsign, picture, lambda course, t: course.straight_in(t))
    if tried is None or not tried.is_free(picture):
        return None
    if lands_too_near(asked.callsign, tried.outlook, picture) is not None:
        return None
    fields = {Kind.RUNWAY: picture.runway, **_report_final(picture)}
    return say("overhead_denied", asked, fields, (reason,), tried.course)


def arrives_by_initial(asked: Asked, picture: Picture) -> Decision:
    """On to initial, unless somebody would be there at the same time: then the aircraft holds where it is."""
    if asked.request == "straight_in":
        return _straight_in(asked, picture)
    return _to_initial(asked, picture, "report", report_initial(picture), ("the way to initial is free",))


def _to_initial(
    asked: Asked, picture: Picture, name: str, fields: dict[Kind, str], reasons: tuple[str, ...]
) -> Decision:
    tried = attempt(asked.callsign, picture, lambda course, t: course.proceed_to_initial(t))
    if tried is None:  # it is on its way round already
        return say(name, asked, fields, reasons)
    full = _full(asked.callsign, picture)
    hindrance = _on_initial_with(asked.callsign, tried.outlook, picture) or full
    if hindrance is None and not tried.is_free(picture):
        hindrance = tried.account(picture)
    if hindrance is None:
        return say(name, asked, fields, reasons, tried.course)
    instead = _straight_in_instead(asked, picture, full) if full and asked.call == "check_in" else None
    return instead or _waits(asked, picture, hindrance)


def _full(callsign: str, picture: Picture) -> str | None:
    """Too many in the pattern or on the way to it already."""
    others = picture.others(callsign)
    coming = [name for name, flight in others.items() if flight.leg in ON_THE_WAY]
    count = len(coming) + sum(name in others for name in picture.in_the_pattern)
    if count <= picture.field.limit:
        return None
    return f"{count} aircraft in the pattern and on the way to it, the limit is {picture.field.limit}"


def _on_initial_with(callsign: str, own: Outlook, picture: Picture) -> str | None:
    mine = next((at for at, leg in own.legs if leg is Leg.INITIAL), None)
    if mine is None:
        return None
    for name in picture.others(callsign):
        for at, leg in picture.outlook(name).legs:
            if leg is Leg.INITIAL and abs(at - mine) < INITIAL_GAP_S:
                return f"{name} would be on initial within {INITIAL_GAP_S:.0f} s of it"
    return None


def initial(asked: Asked, picture: Picture) -> Decision:
    """Break approved, at a later point, behind somebody; straight through, or a breakout."""
    count = len(picture.in_the_pattern)
    if count > picture.field.limit:
        reason = f"{count} aircraft in the overhead pattern, the limit is {picture.field.limit}"
        return _not_breaking(asked, picture, reason)
    hindrance, least_bad = "", None
    for where in get_args(BreakPoint):
        tried = attempt(asked.callsign, picture, lambda course, t, at=where: course.approve_break(t, at))  # type: ignore[misc]
        if tried is None:
            continue
        close = lands_too_near(asked.callsign, tried.outlook, picture)
        if close is not None:
            hindrance = f"would land with {close}"
        elif tried.is_free(picture):
            return _breaks(where, asked, picture, hindrance, tried)
        else:
            hindrance = tried.account(picture)
            if least_bad is None or tried.nm > least_bad[1].nm:
                least_bad = where, tried
    return _not_breaking(asked, picture, f"no break leaves room: it {hindrance}", least_bad)


def _breaks(where: BreakPoint, asked: Asked, picture: Picture, hindrance: str, tried: Tried) -> Decision:
    if where != "threshold":
        reason = f"at the threshold it {hindrance}"
        return say("break_at", asked, {Kind.BREAK: where}, (reason,), tried.course)
    ahead = ahead_of(asked.callsign, picture)
    if ahead:
        behind = (f"{ahead[-1]} lands before",)
        return say("break_in_sequence", asked, sequence(ahead, picture), behind, tried.course)
    return say("break_approved", asked, {}, ("nobody is ahead",), tried.course)


def _not_breaking(
    asked: Asked, picture: Picture, reason: str, least_bad: tuple[BreakPoint, Tried] | None = None
) -> Decision:
    """Straight through or out; where both are no better than breaking, as beside another, the break."""
    through = attempt(asked.callsign, picture, lambda course, t: course.straight_through(t))
    outside = {Kind.REPORT: "outside_downwind"}
    if through is None or through.is_free(picture):
        return say("straight_through", asked, outside, (reason,), through.course if through else None)
    point, out = freest_breakout(asked.callsign, picture)
    otherwise = max(through.nm, out.nm if out else 0.0)
    if least_bad is not None and least_bad[1].nm >= otherwise - MARGIN_NM:
        where, tried = least_bad
        return _breaks(where, asked, picture, "and anything else is as near", tried)
    if out is None or out.nm <= through.nm:
        return say("straight_through", asked, outside, (reason,), through.course)
    reasons = (reason, f"straight through {through.account(picture)}")
    return say("breakout", asked, {Kind.REPORT: point}, reasons, out.course)


def time_to_the_break(callsign: str, picture: Picture) -> str:
    """ "HERON 42 was 40 s from the break", for a denial's reasons."""
    window = between_initial_and_break(picture.flights[callsign], picture.now)
    if window is None:
        return f"{callsign} was on initial"
    if window[0] <= picture.now + SAYING_S:
        return f"{callsign} was {max(window[1] - picture.now, 0.0):.0f} s from the end of its break"
    return f"{callsign} was {window[0] - picture.now:.0f} s from initial"
