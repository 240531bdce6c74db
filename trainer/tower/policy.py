"""What the controller answers to a call that he can use, from predicted positions.

First policy: closed is denied when an aircraft will be between the initial report and the end of its
break while the one that asks would be pulling closed, or when the pattern is full; landing clearances
follow the order of arrival at the threshold. Every decision names its reasons.
"""

from collections.abc import Callable
from typing import get_args

from phraseology.elements import Kind
from phraseology.replies import message
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import BreakPoint
from trainer.tower.picture import Asked, Decision, Picture
from trainer.traffic.forecast import between_initial_and_break, closed_window, forecast, time_to_threshold

SHORT_FINAL_S = 15.0
"""An aircraft this near to an occupied runway is sent around (common practice)."""

LANDING_GAP_S = 35.0
"""Least time between two aircraft over the threshold: a touch-and-go is off by then (our own choice)."""

_PLACE_OF = {
    Leg.INITIAL: "initial",
    Leg.BREAK_TURN: "break",
    Leg.INSIDE_DOWNWIND: "inside_downwind",
    Leg.CLOSED_PULL_UP: "closed_downwind",
    Leg.CLOSED_DOWNWIND: "closed_downwind",
    Leg.FINAL_TURN: "final_turn",
    Leg.FINAL: "final",
}


def decide(asked: Asked, picture: Picture) -> Decision:
    """The reply to a call that was understood."""
    return _POLICY[asked.call](asked, picture)


def follow_up(asked: Asked, picture: Picture) -> Decision | None:
    """The clearance, or the go-around, of an aircraft that was told to continue or to extend; None: wait."""
    flight = picture.flights[asked.callsign]
    blocker = _runway_blocker(asked.callsign, picture)
    on_downwind = flight.leg in (Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND)
    if blocker is None:
        reply = "turn_base" if flight.clearances.extend_downwind and on_downwind else "cleared"
        return _cleared(reply, asked, picture, ("the runway will be free",))
    to_go = time_to_threshold(flight, picture.now)
    if flight.leg is Leg.FINAL and to_go is not None and to_go < SHORT_FINAL_S:
        return _say("go_around", asked, {}, (f"{blocker} is still on the runway",))
    return None


def _say(name: str, asked: Asked, fields: dict[Kind, str], reasons: tuple[str, ...]) -> Decision:
    return Decision(message(name, asked.callsign, fields), reasons)


def _report_initial(picture: Picture) -> dict[Kind, str]:
    return {Kind.REPORT: f"initial {picture.field.report_initial_nm:g}"}


# -- arriving -------------------------------------------------------------------------------------


def _check_in(asked: Asked, picture: Picture) -> Decision:
    fields = {Kind.RUNWAY: picture.runway, **_report_initial(picture)}
    if asked.has_atis:
        reasons = (
            "the aircraft has the information: wind and altimeter may be left out (JO 7110.65 3-10-1)",
        )
    else:
        fields |= {Kind.WIND: picture.wind, **picture.pressure}
        reasons = ("no information letter was reported: wind and altimeter are given",)
    return _say("overhead_approved", asked, fields, reasons)


def _arrives_by_initial(asked: Asked, picture: Picture) -> Decision:
    """On to initial, unless somebody would be there at the same time: then the aircraft holds where it is."""
    trial = picture.flights[asked.callsign].fork()
    if "proceed_to_initial" in trial.possible:
        trial.proceed_to_initial(picture.now)
        own = between_initial_and_break(trial, picture.now)
        for name, flight in picture.others(asked.callsign).items():
            theirs = between_initial_and_break(flight, picture.now)
            if own and theirs and abs(own[0] - theirs[0]) < LANDING_GAP_S:
                reason = f"{name} would be on initial within {LANDING_GAP_S:.0f} s of it"
                return _say("stand_by", asked, {}, (reason,))
    return _say("report", asked, _report_initial(picture), ("the way to initial is free",))


def _initial(asked: Asked, picture: Picture) -> Decision:
    count = len(picture.in_the_pattern)
    if count > picture.field.limit:
        reason = f"{count} aircraft in the overhead pattern, the limit is {picture.field.limit}"
        return _say("straight_through", asked, {Kind.REPORT: "outside_downwind"}, (reason,))
    where, reason = _where_to_break(asked.callsign, picture)
    if where is None:
        return _say("straight_through", asked, {Kind.REPORT: "outside_downwind"}, (reason,))
    if where != "threshold":
        return _say("break_at", asked, {Kind.BREAK: where}, (reason,))
    ahead = _ahead_of(asked.callsign, picture)
    if ahead:
        return _say("break_in_sequence", asked, _sequence(ahead, picture), (f"{ahead[-1]} lands before",))
    return _say("break_approved", asked, {}, ("nobody is ahead",))


def _where_to_break(callsign: str, picture: Picture) -> tuple[BreakPoint | None, str]:
    """The first break point that leaves a gap to everybody else's landing; None if none does."""
    flight = picture.flights[callsign]
    conflict = ""
    for where in get_args(BreakPoint):
        trial = flight.fork()
        trial.approve_break(picture.now, where)
        close = _too_close(callsign, time_to_threshold(trial, picture.now), picture)
        if close is None:
            return where, f"spacing behind {conflict}" if conflict else "nobody is near"
        conflict = close
    return None, f"no break leaves {LANDING_GAP_S:.0f} s to the landing of {conflict}"


def _too_close(callsign: str, to_go: float | None, picture: Picture) -> str | None:
    """Who of those established in the pattern lands within the gap of this aircraft; None: nobody."""
    if to_go is None:
        return None
    for name, flight in picture.others(callsign).items():
        established = flight.leg in _PLACE_OF and (
            flight.leg is not Leg.INITIAL or flight.clearances.break_approved
        )
        pulling = flight.leg is Leg.DEPARTURE and flight.clearances.closed_approved
        if established or pulling:
            theirs = time_to_threshold(flight, picture.now)
            if theirs is not None and abs(theirs - to_go) < LANDING_GAP_S:
                return name
    return None


# -- landing --------------------------------------------------------------------------------------


def _gear_report(asked: Asked, picture: Picture) -> Decision:
    blocker = _runway_blocker(asked.callsign, picture)
    if blocker is None:
        ahead = _ahead_of(asked.callsign, picture)
        if ahead:
            return _cleared(
                "cleared_in_sequence",
                asked,
                picture,
                (f"{ahead[-1]} lands before",),
                _sequence(ahead, picture),
            )
        return _cleared("cleared", asked, picture, ("the runway will be free",))
    flight = picture.flights[asked.callsign]
    reason = f"{blocker} will still be on the runway"
    on_downwind = flight.leg in (Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND)
    return _say("extend_downwind" if on_downwind else "continue_approach", asked, {}, (reason,))


def _cleared(
    name: str, asked: Asked, picture: Picture, reasons: tuple[str, ...], more: dict[Kind, str] | None = None
) -> Decision:
    fields = {
        Kind.RUNWAY: picture.runway,
        Kind.WIND: picture.wind,
        Kind.CLEARANCE: asked.intention or "full_stop",
        **(more or {}),
    }
    return _say(name, asked, fields, reasons)


def _ahead_of(callsign: str, picture: Picture) -> list[str]:
    """Who reaches the threshold earlier and is past initial, the first to land first."""
    mine = time_to_threshold(picture.flights[callsign], picture.now)
    arriving = {
        name: to_go
        for name, flight in picture.others(callsign).items()
        if flight.leg in _PLACE_OF
        and flight.leg is not Leg.INITIAL
        and (to_go := time_to_threshold(flight, picture.now)) is not None
        and (mine is None or to_go < mine)
    }
    return sorted(arriving, key=arriving.__getitem__)


def _sequence(ahead: list[str], picture: Picture) -> dict[Kind, str]:
    lead = picture.flights[ahead[-1]]
    kind = lead.profile.name.replace(" ", "_")
    return {Kind.SEQUENCE: str(len(ahead) + 1), Kind.FOLLOW: f"{kind} {_PLACE_OF[lead.leg]}"}


def _runway_blocker(callsign: str, picture: Picture) -> str | None:
    """Who will be on the runway when this aircraft crosses the threshold; None: nobody."""
    to_go = time_to_threshold(picture.flights[callsign], picture.now)
    if to_go is None:
        return None
    arrives = picture.now + to_go
    for name, flight in picture.others(callsign).items():
        runway = [leg for leg in forecast(flight, picture.now) if leg.leg is Leg.RUNWAY]
        if any(leg.start <= arrives < leg.end for leg in runway):
            return name
    return None


# -- on the go ------------------------------------------------------------------------------------


def _request_closed(asked: Asked, picture: Picture) -> Decision:
    flight = picture.flights[asked.callsign]
    count = len(picture.in_the_pattern)
    own = closed_window(flight, picture.now)
    for name, other in picture.others(asked.callsign).items():
        theirs = between_initial_and_break(other, picture.now)
        if own and theirs and own[0] < theirs[1] and theirs[0] < own[1]:
            reason = (
                f"{name} is between initial and the end of its break from {theirs[0] - picture.now:.0f} to"
                f" {theirs[1] - picture.now:.0f} s from now, while closed would be flown from"
                f" {own[0] - picture.now:.0f} to {own[1] - picture.now:.0f} s"
            )
            return _say(
                "closed_denied_breakout", asked, {Kind.REPORT: nearest_point(flight, picture)}, (reason,)
            )
    trial = flight.fork()
    trial.approve_closed(picture.now)
    close = _too_close(asked.callsign, time_to_threshold(trial, picture.now), picture)
    if close is not None:
        reason = f"closed would land within {LANDING_GAP_S:.0f} s of {close}"
        return _say("closed_denied_outside", asked, _report_initial(picture), (reason,))
    if count > picture.field.limit:
        reason = f"{count} aircraft in the overhead pattern, the limit is {picture.field.limit}"
        fields = {
            Kind.ALTITUDE: str(picture.field.breakout_altitude_ft),
            Kind.REPORT: nearest_point(flight, picture),
        }
        return _say("closed_denied_climb_out", asked, fields, (reason,))
    return _say("closed_approved", asked, {}, ("nobody is between initial and the break",))


def nearest_point(flight: Flight, picture: Picture) -> str:
    """The entry point that is the shortest way from where the aircraft is."""
    here = flight.position(picture.now)

    def distance(name: str) -> float:
        x, y = flight.plan.point(name)
        return (x - here.x_nm) ** 2 + (y - here.y_nm) ** 2

    return min(sorted(picture.field.points), key=distance)


# -- of the pilot's own accord --------------------------------------------------------------------


def _breaking_out(asked: Asked, picture: Picture) -> Decision:
    point = nearest_point(picture.flights[asked.callsign], picture)
    return _say("report", asked, {Kind.REPORT: point}, ("the pilot broke out",))


def _straight_through(asked: Asked, picture: Picture) -> Decision:
    return _say("report", asked, {Kind.REPORT: "outside_downwind"}, ("the pilot flies straight through",))


def _roger(asked: Asked, picture: Picture) -> Decision:
    return _say("roger", asked, {}, ("a report, nothing was asked",))


def _intention(asked: Asked, picture: Picture) -> Decision:
    """A new intention where a clearance is due is cleared; elsewhere it is kept in mind."""
    if picture.flights[asked.callsign].leg in _LANDING_LEGS:
        return _gear_report(asked, picture)
    return _roger(asked, picture)


def _unable(asked: Asked, picture: Picture) -> Decision:
    return _say("say_intentions", asked, {}, ("the pilot is unable: what then?",))


def _radio_check(asked: Asked, picture: Picture) -> Decision:
    return _say("readability", asked, {Kind.READABILITY: "5"}, ("the call was understood in full",))


def _emergency(asked: Asked, picture: Picture) -> Decision:
    return _say("say_fuel_and_souls", asked, {Kind.ACK: "roger"}, ("an emergency was declared",))


_LANDING_LEGS = (Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND, Leg.FINAL_TURN, Leg.FINAL)

_POLICY: dict[str, Callable[[Asked, Picture], Decision]] = {
    "check_in": _check_in,
    "entry_point": _arrives_by_initial,
    "initial": _initial,
    "break_report": _roger,
    "gear_report": _gear_report,
    "request_closed": _request_closed,
    "outside_downwind": _arrives_by_initial,
    "going_around": _roger,
    "breaking_out": _breaking_out,
    "straight_through": _straight_through,
    "final": _gear_report,
    "intention": _intention,
    "unable": _unable,
    "radio_check": _radio_check,
    "emergency": _emergency,
    **dict.fromkeys(
        (
            "ninety_to_initial",
            "forty_five_to_initial",
            "closed_downwind",
            "crosswind",
            "on_the_go",
            "climbing_out",
            "clear_of_runway",
            "stand_by",
            "traffic_in_sight",
            "negative_contact",
            "minimum_fuel",
            "emergency_details",
        ),
        _roger,
    ),
}
