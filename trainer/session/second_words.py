"""What the tower says of itself where nothing presses: the rest of a message, notices, traffic, the wind.

Each waits until the air is quiet and nobody owes an answer.
"""

from collections.abc import Mapping
from dataclasses import replace

from phraseology.elements import Kind
from phraseology.replies import Message, message
from phraseology.standards import Standard, standard
from trainer.pattern.leg import Leg
from trainer.session.aircraft import Aircraft
from trainer.session.notices import NEXT, Notice
from trainer.session.plan import SessionPlan
from trainer.tower.information import Information
from trainer.tower.picture import Picture, pressure_of

LOOK_EVERY_S = 2.0
_ON_A_DIVERSION = (Leg.BREAKOUT, Leg.CLIMB_OUT)

Words = tuple[Message, tuple[str, ...]]


class SecondWords:
    def __init__(self, plan: SessionPlan) -> None:
        self.altimeter = plan.altimeter
        self._notices = sorted(plan.notices, key=lambda notice: notice.at)
        self._standard: Standard = standard(plan.field.standard)
        self._rest: dict[str, Words] = {}
        self._out: set[str] = set()
        """Those to whom the first of two messages has been said."""
        self._information = Information()
        self._look_at = 0.0

    def keep(self, rest: Message, reasons: tuple[str, ...]) -> None:
        """The second message to an aircraft, for when it has answered the first."""
        self._rest[rest.to] = rest, reasons
        self._out.discard(rest.to)

    def add(self, notice: Notice) -> None:
        """An announcement whose time has come: it goes before those that wait for a leg."""
        self._notices.insert(0, notice)

    def first_is_out(self, callsign: str) -> None:
        self._out.add(callsign)

    def forget(self, callsign: str) -> None:
        self._rest.pop(callsign, None)

    def will_change_altitude(self, callsign: str) -> bool:
        """Another altitude is still to be told to it: it is foreseen as if it had been."""
        return callsign in self._rest and self._rest[callsign][0].kind == "maintain"

    def next(self, picture: Picture, aircraft: Mapping[str, Aircraft], waiting: int) -> Words | None:
        """What is to be said now; `waiting` is how many hold or stand by for room."""
        if picture.now < self._look_at:
            return None
        self._look_at = picture.now + LOOK_EVERY_S
        found = self._notice(picture.now, aircraft)
        if found is not None:
            return found
        told = self._information.next(picture, waiting)
        return (told[0], (told[1],)) if told else None

    def rest_of_a_message(self, aircraft: Mapping[str, Aircraft]) -> Words | None:
        """The second message to one who has answered the first."""
        for callsign in list(self._rest):
            if callsign not in self._out or aircraft[callsign].owed is not None:
                continue
            rest, reasons = self._rest.pop(callsign)
            if rest.kind != "maintain" or aircraft[callsign].flight.leg in _ON_A_DIVERSION:
                return rest, reasons
        return None

    def _notice(self, now: float, aircraft: Mapping[str, Aircraft]) -> Words | None:
        if not self._notices or self._notices[0].at > now:
            return None
        notice = self._notices[0]
        to = notice.to
        if to == NEXT:
            to = next((name for name, each in aircraft.items() if _may_be_told(each, notice)), "")
            if not to:
                return None
        self._notices.pop(0)
        if notice.altimeter is not None:
            self.altimeter = notice.altimeter
        return self._announced(replace(notice, to=to)), (
            "an announcement",
            *([notice.note] if notice.note else []),
        )

    def _announced(self, notice: Notice) -> Message:
        fields = dict(notice.fields)
        if notice.altimeter is None:
            return message(notice.reply, notice.to, fields)
        kind, value = next(iter(pressure_of(self.altimeter, self._standard).items()))
        return message("qnh" if kind is Kind.QNH else "altimeter", notice.to, {kind: value})


def _may_be_told(aircraft: Aircraft, notice: Notice) -> bool:
    on_the_leg = notice.on is None or aircraft.flight.leg == notice.on
    return on_the_leg and aircraft.contact and aircraft.owed is None
