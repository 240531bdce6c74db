"""The demo: a synthetic trainee flies a whole drill through the real path, without sound card or keys.

Every call is synthesized in a voice that no station has, mixed with noise, bracketed by the
end-of-speech detector, decoded by the recogniser, judged, answered by the tower and spoken. The
only thing that is told is what the trainee intends to say; what is heard is heard.
"""

import random
import sys
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from drills.check import load_drill, load_field
from phraseology.elements import Kind
from phraseology.expected import Expected
from phraseology.render import say
from trainer.compose import open_ears, open_logbook, open_speaker
from trainer.debrief.account import print_events
from trainer.drawing.charting import chart_of, track_point
from trainer.ears.listener import HeardCall, KeyedOn, Listener, as_block
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.live.book import TRACK_EVERY_S
from trainer.logbook.locations import data_folder, private_folder
from trainer.logbook.recording import SessionRecording
from trainer.logbook.store import Clip, Logbook
from trainer.radio_room import RadioRoom
from trainer.session.events import Event, NotUnderstood, OtherSpoke, TowerSpoke, TraineeSpoke
from trainer.session.frequency import TOWER
from trainer.session.plan import SessionPlan
from trainer.session.session import Session
from voices.mixing import Noise, active_level, noise, resample, with_noise
from voices.sound import Sound, Speaker, Voice

DRILL = "first_flight"
TRAINEE_VOICES = ("en-us+m2", "en-us+f4", "en-us+m8", "en-us+f5")
"""Of espeak's, none that the cast gives to a station."""
BLOCK = 512
"""Samples fed at a time: 32 ms, what a microphone callback gives."""
SNR_DB = 25.0
"""A headset in a quiet room."""
STATIC_AT_S, STATIC_S, STATIC_DB = 0.25, 1.4, 12.0
"""A crash of static in the unclear call, from the first syllable on: the figures drown in it."""
LEAD_S, TAIL_S, GAP_S = 0.4, 1.2, 0.5

Taped = tuple[float, float]
"""Where something lies on the tape, and how long it is, seconds."""
WRONG_AFTER = "answer_to_closed_denied_breakout"
UNCLEAR_CALL = ("gear_report", 2)


@dataclass(frozen=True)
class Utterance:
    """What the synthetic trainee says at a prompt: `purpose` is "", "wrong" or "unclear"."""

    words: str
    purpose: str = ""


class SyntheticTrainee:
    """Says the model call at every prompt; one read-back names another point, one call drowns in static."""

    def __init__(self, speaker: Speaker, plan: SessionPlan, seed: int) -> None:
        self._speaker = speaker
        self._voice = Voice(random.Random(seed).choice(TRAINEE_VOICES), 155)
        self._noise = np.random.default_rng(seed)
        self._times: Counter[str] = Counter()
        self._plan = plan

    def at(self, prompt: Expected) -> Utterance:
        """What he says to this prompt, the first and any further time."""
        self._times[prompt.name] += 1
        if prompt.name == WRONG_AFTER and self._times[prompt.name] == 1:
            return Utterance(self._with_another_point(prompt), "wrong")
        if (prompt.name, self._times[prompt.name]) == UNCLEAR_CALL:
            return Utterance(prompt.model_call, "unclear")
        return Utterance(prompt.model_call)

    def _with_another_point(self, prompt: Expected) -> str:
        right = next(slot.say for slot in prompt.slots if slot.kind is Kind.REPORT)
        other = next(point for point in sorted(self._plan.field.points) if point != right)
        standard = prompt.context.standard
        return prompt.model_call.replace(
            say(Kind.REPORT, right or "", standard), say(Kind.REPORT, other, standard)
        )

    def sound(self, utterance: Utterance) -> Sound:
        """The utterance as the microphone gets it: noise before, under and after the words."""
        spoken = resample(self._speaker.speak(utterance.words, self._voice), SAMPLE_RATE)
        silence = [np.zeros(round(seconds * SAMPLE_RATE), np.float32) for seconds in (LEAD_S, TAIL_S)]
        framed = Sound(np.concatenate([silence[0], spoken.samples * 0.5, silence[1]]), SAMPLE_RATE)
        heard = with_noise(framed, SNR_DB, self._noise, Noise.COCKPIT)
        if utterance.purpose == "unclear":
            start, count = round((LEAD_S + STATIC_AT_S) * SAMPLE_RATE), round(STATIC_S * SAMPLE_RATE)
            level = active_level(framed) * 10 ** (STATIC_DB / 20)
            static = level * noise(Noise.WHITE, count, SAMPLE_RATE, self._noise)
            heard.samples[start : start + count] += static
        return heard


class DemoFlight:
    """One run: drives the session from event to event, feeds the ears, keeps tape and logbook."""

    def __init__(
        self,
        session: Session,
        trainee: SyntheticTrainee,
        listener: Listener,
        room: RadioRoom,
        tape: SessionRecording,
        logbook: Logbook,
        log_id: int,
    ) -> None:
        self.session = session
        self._trainee = trainee
        self._listener = listener
        self._room = room
        self._tape = tape
        self._logbook = logbook
        self._log_id = log_id
        self.outcomes: dict[str, str] = {}
        self._purpose = ""
        self._spoken: Taped | None = None
        self._track_due_at = 0.0

    def fly(self) -> None:
        """Until the session ends."""
        while self.session.ended is None:
            self._took_place(self.session.advance(self.session.now + 0.25))
            prompt = self.session.prompt
            if prompt is not None and not self.session.on_air and self.session.ended is None:
                self._speak(self._trainee.at(prompt))

    def _speak(self, utterance: Utterance) -> None:
        self._purpose = utterance.purpose
        samples = as_block(self._trainee.sound(utterance).samples)
        self._spoken = self._taped(samples)
        for start in range(0, len(samples) - BLOCK + 1, BLOCK):
            self._hear(samples[start : start + BLOCK])
        quiet = samples[: round(LEAD_S * SAMPLE_RATE) // BLOCK * BLOCK]
        while self._listener.speaking:  # the microphone goes on: so does the noise of its room
            for start in range(0, len(quiet), BLOCK):
                self._hear(quiet[start : start + BLOCK])

    def _hear(self, block: Block) -> None:
        for event in self._listener.feed(block):
            match event:
                case KeyedOn():
                    self.session.trainee_keys()
                case HeardCall(heard):
                    if self._spoken is not None:
                        self._clip(self.session.plan.callsign, self.session.now, self._spoken)
                    self._took_place(self.session.trainee_said(heard))
        self._took_place(self.session.advance(self.session.now + BLOCK / SAMPLE_RATE))

    def _took_place(self, events: list[Event]) -> None:
        for event in events:
            self._logbook.write(self._log_id, event.as_json())
            self._note_outcome(event)
            if isinstance(event, TowerSpoke | OtherSpoke):
                station = TOWER if isinstance(event, TowerSpoke) else event.aircraft
                sound = self._room.sound(station, event.words)
                taped = self._taped(as_block(sound.samples))
                if taped is not None:
                    self._clip(station, event.at, taped)
        if self.session.now >= self._track_due_at:
            self._track_due_at = self.session.now + TRACK_EVERY_S
            self._logbook.flown(self._log_id, track_point(self.session.trainee.flight, self.session.now))
        print_events(events, self.session.plan.callsign, sys.stdout)

    def _taped(self, samples: Block) -> Taped | None:
        """One behind the other, whenever it was said; where it lies, None once the tape takes no more."""
        start = self._tape.append(samples, self._tape.seconds + GAP_S)
        return None if start is None else (start, len(samples) / SAMPLE_RATE)

    def _clip(self, station: str, at: float, taped: Taped) -> None:
        self._logbook.recorded(self._log_id, Clip(at, station, *taped))

    def _note_outcome(self, event: Event) -> None:
        """What became of the two calls that were made badly on purpose."""
        if isinstance(event, TraineeSpoke | NotUnderstood) and self._purpose == "wrong":
            caught = isinstance(event, TraineeSpoke) and not event.assessment.accepted
            self.outcomes["wrong"] = "caught" if caught else "not caught"
            self._purpose = ""
        if isinstance(event, TowerSpoke) and self._purpose == "unclear":
            self.outcomes["unclear"] = (
                "say again" if event.reply == "say_again" else f"answered with {event.words}"
            )
            self._purpose = ""


def run_demo(seed: int = 1, out: Path | None = None, model: Path | None = None) -> int:
    """Fly the demo and print its account. Exit status 0 if both bad calls were dealt with, else 1."""
    drill = load_drill(DRILL)
    plan = SessionPlan.of_drill(drill, load_field(drill.field))
    started = datetime.now(UTC)
    folder = private_folder(out or data_folder() / "recordings")
    path = folder / f"demo-{started:%Y%m%d-%H%M%S-%f}.wav"
    ears = open_ears(model)
    with open_speaker() as speaker, open_logbook() as logbook:
        if logbook.notice:
            print(logbook.notice, file=sys.stderr)
        room = RadioRoom(speaker, plan.stations, seed)
        session = Session(plan, room.seconds)
        meta = {
            "demo": plan.title, "field": plan.field.field, "runway": plan.runway, "callsign": plan.callsign,
            "pace": "real", "seed": seed, "chart": chart_of(plan.pattern),
        }  # fmt: skip
        log_id = logbook.start_session(meta, started.isoformat(timespec="seconds"))
        print(
            f"{plan.title}: {plan.callsign}, {plan.field.field}, runway {plan.runway}."
            " A training aid, not for use in flight."
        )
        tape = SessionRecording(path, SAMPLE_RATE)
        logbook.recording_is(log_id, path)
        flight = DemoFlight(
            session,
            SyntheticTrainee(speaker, plan, seed),
            Listener(ears, session.situation),
            room,
            tape,
            logbook,
            log_id,
        )
        try:
            flight.fly()
        finally:
            tape.close()
        assert session.ended is not None
        logbook.finish(log_id, session.ended.as_json(), path)
        print(
            f"\nscore      {session.ended.score:.0f} of 100,"
            f" {session.ended.accepted} of {session.ended.calls} calls accepted"
        )
        print(f"wrong      the call that was wrong on purpose: {flight.outcomes.get('wrong', 'never made')}")
        print(f"unclear    the call that was unclear: {flight.outcomes.get('unclear', 'never made')}")
        print(f"recording  {path}\nlogbook    {logbook.path}, session {log_id}")
    return 0 if flight.outcomes == {"wrong": "caught", "unclear": "say again"} else 1
