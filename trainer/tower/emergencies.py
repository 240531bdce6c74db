"""An emergency has the pattern: whoever could be in its way leaves, nobody else comes in."""

from dataclasses import replace

from phraseology.elements import Kind
from phraseology.replies import ALL, Message, message
from trainer.pattern.leg import Leg
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.words import freest_breakout, say

MOST = 3
"""To so many the tower says it one by one; the rest hear that the pattern is closed (our own choice)."""
_COMING = (
    Leg.INITIAL,
    Leg.FORTY_FIVE_TO_INITIAL,
    Leg.NINETY_TO_INITIAL,
    Leg.OUTSIDE_DOWNWIND,
    Leg.DEPARTURE,
)
"""Legs that are left for an emergency, the nearest to its way first; who is to land soon lands."""
_OUTSIDE = (Leg.ENTRY_POINT, Leg.BREAKOUT)


def pattern_closed() -> Message:
    return message("pattern_closed", ALL, {})


def in_the_way(callsign: str, picture: Picture) -> list[str]:
    """Who is told to leave or to stay away, those first who are nearest to initial."""
    found = []
    for leg in (*_COMING, *_OUTSIDE):
        others = picture.others(callsign).items()
        found += [name for name, flight in others if flight.leg is leg and name not in picture.emergencies]
    return found[:MOST]


def make_way(callsign: str, emergency: str, picture: Picture) -> Decision | None:
    """What one of them is told once it is his turn; None: he is out of the way, or had better go on."""
    flight, reasons = picture.flights.get(callsign), (f"{emergency} has an emergency",)
    if flight is None or emergency not in picture.flights:
        return None
    asked = Asked("", callsign)
    if flight.leg in _OUTSIDE:
        return say("emergency_in_pattern", asked, {Kind.ACTION: "remain_clear"}, reasons)
    way = freest_breakout(callsign, picture)
    if flight.leg not in _COMING or way.tried is None or not way.tried.is_free(picture):
        return None
    fields = {Kind.ACTION: "breaking_out", Kind.REPORT: way.point}
    decision = say("emergency_in_pattern", asked, fields, reasons, way.tried.course)
    return replace(decision, then=way.then(callsign))
