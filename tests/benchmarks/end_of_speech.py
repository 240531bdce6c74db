"""How soon the end of a call is declared, and how often a pause inside it is taken for the end.

    python tests/benchmarks/end_of_speech.py [--trials 1000] [--seed 1] [--cuts]

Prints Markdown. Every trial is a call or read-back of the trade, as its model or with an optional element at its
end, in a synthetic voice, with a pause between two words chosen at random, over one of six noises. What
comes before the pause and after it is spoken separately and trimmed, so that from the last sound to the
first the pause is as long as is said. Times are of the stream: from the last sound to the sample at which
the end is declared. Beside it the detector alone, with one hang-over for everything. Nothing is asserted here.
"""

import argparse
import platform
import random
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from phraseology.calls import TOWER_CALLS, expect
from phraseology.elements import Severity
from phraseology.expected import Expected
from phraseology.render import say
from phraseology.situation import situation
from phraseology.wordgraph import WordAutomaton
from phraseology.words import tokens
from trainer.ears.completeness import Ending, ending
from trainer.ears.endpoint import CHUNK, HANG_OVER_S, EndOfSpeech, KeyOff
from trainer.ears.listener import HeardCall, Listener, as_block, sayable
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.vosk_ears import OwnGraphRecogniser
from trainer.judging import Question, expected_of
from voices.mixing import Noise, resample, with_noise
from voices.sound import Samples, Sound, Voice
from voices.speaker import WorkerSpeaker

PAUSE_S = 0.4
LEAD_S, TAIL_S = 0.5, 1.8
TRIM_DB = 40.0
VOICES = ("en-us+f3", "en-gb-x-rp+m1", "en-us+m7", "en-gb-scotland+f1", "en-us+klatt2", "en-029+m3")
PACES = (130, 150, 165, 185)
NOISES: tuple[tuple[str, Noise, float], ...] = (
    ("white 50 dB", Noise.WHITE, 50.0),
    ("cockpit 20 dB", Noise.COCKPIT, 20.0),
    ("pink 15 dB", Noise.PINK, 15.0),
    ("white 10 dB", Noise.WHITE, 10.0),
    ("cockpit 5 dB", Noise.COCKPIT, 5.0),
    ("pink 5 dB", Noise.PINK, 5.0),
)
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
    """One call as the microphone gives it; `last_sound` in seconds of it."""

    call: str
    words: str
    first_part: int
    noise: str
    sound: Block
    last_sound: float
    stands: Ending


@dataclass(frozen=True)
class Outcome:
    """`delay` in seconds, None where the call was cut."""

    trial: Trial
    delay: float | None
    alone: float | None
    exact: bool


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

    def trial(self, expected: Expected, heard_here: WordAutomaton) -> Trial:
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
        sound = with_noise(
            Sound(np.concatenate([speech, tail]), SAMPLE_RATE), snr_db, self._noise, kind
        ).samples
        stands = ending(heard_here, words)
        return Trial(expected.name, text, first, name, as_block(sound), len(speech) / SAMPLE_RATE, stands)


def with_the_trade(listener: Listener, trial: Trial) -> tuple[float | None, str]:
    """The delay after the last sound, None for a cut or no end; what was heard."""
    for start in range(0, len(trial.sound), CHUNK):
        for event in listener.feed(trial.sound[start : start + CHUNK]):
            if isinstance(event, HeardCall):
                delay = event.ended - trial.last_sound
                return (delay if delay > 0 else None), event.heard.text
    return None, ""


def detector_alone(trial: Trial) -> float | None:
    ends = [part.at for part in EndOfSpeech().feed(trial.sound) if isinstance(part, KeyOff)]
    return ends[0] - trial.last_sound if ends and ends[0] > trial.last_sound else None


def measure(trials: int, seed: int) -> list[Outcome]:
    ears = OwnGraphRecogniser()
    outcomes = []
    cases = list(situations())
    with WorkerSpeaker() as speaker:
        studio = Studio(speaker, seed)
        for number, (expected, automaton) in enumerate(cases):
            heard_here = sayable(automaton, ears)
            for _ in range(number * trials // len(cases), (number + 1) * trials // len(cases)):
                trial = studio.trial(expected, heard_here)
                delay, heard = with_the_trade(Listener(ears, lambda here=heard_here: here), trial)  # type: ignore[misc]
                outcomes.append(Outcome(trial, delay, detector_alone(trial), heard == trial.words))
    return outcomes


def times(delays: list[float | None]) -> str:
    known = [delay for delay in delays if delay is not None] or [float("nan")]
    return f"{np.median(known):.2f} | {np.quantile(known, 0.95):.2f}"


def row(name: str, outcomes: list[Outcome]) -> str:
    cells = [
        str(len(outcomes)),
        str(sum(outcome.delay is None for outcome in outcomes)),
        times([outcome.delay for outcome in outcomes]),
        str(sum(outcome.alone is None for outcome in outcomes)),
        times([outcome.alone for outcome in outcomes]),
        f"{100 * sum(outcome.exact for outcome in outcomes) / len(outcomes):.1f}",
    ]
    return f"| {name} | {' | '.join(cells)} |"


def main() -> int:
    options = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    options.add_argument("--trials", type=int, default=1000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--cuts", action="store_true", help="list the calls that were cut")
    chosen = options.parse_args()
    began = time.perf_counter()
    outcomes = measure(chosen.trials, chosen.seed)
    print(f"Python {platform.python_version()}, {platform.machine()}, {time.perf_counter() - began:.0f} s\n")
    print(
        f"| {PAUSE_S:.1f} s pause | calls | cut | median s | p95 s | {HANG_OVER_S} s for all: cut"
        " | median s | p95 s | heard exactly % |\n|---|---|---|---|---|---|---|---|---|"
    )
    print(row("all", outcomes))
    parts = {f"ends {stands}": [o for o in outcomes if o.trial.stands is stands] for stands in Ending}
    parts |= {name: [o for o in outcomes if o.trial.noise == name] for name, _, _ in NOISES}
    for name, part in parts.items():
        if part:
            print(row(name, part))
    if chosen.cuts:
        for outcome in outcomes:
            if outcome.delay is None:
                words = outcome.trial.words.split()
                words.insert(outcome.trial.first_part, "|")
                print(f"- {outcome.trial.call}, {outcome.trial.noise}: {' '.join(words)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
