"""Thousands of utterances with every core busy, and a worker that is killed in the middle of some.

    python tests/benchmarks/speaking.py [--count 2000] [--kills 50] [--loops 2] [--seed 1]

Every utterance is another call in one of nine voices at one of four paces. First each is spoken at rest, by
espeak-ng's library in this very process and by a worker: the references. Then a worker speaks them all while the
busy loops run. What it gives is held against them: its length against the worker's at rest; its spectrum (the words
and the voice) against the library's, and that it is nearer to its own than to that of the utterance before (nothing
said twice, nothing left out). For the kills the worker is stopped, given a job, let go, and killed a random 0 to 8 ms
later; that it was in the middle shows in that another one has answered.
"""

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from espeak_reference import EspeakReference
from numpy.typing import NDArray

from voices.errors import VoiceError
from voices.mixing import active_level
from voices.pronounce import engine_text
from voices.sound import Sound, Voice
from voices.speaker import WorkerSpeaker

VOICES = ("en-gb-x-rp", "en-gb-x-rp+m3", "en-us+m1", "en-us+m4", "en-us+f2", "en-us-nyc+m7", "en-029+f1",
          "en-us+f3", "en-gb-x-gbclan+m6")  # fmt: skip
PACES = (130, 165, 200, 250)
ENDINGS = ("runway three one, cleared touch and go", "left closed approved", "three mile initial",
           "unable closed, breakout, report quarry", "gear down, full stop", "wind three one zero at eight",
           "altimeter two niner niner two", "say again", "number two, follow the jet trainer on final")  # fmt: skip
KILLED_WITHIN_S = 0.008
FRAME, PLACES = 512, 200
SURELY_ALIKE = 0.98
"""More than another call (0.89 and less), one other figure (0.96), or the nearest other voice (0.97) has."""
LENGTH_OFF, ALIKE = 0.03, 0.95
"""More than this part longer or shorter, or less than this correlation, is not the reference's speech: at rest
one and the same job after other jobs differs by up to 2.6 %, and is 0.97 alike or more."""


@dataclass(frozen=True)
class Utterance:
    text: str
    voice: Voice


def utterances(count: int, seed: int) -> list[Utterance]:
    """No two neighbours alike in text or voice."""
    rng, made = random.Random(seed), list[Utterance]()
    while len(made) < count:
        word = rng.choice(("sable", "heron", "marten", "topaz", "adze"))
        figures = " ".join(rng.choice(("one", "two", "three", "four", "five", "niner")) for _ in range(2))
        text = f"{word} {figures}, {rng.choice(ENDINGS)}"
        voice = Voice(rng.choice(VOICES), rng.choice(PACES))
        if not made or (made[-1].text != text and made[-1].voice.name != voice.name):
            made.append(Utterance(text, voice))
    return made


@dataclass(frozen=True)
class Reference:
    """An utterance at rest: by the library in this process, and by a worker."""

    library: Sound
    at_rest: Sound


@dataclass
class Found:
    """Counts of what was wrong, by kind; `worst` the largest difference of length and the least likeness."""

    spoken: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    same_samples: int = 0
    most_off: float = 0.0
    least_alike: float = 1.0
    kills: int = 0
    restarts: int = 0
    took_s: list[float] = field(default_factory=list)
    told: list[str] = field(default_factory=list)

    def hold(self, one: Utterance, sound: Sound, own: Reference, before: Reference | None) -> None:
        self.spoken += 1
        self.same_samples += np.array_equal(sound.samples, own.at_rest.samples)
        heard = trimmed(sound)
        off = abs(len(heard.samples) / len(trimmed(own.at_rest).samples) - 1)
        likeness = alike(heard, trimmed(own.library))
        self.most_off, self.least_alike = max(self.most_off, off), min(self.least_alike, likeness)
        faults = {
            "rate": sound.rate != own.library.rate,
            "silent": active_level(sound) < 0.01,
            "length": off > LENGTH_OFF,
            "voice or words": likeness < ALIKE,
            "said twice": before is not None
            and likeness < SURELY_ALIKE
            and alike(heard, trimmed(before.library)) > likeness,
        }
        self.faults.update(kind for kind, found in faults.items() if found)
        if any(faults.values()):
            self.told.append(f"{one.voice.name}, {one.text}: {100 * off:.1f} % off, {likeness:.3f} alike")

    def lines(self) -> list[str]:
        took = sorted(self.took_s)
        faults = ", ".join(f"{kind} {count}" for kind, count in self.faults.items()) or "none"
        return [
            f"spoken {self.spoken}, faults: {faults}",
            f"the same samples as at rest: {self.same_samples} (a kill begins another history)",
            f"length at most {100 * self.most_off:.2f} % off, likeness at least {self.least_alike:.3f}",
            f"median {1000 * took[len(took) // 2]:.0f} ms, longest {1000 * took[-1]:.0f} ms;"
            f" {self.kills} kills, {self.restarts} in the middle of a job",
            *self.told[:20],
        ]


def alike(one: Sound, other: Sound) -> float:
    """Correlation of the two log spectrograms, at 200 places of each, after warping one's time to the other's.

    The library never takes exactly as long twice, even at rest: its pitch flutters on from job to job, and a
    pause may be 0.05 s longer.
    """
    first, second = _spectrogram(one), _spectrogram(other)
    straight = float((first * second).mean())
    return straight if straight > SURELY_ALIKE else max(straight, _warped(first, second))


def _spectrogram(sound: Sound) -> NDArray[np.float64]:
    """Of mean 0 and variance 1, so that the mean of a product is a correlation."""
    starts = np.linspace(0, len(sound.samples) - FRAME, PLACES).astype(int)
    frames = sound.samples[starts[:, None] + np.arange(FRAME)] * np.hanning(FRAME)
    power = np.abs(np.fft.rfft(frames)) ** 2
    level = np.log(power[:, 1:].reshape(PLACES, -1, 8).mean(2) + 1e-4)
    return np.asarray((level - level.mean()) / level.std())


def _warped(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    """The mean product along the path through the places that has the least difference, at most 8 places off."""
    difference = ((first[:, None] - second[None]) ** 2).mean(2)
    least = np.full((PLACES, PLACES, 2), np.inf)
    least[0, 0] = difference[0, 0], 1
    for row in range(PLACES):
        for column in range(max(0, row - 8), min(PLACES, row + 9)):
            ways = [
                least[at]
                for at in ((row - 1, column - 1), (row - 1, column), (row, column - 1))
                if min(at) >= 0
            ]
            if ways:
                total, steps = min(ways, key=lambda way: way[0])
                least[row, column] = total + difference[row, column], steps + 1
    total, steps = least[-1, -1]
    return float(1 - total / steps / 2)


def trimmed(sound: Sound) -> Sound:
    """Without the silence before and after."""
    loud = np.flatnonzero(np.abs(sound.samples) > 0.01)
    return Sound(sound.samples[loud[0] : loud[-1] + 1] if len(loud) else sound.samples, sound.rate)


def references(wanted: list[Utterance], worker: WorkerSpeaker) -> list[Reference]:
    with tempfile.TemporaryDirectory(prefix="ref-") as folder:
        library = EspeakReference(Path(folder))
        return [
            Reference(
                library.speak(engine_text(one.text, "espeak"), one.voice.name, one.voice.words_a_minute),
                worker.speak(one.text, one.voice),
            )
            for one in wanted
        ]


@contextmanager
def busy(loops: int) -> Iterator[None]:
    """So many processes that do nothing but compute."""
    children = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(loops)]
    try:
        yield
    finally:
        for child in children:
            child.kill()
            child.wait()


def speak_all(
    speaker: WorkerSpeaker, wanted: list[Utterance], expected: list[Reference], kills: int, seed: int
) -> Found:
    """In order, each held against its reference; the worker is killed in the middle of `kills` of them."""
    found, rng = Found(), random.Random(seed)
    every = max(1, len(wanted) // (2 * kills)) if kills else 0
    for index, one in enumerate(wanted):
        try:
            if index and every and index % every == 0 and found.restarts < kills:
                sound = _killed(speaker, one, rng.uniform(0.0, KILLED_WITHIN_S), found)
            else:
                begun = time.perf_counter()
                sound = speaker.speak(one.text, one.voice)
                found.took_s.append(time.perf_counter() - begun)
        except VoiceError as error:
            found.faults[f"refused ({error.what})"] += 1
        else:
            found.hold(one, sound, expected[index], expected[index - 1] if index else None)
    return found


def _killed(speaker: WorkerSpeaker, one: Utterance, after_s: float, found: Found) -> Sound:
    """What is spoken although its worker is killed so long after it began; `VoiceError` as from `speak`."""
    speaker.voices()  # there is a worker
    pid = speaker.worker_pid
    assert pid is not None
    with ThreadPoolExecutor(1) as pool:
        os.kill(pid, signal.SIGSTOP)
        job = pool.submit(speaker.speak, one.text, one.voice)
        time.sleep(0.02)  # the job lies in the pipe
        os.kill(pid, signal.SIGCONT)
        time.sleep(after_s)
        os.kill(pid, signal.SIGKILL)
        sound = job.result()
    found.kills += 1
    found.restarts += speaker.worker_pid != pid
    return sound


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--loops", type=int, default=2, help="busy processes beside")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--worker", help="a script to start as the worker instead of the usual one")
    options = parser.parse_args()
    wanted = utterances(options.count, options.seed)
    with WorkerSpeaker() as at_rest:
        expected = references(wanted, at_rest)
    begun = time.perf_counter()
    worker = (sys.executable, options.worker) if options.worker else None
    with WorkerSpeaker(command=worker) as speaker, busy(options.loops):
        found = speak_all(speaker, wanted, expected, options.kills, options.seed)
    print(f"{options.loops} busy loops, {time.perf_counter() - begun:.0f} s")
    print("\n".join(found.lines()))
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
