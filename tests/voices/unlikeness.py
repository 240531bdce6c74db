"""How unlike two voices sound: their pitch and the colour of their speech, whatever they say."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from voices.sound import Sound

_FRAME_S = 0.04
_BANDS = 24
_LOWEST_HZ, _HIGHEST_HZ = 60.0, 400.0
"""Of the pitch."""


@dataclass(frozen=True)
class Traits:
    """`colour`: mean level of each band against the mean of all, dB; `pitch`: median, semitones above 100 Hz."""

    colour: NDArray[np.float64]
    pitch: float


def traits(sound: Sound) -> Traits:
    """Over the voiced, loud half of the frames."""
    size = round(_FRAME_S * sound.rate)
    frames = sound.samples[: len(sound.samples) // size * size].reshape(-1, size).astype(np.float64)
    frames = frames[np.argsort((frames**2).mean(1))[len(frames) // 2 :]]
    power = np.abs(np.fft.rfft(frames * np.hanning(size))) ** 2
    hz = np.fft.rfftfreq(size, 1 / sound.rate)
    mel = np.linspace(_mel(150.0), _mel(7_000.0), _BANDS + 1)
    bands = [power[:, (_mel(hz) >= low) & (_mel(hz) < high)].mean() for low, high in pairwise(mel)]
    colour = 10 * np.log10(np.array(bands) + 1e-12)
    return Traits(colour - colour.mean(), _pitch(frames, sound.rate))


def unlikeness(one: Traits, other: Traits) -> float:
    """In units of about what one voice differs from itself from one call to the next: 3 dB, 1 semitone."""
    colour = float(np.sqrt(np.mean((one.colour - other.colour) ** 2))) / 3.0
    return float(np.hypot(colour, one.pitch - other.pitch))


def _mel(hz: NDArray[np.float64] | float) -> NDArray[np.float64]:
    return np.asarray(1127 * np.log1p(np.asarray(hz) / 700))


def _pitch(frames: NDArray[np.float64], rate: int) -> float:
    """Median of the highest peak of each frame's autocorrelation, in the range of a voice."""
    size = frames.shape[1]
    echo = np.fft.irfft(np.abs(np.fft.rfft(frames - frames.mean(1, keepdims=True), 2 * size)) ** 2)[:, :size]
    echo /= np.maximum(np.linspace(1, 1 / size, size), 0.3) * np.maximum(echo[:, :1], 1e-12)
    first, last = round(rate / _HIGHEST_HZ), round(rate / _LOWEST_HZ)
    lags = first + echo[:, first:last].argmax(1)
    return float(np.median(12 * np.log2(rate / lags / 100)))
