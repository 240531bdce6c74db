"""The sound of a VHF-AM voice channel, for the ear only: recognition always gets the dry microphone.

Pure. Band-pass, automatic gain, soft clipping, receiver noise while the carrier is up, and the burst
of noise before the squelch closes. The presets are kept gentle: a harsh channel makes synthetic
voices hard to understand.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voices.mixing import Noise, active_level, frame_power, noise, power_of_two, within_full_scale
from voices.sound import Samples, Sound

_EDGE_HZ = 80.0  # width of the filter's slopes
_FRAME_S = 0.01  # the gain control looks at the level this often
_TARGET = 0.16  # active level that the gain control aims at, full scale is 1
_MAX_GAIN = 4.0
_ATTACK_S, _RELEASE_S = 0.02, 0.3
_FADE_S = 0.005


@dataclass(frozen=True)
class RadioSetting:
    """One channel. Levels in dB are relative to the active level of the speech."""

    low_hz: float = 300.0
    high_hz: float = 3_400.0
    drive: float = 1.5
    """Gain into the soft clipper; 1 hardly touches the peaks, 4 is a shout into the microphone."""
    noise_db: float = -36.0
    lead_s: float = 0.08
    """Carrier before the first word."""
    tail_s: float = 0.14
    """Noise between the carrier's end and the closing of the squelch; 0 for none."""
    tail_db: float = -13.0


CLEAN = RadioSetting(drive=1.0, noise_db=-65.0, lead_s=0.02, tail_s=0.0)
NORMAL = RadioSetting()
WEAK = RadioSetting(low_hz=350.0, high_hz=3_000.0, drive=2.5, noise_db=-22.0, tail_db=-9.0)


def radio(sound: Sound, setting: RadioSetting, rng: np.random.Generator) -> Sound:
    """`sound` as a receiver gives it, at the same rate, a little longer (lead and squelch tail).

    All samples stay within full scale, the first and the last are 0, and the same `rng` state gives
    the same samples.
    """
    rate = sound.rate
    speech = _automatic_gain(band_pass(sound.samples, rate, setting.low_hz, setting.high_hz), rate)
    clipped = np.tanh(speech * np.float32(setting.drive)) / np.float32(setting.drive)
    # The clipper makes harmonics that the receiver's audio filter takes away again.
    voice = band_pass(clipped, rate, setting.low_hz, setting.high_hz)

    lead, tail = round(setting.lead_s * rate), round(setting.tail_s * rate)
    total = np.pad(voice, (lead, tail))
    level = active_level(Sound(voice, rate)) or _TARGET
    total += _noise_level(setting, level, len(total), tail, rate) * _hiss(setting, len(total), rate, rng)
    return Sound(within_full_scale(_faded(total, rate)), rate)


def band_pass(samples: Samples, rate: int, low_hz: float, high_hz: float) -> Samples:
    """Only what lies between the two edges, without delay; the slopes are 80 Hz wide."""
    if not len(samples):
        return samples
    # Zeros behind the sound keep the end from wrapping round into the beginning; a power of two is fast.
    size = power_of_two(len(samples) + round(0.05 * rate))
    hz = np.fft.rfftfreq(size, 1 / rate)
    rise = np.clip((hz - low_hz) / _EDGE_HZ + 0.5, 0, 1)
    fall = np.clip((high_hz - hz) / _EDGE_HZ + 0.5, 0, 1)
    shape = np.sin(rise * np.pi / 2) ** 2 * np.sin(fall * np.pi / 2) ** 2
    return np.fft.irfft(np.fft.rfft(samples, size) * shape, size)[: len(samples)].astype(np.float32)


def _automatic_gain(samples: Samples, rate: int) -> Samples:
    """Bring the level towards the target: quickly down, slowly up, and never far up in a pause."""
    size = max(1, round(_FRAME_S * rate))
    levels = np.sqrt(frame_power(samples, size))
    followed = np.empty_like(levels)
    level = float(levels.max(initial=0.0))
    rise, decay = np.exp(-_FRAME_S / _ATTACK_S), np.exp(-_FRAME_S / _RELEASE_S)
    for index, now in enumerate(levels):
        keep = rise if now > level else decay
        level = keep * level + (1 - keep) * float(now)
        followed[index] = level
    gains = np.minimum(_TARGET / np.maximum(followed, 1e-6), _MAX_GAIN)
    middles = (np.arange(len(gains)) + 0.5) * size
    smooth = np.interp(np.arange(len(samples)), middles, gains) if len(gains) else np.zeros(0)
    return np.asarray(samples * smooth, dtype=np.float32)


def _hiss(setting: RadioSetting, count: int, rate: int, rng: np.random.Generator) -> Samples:
    """Noise as wide as the channel, root mean square 1."""
    hiss = band_pass(noise(Noise.WHITE, count, rate, rng), rate, setting.low_hz, setting.high_hz)
    return hiss / np.float32(max(float(np.sqrt(np.mean(hiss**2))), 1e-9)) if count else hiss


def _noise_level(
    setting: RadioSetting, level: float, count: int, tail: int, rate: int
) -> NDArray[np.float32]:
    """Amplitude of the noise at each sample: the floor, then the louder tail, without a step."""
    amplitude = np.full(count, level * 10 ** (setting.noise_db / 20))
    if tail:
        burst = level * 10 ** (setting.tail_db / 20)
        begin = count - tail
        ramp = min(round(_FADE_S * rate), tail)
        amplitude[begin:] = burst
        amplitude[begin : begin + ramp] = np.linspace(amplitude[0], burst, ramp)
    return amplitude.astype(np.float32)


def _faded(samples: Samples, rate: int) -> Samples:
    """From and to silence within a few milliseconds: a carrier's edges without clicks."""
    size = min(round(_FADE_S * rate), len(samples) // 2)
    slope = (np.sin(np.linspace(0, np.pi / 2, size)) ** 2).astype(np.float32)
    faded = samples.copy()
    faded[:size] *= slope
    faded[len(faded) - size :] *= slope[::-1]
    return faded
