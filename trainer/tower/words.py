"""What several decisions of the tower share: building a decision, naming a place, a sequence, a point."""

from phraseology.elements import Kind
from phraseology.replies import message
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
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


def sequence(ahead: list[str], picture: Picture) -> dict[Kind, str]:
    """Number and whom to follow: the last of those ahead."""
    lead = picture.flights[ahead[-1]]
    kind = lead.profile.name.replace(" ", "_")
    return {Kind.SEQUENCE: str(len(ahead) + 1), Kind.FOLLOW: f"{kind} {PLACE_OF[lead.leg]}"}


def points_by_distance(flight: Flight, picture: Picture) -> list[str]:
    """The entry points, the nearest first; those to which somebody else goes or where he holds at the end."""
    taken = {
        other.via for other in picture.flights.values() if other is not flight and other.leg in _AT_A_POINT
    }
    here = flight.position(max(picture.now, flight.now))

    def distance(name: str) -> float:
        x, y = flight.plan.point(name)
        return (x - here.x_nm) ** 2 + (y - here.y_nm) ** 2

    return sorted(sorted(picture.field.points), key=lambda name: (name in taken, distance(name)))


def nearest_point(flight: Flight, picture: Picture) -> str:
    """The entry point that is the shortest way from where the aircraft is."""
    return points_by_distance(flight, picture)[0]


def freest_breakout(callsign: str, picture: Picture) -> tuple[str, Tried | None]:
    """The nearest point to break out to without meeting anybody; where there is none, the least bad."""
    best: tuple[str, Tried | None] = (nearest_point(picture.flights[callsign], picture), None)
    for point in points_by_distance(picture.flights[callsign], picture):
        tried = attempt(callsign, picture, lambda course, t, to=point: course.breakout(t, to))  # type: ignore[misc]
        if tried is None:
            continue
        if tried.is_free(picture):
            return point, tried
        if best[1] is None or tried.nm > best[1].nm:
            best = point, tried
    return best
