"""The session: an airspace with the trainee in it, who is heard, prompted, judged and scored.

Deterministic: the same plan, the same speech durations and the same things heard at the same
seconds give the same events.
"""

from collections.abc import Callable

from phraseology.expected import Expected
from phraseology.heard import Heard
from phraseology.replies import message
from phraseology.situation import situation
from phraseology.wordgraph import WordAutomaton
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.session.aircraft import Aircraft
from trainer.session.airspace import CONSEQUENCES, STEP_S, Airspace
from trainer.session.dialogue import due_calls, possible_calls, understand
from trainer.session.events import CallDue, CallMissed, Event, NotUnderstood, SessionEnded, TraineeSpoke
from trainer.session.plan import SessionPlan
from trainer.tower.picture import Asked


class Session(Airspace):
    """`speech_seconds(station, words)` tells how long a transmission takes; "tower" is a station."""

    def __init__(self, plan: SessionPlan, speech_seconds: Callable[[str, str], float]) -> None:
        super().__init__(plan, speech_seconds)
        self.ended: SessionEnded | None = None
        self._scores: list[int] = []
        self._accepted = 0
        self._stepped_on: str | None = None
        self._announced: set[tuple[float, str]] = set()
        inbound = Flight(self._pattern, plan.profile, start=Leg.INBOUND, at=0.0, via=plan.entry_point)
        self.trainee = self._arrive(plan.callsign, inbound, plan.circuits)
        self.trainee.altitude_ft = plan.check_in_altitude_ft
        self.trainee.atis = plan.atis
        self.aircraft[plan.callsign] = self.trainee
        self._admit()

    # -- what the driver asks and tells ---------------------------------------------------------

    @property
    def is_over(self) -> bool:
        return self.ended is not None

    @property
    def prompt(self) -> Expected | None:
        """The answer that the trainee owes, or the call whose place has come; None: nothing to say now."""
        if self.trainee.owed is not None:
            return self.trainee.owed.expected
        if not self._frequency.quiet:
            return None
        for window in self.trainee.open_windows():
            if window.due_at_s <= self.now and (window.call != "entry_point" or self.trainee.contact):
                return self.trainee.expect(window.call)
        if not self.trainee.contact and self.trainee.flight.leg is Leg.ENTRY_POINT:
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
        owed = [self.trainee.owed.expected] if self.trainee.owed else []
        return [*owed, *due_calls(self.trainee)]

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
            if self.trainee.owed or self.prompt:
                self._desk.says(message("say_again", "", {}), ("nothing of the trade was heard",))
            return self._take_events()
        due = due_calls(self.trainee)
        possible = possible_calls(self.trainee, due)
        spoken = understand(heard, self.trainee.owed, due, possible, self._stepped_on)
        self._stepped_on = None
        self._events.append(TraineeSpoke(self.now, heard, spoken.assessment))
        self._scores.append(spoken.assessment.score)
        self._accepted += spoken.assessment.accepted
        (self._desk.answered if spoken.is_answer else self._desk.called)(self.trainee, spoken)
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

    def _step(self, to: float) -> None:
        super()._step(to)
        if self.now >= self.plan.time_limit_s:
            self._end("the time is up")

    def _has_flown(self, aircraft: Aircraft) -> None:
        if aircraft is not self.trainee:
            super()._has_flown(aircraft)
        elif aircraft.flight.leg is Leg.CLEAR_OF_RUNWAY:
            self._end("full stop")
        elif aircraft.circuits and aircraft.approach >= len(aircraft.circuits):
            self._end("the last approach is flown")

    # -- the trainee ----------------------------------------------------------------------------

    def _calls_fall_due(self) -> None:
        self._trainee_windows()
        super()._calls_fall_due()

    def _trainee_windows(self) -> None:
        """Say when a call has fallen due, and what its absence leads to when its place is past."""
        since = self.trainee.flight.leg_since
        for window in self.trainee.open_windows():
            if window.call == "entry_point" and not self.trainee.contact:
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
        self._events.append(CallMissed(self.now, call, CONSEQUENCES[call]))
        if call in ("gear_report", "final"):
            asked = Asked(call, self.plan.callsign, self.trainee.intention)
            self._desk.ask(self.trainee, "check_wheels_down", asked)

    def _unanswered(self, aircraft: Aircraft, what: str) -> None:
        if aircraft is self.trainee:
            self._scores.append(0)
        super()._unanswered(aircraft, what)
