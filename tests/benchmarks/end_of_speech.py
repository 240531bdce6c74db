"""How soon the end of a call is declared, and how often a pause inside it is taken for the end.

    python tests/benchmarks/end_of_speech.py [--trials 1000] [--seed 1] [--cuts] [--keep FILE]
    python tests/benchmarks/end_of_speech.py --again FILE ...   # other settings, the same decoding: seconds

Prints Markdown. Every trial is a call or read-back of the trade, as its model or with an optional element at its
end, in a synthetic voice, with a pause between two words chosen at random, over one of eight noises. What
comes before the pause and after it is spoken separately and trimmed, so that from the last sound to the
first the pause is as long as is said. Each trial is decoded once, to its end; the product's listener is then
fed the words and the detector's judgements as they came, chunk by chunk. That is what it would have had, for
neither looks ahead. Times are of the stream: from the last sound to the sample at which the end is declared.
Beside it the detector alone, with one hang-over for everything. Nothing is asserted here.
"""

import argparse
import pickle
import platform
import sys
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np
from end_of_speech_trials import (
    LEAD_S,
    NOISES,
    PAUSE_S,
    VOICES,
    Trial,
    as_loud,
    judged_as,
    record,
    situations,
)

from phraseology.heard import Heard
from phraseology.wordgraph import WordAutomaton
from trainer.ears.completeness import Ending
from trainer.ears.endpoint import HANG_OVER_S, EndOfSpeech, KeyOff, KeyOn
from trainer.ears.listener import HANG_OVERS_S, HeardCall, KeyedOn, Listener, as_block
from trainer.ears.recogniser import SAMPLE_RATE, Block
from voices.mixing import noise

EARLY_S = 0.4
"""What opens earlier than this before the first sound opened for noise: the sound from before is 0.3 s of it."""
NOISE_DBFS = (-45.0, -25.0)


class Fate(StrEnum):
    """What became of a call."""

    WHOLE = "whole"
    CUT = "cut"
    MISSED = "missed"  # no end was ever declared


@dataclass(frozen=True)
class End:
    """`delay` in seconds after the last sound; `false`: how often it opened where nobody spoke."""

    fate: Fate
    delay: float | None
    false: int


@dataclass(frozen=True)
class Outcome:
    """With the words, and with the detector alone."""

    trial: Trial
    ours: End
    alone: End


class Retold:
    """A `Recogniser` that gives the words so far as they came, block by block, when the trial was decoded."""

    name = "retold"

    def __init__(self, words: Sequence[str]) -> None:
        self._words = iter(words)
        self._now = ""

    def missing_words(self, words: Iterable[str]) -> list[str]:
        return []

    def listen_for(self, situation: WordAutomaton) -> None:
        pass

    def key_on(self) -> None:
        pass

    def block(self, samples: Block) -> None:
        self._now = next(self._words, self._now)

    def partial(self) -> str:
        return self._now

    def key_off(self) -> Heard:
        return Heard.typed(self._now)


def with_the_trade(
    trial: Trial, here: WordAutomaton, hang_overs: Mapping[Ending, float] = HANG_OVERS_S
) -> End:
    """The listener of the product on the words as they came."""
    with judged_as(trial.judgements):
        listener = Listener(Retold(trial.so_far), lambda: here, hang_overs)
    return end_of(trial, [event for chunk in as_loud(trial) for event in listener.feed(chunk)])


def detector_alone(trial: Trial) -> End:
    with judged_as(trial.judgements):
        detector = EndOfSpeech()
    return end_of(trial, [part for chunk in as_loud(trial) for part in detector.feed(chunk)])


def end_of(trial: Trial, events: Sequence[object]) -> End:
    """What became of the trial."""
    began = [event.at for event in events if isinstance(event, KeyedOn | KeyOn)]
    ended = [event.at for event in events if isinstance(event, KeyOff)]
    ended += [event.ended for event in events if isinstance(event, HeardCall)]
    false = sum(at < LEAD_S - EARLY_S or at > trial.last_sound for at in began)
    if not ended:
        return End(Fate.MISSED, None, false)
    delay = ended[0] - trial.last_sound
    return End(Fate.CUT, None, false) if delay <= 0 else End(Fate.WHOLE, delay, false)


def judge(trials: Sequence[Trial]) -> list[Outcome]:
    here = [automaton for _, automaton in situations()]
    return [
        Outcome(trial, with_the_trade(trial, here[trial.case]), detector_alone(trial)) for trial in trials
    ]


def opened_by_noise(seed: int) -> int:
    """How often the detector opens in a minute of each noise at each level."""
    rng = np.random.default_rng(seed)
    opened = 0
    for kind in dict.fromkeys(kind for _, kind, _ in NOISES if kind):
        for dbfs in NOISE_DBFS:
            sound = 10 ** (dbfs / 20) * noise(kind, 60 * SAMPLE_RATE, SAMPLE_RATE, rng)
            opened += sum(isinstance(part, KeyOn) for part in EndOfSpeech().feed(as_block(sound)))
    return opened


def end_cells(ends: list[End]) -> list[str]:
    fates = [end.fate for end in ends]
    known = [end.delay for end in ends if end.delay is not None] or [float("nan")]
    return [
        str(fates.count(Fate.CUT)),
        str(fates.count(Fate.MISSED)),
        str(sum(end.false for end in ends)),
        f"{np.median(known):.2f}",
        f"{np.quantile(known, 0.95):.2f}",
    ]


def row(name: str, outcomes: list[Outcome]) -> str:
    exact = sum(outcome.trial.heard == outcome.trial.words for outcome in outcomes)
    cells = [
        name,
        str(len(outcomes)),
        *end_cells([outcome.ours for outcome in outcomes]),
        *end_cells([outcome.alone for outcome in outcomes]),
        f"{100 * exact / len(outcomes):.1f}",
    ]
    return f"| {' | '.join(cells)} |"


def report(outcomes: list[Outcome]) -> list[str]:
    lines = [
        f"| {PAUSE_S:.1f} s pause | calls | cut | missed | false | median s | p95 s"
        f" | {HANG_OVER_S} s for all: cut | missed | false | median s | p95 s | heard exactly % |",
        "|---" * 13 + "|",
        row("all", outcomes),
    ]
    parts = {f"ends {stands}": [o for o in outcomes if o.trial.stands is stands] for stands in Ending}
    parts |= {name: [o for o in outcomes if o.trial.noise == name] for name, _, _ in NOISES}
    parts |= {name: [o for o in outcomes if o.trial.voice == name] for name in VOICES}
    return lines + [row(name, part) for name, part in parts.items() if part]


def cuts(outcomes: list[Outcome]) -> list[str]:
    lines = []
    for trial in (outcome.trial for outcome in outcomes if outcome.ours.fate is not Fate.WHOLE):
        words = trial.words.split()
        words.insert(trial.first_part, "|")
        lines.append(f"- {trial.call}, {trial.voice}, {trial.noise}: {' '.join(words)}; heard: {trial.heard}")
    return lines


def main() -> int:
    options = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    options.add_argument("--trials", type=int, default=1000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--cuts", action="store_true", help="list the calls that were cut or missed")
    options.add_argument("--keep", type=Path, help="keep the decoded trials in this file")
    options.add_argument("--again", type=Path, nargs="+", help="judge trials that were kept, decode none")
    chosen = options.parse_args()
    began = time.perf_counter()
    if chosen.again:
        trials = [trial for path in chosen.again for trial in pickle.loads(path.read_bytes())]
    else:
        trials = record(chosen.trials, chosen.seed)
        if chosen.keep:
            chosen.keep.write_bytes(pickle.dumps(trials))
    outcomes = judge(trials)
    print(f"Python {platform.python_version()}, {platform.machine()}, {time.perf_counter() - began:.0f} s\n")
    print("\n".join(report(outcomes)))
    minutes = len({kind for _, kind, _ in NOISES if kind}) * len(NOISE_DBFS)
    print(f"\nNoise alone, {minutes} min: opened {opened_by_noise(chosen.seed)} times")
    if chosen.cuts:
        print("\n".join(cuts(outcomes)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
