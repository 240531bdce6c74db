"""Plain work on samples: another rate, several sounds at once, noise at a known ratio. Pure."""

from collections.abc import Sequence
from enum import StrEnum

import numpy as np
import soxr
from numpy.typing import NDArray

from voices.errors import VoiceError
from voices.sound import Samples, Sound

_FRAME_S = 0.02
_ACTIVE_DB = 30.0  # frames this far below the loudest are pauses
_PEAK = 0.99


class Noise(StrEnum):
    """What lies under the speech."""

    WHITE = "white"  # equal power per hertz
    PINK = "pink"  # equal power per octave
    COCKPIT = "cockpit"  # airflow and rumble below about 500 Hz, two steady tones of machinery


def resample(sound: Sound, rate: int) -> Sound:
    """The same sound at `rate` samples a second."""
    if sound.rate == rate or not len(sound.samples):
        return Sound(sound.samples, rate)
    return Sound(soxr.resample(sound.samples, sound.rate, rate).astype(np.float32), rate)


def mix(parts: Sequence[tuple[float, Sound]]) -> Sound:
    """Sounds on top of one another; each part is its start in seconds (0 or later) and its sound.

    All parts must have the same rate (VoiceError otherwise). If the sum leaves full scale, all of
    it is turned down.
    """
    rates = sorted({sound.rate for _, sound in parts})
    if len(rates) != 1:
        raise VoiceError(f"cannot mix sounds of rates {rates}", "resample them to one rate first")
    starts = [round(start * rates[0]) for start, _ in parts]
    length = max(start + len(sound.samples) for start, (_, sound) in zip(starts, parts, strict=True))
    total = np.zeros(length, dtype=np.float32)
    for start, (_, sound) in zip(starts, parts, strict=True):
        total[start : start + len(sound.samples)] += sound.samples
    return Sound(within_full_scale(total), rates[0])


def with_noise(sound: Sound, snr_db: float, rng: np.random.Generator, kind: Noise = Noise.PINK) -> Sound:
    """Noise under all of `sound`, `snr_db` below its active level (see `active_level`).

    If the sum leaves full scale, speech and noise are turned down together.
    """
    level = active_level(sound) * 10 ** (-snr_db / 20)
    total = sound.samples + np.float32(level) * noise(kind, len(sound.samples), sound.rate, rng)
    return Sound(within_full_scale(total), sound.rate)


def noise(kind: Noise, count: int, rate: int, rng: np.random.Generator) -> Samples:
    """`count` samples of noise with a root mean square of 1; the same `rng` gives the same noise."""
    if not count:
        return np.zeros(0, dtype=np.float32)
    size = power_of_two(count)
    spectrum = np.fft.rfft(rng.standard_normal(size))
    hz = np.fft.rfftfreq(size, 1 / rate).astype(np.float64)
    shaped = np.fft.irfft(spectrum * _slope(kind, hz), size)[:count]
    shaped /= max(float(np.sqrt(np.mean(shaped**2))), 1e-12)
    if kind is Noise.COCKPIT:
        at = np.arange(count) / rate
        shaped += 0.25 * np.sin(2 * np.pi * 400 * at) + 0.12 * np.sin(2 * np.pi * 1_180 * at)
        shaped /= np.sqrt(np.mean(shaped**2))
    return np.asarray(shaped, dtype=np.float32)


def active_level(sound: Sound) -> float:
    """Root mean square over the 20 ms frames that are not pauses; 0 for silence."""
    power = frame_power(sound.samples, max(1, round(_FRAME_S * sound.rate)))
    if not len(power) or not power.max():
        return 0.0
    return float(np.sqrt(power[power >= power.max() * 10 ** (-_ACTIVE_DB / 10)].mean()))


def frame_power(samples: Samples, size: int) -> NDArray[np.float64]:
    """Mean square of each frame of `size` samples; the last frame is filled up with zeros."""
    padded = np.pad(samples.astype(np.float64), (0, -len(samples) % size))
    power: NDArray[np.float64] = (padded.reshape(-1, size) ** 2).mean(axis=1)
    return power


def power_of_two(count: int) -> int:
    """The smallest power of two that is not below `count`: lengths for which the transform is fast."""
    return 1 << max(0, count - 1).bit_length()


def fast_length(count: int) -> int:
    """A length not below `count`, at most a third longer, for which the transform is fast."""
    whole = power_of_two(count)
    return next(length for length in (whole // 8 * 5, whole // 4 * 3, whole) if length >= count)


def within_full_scale(samples: Samples) -> Samples:
    """The same samples, turned down as a whole if any is beyond full scale."""
    peak = float(np.abs(samples).max(initial=0.0))
    return samples if peak <= 1.0 else samples * np.float32(_PEAK / peak)


def _slope(kind: Noise, hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Amplitude over frequency; nothing at 0 Hz, which is no sound."""
    match kind:
        case Noise.WHITE:
            slope = np.ones_like(hz)
        case Noise.PINK:
            slope = 1 / np.sqrt(np.maximum(hz, 20.0))
        case Noise.COCKPIT:
            slope = 1 / np.sqrt(1 + (hz / 500.0) ** 2)
    slope[0] = 0.0
    return slope
