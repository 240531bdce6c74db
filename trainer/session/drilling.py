"""What a drill adds to a session: events, demanded calls, traps walked into, light signals."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace

from drills.steps import Required
from phraseology.assess import Assessment, assess
from phraseology.elements import Kind
from phraseology.expected import Expected
from phraseology.heard import Heard
from phraseology.readback import answer_to
from phraseology.replies import ALL, Message
from trainer.session.aircraft import Aircraft
from trainer.session.desk import Desk
from trainer.session.dialogue import Spoken
from trainer.session.events import Event, Happened, LightSignal
from trainer.session.frequency import Transmission
from trainer.session.happenings import Happenings, call_after, notice_of, words_of
from trainer.session.plan import SessionPlan
from trainer.session.speaking import ANSWER_WITHIN_S
from trainer.tower.lights import IN_FLIGHT, light_for

LIGHT_S = 4.0
"""How long the tower shows a light (our own choice)."""


class Drilling:
    """`present` are the call signs that are about, as the session keeps them."""

    def __init__(self, plan: SessionPlan, trainee: Aircraft, desk: Desk, present: Collection[str]) -> None:
        self._callsign = plan.callsign
        self._trainee = trainee
        self._desk = desk
        self._present = present
        self._within = {each.call: each.within_s for each in plan.required if each.within_s}
        self.happenings = Happenings(plan.events, plan.required, desk.conduct)
        self.no_receiver = False
        self._overheard: tuple[float, Message] | None = None
        trainee.demands = _demands(plan.required)
        trainee.enters(trainee.flight.leg)

    def let_happen(self, now: float) -> Iterator[Event]:
        """The events of the drill whose time has come."""
        for event in self.happenings.due(now, self._trainee, self._present):
            if event.trainee is None:
                self._desk.announce(notice_of(event, now, self._desk.picture(), self._callsign))
            else:
                self._befalls(event.trainee, now)
                yield Happened(now, event.trainee, words_of(event.trainee), event.note or "")

    def enters_leg(self, now: float) -> None:
        """The trainee is on a new leg: what the drill wants said there is due."""
        leg = self._trainee.flight.leg
        self._trainee.extra += self.happenings.calls_on(leg, self._trainee.legs_entered[leg], now)

    def _befalls(self, mishap: str, now: float) -> None:
        window = call_after(mishap, now)
        if window is None:
            self.no_receiver = True
            self._trainee.owed = None
            return
        self._trainee.extra.append(window)
        if window.call == "emergency":
            self._trainee.nature = mishap
            if self._trainee.circuits:
                flown = self._trainee.circuits[: self._trainee.approach]
                self._trainee.circuits = (*flown, "full_stop")

    def late(self, keyed_at: float) -> dict[str, float]:
        """How late each call that is due was keyed, by the drill's own measure, seconds."""
        due = {window.call: window.due_at_s for window in self._trainee.open_windows()}
        return {call: keyed_at - due[call] - within for call, within in self._within.items() if call in due}

    def light_instead(self, transmission: Transmission, now: float) -> list[LightSignal] | None:
        """Without a receiver: the light for what is meant for the trainee; [] for what he does not hear at
        all, None where he hears it."""
        if not self.no_receiver:
            return None
        sent = transmission.message
        signal = light_for(sent.kind) if sent is not None and sent.to in (self._callsign, ALL, "") else None
        return [LightSignal(now, signal, IN_FLIGHT[signal])] if signal else []

    def after(self, over: Transmission, now: float) -> None:
        """A transmission of the tower has ended: what the trainee now owes, and what he has overheard."""
        if over.message is None:
            return
        owed = self._trainee.owed
        own = over.message.to == self._callsign
        if own and self.no_receiver:
            self._trainee.owed = None  # he cannot have heard it
        elif own and over.blocked_by is not None and owed is not None:
            self._trainee.owed = replace(owed, expected=self._trainee.expect("say_again"))
        elif not own and over.message.to not in (ALL, "") and over.blocked_by is None:
            self._overheard = now, over.message

    def taken_from_another(
        self, heard: Heard, spoken: Spoken, due: Iterable[Expected], now: float
    ) -> Assessment | None:
        """An answer to what the tower has just said to somebody else, judged; None: it was none."""
        if self._overheard is None or now - self._overheard[0] > ANSWER_WITHIN_S or self._trainee.owed:
            return None
        if any(expected.given_away_by(spoken.parsed) for expected in due):
            return None
        to_another, context = self._overheard[1], self._trainee.context
        as_his = answer_to(replace(to_another, to=self._callsign), context)
        if not as_his.given_away_by(spoken.parsed):
            return None
        return assess(answer_to(to_another, context), heard)


def _demands(required: Iterable[Required]) -> dict[str, frozenset[Kind]]:
    """The elements that the drill wants said, by call."""
    found: dict[str, frozenset[Kind]] = {}
    for each in required:
        found[each.call] = found.get(each.call, frozenset()) | {Kind(name) for name in each.says}
    return found
