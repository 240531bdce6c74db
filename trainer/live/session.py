"""A session against the clock on the wall: driven by `tick`, by what the ears hear and by typed lines.

Every event is in the logbook before it is returned, and so before any screen has it.
"""

from collections import deque

from drills.drill import Pace
from phraseology.heard import Heard
from phraseology.wordgraph import WordAutomaton
from trainer.ears.listener import as_block
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.live.book import FlightBook
from trainer.live.hearing import (
    EarsEvent,
    EarsLost,
    Hearing,
    MicrophoneTrouble,
    PartialWords,
    TraineeKeyed,
    TraineeSaid,
)
from trainer.live.pace import speed
from trainer.live.sounds import FrequencySound
from trainer.session.events import CallMissed, Event, OtherSpoke, SessionEnded, TowerSpoke, TraineeSpoke
from trainer.session.frequency import TOWER
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

LONGEST_TICK_S = 1.0
"""A longer wait (a voice that hangs, a sleeping laptop) is not caught up with."""
PART_S = 0.1
"""Within a tick the pace is looked at anew after so long."""
DEAF_AFTER_S = 0.2
"""The microphone stays shut so long after a transmission, for the echo of the room."""


class LiveSession:
    """Used by one thread, but for `situation` and `muted`, which the microphone's thread reads.

    `microphone` is the sentence that says why there is none, None where `hearing` is attached.
    """

    def __init__(
        self,
        plan: SessionPlan,
        pace: Pace,
        sounds: FrequencySound,
        book: FlightBook,
        notices: deque[str],
        no_microphone: str | None = None,
    ) -> None:
        self.plan = plan
        self.pace: Pace = pace
        self.session = Session(plan, sounds.seconds)
        self.sounds = sounds
        self.book = book
        self.notices = notices
        self.no_microphone = no_microphone
        self.hearing: Hearing | None = None
        self.calls: list[TraineeSpoke | CallMissed] = []
        self.partial = ""
        self.paused = False
        self.typing = False
        self.key_down = False
        self.keyed = False
        self.thinking = False
        self.muted = False
        self._deaf_s = 0.0
        self._waiting: Heard | None = None
        self._let_pass: str | None = None
        self._situation_of: object = None
        self.situation: WordAutomaton = self.session.situation()

    # -- time -----------------------------------------------------------------------------------

    @property
    def speed(self) -> float:
        """Session seconds a wall second, now."""
        if self.paused or self.session.ended:
            return 0.0
        prompt = self.session.prompt
        awaited = prompt is not None and prompt.name != self._let_pass
        return speed(self.pace, awaited=awaited, on_air=self.session.on_air, typing=self.typing)

    def tick(self, wall_seconds: float) -> list[Event]:
        """So much has passed on the wall; what happened in the session, already kept and played."""
        left = min(wall_seconds, LONGEST_TICK_S)
        events: list[Event] = []
        while left > 0 and self.session.ended is None:
            part = min(left, PART_S)
            left -= part
            events += self._took_place(self.session.advance(self.session.now + part * self.speed))
            events += self._say_what_waits()
            self._listen(part)
        return events

    def _listen(self, passed_s: float) -> None:
        """Shut or open the microphone, and keep what it should listen for."""
        self._deaf_s = DEAF_AFTER_S if self.sounds.speaking else max(0.0, self._deaf_s - passed_s)
        self.muted = self.paused or self._deaf_s > 0
        if self.session.prompt is None:
            self._let_pass = None
        situation_of = (self.session.expected_now(), self.session.trainee.context)
        if situation_of != self._situation_of:
            self._situation_of = situation_of
            self.situation = self.session.situation()

    # -- the trainee ----------------------------------------------------------------------------

    def press(self) -> None:
        """The talk key goes down. It opens the microphone even while somebody speaks."""
        if self.hearing is None:
            self.notices.append(f"No microphone: {self.no_microphone or 'type the call'}")
        elif not self.key_down:
            self.key_down = True
            self.hearing.press()

    def release(self) -> None:
        if self.hearing is not None and self.key_down:
            self.key_down = False
            self.thinking = self.keyed
            self.hearing.release()

    def hear(self, event: EarsEvent) -> list[Event]:
        """Take what the microphone's thread has sent."""
        match event:
            case TraineeKeyed():
                # What the detector opened in the moment in which somebody else began is let go.
                if (self.key_down or not self.muted) and self.session.ended is None:
                    self.keyed = True
                    self.session.trainee_keys()
            case PartialWords(words):
                self.partial = words
            case TraineeSaid(heard, samples) if self.keyed:
                self.book.record(samples, max(0.0, self.session.now - len(samples) / SAMPLE_RATE))
                return self._said(heard)
            case TraineeSaid():
                self.thinking, self.partial = False, ""
            case MicrophoneTrouble(sentences):
                self.notices.extend(sentences)
            case EarsLost(reason):
                self.no_microphone, self.hearing = reason, None
                self.notices.append(f"{reason} Type the calls.")
                if self.keyed:
                    return self._said(Heard())
        return []

    def typed(self, text: str) -> list[Event]:
        """A line was typed: said now, or as soon as the air is free."""
        heard = Heard.typed(text)
        self.typing = False
        if not heard.words:
            return []
        self._waiting = heard
        return self._say_what_waits()

    @property
    def waits_for_the_air(self) -> bool:
        """A typed call is still to go out."""
        return self._waiting is not None

    def _say_what_waits(self) -> list[Event]:
        if self._waiting is None or self.session.on_air or self.session.ended:
            return []
        heard, self._waiting = self._waiting, None
        return self._said(heard)

    def _said(self, heard: Heard) -> list[Event]:
        self.keyed = self.thinking = False
        self.partial = ""
        return self._took_place(self.session.trainee_said(heard)) if self.session.ended is None else []

    def let_pass(self) -> None:
        """Let time go on although a call is due, at the patient pace."""
        prompt = self.session.prompt
        self._let_pass = prompt.name if prompt else None

    # -- the end --------------------------------------------------------------------------------

    def leave(self) -> list[Event]:
        """End the session in order, if it has not ended."""
        return self._took_place(self.session.end("the trainee left"))

    def close(self) -> None:
        """Leave, and let go of microphone, player and recording."""
        self.leave()
        if self.hearing is not None:
            self.hearing.stop()
        self.sounds.close()
        self.book.close()

    def _took_place(self, events: list[Event]) -> list[Event]:
        for event in events:
            self.book.write(event)
            match event:
                case TowerSpoke(at=at, words=words):
                    self._sounds(TOWER, words, at)
                case OtherSpoke(at=at, aircraft=aircraft, words=words):
                    self._sounds(aircraft, words, at)
                case TraineeSpoke() | CallMissed():
                    self.calls.append(event)
                case SessionEnded():
                    self.muted = True
                case _:
                    pass
        return events

    def _sounds(self, station: str, words: str, at: float) -> None:
        sound = self.sounds.play(station, words)
        if sound is not None:
            self.muted = True
            self.book.record(as_block(sound.samples), at)
