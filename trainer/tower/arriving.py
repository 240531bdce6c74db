"""The tower on arrivals: check-in, entry points, the way to initial, and what is done from initial."""

from typing import get_args

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.pattern.plan import BreakPoint
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import MARGIN_NM, SAYING_S, Tried, attempt
from trainer.tower.words import (
    ahead_of,
    at_a_point,
    break_out,
    freest_breakout,
    lands_too_near,
    points_by_distance,
    report_initial,
    say,
    sequence,
    wake_behind,
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
    if asked.letter not in (None, "numbers", picture.atis) and picture.atis and not asked.has_atis:
        reasons = (f"{asked.letter} is not the current information",)
        return say("verify_information", asked, {Kind.ATIS: picture.atis}, reasons)
    if asked.request == "straight_in":
        return _straight_in(asked, picture)
    if picture.flights[asked.callsign].via in picture.unavailable:
        elsewhere = _another_point(asked, picture, "not available today")
        if elsewhere is not None:
            return elsewhere
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
        flight = picture.flights[asked.callsign]
        if flight.clearances.straight_in or flight.leg is Leg.STRAIGHT_IN:
            return say("roger", asked, {}, ("it is coming straight in already",))
        return say("stand_by", asked, {}, ("a straight-in cannot be flown from here",))
    emergency = asked.callsign in picture.priority
    if picture.emergencies - {asked.callsign} and not emergency:
        return say("straight_ins_closed", asked, {}, ("an emergency has the runway",))
    close = lands_too_near(asked.callsign, tried.outlook, picture)
    if emergency or (close is None and tried.is_free(picture)):
        reason = "an emergency goes before all others" if emergency else "final will be free"
        return say("report", asked, _report_final(picture), (reason,), tried.course)
    if len(picture.in_the_pattern) >= picture.field.limit:
        return say("straight_ins_closed", asked, {}, ("the pattern has no room for a straight-in",))
    return _waits(asked, picture, f"it would land with {close}" if close else tried.account(picture))


def offered_final(asked: Asked, picture: Picture) -> Decision | None:
    """The straight-in to one who is in a hurry and did not ask for it, where it is possible and free."""
    tried = attempt(asked.callsign, picture, lambda course, t: course.straight_in(t))
    if tried is None or picture.flights[asked.callsign].clearances.straight_in:
        return None
    decision = _straight_in(asked, picture)
    return decision if decision.message.kind == "report" else None


def _report_final(picture: Picture) -> dict[Kind, str]:
    return {Kind.REPORT: f"final {picture.field.report_initial_nm:g}"}


def _waits(asked: Asked, picture: Picture, reason: str, *, closed: bool = False) -> Decision:
    """Hold at the point on the way there, or at another; stand by where it is already known what to do."""
    flight = picture.flights[asked.callsign]
    if asked.call == "check_in" and flight.via and flight.leg in (Leg.INBOUND, Leg.BREAKOUT, Leg.CLIMB_OUT):
        elsewhere = _another_point(asked, picture)
        if elsewhere is not None:
            return elsewhere
        if closed:
            return say("remain_outside", asked, {}, (reason,))
        return say("hold_at", asked, {Kind.HOLD: flight.via}, (reason,))
    return say("stand_by", asked, {}, (reason,))


def _another_point(asked: Asked, picture: Picture, why: str | None = None) -> Decision | None:
    """Its own point is not available, or somebody else's already: another, if the way there is free."""
    flight = picture.flights[asked.callsign]
    there = [name for name, other in picture.others(asked.callsign).items() if at_a_point(other, flight.via)]
    if flight.via is None or not (why or there):
        return None
    for point in points_by_distance(flight, picture):
        if point == flight.via or any(at_a_point(other, point) for other in picture.flights.values()):
            continue
        tried = attempt(asked.callsign, picture, lambda course, t, to=point: course.breakout(t, to))  # type: ignore[misc]
        if tried is not None and tried.is_free(picture):
            fields = {Kind.UNAVAILABLE: flight.via, Kind.REPORT: point}
            reason = f"{flight.via} is {why}" if why else f"{there[0]} is there"
            return say("entry_not_available", asked, fields, (reason,), tried.course)
    return None


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
    closed, full = _emergency(asked.callsign, picture), _full(asked.callsign, picture)
    if closed is not None:
        return _waits(asked, picture, closed, closed=True)
    hindrance = _on_initial_with(asked.callsign, tried.outlook, picture) or full
    if hindrance is None and not tried.is_free(picture):
        hindrance = tried.account(picture)
    if hindrance is None:
        return say(name, asked, fields, reasons, tried.course)
    instead = _straight_in_instead(asked, picture, full) if full and asked.call == "check_in" else None
    return instead or _waits(asked, picture, hindrance, closed=hindrance == full)


def _emergency(callsign: str, picture: Picture) -> str | None:
    others = sorted(picture.emergencies - {callsign})
    return f"{others[0]} has an emergency: the pattern is closed" if others else None


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
    hindrance = ""
    close_to: str | None = None
    least_bad: tuple[BreakPoint, Tried] | None = None
    for where in get_args(BreakPoint):
        tried = attempt(asked.callsign, picture, lambda course, t, at=where: course.approve_break(t, at))  # type: ignore[misc]
        if tried is None:
            continue
        close = lands_too_near(asked.callsign, tried.outlook, picture)
        if close is not None:
            hindrance, close_to = f"would land with {close}", None
        elif tried.is_free(picture):
            waits = None if close_to is None else _waits_for_the_call(where, asked, picture, hindrance)
            return waits or _breaks(where, asked, picture, hindrance, tried)
        else:
            hindrance, close_to = tried.account(picture), tried.whom
            if least_bad is None or tried.nm > least_bad[1].nm:
                least_bad = where, tried
    return _not_breaking(asked, picture, f"no break leaves room: it {hindrance}", least_bad, may_wait=True)


def _waits_for_the_call(where: BreakPoint, asked: Asked, picture: Picture, hindrance: str) -> Decision | None:
    """Only late there is room, once another has passed: the tower will see when."""
    if where != "departure_end" or picture.flights[asked.callsign].leg is not Leg.INITIAL:
        return None
    through = attempt(asked.callsign, picture, lambda course, t: course.straight_through(t))
    if through is None or not through.is_free(picture):
        return None
    reasons = (f"at midfield it {hindrance}", "there will be room before the departure end")
    return say("break_at_my_call", asked, {}, reasons, through.course)


def _breaks(where: BreakPoint, asked: Asked, picture: Picture, hindrance: str, tried: Tried) -> Decision:
    if where != "threshold":
        reason = f"at the threshold it {hindrance}"
        return say("break_at", asked, {Kind.BREAK: where}, (reason,), tried.course)
    ahead = ahead_of(asked.callsign, picture)
    if ahead:
        behind = (f"{ahead[-1]} lands before",)
        decision = say("break_in_sequence", asked, sequence(ahead, picture), behind, tried.course)
        return wake_behind(ahead[-1], decision, picture)
    next_up = next((n for n, f in picture.others(asked.callsign).items() if f.leg is Leg.INITIAL), None)
    if next_up is not None:
        reasons = (f"nobody is ahead, and {next_up} on initial waits for this break",)
        return say("report_break", asked, {}, reasons, tried.course)
    return say("break_approved", asked, {}, ("nobody is ahead",), tried.course)


def _not_breaking(
    asked: Asked,
    picture: Picture,
    reason: str,
    least_bad: tuple[BreakPoint, Tried] | None = None,
    *,
    may_wait: bool = False,
) -> Decision:
    """Straight through or out; where both are no better than breaking, as beside another, the break."""
    through = attempt(asked.callsign, picture, lambda course, t: course.straight_through(t))
    outside = {Kind.REPORT: "outside_downwind"}
    on_initial = picture.flights[asked.callsign].leg is Leg.INITIAL
    if may_wait and on_initial and through and through.is_free(picture):
        reasons = (reason, "the runway line is free: there may be room until the departure end")
        return say("break_at_my_call", asked, {}, reasons, through.course)
    if through is None or through.is_free(picture):
        return say("straight_through", asked, outside, (reason,), through.course if through else None)
    way = freest_breakout(asked.callsign, picture)
    out = way.tried
    otherwise = max(through.nm, out.nm if out else 0.0)
    if least_bad is not None and least_bad[1].nm >= otherwise - MARGIN_NM:
        where, tried = least_bad
        return _breaks(where, asked, picture, "and anything else is as near", tried)
    if out is None or out.nm <= through.nm:
        return say("straight_through", asked, outside, (reason,), through.course)
    reasons = (reason, f"straight through {through.account(picture)}")
    return break_out("breakout", asked, picture, reasons, way)


def time_to_the_break(callsign: str, picture: Picture) -> str:
    """ "HERON 42 was 40 s from the break", for a denial's reasons."""
    window = between_initial_and_break(picture.flights[callsign], picture.now)
    if window is None:
        return f"{callsign} was on initial"
    if window[0] <= picture.now + SAYING_S:
        return f"{callsign} was {max(window[1] - picture.now, 0.0):.0f} s from the end of its break"
    return f"{callsign} was {window[0] - picture.now:.0f} s from initial"
