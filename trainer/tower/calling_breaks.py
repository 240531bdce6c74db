"""The break at the tower's call: whoever was told to wait on the runway line hears when, or goes through."""

from phraseology.elements import Kind
from trainer.pattern.leg import Leg
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import SAYING_S, Tried, attempt
from trainer.tower.words import lands_too_near, say
from trainer.traffic.course import Course

SECONDS = (5, 10)
"""Counts that are asked for in "break in so many seconds"."""
ON_THE_LINE = (Leg.INITIAL, Leg.STRAIGHT_THROUGH)
_LATEST_S = 3.0
"""Kept between the end of the message and the departure end."""


def call_the_break(asked: Asked, picture: Picture) -> Decision | None:
    """Now, in some seconds, or straight through where the runway ends; None: wait on."""
    flight = picture.flights[asked.callsign]
    before_threshold = flight.position(max(picture.now, flight.now)).x_nm < 0.0
    now = _breaking(asked.callsign, 0, picture)
    if now is not None:
        name = "break_approved" if before_threshold else "break_now"
        return say(name, asked, {}, ("there is room now",), now.course)
    left = _seconds_to_the_end(asked.callsign, picture) - SAYING_S
    for seconds in SECONDS:
        later = _breaking(asked.callsign, seconds, picture)
        if later is not None and not before_threshold and seconds < left - _LATEST_S:
            reason = f"there will be room in {seconds} s"
            return say("break_in", asked, {Kind.BREAK: f"in {seconds}"}, (reason,), later.course)
    if left < _LATEST_S + SECONDS[0]:
        reasons = ("the runway ends and there is no room to break",)
        return say("straight_through", asked, {Kind.REPORT: "outside_downwind"}, reasons)
    return None


def _breaking(callsign: str, seconds: int, picture: Picture) -> Tried | None:
    def obey(course: Course, t: float) -> None:
        course.fly_on(t + seconds)
        course.approve_break(t + seconds)

    tried = attempt(callsign, picture, obey)
    if tried is None or not tried.is_free(picture) or lands_too_near(callsign, tried.outlook, picture):
        return None
    return tried


def _seconds_to_the_end(callsign: str, picture: Picture) -> float:
    """Until the departure end, at the present speed."""
    flight = picture.flights[callsign]
    here = flight.position(max(picture.now, flight.now))
    return (flight.plan.length_nm - here.x_nm) / max(here.ground_speed_kt, 1.0) * 3600.0
