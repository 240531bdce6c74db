"""A session against the clock on the wall: driven by `tick`, by what the ears hear and by typed lines.

Every event is in the logbook before it is returned, and so before any screen has it.
"""

import math
from collections import deque

from drills.drill import Pace
from phraseology.commands import Command, command_of, is_sure, only_commands
from phraseology.heard import Heard, HeardBy
from phraseology.wordgraph import WordAutomaton
from trainer.drawing.charting import track_point
from trainer.ears.listener import as_block
from trainer.ears.recogniser import SAMPLE_RATE
from trainer.live.book import FlightBook
from trainer.live.commanding import open_commands
from trainer.live.hearing import (
    BACK,
    EarsEvent,
    EarsLost,
    Hearing,
    MicrophoneBack,
    MicrophoneGone,
    MicrophoneTrouble,
    PartialWords,
    TraineeKeyed,
    TraineeSaid,
)
from trainer.live.own_calls import OwnCalls
from trainer.live.pace import speed
from trainer.live.sounds import FrequencySound
from trainer.session.difficulty import ingredients
from trainer.session.events import (
    CallDue,
    CallMissed,
    Event,
    OtherSpoke,
    SessionEnded,
    TowerSpoke,
    TraineeSpoke,
)
from trainer.session.frequency import TOWER
from trainer.session.plan import SessionPlan
from trainer.session.session import Session

LONGEST_TICK_S = 1.0
"""A longer wait (a voice that hangs, a sleeping laptop) is not caught up with."""
PART_S = 0.1
"""Within a tick the pace is looked at anew after so long."""
DEAF_AFTER_S = 0.2
"""The microphone stays shut so long after a transmission, for the echo of the room."""
TOGETHER_S = 0.3
"""Who keys within so long after another was first heard began in the same moment: what a person needs to hear
it and to stop (our own choice)."""


class LiveSession:
    """Used by one thread, but for `situation` and `muted`, which the microphone's thread reads.

    `microphone` is the sentence that says why there is none, None where `hearing` is attached. With
    `headphones` the microphone stays open while others speak: who speaks then has stepped on them.
    """

    def __init__(
        self,
        plan: SessionPlan,
        pace: Pace,
        sounds: FrequencySound,
        book: FlightBook,
        notices: deque[str],
        no_microphone: str | None = None,
        headphones: bool = False,
    ) -> None:
        self.plan = plan
        self.pace: Pace = pace
        self.session = Session(plan, sounds.seconds)
        self.sounds = sounds
        sounds.measured_by(self.session.distance_nm)
        self._headphones = headphones
        self._set_tower_pace()
        self.book = book
        self.notices = notices
        self.no_microphone = no_microphone
        self.hearing: Hearing | None = None
        self._away: Hearing | None = None
        self.calls: list[TraineeSpoke | CallMissed] = []
        self.voice_of = OwnCalls()
        """The sound of a call, by its place in `calls`, where it was spoken."""
        self.model_of: dict[int, str] = {}
        """The words of a call that was missed, by its place in `calls`."""
        self._due: dict[str, str] = {}
        self.blocked = False
        """What is on the air, or was last, was blocked."""
        self.partial = ""
        self.paused = False
        self.typing = False
        self.key_down = False
        self.keyed = False
        self.thinking = False
        self.muted = False
        self._deaf_s = 0.0
        self._aired_s = math.inf
        """How long ago the last transmission of another began."""
        self._made_way = False
        """For what the trainee says now, or said last, another has let go of his key."""
        self._leads = True
        """What is played is heard only after `sounds.lead_s`."""
        self._sounds_on = False
        """Of what was last on the air something is still to be heard, as far as is known."""
        self._waiting: Heard | None = None
        self._let_pass: str | None = None
        self._situation_of: object = None
        self._commands: tuple[Command, ...] = ()
        self._to_me = ""
        self._likely: list[tuple[str, str]] = []
        self._ahead: list[tuple[str, str]] = []
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
            self._keep_track()
            self._follow_the_sound()
            events += self._say_what_waits()
            self._listen(part)
        return events

    def _keep_track(self) -> None:
        if self.book.wants_track(self.session.now):
            self.book.flown(track_point(self.session.trainee.flight, self.session.now))

    @property
    def _lead_s(self) -> float:
        return self.sounds.lead_s if self._leads else 0.0

    def _follow_the_sound(self) -> None:
        """What is over for the ear is over: on a busy machine the session's clock falls behind."""
        if self._sounds_on and self.sounds.speaking is None:
            self._sounds_on = False
            self.session.heard_out()

    def _listen(self, passed_s: float) -> None:
        """Shut or open the microphone, and keep what it should listen for.

        It is shut just before the other is heard: until then whoever begins is the trainee.
        """
        deaf = self.sounds.speaking is not None and not self._headphones
        self._deaf_s = DEAF_AFTER_S if deaf else max(0.0, self._deaf_s - passed_s)
        self._aired_s += passed_s
        self.muted = self._deaf_s > 0 and (self.muted or self._aired_s + PART_S > self._lead_s)
        if self.session.prompt is None:
            self._let_pass = None
        commands = open_commands(self.session, paused=self.paused)
        situation_of = (self.paused, commands, self.session.expected_now(), self.session.trainee.context)
        if situation_of != self._situation_of:
            self._situation_of = situation_of
            self.situation = only_commands(commands) if self.paused else self.session.situation(commands)
            self._likely = self.session.likely_words()
        self._get_voices_ready()

    def _get_voices_ready(self) -> None:
        """Have made what waits for the air, and what may be replied to the trainee."""
        ahead = [*self.session.waiting_words(), *self._likely]
        if ahead != self._ahead:
            self._ahead = ahead
            self.sounds.ahead(ahead)

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
            case TraineeKeyed() if self.session.ended is None:
                self._follow_the_sound()
                if self._may_speak():
                    self._keys()
                elif self.hearing is not None:
                    self.hearing.let_go()
            case PartialWords(words):
                self.partial = words
            case TraineeSaid(heard, samples, silent_s) if self.keyed:
                if (commanded := self._commanded(heard, self._commands)) is not None:
                    return commanded
                now = self.session.now
                self.book.record(samples, max(0.0, now - len(samples) / SAMPLE_RATE), self.plan.callsign, now)
                if self._made_way and not heard.words:
                    self._leads = False  # it was the loudspeaker, sooner than it is said to be
                number = len(self.calls)
                events = self._said(heard, silent_s)
                if len(self.calls) > number:
                    self.voice_of.keep(number, samples)
                return events
            case TraineeSaid():
                self.thinking, self.partial = False, ""
            case MicrophoneTrouble(sentences):
                self.notices.extend(sentences)
            case MicrophoneGone(reason):
                self._away = self.hearing
                return self._deaf(reason, f"{reason}. Type the calls; it is heard again when it is back.")
            case MicrophoneBack():
                self.no_microphone, self.hearing, self._away = None, self._away, None
                self.notices.append(BACK)
            case EarsLost(reason):
                return self._deaf(reason, f"{reason} Type the calls.")
        return []

    def _may_speak(self) -> bool:
        """Whether a voice that has begun is the trainee's; who began in the same moment makes way for him."""
        together = self._aired_s < self._lead_s + TOGETHER_S
        self._made_way = together and self.session.make_way()
        if self._made_way:
            self.sounds.stop()
        return self._made_way or self.key_down or self._deaf_s == 0.0

    def _keys(self) -> None:
        self.keyed = True
        self._commands = open_commands(self.session, paused=self.paused)
        if not self.paused:
            self.session.trainee_keys()
            self._set_tower_pace()
            self._likely = self.session.likely_words()
            self._get_voices_ready()

    def _deaf(self, reason: str, notice: str) -> list[Event]:
        """What was being said is not marked down: the tower asks again."""
        self.no_microphone, self.hearing, self.key_down = reason, None, False
        self.notices.append(notice)
        asks_again = self.keyed and not self.paused
        self.keyed = self.thinking = False
        self.partial = ""
        return self._said(Heard()) if asks_again else []

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
        commands = open_commands(self.session, paused=self.paused)
        if (commanded := self._commanded(heard, commands)) is not None:
            return commanded
        return self._said(heard)

    def _commanded(self, heard: Heard, allowed: tuple[Command, ...]) -> list[Event] | None:
        """Do what was said to the trainer itself; None: it was said on the frequency."""
        command = command_of(heard, allowed)
        if command is None and not (self.paused and heard.by is not HeardBy.TYPED):
            return None
        self.keyed = self.thinking = False
        self.partial = ""
        self.session.trainee_withdraws()
        if command is None:
            return []  # spoken while the clock stands: to nobody
        if not is_sure(heard):
            self.notices.append(f'Was that "{command}"? Say it again.')
            return []
        return self._obey(command)

    def _obey(self, command: Command) -> list[Event]:
        match command:
            case Command.PAUSE | Command.RESUME:
                self.paused = command is Command.PAUSE
            case Command.SAY_AGAIN:
                self.notices.append(f"{self.plan.field.tower}: {self._to_me or 'nothing said to you yet'}")
                if self._to_me:
                    self.sounds.play(TOWER, self._to_me)
            case Command.END_SESSION:
                return self._took_place(self.session.end("the trainee ended the session"))
        return []

    def _said(self, heard: Heard, silent_s: float = 0.0) -> list[Event]:
        self.keyed = self.thinking = False
        self.partial = ""
        if self.session.ended is not None:
            return []
        return self._took_place(self.session.trainee_said(heard, silent_s))

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
        for hearing in (self.hearing, self._away):
            if hearing is not None:
                hearing.stop()
        self.sounds.close()
        self.book.close()
        self.voice_of.close()

    def _took_place(self, events: list[Event]) -> list[Event]:
        for event in events:
            self.book.write(event)
            match event:
                case TowerSpoke(at=at, words=words, blocked=blocked, to=to):
                    if to == self.plan.callsign and not blocked:
                        self._to_me = words
                    self._sounds(TOWER, words, at, blocked)
                case OtherSpoke(at=at, aircraft=aircraft, words=words, blocked=blocked):
                    self._sounds(aircraft, words, at, blocked)
                case CallDue(call=call, model_call=model_call):
                    self._due[call] = model_call
                case TraineeSpoke() | CallMissed():
                    if isinstance(event, CallMissed):
                        self.model_of[len(self.calls)] = self._due.get(event.call, "")
                    self.calls.append(event)
                case SessionEnded():
                    self.muted = True
                case _:
                    pass
        return events

    def _set_tower_pace(self) -> None:
        """Only when the trainee keys: what was made ahead of the tower's voice stays good until then."""
        if self.session.level is not None:
            self.sounds.tower_speaks_at(round(ingredients(self.session.level).words_a_minute))

    def _sounds(self, station: str, words: str, at: float, is_blocked: bool) -> None:
        self.blocked = is_blocked
        sound = self.sounds.play(station, words, is_blocked=is_blocked)
        self._sounds_on = sound is not None
        if sound is not None:
            self._aired_s = 0.0
            if not self._headphones:
                self._deaf_s = DEAF_AFTER_S
                self.muted = self.muted or self._lead_s == 0.0
            self.book.record(as_block(sound.samples), at, station)
