"""How loud the voice is, how loud the room, and what is wrong with the microphone: for a meter and a warning.

Levels are in dB under full scale, root mean square over frames of 32 ms without their offset. Measured with
30 calls in synthetic voices, 20 dB over the noise: with the voice at -50 dB all were heard exactly, at -56
29, at -62 19, at -68 4, because the recogniser's own dither drowns them. At 0 and 5 dB over white noise 29,
over other noises 30; with a quarter of the samples at full scale 30. People are harder to hear, a studio
speaker lost a sixth of his words at 10 dB: the limits for noise stand above what these voices need, and that
for clipping marks a distorted recording, not a call that will be misheard.
"""

from collections import deque
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.ears.endpoint import CHUNK
from trainer.ears.recogniser import SAMPLE_RATE, Block
from trainer.ears.voice_detector import voice_detector

FLOOR_DBFS = -96.0
"""What digital silence counts as: one step of 16 bits."""
WINDOW_S = 20.0
"""A meter looks so far back."""

QUIET_DBFS = -50.0
NOISY_DB = 10.0
CLIPPED_SHARE = 0.01
LEAST_SPEECH_S = 0.5
"""Less of a voice than this says nothing about it."""

_VOICE = 0.5
_NEAR = 4  # frames beside a voice that belong to neither: the detector lags, and sounds die away
_FULL_SCALE = 32_600
_ENOUGH = 10  # frames for a median


class Trouble(StrEnum):
    """What is wrong, each with its remedy in one sentence."""

    QUIET = (
        "The voice is too quiet: turn the microphone up in the system's sound settings or bring it nearer."
    )
    CLIPPED = (
        "The voice is distorted because the microphone is set too loud: turn it down in the sound settings."
    )
    NOISY = "The room is too loud for this voice: bring the microphone to the mouth, or use a headset."


@dataclass(frozen=True)
class Level:
    """Of a stretch of sound. `speech_dbfs` None: too little of a voice in it.

    `clipped` is the share of the samples in voiced frames that stand at full scale, `speech_s` and
    `seconds` are how much voice and how much sound there was.
    """

    seconds: float
    speech_s: float
    peak_dbfs: float
    noise_dbfs: float
    speech_dbfs: float | None
    clipped: float

    @property
    def snr_db(self) -> float | None:
        """Voice over noise; both were measured in the same band, up to 8 kHz."""
        return None if self.speech_dbfs is None else self.speech_dbfs - self.noise_dbfs

    @property
    def troubles(self) -> tuple[Trouble, ...]:
        """What is wrong with it; nothing while there is too little of a voice."""
        if self.speech_dbfs is None or self.snr_db is None:
            return ()
        found = (
            (Trouble.CLIPPED, self.clipped > CLIPPED_SHARE),
            (Trouble.QUIET, self.speech_dbfs < QUIET_DBFS),
            (Trouble.NOISY, self.snr_db < NOISY_DB),
        )
        return tuple(trouble for trouble, so in found if so)


@dataclass(frozen=True)
class _Frame:
    voiced: bool
    power: float  # of full scale
    peak: int
    clipped: int


class LevelMeter:
    """Levels of the last `window_s` seconds of what it was fed."""

    def __init__(self, window_s: float = WINDOW_S) -> None:
        self._voice: Any = None
        self._frames: deque[_Frame] = deque(maxlen=max(1, round(window_s * SAMPLE_RATE / CHUNK)))
        self._rest = np.empty(0, np.int16)

    def feed(self, samples: Block) -> None:
        """Blocks of any length, in order."""
        if self._voice is None:
            self._voice = voice_detector()
        waiting = np.concatenate([self._rest, samples])
        whole = len(waiting) - len(waiting) % CHUNK
        for start in range(0, whole, CHUNK):
            chunk = waiting[start : start + CHUNK]
            self.judged(chunk, self._voice(chunk.tobytes()))
        self._rest = waiting[whole:]

    def judged(self, chunk: Block, probability: float) -> None:
        """A chunk in which somebody else has found a voice as probable as that."""
        loud = np.abs(chunk.astype(np.int32))
        self._frames.append(
            _Frame(
                voiced=probability >= _VOICE,
                power=float(np.var(chunk / 32768)),
                peak=int(loud.max()),
                clipped=int((loud >= _FULL_SCALE).sum()),
            )
        )

    @property
    def voiced(self) -> NDArray[np.bool_]:
        """For each frame in the window whether a voice is in it."""
        return np.array([frame.voiced for frame in self._frames], bool)

    @property
    def level(self) -> Level:
        """Of the window as it is now."""
        frames, voiced = self._frames, self.voiced
        power = np.array([frame.power for frame in frames])
        noise = _noise(power, voiced)
        speech_s = float(voiced.sum()) * CHUNK / SAMPLE_RATE
        speech = None
        if speech_s >= LEAST_SPEECH_S:  # what is heard is voice and noise together
            speech = _db(max(float(power[voiced].mean()) - noise, 0.0))
        clipped = sum(frame.clipped for frame in frames if frame.voiced)
        return Level(
            seconds=len(frames) * CHUNK / SAMPLE_RATE,
            speech_s=speech_s,
            peak_dbfs=_db((max((frame.peak for frame in frames), default=0) / 32768) ** 2),
            noise_dbfs=_db(noise),
            speech_dbfs=speech,
            clipped=clipped / max(1, int(voiced.sum()) * CHUNK),
        )


def measure(samples: Block) -> Level:
    """The level of a whole recording."""
    meter = LevelMeter(window_s=len(samples) / SAMPLE_RATE)
    meter.feed(samples)
    return meter.level


def _noise(power: NDArray[np.float64], voiced: NDArray[np.bool_]) -> float:
    """The median away from any voice: a click does not move it. Without such frames, the quietest tenth."""
    if not len(power):
        return 0.0
    near = np.convolve(voiced, np.ones(2 * _NEAR + 1), "full")[_NEAR : _NEAR + len(voiced)] > 0
    alone = power[~near]
    return float(np.median(alone)) if len(alone) >= _ENOUGH else float(np.quantile(power, 0.1))


def _db(power: float) -> float:
    return max(FLOOR_DBFS, 10 * float(np.log10(power))) if power > 0 else FLOOR_DBFS
