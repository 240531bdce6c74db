"""What the tower says to one aircraft, and the answer that it then waits for: the base of `Desk`."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from phraseology.elements import Kind
from phraseology.expected import Silence
from phraseology.readback import answer_to
from phraseology.replies import Message, message, say_message
from phraseology.standards import standard
from trainer.session.aircraft import Aircraft
from trainer.session.dialogue import Spoken
from trainer.session.frequency import TOWER, Frequency, Transmission
from trainer.session.owed import Owed
from trainer.session.plan import SessionPlan
from trainer.session.second_words import SecondWords
from trainer.tower.kinds import LAST_QUESTIONS
from trainer.tower.picture import Asked, Decision

ANSWER_WITHIN_S = 8.0
"""The tower repeats itself after so long without an answer. Our own choice: twelve read-back latencies."""
REPEATS = 2
NO_ANSWER = "no answer"


class Speaking:
    """`unanswered` is told of an answer that never came: the aircraft and what was expected."""

    def __init__(
        self,
        plan: SessionPlan,
        frequency: Frequency,
        aircraft: Mapping[str, Aircraft],
        unanswered: Callable[[Aircraft, str], None],
    ) -> None:
        self._plan = plan
        self._frequency = frequency
        self._aircraft = aircraft
        self._unanswered = unanswered
        self._standard = standard(plan.field.standard)
        self._more = SecondWords(plan)
        self.now = 0.0

    def says(
        self,
        msg: Message,
        reasons: tuple[str, ...],
        after: str | None = None,
        *,
        at_once: bool = False,
        note: str = "",
        blocked: bool = False,
    ) -> None:
        words = say_message(msg, self._standard)
        ready_at = self._frequency.tower_ready(self.now)
        self._frequency.offer(
            Transmission(
                TOWER,
                words,
                ready_at,
                msg,
                reasons,
                blocked_by="" if blocked else None,
                at_once=at_once,
                after=after,
                note=note,
            )
        )

    def sent(self, aircraft: Aircraft, msg: Message) -> None:
        """The message has ended, and the aircraft has heard it: it owes its answer from now on."""
        self._more.first_is_out(aircraft.callsign)
        if aircraft.is_trainee and msg.kind == "say_again":
            return  # what is wanted is what he said before: a call that is due, or the answer that he owes
        expected = answer_to(msg, aircraft.context)
        is_free = expected.silence is Silence.ALLOWED
        aircraft.courtesy = (expected, self.now + ANSWER_WITHIN_S) if is_free else None
        if aircraft.owed and aircraft.owed.message == msg:
            was_blocked = aircraft.owed.expected.name == "say_again"
            answer = expected if was_blocked else aircraft.owed.expected
            aircraft.owed = replace(aircraft.owed, expected=answer, since=self.now)
        elif expected.silence is Silence.WRONG:
            then, aircraft.owed_right = aircraft.owed_right, None
            aircraft.owed = Owed(msg, expected, self.now, then=then)

    def ask(
        self,
        aircraft: Aircraft,
        question: str,
        asked: Asked,
        spoken: Spoken | None = None,
        because: Decision | None = None,
    ) -> None:
        """Ask the pilot back; after "say again" the whole call is expected once more. `because`: a drill's
        reasons and note."""
        knows_who = spoken is None or spoken.parsed.has(Kind.CALLSIGN, aircraft.callsign)
        msg = message(question, aircraft.callsign if knows_who else "", {})
        expected = answer_to(replace(msg, to=aircraft.callsign), aircraft.context)
        then: Asked | None = asked
        if question == "say_again" and spoken is not None:
            expected, then = spoken.expected, None
        reasons = because.reasons if because else (f"asked back: {question.replace('_', ' ')}",)
        self.says(msg, reasons, note=because.note if because else "")
        if then is not None:
            aircraft.owed = Owed(msg, expected, self.now, then=then)
        elif not aircraft.is_trainee:
            aircraft.will_say_again(expected.name)

    def _repeat(self, aircraft: Aircraft, owed: Owed, reason: str, *, corrects: bool) -> None:
        """Say the message again, twice at most; then ask for intentions, and go on without an answer."""
        if owed.repeated >= REPEATS:
            aircraft.owed = None
            self._unanswered(aircraft, owed.expected.name)
            if reason == NO_ANSWER and owed.message.kind not in LAST_QUESTIONS and owed.then is None:
                self.ask(aircraft, "how_do_you_hear", Asked("no_answer", aircraft.callsign))
            elif owed.message.kind not in LAST_QUESTIONS and owed.then is None:
                self.ask(aircraft, "say_intentions", Asked("no_answer", aircraft.callsign))
            return
        again = replace(owed.message, corrects=corrects)
        aircraft.owed = replace(
            owed, message=again, since=self.now + ANSWER_WITHIN_S, repeated=owed.repeated + 1
        )
        self.says(again, (reason,))

    def say_last_again(self, aircraft: Aircraft) -> None:
        if aircraft.owed:
            again = replace(aircraft.owed.message, corrects=False)
            self.says(again, ("the pilot asked to say again",))
            aircraft.owed = replace(aircraft.owed, message=again)
