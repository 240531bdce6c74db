"""The loop: time goes on, aircraft fly, pilots call, the tower answers, the trainee is heard.

Deterministic: the same plan, the same speech durations and the same things heard at the same
seconds give the same events.
"""

from collections.abc import Callable
from dataclasses import replace

from phraseology.calls import CALLS
from phraseology.elements import Kind
from phraseology.expected import Expected, Silence
from phraseology.heard import Heard
from phraseology.readback import answer_to
from phraseology.replies import Message, message, say_message
from phraseology.situation import situation
from phraseology.wordgraph import WordAutomaton
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.pattern.profiles import PROFILES
from trainer.session.aircraft import Aircraft, obey
from trainer.session.dialogue import Owed, Spoken, asked_by, due_calls, possible_calls, understand
from trainer.session.events import (
    CallDue,
    CallMissed,
    Event,
    LegEntered,
    NotUnderstood,
    OtherSpoke,
    SessionEnded,
    TowerSpoke,
    TraineeSpoke,
)
from trainer.session.frequency import PLANNING_S, TOWER, Frequency, Transmission
from trainer.session.plan import SessionPlan
from trainer.tower.hearback import question_after
from trainer.tower.picture import Asked, Decision, Picture
from trainer.tower.policy import decide, follow_up
from trainer.tower.script import Script

STEP_S = 0.25
ANSWER_WITHIN_S = 8.0
"""The tower repeats itself after so long without an answer. Our own choice: twelve read-back latencies."""
REPEATS = 2
FOLLOW_UP_AFTER_S = 6.0

_CONSEQUENCES = {
    "check_in": "not known to the tower: hold at the entry point",
    "initial": "no break approval: straight through",
    "gear_report": "the tower asks for the gear",
    "request_closed": "round the outside",
    "entry_point": "hold at the point",
    "break_report": "the tower does not know that you broke",
    "outside_downwind": "the tower does not know where you are",
}


class Session:
    """`speech_seconds(station, words)` tells how long a transmission takes; "tower" is a station."""

    def __init__(self, plan: SessionPlan, speech_seconds: Callable[[str, str], float]) -> None:
        self.plan = plan
        self.now = 0.0
        self.ended: SessionEnded | None = None
        self._speech_seconds = speech_seconds
        self._frequency = Frequency()
        self._script = Script(plan.steps)
        self._events: list[Event] = []
        self._scores: list[int] = []
        self._accepted = 0
        self._contact = False
        self._stepped_on: str | None = None
        self._owed: Owed | None = None
        self._announced: set[tuple[float, str]] = set()
        self._follow_ups: dict[str, tuple[Asked, float]] = {}
        inbound = Flight(plan.pattern, plan.profile, start=Leg.INBOUND, at=0.0, via=plan.entry_point)
        self.trainee = self._arrive(plan.callsign, inbound, plan.circuits)
        self.trainee.altitude_ft = plan.check_in_altitude_ft
        self.trainee.atis = plan.atis
        self.aircraft: dict[str, Aircraft] = {plan.callsign: self.trainee}
        self._to_come = sorted(plan.traffic, key=lambda other: other.after_s)
        self._admit_traffic()

    # -- what the driver asks and tells ---------------------------------------------------------

    @property
    def prompt(self) -> Expected | None:
        """The answer that the trainee owes, or the call whose place has come; None: nothing to say now."""
        if self._owed is not None:
            return self._owed.expected
        if not self._frequency.quiet:
            return None
        for window in self.trainee.open_windows():
            if window.due_at_s <= self.now and (window.call != "entry_point" or self._contact):
                return self.trainee.expect(window.call)
        if not self._contact and self.trainee.flight.leg is Leg.ENTRY_POINT:
            return self.trainee.expect("check_in")
        return None

    @property
    def on_air(self) -> bool:
        """Somebody transmits, or waits to: the trainee should listen."""
        return not self._frequency.quiet

    @property
    def mean_score(self) -> float:
        return sum(self._scores) / len(self._scores) if self._scores else 0.0

    def expected_now(self) -> list[Expected]:
        """What may rightly be said now, what is owed first."""
        owed = [self._owed.expected] if self._owed else []
        return [*owed, *due_calls(self.trainee, self._contact)]

    def situation(self) -> WordAutomaton:
        """What the recogniser should listen for now."""
        likely = self.expected_now()
        return situation(likely, possible_calls(self.trainee, likely))

    def advance(self, to: float) -> list[Event]:
        """Let time go on to session second `to`; what happened, in order."""
        while self.now < to and self.ended is None:
            self._step(min(self.now + STEP_S, to))
        return self._take_events()

    def trainee_keys(self) -> None:
        """The trainee begins to speak: nobody else starts."""
        self._stepped_on = self._frequency.speaking
        self._frequency.trainee_keyed = True

    def trainee_said(self, heard: Heard) -> list[Event]:
        """The trainee has spoken, ending now. What follows from it comes with the next `advance`."""
        self._frequency.trainee_released(self.now)
        if not heard.words:
            self._events.append(NotUnderstood(self.now))
            if self._owed or self.prompt:
                self._tower_says(message("say_again", "", {}), ("nothing of the trade was heard",))
            return self._take_events()
        due = due_calls(self.trainee, self._contact)
        possible = possible_calls(self.trainee, due)
        spoken = understand(heard, self._owed, due, possible, self._stepped_on)
        self._stepped_on = None
        self._events.append(TraineeSpoke(self.now, heard, spoken.assessment))
        self._scores.append(spoken.assessment.score)
        self._accepted += spoken.assessment.accepted
        if spoken.is_answer:
            self._answered(spoken)
        else:
            self._called(spoken)
        return self._take_events()

    def end(self, reason: str) -> list[Event]:
        """End the session now, for a reason that a person reads."""
        self._end(reason)
        return self._take_events()

    def _end(self, reason: str) -> None:
        if self.ended is None:
            self.ended = SessionEnded(
                self.now, reason, round(self.mean_score, 1), len(self._scores), self._accepted
            )
            self._events.append(self.ended)

    # -- time -----------------------------------------------------------------------------------

    def _take_events(self) -> list[Event]:
        events, self._events = self._events, []
        return events

    def _step(self, to: float) -> None:
        self.now = to
        self._admit_traffic()
        for aircraft in list(self.aircraft.values()):
            self._fly(aircraft)
        if self.ended:
            return
        over = self._frequency.ended(self.now)
        if over:
            self._transmitted(over)
        self._trainee_windows()
        for aircraft in list(self.aircraft.values()):
            if aircraft is not self.trainee:
                self._other_pilot(aircraft)
        self._follow_up_landings()
        self._wait_for_answer()
        self._frequency.pilots_hold = self._owed is not None
        transmission = self._frequency.next(self.now)
        if transmission:
            self._transmit(transmission)
        if self.now >= self.plan.time_limit_s:
            self._end("the time is up")

    def _arrive(self, callsign: str, flight: Flight, circuits: tuple[str, ...]) -> Aircraft:
        return Aircraft(callsign, flight, circuits, self.plan.context(callsign))

    def _admit_traffic(self) -> None:
        while self._to_come and self._to_come[0].after_s <= self.now:
            other = self._to_come.pop(0)
            profile = PROFILES[other.aircraft.replace("_", " ")]
            start = Leg(other.starts)
            via = self.plan.entry_point if start is Leg.INBOUND else None
            flight = Flight(self.plan.pattern, profile, start=start, at=self.now, via=via)
            self.aircraft[other.callsign] = self._arrive(other.callsign, flight, tuple(other.circuits))

    def _fly(self, aircraft: Aircraft) -> None:
        for change in aircraft.flight.advance(self.now):
            self._events.append(LegEntered(change.at, aircraft.callsign, change.leg.value, change.trigger))
            if change.leg is Leg.DEPARTURE and change.trigger == "lift_off":
                aircraft.approach += 1
            if change.leg in (Leg.CLEAR_OF_RUNWAY, Leg.GOING_AROUND, Leg.DEPARTURE):
                self._follow_ups.pop(aircraft.callsign, None)
        done = bool(aircraft.circuits) and aircraft.approach >= len(aircraft.circuits)
        if aircraft is self.trainee:
            if aircraft.flight.leg is Leg.CLEAR_OF_RUNWAY:
                self._end("full stop")
            elif done:
                self._end("the last approach is flown")
        elif aircraft.flight.leg is Leg.CLEAR_OF_RUNWAY or (done and aircraft.flight.leg is Leg.CROSSWIND):
            del self.aircraft[aircraft.callsign]
            self._frequency.withdraw(aircraft.callsign)

    # -- the air --------------------------------------------------------------------------------

    def _transmit(self, transmission: Transmission) -> None:
        self._frequency.lasts(self.now, self._speech_seconds(transmission.station, transmission.words))
        if transmission.message is None:
            self._events.append(OtherSpoke(self.now, transmission.station, transmission.words))
        else:
            sent = transmission.message
            self._events.append(
                TowerSpoke(self.now, sent.to, sent.kind, transmission.words, transmission.reasons)
            )

    def _transmitted(self, over: Transmission) -> None:
        """A transmission has ended: the one it was for does what it says, and answers."""
        if over.message is None:
            if over.asked and over.asked.callsign in self.aircraft:
                self._decide(over.asked, scripted=False)
            return
        receiver = self.aircraft.get(over.message.to)
        if receiver is None:
            return
        obey(receiver.flight, over.message, self.now)
        expected = answer_to(over.message, receiver.context)
        if receiver is not self.trainee:
            if expected.silence is Silence.WRONG and not over.message.has(Kind.QUERY):
                self._frequency.offer(
                    Transmission(receiver.callsign, expected.model_call, self.now + PLANNING_S)
                )
        elif self._owed and self._owed.message == over.message:
            self._owed = replace(self._owed, since=self.now)
        elif expected.silence is Silence.WRONG:
            self._owed = Owed(over.message, expected, self.now)

    def _tower_says(self, msg: Message, reasons: tuple[str, ...]) -> None:
        words = say_message(msg, self.trainee.base.standard)
        self._frequency.offer(Transmission(TOWER, words, self.now + PLANNING_S, msg, reasons))

    def _picture(self) -> Picture:
        flights = {name: aircraft.flight for name, aircraft in self.aircraft.items()}
        return Picture(
            self.now, self.plan.field, self.plan.runway, self.plan.wind, self.plan.altimeter, flights
        )

    def _decide(self, asked: Asked, *, scripted: bool) -> None:
        picture = self._picture()
        decision = self._script.forced(asked, picture) if scripted else None
        self._carry_out(asked, decision or decide(asked, picture))

    def _carry_out(self, asked: Asked, decision: Decision) -> None:
        self._tower_says(decision.message, decision.reasons)
        if decision.message.kind in ("continue_approach", "extend_downwind", "stand_by"):
            self._follow_ups[asked.callsign] = (asked, self.now + FOLLOW_UP_AFTER_S)
        if decision.message.kind == "check_wheels_down":
            self._ask("check_wheels_down", asked)

    def _follow_up_landings(self) -> None:
        """Those told to continue, extend or stand by hear again when there is something to say."""
        if not self._frequency.quiet or self._owed:
            return
        for callsign, (asked, after) in list(self._follow_ups.items()):
            if self.now < after:
                continue
            decision = (
                follow_up(asked, self._picture())
                if asked.call == "gear_report"
                else decide(asked, self._picture())
            )
            if decision and decision.message.kind != "stand_by":
                del self._follow_ups[callsign]
                self._tower_says(decision.message, decision.reasons)
                return

    # -- other pilots ---------------------------------------------------------------------------

    def _other_pilot(self, aircraft: Aircraft) -> None:
        """The others make each call when it is due, by the book."""
        for window in aircraft.open_windows():
            if window.due_at_s > self.now:
                continue
            aircraft.has_made(window.call)
            last_go = window.call == "request_closed" and aircraft.approach >= len(aircraft.circuits)
            if last_go:
                continue
            words = aircraft.expect(window.call).model_call
            asked = Asked(window.call, aircraft.callsign, aircraft.intention, has_atis=True)
            self._frequency.offer(Transmission(aircraft.callsign, words, self.now, asked=asked))

    # -- the trainee ----------------------------------------------------------------------------

    def _trainee_windows(self) -> None:
        """Say when a call has fallen due, and what its absence leads to when its place is past."""
        since = self.trainee.flight.leg_since
        for window in self.trainee.open_windows():
            if window.call == "entry_point" and not self._contact:
                continue
            key = (since, window.call)
            if window.due_at_s <= self.now and key not in self._announced:
                self._announced.add(key)
                expected = self.trainee.expect(window.call)
                self._events.append(CallDue(self.now, window.call, expected.model_call))
            if window.closes_at_s <= self.now and not self._frequency.trainee_keyed:
                self._missed(window.call)

    def _missed(self, call: str) -> None:
        self.trainee.has_made(call)
        is_free_choice = call == "request_closed" and not self.plan.circuits
        if is_free_choice:
            return
        self._scores.append(0)
        self._events.append(CallMissed(self.now, call, _CONSEQUENCES[call]))
        if call == "gear_report":
            self._ask("check_wheels_down", Asked(call, self.plan.callsign, self.trainee.intention))

    def _called(self, spoken: Spoken) -> None:
        call = spoken.expected.name
        if call == "say_again":
            self._say_last_again()
            return
        question = question_after(spoken.assessment)
        if question and not spoken.expected.given_away_by(spoken.parsed):
            question = "say_again"  # nobody knows which call this was to be
        asked = asked_by(spoken, self.plan.callsign, self.trainee.atis, self.trainee.intention)
        if question:
            self._ask(question, asked, spoken)
            return
        self._owed = None
        self._contact = True
        self.trainee.has_made(call)
        self._act_at_once(call)
        self._decide(asked, scripted=True)

    def _act_at_once(self, call: str) -> None:
        """What a pilot does when he says it, without waiting for the tower."""
        flight = self.trainee.flight
        if call == "going_around" and "go_around" in flight.possible:
            flight.go_around(self.now)
        if call == "straight_through" and "straight_through" in flight.possible:
            flight.straight_through(self.now)

    def _ask(self, question: str, asked: Asked, spoken: Spoken | None = None) -> None:
        """Ask the trainee back; after "say again" the whole call is expected once more."""
        knows_who = spoken is None or spoken.parsed.has(Kind.CALLSIGN, self.plan.callsign)
        msg = message(question, self.plan.callsign if knows_who else "", {})
        expected = answer_to(replace(msg, to=self.plan.callsign), self.trainee.context)
        then: Asked | None = asked
        if question == "say_again" and spoken is not None:
            expected, then = spoken.expected, None
        self._tower_says(msg, (f"asked back: {question.replace('_', ' ')}",))
        if then is not None:
            self._owed = Owed(msg, expected, self.now, then=then)

    def _answered(self, spoken: Spoken) -> None:
        owed = self._owed
        assert owed is not None
        question = question_after(spoken.assessment)
        if spoken.assessment.refused and question is None:
            self._refused(spoken)
        elif question is None:
            self._owed = None
            if owed.then is not None and owed.then.call in CALLS:
                self.trainee.has_made(owed.then.call)
                self._contact = True
                said = spoken.parsed.value(Kind.INTENTION)
                self._decide(replace(owed.then, intention=said or owed.then.intention), scripted=True)
        elif question == "say_again" and spoken.assessment.unsure:
            self._tower_says(message("say_again", self.plan.callsign, {}), ("the answer was not clear",))
            self._owed = replace(owed, since=self.now)
        else:
            self._repeat(owed, "the read-back was wrong", corrects=owed.then is None)

    def _refused(self, spoken: Spoken) -> None:
        """ "Unable" is always available: what was approved is not used, and the tower asks what then."""
        self._owed = None
        self.trainee.flight.refuse(self.now)
        if spoken.parsed.has(Kind.ACTION, "going_around"):
            self._act_at_once("going_around")
        else:
            self._ask("say_intentions", Asked("refusal", self.plan.callsign))

    def _repeat(self, owed: Owed, reason: str, *, corrects: bool) -> None:
        """Say the message again, twice at most; then go on without the answer."""
        if owed.repeated >= REPEATS:
            self._owed = None
            self._scores.append(0)
            self._events.append(
                CallMissed(self.now, owed.expected.name, "the tower goes on without your answer")
            )
            return
        again = replace(owed.message, corrects=corrects)
        self._owed = replace(
            owed, message=again, since=self.now + ANSWER_WITHIN_S, repeated=owed.repeated + 1
        )
        self._tower_says(again, (reason,))

    def _wait_for_answer(self) -> None:
        owed = self._owed
        if owed and self._frequency.quiet and self.now - owed.since > ANSWER_WITHIN_S:
            self._repeat(owed, "no answer", corrects=False)

    def _say_last_again(self) -> None:
        if self._owed:
            self._tower_says(replace(self._owed.message, corrects=False), ("the pilot asked to say again",))
            self._owed = replace(self._owed, message=replace(self._owed.message, corrects=False))
