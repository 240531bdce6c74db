"""What the controller answers to a call that he can use, from predicted positions.

Each reply is tried on the aircraft's course against the outlooks of all others before it is said
(`probe`); the first in the trade's order of preference that keeps the field's separation is taken.
Every decision names its reasons.
"""

from collections.abc import Callable

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.tower.arriving import arrives_by_initial, check_in, initial, offered_final
from trainer.tower.calling_breaks import call_the_break
from trainer.tower.departing import request_closed
from trainer.tower.landing import follow_up, gear_report
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.words import break_out, say

__all__ = ["decide", "follow_up", "next_word"]

_LANDING_LEGS = (Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND, Leg.FINAL_TURN, Leg.FINAL)
_ON_THE_WAY_TO_A_POINT = (Leg.INBOUND, Leg.BREAKOUT, Leg.CLIMB_OUT, Leg.ENTRY_POINT)


def decide(asked: Asked, picture: Picture) -> Decision:
    """The reply to a call that was understood."""
    return _POLICY[asked.call](asked, picture)


def next_word(asked: Asked, picture: Picture) -> Decision | None:
    """What is said to one who waits for another word; None: nothing yet."""
    match asked.call:
        case "gear_report" | "final":
            return follow_up(asked, picture)
        case "initial":
            return call_the_break(asked, picture)
        case _:
            return decide(asked, picture)


def _breaking_out(asked: Asked, picture: Picture) -> Decision:
    return break_out("report", asked, picture, ("the pilot broke out",))


def _straight_through(asked: Asked, picture: Picture) -> Decision:
    return say("report", asked, {Kind.REPORT: "outside_downwind"}, ("the pilot flies straight through",))


def _roger(asked: Asked, picture: Picture) -> Decision:
    return say("roger", asked, {}, ("a report, nothing was asked",))


def _intention(asked: Asked, picture: Picture) -> Decision:
    """A new intention where a clearance is due is cleared; elsewhere it is kept in mind."""
    if picture.flights[asked.callsign].leg in _LANDING_LEGS:
        return gear_report(asked, picture)
    return _roger(asked, picture)


def _unable(asked: Asked, picture: Picture) -> Decision:
    return say("say_intentions", asked, {}, ("the pilot is unable: what then?",))


def _radio_check(asked: Asked, picture: Picture) -> Decision:
    return say("readability", asked, {Kind.READABILITY: "5"}, ("the call was understood in full",))


def _emergency(asked: Asked, picture: Picture) -> Decision:
    return say("say_fuel_and_souls", asked, {Kind.ACK: "roger"}, ("an emergency was declared",))


def _emergency_details(asked: Asked, picture: Picture) -> Decision:
    return offered_final(asked, picture) or _roger(asked, picture)


def _minimum_fuel(asked: Asked, picture: Picture) -> Decision:
    """No priority (Pilot/Controller Glossary), but the shortest way that is free."""
    if picture.flights[asked.callsign].leg in _ON_THE_WAY_TO_A_POINT:
        return offered_final(asked, picture) or _sooner(asked, picture)
    return offered_final(asked, picture) or _roger(asked, picture)


def _sooner(asked: Asked, picture: Picture) -> Decision:
    """On to initial without holding, where that is free; else the fuel is kept in mind."""
    decision = arrives_by_initial(asked, picture)
    return decision if decision.message.kind == "report" else _roger(asked, picture)


_POLICY: dict[str, Callable[[Asked, Picture], Decision]] = {
    "check_in": check_in,
    "entry_point": arrives_by_initial,
    "initial": initial,
    "break_report": _roger,
    "gear_report": gear_report,
    "request_closed": request_closed,
    "outside_downwind": arrives_by_initial,
    "going_around": _roger,
    "breaking_out": _breaking_out,
    "straight_through": _straight_through,
    "final": gear_report,
    "intention": _intention,
    "unable": _unable,
    "radio_check": _radio_check,
    "emergency": _emergency,
    "emergency_details": _emergency_details,
    "minimum_fuel": _minimum_fuel,
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
        ),
        _roger,
    ),
}
