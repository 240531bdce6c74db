"""The tower on landings: clearance, sequence, extend, continue, go around."""

from dataclasses import replace

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import attempt, runway_blocker
from trainer.tower.words import (
    ahead_of,
    break_out,
    freest_breakout,
    lands_too_near,
    opposite,
    say,
    sequence,
    wake_behind,
)
from trainer.traffic.outlook import Outlook

SHORT_FINAL_S = 15.0
"""An aircraft this near to an occupied runway is sent around (common practice)."""
LONG_WAIT_S = 45.0
"""From so long a wait on a full turn is asked for before a longer downwind (our own choice)."""
DOWNWIND = (Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND)


def gear_report(asked: Asked, picture: Picture) -> Decision:
    """Cleared where the runway will be free; else wait on downwind, or continue without a clearance."""
    flight = picture.flights[asked.callsign]
    if asked.gear == "in_transit":
        return say("confirm_gear", asked, {}, ("the gear was not yet down when it was reported",))
    if flight.leg in DOWNWIND and flight.clearances.extend_downwind:
        still = say("extend_downwind", asked, {}, ("there is no room to land yet",))
        return _turn_base(asked, picture) or still
    blocker = runway_blocker(asked.callsign, picture)
    if blocker is None:
        ahead = ahead_of(asked.callsign, picture)
        if ahead:
            reasons = (f"{ahead[-1]} lands before",)
            decision = cleared("cleared_in_sequence", asked, picture, reasons, sequence(ahead, picture))
            return wake_behind(ahead[-1], decision, picture)
        return cleared("cleared", asked, picture, ("the runway will be free",))
    reason = f"{blocker} will still be on the runway"
    if flight.leg in DOWNWIND and asked.callsign not in picture.priority:
        spaced = _makes_room(blocker, asked, picture, reason)
        if spaced is not None:
            return spaced
    ahead = ahead_of(asked.callsign, picture)
    if blocker in ahead and flight.leg is not Leg.FINAL:
        return say("sequence", asked, sequence(ahead, picture), (reason, "no clearance before it is free"))
    return say("continue_approach", asked, {}, (reason,))


def _makes_room(blocker: str, asked: Asked, picture: Picture, reason: str) -> Decision | None:
    """Land before the other by a short approach; else later, by a longer downwind or a full turn."""
    short = attempt(asked.callsign, picture, lambda course, t: course.short_approach(t))
    if short is not None and short.is_free(picture) and _fits(asked.callsign, short.outlook, picture):
        return say("short_approach", asked, {}, (reason, "a short approach lands before it"), short.course)
    circle = _full_turn(asked, picture, reason) if _long_wait(blocker, asked, picture) else None
    if circle is not None:
        return circle
    longer = attempt(asked.callsign, picture, lambda course, t: course.extend_downwind(t))
    if longer is not None and longer.is_free(picture):
        return say("extend_downwind", asked, {}, (reason,), longer.course)
    return _full_turn(asked, picture, reason)


def _fits(callsign: str, outlook: Outlook, picture: Picture) -> bool:
    return runway_blocker(callsign, picture, outlook) is None and not lands_too_near(
        callsign, outlook, picture
    )


def _long_wait(blocker: str, asked: Asked, picture: Picture) -> bool:
    """The runway is free so much later that a longer downwind would lead far out."""
    threshold = picture.outlook(asked.callsign).threshold
    occupied = picture.outlook(blocker).runway
    if threshold is None or not occupied:
        return False
    return occupied[0].free_at(picture.same_runway_nm) - threshold > LONG_WAIT_S


def _full_turn(asked: Asked, picture: Picture, reason: str) -> Decision | None:
    """Away from the runway where that is free, else towards it."""
    towards = picture.flights[asked.callsign].plan.side
    for side in (opposite(towards), towards):
        tried = attempt(asked.callsign, picture, lambda course, t, to=side: course.three_sixty(t, to))  # type: ignore[misc]
        if tried is not None and tried.is_free(picture) and _fits(asked.callsign, tried.outlook, picture):
            return say(
                "three_sixty", asked, {Kind.SIDE: side}, (reason, "a full turn gives room"), tried.course
            )
    return None


def follow_up(asked: Asked, picture: Picture) -> Decision | None:
    """The clearance, or the go-around, of an aircraft that was told to continue or to extend; None: wait."""
    flight = picture.flights[asked.callsign]
    if flight.leg in DOWNWIND and flight.clearances.extend_downwind:
        return _turn_base(asked, picture)
    if runway_blocker(asked.callsign, picture) is None:
        return cleared("cleared", asked, picture, ("the runway will be free",))
    threshold = picture.outlook(asked.callsign).threshold
    if flight.leg is Leg.FINAL and threshold is not None and threshold - picture.now < SHORT_FINAL_S:
        blocker = runway_blocker(asked.callsign, picture)
        return send_around(asked, picture, f"{blocker} is still on the runway")
    return None


def _turn_base(asked: Asked, picture: Picture) -> Decision | None:
    tried = attempt(asked.callsign, picture, lambda course, t: course.turn_base(t))
    if tried is None or not tried.is_free(picture):
        return None
    if lands_too_near(asked.callsign, tried.outlook, picture) is not None:
        return None
    decision = cleared("turn_base", asked, picture, ("there is room to land",))
    return replace(decision, course=tried.course)


def send_around(asked: Asked, picture: Picture, reason: str) -> Decision:
    """Around along the runway line; out of the pattern where it would meet somebody there."""
    around = attempt(asked.callsign, picture, lambda course, t: course.go_around(t))
    if around is not None and not around.is_free(picture):
        way = freest_breakout(asked.callsign, picture)
        if way.tried is not None and way.tried.nm > around.nm:
            reasons = (reason, f"going around {around.account(picture)}")
            return break_out("breakout", asked, picture, reasons, way)
    return say("go_around", asked, {}, (reason,), around.course if around else None)


def cleared(
    name: str, asked: Asked, picture: Picture, reasons: tuple[str, ...], more: dict[Kind, str] | None = None
) -> Decision:
    fields = {
        Kind.RUNWAY: picture.runway,
        Kind.WIND: picture.wind,
        Kind.CLEARANCE: asked.intention or "full_stop",
        **(more or {}),
    }
    return say(name, asked, fields, reasons)
