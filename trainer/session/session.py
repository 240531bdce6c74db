"""The session: an airspace with the trainee in it, who is heard, prompted, judged and scored.

Deterministic: the same plan, the same speech durations and the same things heard at the same
seconds give the same events.
"""

import math
import random
from collections.abc import Callable, Iterable
from dataclasses import replace

from drills.steps import Happening, TowerStep
from phraseology.commands import Command
from phraseology.expected import Expected
from phraseology.heard import Heard, HeardBy
from phraseology.replies import message, say_message
from phraseology.situation import situation
from phraseology.standards import standard
from phraseology.wordgraph import WordAutomaton
from trainer.pattern.flight import Flight
from trainer.pattern.leg import Leg
from trainer.session.aircraft import Aircraft
from trainer.session.airspace import STEP_S, Airspace
from trainer.session.dialogue import Spoken, due_calls, possible_calls, understand
from trainer.session.difficulty import Adapting, ingredients
from trainer.session.drilling import LIGHT_S, Drilling
from trainer.session.events import (
    CONSEQUENCES,
    Blocked,
    CallDue,
    CallMissed,
    DifficultyChanged,
    Event,
    NotUnderstood,
    SessionEnded,
    TraineeSpoke,
)
from trainer.session.frequency import TOWER, Transmission
from trainer.session.grading import Grading
from trainer.session.likely import likely_replies
from trainer.session.plan import SessionPlan
from trainer.tower.conduct import Conduct
from trainer.tower.picture import Asked

FULL_STOP, LAST_APPROACH = "full stop", "the last approach is flown"
_IN_ORDER = (FULL_STOP, LAST_APPROACH)
"""How a session ends that was flown to its end."""


class Session(Airspace):
    """`speech_seconds(station, words)` tells how long a transmission takes; "tower" is a station."""

    def __init__(self, plan: SessionPlan, speech_seconds: Callable[[str, str], float]) -> None:
        super().__init__(plan, speech_seconds)
        self.ended: SessionEnded | None = None
        self._scores: list[int] = []
        self._accepted = 0
        self._standard = standard(plan.field.standard)
        self._stepped_on: str | None = None
        self._keyed_at = 0.0
        self._announced: set[tuple[float, str]] = set()
        self._still_due: set[tuple[float, str]] = set()
        self._adapting = Adapting(plan.difficulty) if plan.difficulty is not None else None
        self._denials = random.Random(plan.seed * 7919 + 3)
        self._set_level()
        self._arrivals.keep_free_for = plan.callsign
        inbound = Flight(self._pattern, plan.profile, start=Leg.INBOUND, at=0.0, via=plan.entry_point)
        self.trainee = self._arrive(plan.callsign, inbound, plan.circuits)
        self.trainee.altitude_ft = plan.check_in_altitude_ft
        self.trainee.atis = plan.atis
        self.aircraft[plan.callsign] = self.trainee
        self._drilling = Drilling(plan, self.trainee, self._desk, self.aircraft)
        self._grading = Grading(plan.marks)
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
        for window in self.trainee.due_windows():
            if window.due_at_s <= self.now:
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

    def part_aircraft(self, *, parted: bool) -> None:
        """Whether the tower parts of itself those who will come too close; it does, unless told not to."""
        self._desk.parts_aircraft = parted

    @property
    def forced_replies(self) -> tuple[tuple[float, TowerStep], ...]:
        """The drill's forced replies that have come up, and when."""
        return self._desk.forced_replies

    @property
    def conduct(self) -> Conduct:
        """How each call has been so far."""
        return self._desk.conduct

    @property
    def happened(self) -> tuple[tuple[float, Happening], ...]:
        """The drill's events that have come up, and when."""
        return tuple(self._drilling.happenings.came_up)

    def expected_now(self) -> list[Expected]:
        """What may rightly be said now, what is owed first."""
        owed = [self.trainee.owed.expected] if self.trainee.owed else []
        courtesy = self._courtesy()
        return [*owed, *due_calls(self.trainee), *([courtesy] if courtesy else [])]

    def _courtesy(self) -> Expected | None:
        """The answer to the tower's last words that is right and not due, for as long as it would be one."""
        if self.trainee.courtesy is None or self.trainee.owed is not None:
            return None
        expected, until = self.trainee.courtesy
        return expected if self.now <= until else None

    def situation(self, commands: Iterable[Command] = ()) -> WordAutomaton:
        """What the recogniser should listen for now; the `commands` are not for the frequency."""
        likely = self.expected_now()
        return situation(likely, possible_calls(self.trainee, likely), commands)

    def waiting_words(self) -> list[tuple[str, str]]:
        """Station and words of all that waits for the air."""
        return self._frequency.waiting_words()

    def likely_words(self) -> list[tuple[str, str]]:
        """Station and words of the tower's replies to what the trainee may say now, the likeliest first."""
        replies = likely_replies(self.trainee, self._desk.would_say)
        return [(TOWER, say_message(msg, self._standard)) for msg in replies]

    def distance_nm(self, station: str) -> float:
        """From the trainee to the aircraft of this callsign, or to the tower in the middle of the runway."""
        own = self.trainee.flight.position(self.now)
        if station in self.aircraft:
            there = self.aircraft[station].flight.position(self.now)
            return math.hypot(own.x_nm - there.x_nm, own.y_nm - there.y_nm)
        return math.hypot(own.x_nm - self._pattern.length_nm / 2.0, own.y_nm)

    def advance(self, to: float) -> list[Event]:
        """Let time go on to session second `to`; what happened, in order."""
        while self.now < to and self.ended is None:
            self._step(min(self.now + STEP_S, to))
        return self._take_events()

    def trainee_keys(self) -> None:
        """The trainee begins to speak: nobody else starts."""
        self._keyed_at = self.now
        self._stepped_on = self._frequency.trainee_keys(self.plan.callsign)

    def heard_out(self) -> None:
        """Who is on the air has been heard to the end, sooner than this clock has it."""
        self._frequency.heard_out(self.now)
        over = self._frequency.ended(self.now)
        if over is not None:
            self._transmitted(over)

    def make_way(self) -> bool:
        """Who began in the same moment as the trainee lets him speak, and says it after him. False: nobody
        does, or he has done so before."""
        over = self._frequency.give_way(self.now)
        if over is None:
            return False
        self._events.append(Blocked(self.now, over.station))
        owed = self.trainee.owed
        if owed is None or over.message != owed.message:  # else it was only to ask for what he says now
            self._frequency.offer(replace(over, ready_at=self.now, gave_way=True))
        return True

    def trainee_withdraws(self) -> None:
        """What he keyed for was not said on the frequency."""
        self._frequency.trainee_released(self.now, spoken=False)
        self._stepped_on = None

    def trainee_said(self, heard: Heard, silent_s: float = 0.0) -> list[Event]:
        """The trainee has spoken, and has been silent for so many seconds. What follows comes with the next
        `advance`. What he said while another spoke is judged, but the tower has understood neither."""
        self._frequency.trainee_released(self.now - silent_s, spoken=heard.by is not HeardBy.TYPED)
        if not heard.words:
            stepped_on, self._stepped_on = self._stepped_on, None
            self._events.append(NotUnderstood(self.now))
            if stepped_on is None and (self.trainee.owed or self.prompt):
                self._desk.says(message("say_again", "", {}), ("nothing of the trade was heard",))
            return self._take_events()
        due = due_calls(self.trainee)
        possible = possible_calls(self.trainee, due)
        stepped_on, self._stepped_on = self._stepped_on, None
        late_s = self._drilling.late(self._keyed_at)
        courtesy = self._courtesy()
        spoken = understand(heard, self.trainee.owed, due, possible, stepped_on, late_s, courtesy)
        self.trainee.courtesy = None
        taken = self._drilling.taken_from_another(heard, spoken, due, self.now)
        judged = taken or spoken.assessment
        self._events.append(TraineeSpoke(self.now, heard, judged, self._answered_in(spoken)))
        self._scores.append(judged.score)
        self._accepted += judged.accepted
        self._grading.add(judged)
        if not judged.unsure:
            self._desk.conduct.keep(judged.call, "right" if judged.accepted else "wrong")
        if self._adapting is not None:
            self._adapted(self._adapting.after(judged))
        if taken is not None:
            self._desk.says(message("stand_by", self.plan.callsign, {}), ("that was for another aircraft",))
        elif stepped_on is None and spoken.expected is not courtesy:
            (self._desk.answered if spoken.is_answer else self._desk.called)(self.trainee, spoken)
        return self._take_events()

    def _answered_in(self, spoken: Spoken) -> float | None:
        """Seconds from when this was due to the key."""
        if spoken.is_answer and self.trainee.owed is not None:
            return max(0.0, self._keyed_at - self.trainee.owed.since)
        due = [each.due_at_s for each in self.trainee.open_windows() if each.call == spoken.expected.name]
        return max(0.0, self._keyed_at - due[0]) if due and due[0] <= self.now else None

    def end(self, reason: str) -> list[Event]:
        """End the session now, for a reason that a person reads."""
        self._end(reason)
        return self._take_events()

    def _end(self, reason: str) -> None:
        if self.ended is None:
            score = round(self.mean_score, 1)
            passed, verdict = self._grading.verdict(score, in_order=reason in _IN_ORDER)
            self.ended = SessionEnded(
                self.now, reason, score, len(self._scores), self._accepted, passed, verdict
            )
            self._events.append(self.ended)

    # -- time -----------------------------------------------------------------------------------

    def _step(self, to: float) -> None:
        super()._step(to)
        if self.now >= self.plan.time_limit_s:
            self._end("the time is up")

    def _has_flown(self, aircraft: Aircraft) -> None:
        if aircraft is self.trainee and aircraft.flight.leg is Leg.FINAL:
            self._draw_through_traffic()
        if aircraft is self.trainee:
            self._drilling.enters_leg(self.now)
        if aircraft is not self.trainee:
            super()._has_flown(aircraft)
        elif aircraft.flight.leg is Leg.CLEAR_OF_RUNWAY:
            self._end(FULL_STOP)
        elif aircraft.circuits and aircraft.approach >= len(aircraft.circuits):
            self._end(LAST_APPROACH)

    # -- how hard it is -------------------------------------------------------------------------

    @property
    def level(self) -> float | None:
        """The difficulty now, 0 to 100; None where a drill says what comes."""
        return self._adapting.level if self._adapting else None

    def _set_level(self) -> None:
        if self._adapting is not None:
            found = ingredients(self._adapting.level)
            self._traps.rate = found.traps
            self._desk.items = round(found.items)
            self._arrivals.level = self._adapting.level

    def _adapted(self, why: str | None) -> None:
        if self._adapting is not None and why is not None:
            self._set_level()
            self._events.append(DifficultyChanged(self.now, self._adapting.level, why))

    def _draw_through_traffic(self) -> None:
        """So that closed is denied for a reason: somebody comes onto initial while the trainee lands."""
        if self._adapting is not None and self._denials.random() < ingredients(self._adapting.level).denied:
            self._arrivals.bring_through(self.now)

    # -- the trainee ----------------------------------------------------------------------------

    def _score_missed(self, call: str) -> None:
        self._scores.append(0)
        self._desk.conduct.keep(call, "missed")
        if self._adapting is not None:
            self._adapted(self._adapting.after_missed(call))

    def _calls_fall_due(self) -> None:
        self._events += self._drilling.let_happen(self.now)
        self._trainee_windows()
        super()._calls_fall_due()

    def _trainee_windows(self) -> None:
        """Say when a call has fallen due, and what its absence leads to when its place is past."""
        since = self.trainee.flight.leg_since
        open_now = self.trainee.due_windows()
        self._frequency.trainee_is_due(self.now, due=any(each.due_at_s <= self.now for each in open_now))
        for window in open_now:
            key = (since, window.call)
            if window.due_at_s <= self.now and key not in self._announced:
                self._announced.add(key)
                expected = self.trainee.expect(window.call)
                self._events.append(CallDue(self.now, window.call, expected.model_call))
            late = window.closes_at_s <= self.now and not self._frequency.trainee_keyed
            if late and key not in self._still_due:
                self._missed(window.call)

    def _missed(self, call: str) -> None:
        if call == "entry_point":  # he holds there: it can be made as long as he does
            self._still_due.add((self.trainee.flight.leg_since, call))
        else:
            self.trainee.has_made(call)
        is_free_choice = call == "request_closed" and not self.plan.circuits
        if is_free_choice:
            return
        self._score_missed(call)
        self._events.append(CallMissed(self.now, call, CONSEQUENCES.get(call, "the drill asked for it")))
        if call in ("gear_report", "final"):
            asked = Asked(call, self.plan.callsign, self.trainee.intention)
            self._desk.ask(self.trainee, "check_wheels_down", asked)

    def _transmit(self, transmission: Transmission) -> None:
        lights = self._drilling.light_instead(transmission, self.now)
        if lights is None:
            super()._transmit(transmission)
            return
        self._events += lights
        seconds = LIGHT_S if lights else self._speech_seconds(transmission.station, transmission.words)
        self._frequency.lasts(self.now, seconds)

    def _transmitted(self, over: Transmission) -> None:
        super()._transmitted(over)
        self._drilling.after(over, self.now)

    def _unanswered(self, aircraft: Aircraft, what: str) -> None:
        if aircraft is self.trainee:
            self._score_missed(what)
        super()._unanswered(aircraft, what)
