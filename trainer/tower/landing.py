"""The tower on landings: clearance, sequence, extend, continue, go around."""

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import attempt, runway_blocker
from trainer.tower.words import ahead_of, freest_breakout, lands_too_near, say, sequence

SHORT_FINAL_S = 15.0
"""An aircraft this near to an occupied runway is sent around (common practice)."""
DOWNWIND = (Leg.INSIDE_DOWNWIND, Leg.CLOSED_DOWNWIND)


def gear_report(asked: Asked, picture: Picture) -> Decision:
    """Cleared where the runway will be free; else wait on downwind, or continue without a clearance."""
    flight = picture.flights[asked.callsign]
    if flight.leg in DOWNWIND and flight.clearances.extend_downwind:
        still = say("extend_downwind", asked, {}, ("there is no room to land yet",))
        return _turn_base(asked, picture) or still
    blocker = runway_blocker(asked.callsign, picture)
    if blocker is None:
        ahead = ahead_of(asked.callsign, picture)
        if ahead:
            reasons = (f"{ahead[-1]} lands before",)
            return cleared("cleared_in_sequence", asked, picture, reasons, sequence(ahead, picture))
        return cleared("cleared", asked, picture, ("the runway will be free",))
    reason = f"{blocker} will still be on the runway"
    if flight.leg in DOWNWIND and asked.callsign not in picture.priority:
        tried = attempt(asked.callsign, picture, lambda course, t: course.extend_downwind(t))
        if tried is not None and tried.is_free(picture):
            return say("extend_downwind", asked, {}, (reason,), tried.course)
    return say("continue_approach", asked, {}, (reason,))


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
    return Decision(decision.message, decision.reasons, tried.course)


def send_around(asked: Asked, picture: Picture, reason: str) -> Decision:
    """Around along the runway line; out of the pattern where it would meet somebody there."""
    around = attempt(asked.callsign, picture, lambda course, t: course.go_around(t))
    if around is not None and not around.is_free(picture):
        point, out = freest_breakout(asked.callsign, picture)
        if out is not None and out.nm > around.nm:
            reasons = (reason, f"going around {around.account(picture)}")
            return say("breakout", asked, {Kind.REPORT: point}, reasons, out.course)
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
