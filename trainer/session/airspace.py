"""The loop without a trainee: time goes on, aircraft come and fly, pilots call, the tower answers.

Deterministic: the same plan and speech durations give the same events. `Session` adds the trainee.
"""

import random
import zlib
from collections.abc import Callable
from dataclasses import replace

from phraseology.heard import Heard
from phraseology.replies import ALL, Message, message
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.session.aircraft import CALLS_AGAIN_AFTER_S, Aircraft, obey
from trainer.session.arrivals import Arrivals
from trainer.session.desk import Desk
from trainer.session.dialogue import due_calls, possible_calls, understand
from trainer.session.effects import breaks_when_due, takes_in
from trainer.session.events import (
    Arrived,
    Blocked,
    CallMissed,
    Event,
    Left,
    LegEntered,
    OtherSpoke,
    TowerSpoke,
)
from trainer.session.frequency import ANSWER_GAP_S, BLOCKED, PLANNING_S, Frequency, Transmission
from trainer.session.other_pilots import OtherPilots
from trainer.session.pilots import Pilot
from trainer.session.plan import SessionPlan
from trainer.session.speaking import ANSWER_WITHIN_S
from trainer.tower.picture import Asked, Picture
from trainer.tower.traps import Traps
from trainer.traffic.demand import Visitor

STEP_S = 0.25
QUIET_STEP_S = 1.0
"""With nobody on the air, and nobody owing an answer, time may go on in larger steps."""
_INSTANT_S = 0.001

_LEAVES_ON = frozenset({Leg.CROSSWIND, Leg.OUTSIDE_DOWNWIND})


class Airspace:
    """`speech_seconds(station, words)` tells how long a transmission takes; "tower" is a station."""

    def __init__(self, plan: SessionPlan, speech_seconds: Callable[[str, str], float]) -> None:
        self.plan = plan
        self.now = 0.0
        self.aircraft: dict[str, Aircraft] = {}
        self._speech_seconds = speech_seconds
        self._pattern = plan.pattern
        self._frequency = Frequency()
        self._events: list[Event] = []
        self._undisturbed_until = 0.0
        self._arrivals = Arrivals(plan, self._pattern)
        self._traps = Traps(plan.habits.traps, random.Random(plan.seed * 7919 + 1))
        self._chance = random.Random(plan.seed * 7919 + 2)
        self._desk = Desk(plan, self._frequency, self.aircraft, self._unanswered, self._traps)
        self._pilots = OtherPilots(self._frequency, self._desk, self._is_missed)

    @property
    def is_over(self) -> bool:
        return self.now >= self.plan.time_limit_s

    def advance(self, to: float) -> list[Event]:
        """Let time go on to session second `to`; what happened, in order."""
        while self.now < to and not self.is_over:
            busy = not self._frequency.idle or any(each.owed for each in self.aircraft.values())
            self._step(min(self.now + (STEP_S if busy else QUIET_STEP_S), to))
        return self._take_events()

    def picture(self) -> Picture:
        """What the tower sees now."""
        self._desk.now = self.now
        return self._desk.picture()

    def _take_events(self) -> list[Event]:
        events, self._events = self._events, []
        return events

    def _step(self, to: float) -> None:
        self.now = self._desk.now = to
        undisturbed = self.now < self._undisturbed_until
        if not undisturbed:
            self._admit()
            for aircraft in list(self.aircraft.values()):
                self._fly(aircraft)
        if self.is_over:
            return
        if not undisturbed:
            over = self._frequency.ended(self.now)
            if over:
                self._transmitted(over)
            self._calls_fall_due()
        self._desk.tend()
        self._speak()
        if not undisturbed or not self._frequency.idle:
            self._undisturbed_until = self._next_of_itself()

    def _next_of_itself(self) -> float:
        """When somebody next comes, enters a leg or has something to say; until then only the tower has."""
        if not self._frequency.idle:
            return self.now
        acts_at = [each.acts_at(self.now) for each in self.aircraft.values()]
        return min([self._arrivals.next_at, *acts_at]) - _INSTANT_S

    def _speak(self) -> None:
        owing = {name: each.owed for name, each in self.aircraft.items() if each.owed}
        self._frequency.must_answer = set(owing)
        self._frequency.first_answer_due = {name for name, owed in owing.items() if not owed.repeated}
        transmission = self._frequency.next(self.now, self._is_blocked)
        if transmission:
            self._transmit(transmission)

    def _calls_fall_due(self) -> None:
        for aircraft in list(self.aircraft.values()):
            if not aircraft.is_trainee:
                self._pilots.call(aircraft)

    # -- aircraft come, fly and go ----------------------------------------------------------------

    def _arrive(self, callsign: str, flight: Flight, circuits: tuple[str, ...]) -> Aircraft:
        return Aircraft(callsign, flight, circuits, self.plan.context(callsign))

    def _admit(self) -> None:
        if self._arrivals.next_at > self.now:
            return
        for callsign, flight, circuits, how in self._arrivals.scripted(self.now):
            self._join(self._arrive(callsign, flight, circuits), how)
        for visitor in self._arrivals.too_long(self.now):
            self._events.append(Left(self.now, visitor.callsign, "no room: it went elsewhere"))
        found = self._arrivals.next_visitor(self.now, self._desk.picture())
        if found:
            self._visit(*found)

    def _visit(self, visitor: Visitor, flight: Flight) -> None:
        aircraft = self._arrive(visitor.callsign, flight, visitor.circuits)
        aircraft.altitude_ft, aircraft.atis = visitor.altitude_ft, self.plan.atis
        aircraft.emergency = visitor.emergency
        if visitor.arrives == "straight_in":
            aircraft.request = "straight_in"
        aircraft.contact = visitor.arrives in ("initial", "departure")
        self._join(aircraft, visitor.arrives)

    def _join(self, aircraft: Aircraft, how: str) -> None:
        aircraft.pilot = Pilot(self.plan.habits, random.Random(f"{self.plan.seed} {aircraft.callsign}"))
        aircraft.has_deeds(self.plan.traffic, self.now)
        self.aircraft[aircraft.callsign] = aircraft
        self._events.append(Arrived(self.now, aircraft.callsign, aircraft.flight.profile.name, how))

    def _fly(self, aircraft: Aircraft) -> None:
        flight = aircraft.flight
        nothing_new = flight.leg_since == aircraft.leg_seen and self.now < flight.path.ends_at - _INSTANT_S
        if breaks_when_due(aircraft, self.now):
            self._desk.obeyed(aircraft.callsign)
        elif nothing_new and not aircraft.is_trainee and aircraft.closed_after is None:
            return  # its path says where it is
        changes = flight.advance(self.now)
        aircraft.leg_seen = flight.leg_since
        for change in changes:
            self._events.append(LegEntered(change.at, aircraft.callsign, change.leg.value, change.trigger))
            if change.leg is Leg.DEPARTURE and change.trigger == "lift_off":
                aircraft.approach += 1
                aircraft.said_landing = None
            if change.leg in (Leg.CLEAR_OF_RUNWAY, Leg.GOING_AROUND, Leg.DEPARTURE):
                self._desk.no_longer_waits(aircraft.callsign)
        if aircraft.closed_after is not None:
            self._pull_behind(aircraft)
        for change in changes:
            aircraft.enters(change.leg)
        if changes and aircraft.pilot is not None:
            wished = aircraft.pilot.wish(flight.leg, flight.leg_since)
            aircraft.wish = aircraft.deed(flight.leg, flight.leg_since) or wished
        if changes:
            self._has_flown(aircraft)

    def _has_flown(self, aircraft: Aircraft) -> None:
        """A leg was entered: another aircraft may be done."""
        done = bool(aircraft.circuits) and aircraft.approach >= len(aircraft.circuits)
        landed = aircraft.flight.leg is Leg.CLEAR_OF_RUNWAY
        if landed or (done and aircraft.flight.leg in _LEAVES_ON):
            self._leave(aircraft, "landed" if landed else "departed")

    def _leave(self, aircraft: Aircraft, why: str) -> None:
        del self.aircraft[aircraft.callsign]
        self._frequency.withdraw(aircraft.callsign)
        self._desk.forget(aircraft.callsign)
        self._events.append(Left(self.now, aircraft.callsign, why))

    def _pull_behind(self, aircraft: Aircraft) -> None:
        """Closed was approved after the traffic on initial: it has broken, or gone through."""
        traffic = self.aircraft.get(aircraft.closed_after or "")
        if traffic is not None and traffic.flight.leg in (Leg.INITIAL, Leg.BREAK_TURN):
            return
        aircraft.closed_after = None
        if "approve_closed" in aircraft.flight.possible:
            aircraft.flight.approve_closed(self.now)
            self._desk.obeyed(aircraft.callsign)

    # -- the air ----------------------------------------------------------------------------------

    def _transmit(self, transmission: Transmission) -> None:
        self._frequency.lasts(self.now, self._speech_seconds(transmission.station, transmission.words))
        blocked = transmission.blocked_by is not None
        if transmission.message is None:
            self._events.append(OtherSpoke(self.now, transmission.station, transmission.words, blocked))
        else:
            sent = transmission.message
            words, why, note = transmission.words, transmission.reasons, transmission.note
            self._events.append(TowerSpoke(self.now, sent.to, sent.kind, words, why, blocked, note))

    def _transmitted(self, over: Transmission) -> None:
        """A transmission has ended: the one it was for does what it says, and answers."""
        if over.blocked_by is not None:
            self._events.append(Blocked(self.now, over.station))
            self._came_to_nothing(over)
            self._bystander_says_blocked(over)
        elif over.message is not None:
            receiver = self._receiver(over.message)
            if receiver is not None:
                self._received(receiver, over)
            elif over.message.to == ALL:
                for each in self.aircraft.values():
                    takes_in(each, over.message, self.now)
        elif over.meant is not None and over.station in self.aircraft:
            self._tower_hears(self.aircraft[over.station], over)

    def _receiver(self, sent: Message) -> Aircraft | None:
        """Whom a message is for; "station calling" is he whose callsign was not understood."""
        if sent.to:
            return self.aircraft.get(sent.to)
        asked = [each for each in self.aircraft.values() if each.owed and each.owed.message == sent]
        return asked[-1] if asked else None

    def _is_blocked(self, over: Transmission) -> bool:
        """Two stations at once by chance, but not in what is for the trainee or says "blocked"."""
        if self.plan.habits.blocked <= 0.0 or over.words == BLOCKED:
            return False
        draw = self._chance.random()
        receiver = self.aircraft.get(over.message.to) if over.message else None
        return draw < self.plan.habits.blocked and (receiver is None or not receiver.is_trainee)

    def _came_to_nothing(self, over: Transmission) -> None:
        if over.message is None:
            aircraft = self.aircraft.get(over.station)
            if aircraft is not None and over.meant is not None:
                aircraft.awaiting = self.now - CALLS_AGAIN_AFTER_S / 2.0
            return
        receiver = self.aircraft.get(over.message.to)
        if over.blocked_by:  # the trainee knows that he did it, and so do the others: the tower repeats
            again = replace(over, ready_at=self.now + PLANNING_S, blocked_by=None)
            self._frequency.offer(again)
        elif receiver is not None:  # the tower expects an answer all the same, and will repeat
            receiver.astray_until = self.now + 3.0 * ANSWER_WITHIN_S
            keeps = over.message.kind == "maintain"  # else another might be sent to that altitude meanwhile
            (self._desk.sent if keeps else self._desk.unheard)(receiver, over.message)

    def _bystander_says_blocked(self, over: Transmission) -> None:
        """One who was not among the two, if there is one; of two pilots else the tower asks."""
        involved = {over.station, over.message.to if over.message else ""}
        others = [
            name
            for name, each in self.aircraft.items()
            if name not in involved
            and not each.is_trainee
            and each.contact
            and not self._frequency.waits(name)
        ]
        if others:
            by = min(others, key=lambda name: zlib.crc32(f"{name} {self.now:.2f}".encode()))
            self._frequency.offer(Transmission(by, BLOCKED, self.now + ANSWER_GAP_S, at_once=True))
        elif over.blocked_by and over.message is None:
            self._desk.says(message("say_again", "", {}), ("two stations at once",))

    def _received(self, receiver: Aircraft, over: Transmission) -> None:
        assert over.message is not None
        receiver.awaiting = None
        if receiver.is_deaf(self.now):
            receiver.astray_until = self.now + 3.0 * ANSWER_WITHIN_S
            self._desk.unheard(receiver, over.message)
            return
        if obey(receiver.flight, over.message, self.now) is None and over.after is not None:
            receiver.closed_after = over.after
        takes_in(receiver, over.message, self.now)
        if receiver.closed_after is None:  # else what it will do stands as it was foreseen
            self._desk.obeyed(receiver.callsign)
        self._desk.sent(receiver, over.message)
        if receiver.pilot is not None and receiver.owed is not None:
            self._pilots.answer(receiver)

    def _tower_hears(self, aircraft: Aircraft, over: Transmission) -> None:
        """Words that are the model ones need no judge; any others are heard as the trainee's are."""
        assert over.meant is not None
        is_answer = over.meant.name.startswith(("answer_to", "challenge"))
        if over.right and over.meant.name == "say_again":
            self._desk.say_last_again(aircraft)
            return
        if is_answer and aircraft.owed is None:
            return  # nobody waits for it any more
        if over.right and is_answer:
            self._desk.answered_well(aircraft)
            return
        if over.right:
            asked = Asked(
                over.meant.name, aircraft.callsign, aircraft.intention, True, request=aircraft.request
            )
            self._desk.understood(aircraft, asked)
            return
        due = due_calls(aircraft)
        heard = Heard.typed(over.words)
        due = due or ([] if is_answer else [over.meant])
        spoken = understand(heard, aircraft.owed, due, possible_calls(aircraft, due))
        aircraft.astray_until = self.now + 3.0 * ANSWER_WITHIN_S
        (self._desk.answered if spoken.is_answer else self._desk.called)(aircraft, spoken)

    # -- what was not said ------------------------------------------------------------------------

    def _is_missed(self, what: str, leads_to: str) -> None:
        self._events.append(CallMissed(self.now, what, leads_to))

    def _unanswered(self, aircraft: Aircraft, what: str) -> None:
        """The tower goes on without the answer."""
        named = what if aircraft.is_trainee else f"{aircraft.callsign} {what}"
        self._is_missed(named, "the tower goes on without your answer")
