"""What several decisions of the tower share: building a decision, naming a place, a sequence, a point."""

from dataclasses import replace
from typing import NamedTuple

from phraseology.elements import Kind
from phraseology.replies import Message, message
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.plan import Side
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.probe import Tried, attempt
from trainer.traffic.course import Course
from trainer.traffic.outlook import Outlook

ROOM_S = 5.0
"""Kept between one aircraft's leaving the runway free and the next one's threshold (our own choice)."""

PLACE_OF = {
    Leg.INITIAL: "initial",
    Leg.BREAK_TURN: "break",
    Leg.INSIDE_DOWNWIND: "inside_downwind",
    Leg.CLOSED_PULL_UP: "closed_downwind",
    Leg.CLOSED_DOWNWIND: "closed_downwind",
    Leg.FINAL_TURN: "final_turn",
    Leg.FINAL: "final",
}
"""Legs on the way to the runway, and how the tower names the place."""


_AT_A_POINT = frozenset({Leg.INBOUND, Leg.ENTRY_POINT, Leg.BREAKOUT, Leg.CLIMB_OUT})


def say(
    name: str,
    asked: Asked,
    fields: dict[Kind, str],
    reasons: tuple[str, ...],
    course: Course | None = None,
    after: str | None = None,
) -> Decision:
    return Decision(message(name, asked.callsign, fields), reasons, course, after)


def report_initial(picture: Picture) -> dict[Kind, str]:
    return {Kind.REPORT: f"initial {picture.field.report_initial_nm:g}"}


def is_established(flight: Flight) -> bool:
    """Certain to come to the runway: past initial, or with its break, or closed, approved."""
    if flight.leg is Leg.INITIAL:
        return flight.clearances.break_approved
    if flight.leg is Leg.DEPARTURE:
        return flight.clearances.closed_approved
    return flight.leg in PLACE_OF


def lands_too_near(callsign: str, outlook: Outlook, picture: Picture) -> str | None:
    """Who of those established would have the runway when this aircraft needs it, or the other way round."""
    if outlook.threshold is None:
        return None
    own = outlook.runway[0].free_at(picture.same_runway_nm) if outlook.runway else outlook.threshold
    for name, flight in picture.others(callsign).items():
        if not is_established(flight):
            continue
        other = picture.outlook(name)
        for occupied in other.runway:
            free = occupied.free_at(picture.same_runway_nm)
            if occupied.start - ROOM_S < own and outlook.threshold < free + ROOM_S:
                return name
    return None


def ahead_of(callsign: str, picture: Picture) -> list[str]:
    """Who reaches the threshold earlier and is past initial, the first to land first."""
    mine = picture.outlook(callsign).threshold
    arriving = {
        name: threshold
        for name, flight in picture.others(callsign).items()
        if flight.leg in PLACE_OF
        and flight.leg is not Leg.INITIAL
        and (threshold := picture.outlook(name).threshold) is not None
        and (mine is None or threshold < mine)
    }
    return sorted(arriving, key=arriving.__getitem__)


WAKE = frozenset({("fast jet", "turboprop trainer"), ("fast jet", "jet trainer")})
"""Leader and follower of whom the second is warned of the first one's wake (common practice)."""


def wake_behind(lead: str, decision: Decision, picture: Picture) -> Decision:
    """The decision, with a warning of the wake where a light one follows a fast jet."""
    names = tuple(picture.flights[name].profile.name for name in (lead, decision.message.to))
    if names not in WAKE:
        return decision
    return replace(decision, then=message("wake_turbulence", decision.message.to, {}))


def opposite(side: Side) -> Side:
    return "right" if side == "left" else "left"


def sequence(ahead: list[str], picture: Picture) -> dict[Kind, str]:
    """Number and whom to follow: the last of those ahead."""
    lead = picture.flights[ahead[-1]]
    kind = lead.profile.name.replace(" ", "_")
    return {Kind.SEQUENCE: str(len(ahead) + 1), Kind.FOLLOW: f"{kind} {PLACE_OF[lead.leg]}"}


def at_a_point(flight: Flight, point: str | None) -> bool:
    """On the way to this point, or holding there."""
    return flight.via == point and flight.leg in _AT_A_POINT


def points_by_distance(flight: Flight, picture: Picture) -> list[str]:
    """The entry points, the nearest first; those to which somebody else goes or where he holds at the end."""
    taken = {
        other.via for other in picture.flights.values() if other is not flight and other.leg in _AT_A_POINT
    }
    return sorted(_nearest_first(flight, picture), key=lambda name: name in taken)


def _nearest_first(flight: Flight, picture: Picture) -> list[str]:
    here = flight.position(max(picture.now, flight.now))

    def distance(name: str) -> float:
        x, y = flight.plan.point(name)
        return (x - here.x_nm) ** 2 + (y - here.y_nm) ** 2

    usable = sorted(set(picture.field.points) - picture.unavailable) or sorted(picture.field.points)
    return sorted(usable, key=distance)


def nearest_point(flight: Flight, picture: Picture) -> str:
    """The entry point that is the shortest way from where the aircraft is."""
    return points_by_distance(flight, picture)[0]


class Way(NamedTuple):
    """A breakout: to this point, at this altitude in feet; None: the field's breakout altitude."""

    point: str
    tried: Tried | None
    altitude_ft: int | None = None

    def then(self, callsign: str) -> Message | None:
        """The altitude, if it is another than the field's, is a message of its own."""
        if self.altitude_ft is None:
            return None
        return message("maintain", callsign, {Kind.ALTITUDE: str(self.altitude_ft)})


HIGHER_FT = 1000
"""A second aircraft breaking out to the same point is sent so much higher (our own choice)."""


def freest_breakout(callsign: str, picture: Picture) -> Way:
    """The nearest point to break out to without meeting anybody, higher if another is there or there is no
    other way; else the least bad."""
    flight = picture.flights[callsign]
    points, nearest = points_by_distance(flight, picture), _nearest_first(flight, picture)[0]
    higher = picture.field.breakout_altitude_ft + HIGHER_FT
    ways: list[tuple[str, int | None]] = [(point, None) for point in points]
    ways += [(point, higher) for point in points]
    if nearest != points[0]:  # taken: above the one who is there
        ways.insert(0, (nearest, higher))
    best = Way(points[0], None)
    for point, altitude in ways:
        tried = attempt(
            callsign,
            picture,
            lambda course, t, to=point, up=altitude: course.breakout(t, to, up),  # type: ignore[misc]
        )
        if tried is None:
            continue
        if tried.is_free(picture):
            return Way(point, tried, altitude)
        if best.tried is None or tried.nm > best.tried.nm:
            best = Way(point, tried, altitude)
    return best


def break_out(
    name: str, asked: Asked, picture: Picture, reasons: tuple[str, ...], way: Way | None = None
) -> Decision:
    """Break out, by whichever reply says so here, the freest way."""
    way = way or freest_breakout(asked.callsign, picture)
    decision = say(name, asked, {Kind.REPORT: way.point}, reasons, way.tried.course if way.tried else None)
    if way.altitude_ft is None:
        return decision
    more = f"another is at the breakout altitude there, or on the way: {way.altitude_ft} ft"
    return replace(decision, reasons=(*reasons, more), then=way.then(asked.callsign))
