"""Brackets around what is said: key on, speech, key off. From the voice itself, or from a talk key.

Pure streams: times are seconds of the samples fed so far, no clock is read. Settings as measured in 126
trials with pauses of 0.4 s inside a call, at 0 to 20 dB over five noises: threshold 0.5, 0.6 s of
hang-over and 0.3 s of sound from before cut one call, missed none and opened for no noise. Who knows the
trade may change the hang-over while somebody speaks: `completeness` and `listener`.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from trainer.ears.foreground import Nearness
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.voice_detector import voice_detector

CHUNK = 512
"""Samples that the voice detector judges at a time: 32 ms."""

HANG_OVER_S = 0.6
"""Silence that ends a transmission of which nothing else is known."""

OPENS_AFTER = 2
"""So many chunks in a row with a voice open a transmission: a single one is noise that sounds like one."""

MAX_SECONDS = 20.0
"""A transmission is closed after this long whatever is heard: nobody answers a stuck key."""

_WORD_S = 0.1
"""Of a word that ended so long ago as is said, at least this much is looked at."""


@dataclass(frozen=True)
class KeyOn:
    """A transmission begins; `at` is where its first sample stands in the stream."""

    at: float


@dataclass(frozen=True)
class Speech:
    """Sound of the open transmission, each sample once and in order."""

    samples: Block


@dataclass(frozen=True)
class KeyOff:
    """The transmission ends before the sample at `at`; `silent_s` of it were the wait for more."""

    at: float
    silent_s: float = field(default=0.0, compare=False)


Bracketed = KeyOn | Speech | KeyOff


class EndOfSpeech:
    """Opens on a voice and closes when it has been silent for the hang-over, whoever else talks behind it.

    `hang_over` in seconds may be set at any time; the next chunk is judged by it.
    """

    def __init__(
        self,
        threshold: float = 0.5,
        hang_over: float = HANG_OVER_S,
        pre_roll: float = 0.3,
        max_seconds: float = MAX_SECONDS,
        judged: Callable[[Block, float], None] | None = None,
    ) -> None:
        """`threshold` is a probability of speech; the rest are seconds, rounded up to whole chunks.

        `judged` is told of each chunk, and how probable a voice in it is.
        """
        self._voice = voice_detector()
        self._tell_judged = judged
        self._threshold = threshold
        self.hang_over = hang_over
        self._max_samples = round(max_seconds * SAMPLE_RATE)
        self._before: deque[Block] = deque(maxlen=-int(-pre_roll * SAMPLE_RATE // CHUNK) + OPENS_AFTER - 1)
        self._rest = np.empty(0, np.int16)
        self._judged = 0  # samples of the stream that are through the detector
        self._began = 0
        self._quiet = 0
        self._voiced = 0  # chunks in a row, while closed
        self._nearness = Nearness()
        self.open = False

    @property
    def quiet(self) -> float:
        """How long the voice has been silent in the open transmission, in seconds; 0 if none is open."""
        return self._quiet / SAMPLE_RATE if self.open else 0.0

    def feed(self, samples: Block) -> list[Bracketed]:
        """The brackets and speech that this block completes; a rest under one chunk waits for the next."""
        parts: list[Bracketed] = []
        waiting = np.concatenate([self._rest, samples])
        whole = len(waiting) - len(waiting) % CHUNK
        for start in range(0, whole, CHUNK):
            parts += self._judge(waiting[start : start + CHUNK])
        self._rest = waiting[whole:]
        return parts

    def spoke(self, ago: float) -> None:
        """Somebody else knows of a voice so many seconds ago: the silence is no longer than that.

        Not if all was too faint just then to be the speaker's.
        """
        if self._nearness.heard(-int(-(ago + _WORD_S) * SAMPLE_RATE // CHUNK)):
            self._quiet = min(self._quiet, round(ago * SAMPLE_RATE))

    def cut(self) -> list[Bracketed]:
        """End here: close what is open, and forget what came before."""
        parts: list[Bracketed] = []
        if self.open:
            parts = [Speech(self._rest)] if len(self._rest) else []
            parts.append(KeyOff((self._judged + len(self._rest)) / SAMPLE_RATE))
        self._judged += len(self._rest)
        self._forget()
        return parts

    def skip(self, samples: int) -> None:
        """So many samples of the stream pass unheard (after `cut`)."""
        self._judged += len(self._rest) + samples
        self._forget()

    def _forget(self) -> None:
        self._rest = self._rest[:0]
        self._before.clear()
        self._voice.reset()
        self._voiced = 0
        self.open = False

    def _judge(self, chunk: Block) -> list[Bracketed]:
        parts: list[Bracketed] = []
        probability = self._voice(chunk.tobytes())
        if self._tell_judged is not None:
            self._tell_judged(chunk, probability)
        speaks = probability >= self._threshold
        speaks = self._nearness.hears(chunk, speaks, self.open) and speaks
        if not self.open:
            self._voiced = self._voiced + 1 if speaks else 0
            if self._voiced < OPENS_AFTER:
                self._before.append(chunk)
                self._judged += CHUNK
                return parts
            earlier = np.concatenate([*self._before, np.empty(0, np.int16)])
            self._before.clear()
            self._began = self._judged - len(earlier)
            self.open, self._quiet, self._voiced = True, 0, 0
            self._nearness.opens()
            parts += [KeyOn(self._began / SAMPLE_RATE), *([Speech(earlier)] if len(earlier) else [])]
        parts.append(Speech(chunk))
        self._judged += CHUNK
        self._quiet = 0 if speaks else self._quiet + CHUNK
        too_long = self._judged - self._began >= self._max_samples
        if too_long or self._quiet >= self.hang_over * SAMPLE_RATE:
            parts.append(KeyOff(self._judged / SAMPLE_RATE, self._quiet / SAMPLE_RATE))
            self.open = False
        return parts


class PushToTalk:
    """The same brackets from a talk key. A key held longer than `max_seconds` counts as released."""

    def __init__(self, max_seconds: float = MAX_SECONDS) -> None:
        self._max_samples = round(max_seconds * SAMPLE_RATE)
        self._passed = 0
        self._began = 0
        self.open = False

    def press(self) -> list[Bracketed]:
        if self.open:
            return []
        self.open, self._began = True, self._passed
        return [KeyOn(self._passed / SAMPLE_RATE)]

    def release(self) -> list[Bracketed]:
        if not self.open:
            return []
        self.open = False
        return [KeyOff(self._passed / SAMPLE_RATE)]

    def feed(self, samples: Block) -> list[Bracketed]:
        """Sound while the key is down; nothing while it is up."""
        if not self.open:
            self._passed += len(samples)
            return []
        taken = samples[: self._began + self._max_samples - self._passed]
        self._passed += len(taken)
        parts: list[Bracketed] = [Speech(taken)] if len(taken) else []
        if self._passed - self._began >= self._max_samples:
            parts += self.release()
        self._passed += len(samples) - len(taken)
        return parts

    def skip(self, samples: int) -> None:
        """So many samples of the stream pass unheard."""
        self._passed += samples
