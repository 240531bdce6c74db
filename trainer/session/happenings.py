"""The events of a drill, each once, when its second, its leg and its branch have come."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from drills.steps import Happening, Required
from phraseology.elements import Kind
from phraseology.replies import ALL
from trainer.pattern.callpoints import Window
from trainer.session.aircraft import Aircraft
from trainer.session.drawn import hundredths
from trainer.session.notices import Notice
from trainer.tower.conduct import Conduct
from trainer.tower.picture import Picture
from trainer.tower.words import PLACE_OF

DECLARED_WITHIN_S = 45.0
"""A call that a mishap, or a drill, asks for is missed after so long (our own choice)."""
_AFTER_S = 2.0

WORDS = {
    "radio_failure": "Your receiver is dead: transmit in the blind, and look for light signals.",
    "minimum_fuel": "Fuel is at the minimum: say so.",
}
"""What is shown to the trainee; any other mishap is an emergency."""


def words_of(mishap: str) -> str:
    name = mishap.replace("_", " ").capitalize()
    return WORDS.get(mishap, f"{name}: fly the aircraft, then declare it.")


class Happenings:
    def __init__(self, events: Sequence[Happening], required: Sequence[Required], conduct: Conduct) -> None:
        self._events = list(events)
        self._required = [each for each in required if each.on is not None]
        self._conduct = conduct
        self.came_up: list[tuple[float, Happening]] = []
        """What has happened, and when."""

    def due(self, now: float, trainee: Aircraft, present: Collection[str]) -> Iterator[Happening]:
        """What happens now; `present` are the call signs that are about."""
        for event in list(self._events):
            if event.at_s > now or not _is_there(event, trainee) or not self._conduct.holds(event.when):
                continue
            if event.tower is not None and event.to == "trainee" and not trainee.contact:
                continue
            if event.traffic is not None and event.traffic not in present:
                continue
            self._events.remove(event)
            self.came_up.append((now, event))
            yield event

    def calls_on(self, leg: str, entered: int, now: float) -> Iterator[Window]:
        """The calls that the drill wants on a leg, entered for so many times at this second."""
        for each in self._required:
            if each.on == leg and each.occurrence in ("any", entered):
                within = max(each.within_s or 0.0, DECLARED_WITHIN_S)
                yield Window(each.call, now, now + _AFTER_S, now + _AFTER_S + within)


def _is_there(event: Happening, trainee: Aircraft) -> bool:
    if event.on is None:
        return True
    return trainee.flight.leg == event.on and trainee.legs_entered[trainee.flight.leg] == event.occurrence


def call_after(mishap: str, now: float) -> Window | None:
    """The call that the trainee then has to make; none without a receiver: he goes on in the blind."""
    if mishap == "radio_failure":
        return None
    call = mishap if mishap == "minimum_fuel" else "emergency"
    return Window(call, now, now + _AFTER_S, now + _AFTER_S + DECLARED_WITHIN_S)


def notice_of(event: Happening, now: float, picture: Picture, callsign: str) -> Notice:
    """What the tower is made to say, as an announcement."""
    assert event.tower is not None
    fields: list[tuple[Kind, str]] = []
    if event.tower == "wind_check":
        fields.append((Kind.WIND, event.wind or picture.wind))
    if event.tower == "emergency_in_pattern":
        fields.append((Kind.ACTION, "breaking_out"))
    if event.point is not None:
        fields.append((Kind.REPORT, event.point))
    if event.side is not None:
        fields.append((Kind.SIDE, event.side))
    if event.time is not None:
        fields.append((Kind.TIME, event.time))
    if event.tower == "straight_through":
        fields.append((Kind.REPORT, "outside_downwind"))
    if event.traffic is not None and event.traffic in picture.flights:
        lead = picture.flights[event.traffic]
        place = PLACE_OF.get(lead.leg, lead.leg.value)
        fields.append((Kind.TRAFFIC_INFORMATION, f"{lead.profile.name.replace(' ', '_')} {place}"))
    notice = Notice(now, event.tower, tuple(fields), callsign if event.to == "trainee" else ALL)
    if event.altimeter is not None:
        notice = replace(notice, altimeter=hundredths(event.altimeter))
    return replace(notice, note=event.note or "")
