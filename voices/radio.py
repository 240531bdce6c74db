"""The sound of a VHF-AM voice channel, for the ear only: recognition always gets the dry microphone.

Pure. Band-pass by the spacing of the channels, automatic gain, soft clipping, receiver noise while the
carrier is up (louder from far away), the burst of noise before the squelch closes; two carriers at once. The
presets are kept gentle: a harsh channel makes synthetic voices hard to understand.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voices.errors import VoiceError
from voices.mixing import active_level, fast_length, frame_power, within_full_scale
from voices.sound import Samples, Sound

BANDS_HZ = {"25": (300.0, 3_400.0), "8.33": (300.0, 2_500.0)}
"""Audio band by channel spacing in kHz (from memory)."""
NEAR_NM = 5.0
"""Up to here noise is as the setting says; beyond, the carrier loses 6 dB each time the distance doubles."""

_EDGE_HZ = 80.0  # width of the filter's slopes
_FRAME_S = 0.01  # the gain control looks at the level this often
_TARGET = 0.16  # active level of what comes out, full scale is 1
_MAX_GAIN = 4.0
_ATTACK_S, _RELEASE_S = 0.02, 0.3
_FADE_S = 0.005
_LOUDEST_NOISE_DB = -14.0
_DEPTH = 0.85  # of modulation, at the loudest sample
_SECOND_CARRIER = 0.6  # the weaker of two stations that key at once
_BEAT_HZ = (450.0, 1_100.0)


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
    open_s: float = 0.015
    """Noise while the squelch opens, within the lead; 0 for none."""
    tail_s: float = 0.14
    """Noise between the carrier's end and the closing of the squelch; 0 for none."""
    tail_db: float = -13.0

    def on(self, spacing: str) -> "RadioSetting":
        """The same reception on channels so many kHz apart: a key of `BANDS_HZ`. Never wider than before."""
        low, high = BANDS_HZ[spacing]
        return replace(self, low_hz=max(low, self.low_hz), high_hz=min(high, self.high_hz))

    def from_afar(self, distance_nm: float) -> "RadioSetting":
        """As the receiver has it at this distance: noise over speech goes with the distance (free space)."""
        if distance_nm <= NEAR_NM:
            return self
        louder = self.noise_db + 20 * math.log10(distance_nm / NEAR_NM)
        return replace(self, noise_db=max(self.noise_db, min(louder, _LOUDEST_NOISE_DB)))


CLEAN = RadioSetting(drive=1.0, noise_db=-65.0, lead_s=0.02, open_s=0.0, tail_s=0.0)
NORMAL = RadioSetting()
WEAK = RadioSetting(low_hz=350.0, high_hz=3_000.0, drive=2.5, noise_db=-22.0, tail_db=-9.0)
SETTINGS = {"clean": CLEAN, "normal": NORMAL, "weak": WEAK}


def radio(sound: Sound, setting: RadioSetting, rng: np.random.Generator, late_s: float = 0.0) -> Sound:
    """`sound` as a receiver gives it, at the same rate, a little longer (lead and squelch tail).

    `late_s`: who speaks keys so long after the first sound, and that is lost. All samples stay within full
    scale, the first and the last are 0, and the same `rng` state gives the same samples.
    """
    samples = _after_keying(sound.samples, sound.rate, late_s)
    rate = sound.rate
    speech = _automatic_gain(band_pass(samples, rate, setting.low_hz, setting.high_hz), rate)
    clipped = np.tanh(speech * np.float32(setting.drive)) / np.float32(setting.drive)
    return _received(clipped, rate, setting, rng)


def blocked(first: Sound, second: Sound, setting: RadioSetting, rng: np.random.Generator) -> Sound:
    """Two stations that keyed at once: both voices under the tone at the difference of their carriers.

    What an envelope detector makes of the sum of two modulated carriers, as long as the longer of the
    two. VoiceError if their rates differ.
    """
    if first.rate != second.rate:
        raise VoiceError(f"cannot mix rates {first.rate} and {second.rate}", "resample to one of them first")
    rate = first.rate
    length = max(len(first.samples), len(second.samples))
    carriers = [_modulated(sound, length, setting) for sound in (first, second)]
    turn = 2 * np.pi * rng.uniform(*_BEAT_HZ) * np.arange(length) / rate
    envelope = np.abs(carriers[0] + _SECOND_CARRIER * carriers[1] * np.exp(1j * turn))
    heard = band_pass(envelope.astype(np.float32) - np.float32(1.0), rate, setting.low_hz, setting.high_hz)
    return _received(_automatic_gain(heard, rate), rate, setting, rng)


def band_pass(samples: Samples, rate: int, low_hz: float, high_hz: float) -> Samples:
    """Only what lies between the two edges (3 dB down there), without delay; the slopes are 80 Hz wide."""
    if not len(samples):
        return samples
    # Zeros behind the sound keep the end from wrapping round into the beginning.
    size = fast_length(len(samples) + round(0.05 * rate))
    spectrum = np.fft.rfft(samples.astype(np.float32), size)
    spectrum *= _shape(size, rate, low_hz, high_hz)
    return np.fft.irfft(spectrum, size)[: len(samples)].astype(np.float32)


def _shape(size: int, rate: int, low_hz: float, high_hz: float) -> NDArray[np.float32]:
    hz = np.fft.rfftfreq(size, 1 / rate).astype(np.float32)
    rise = np.clip((hz - np.float32(low_hz)) / np.float32(_EDGE_HZ) + np.float32(0.5), 0, 1)
    fall = np.clip((np.float32(high_hz) - hz) / np.float32(_EDGE_HZ) + np.float32(0.5), 0, 1)
    return np.asarray(np.sin(np.minimum(rise, fall) * np.float32(np.pi / 2)), dtype=np.float32)


def _after_keying(samples: Samples, rate: int, late_s: float) -> Samples:
    """Without the first `late_s` of the voice, and what was before it."""
    power = frame_power(samples, max(1, round(_FRAME_S * rate)))
    if late_s <= 0 or not power.max(initial=0.0):
        return samples
    onset = int(np.argmax(power > power.max() / 1_000)) * round(_FRAME_S * rate)
    return _faded(samples[onset + round(late_s * rate) :], rate)


def _modulated(sound: Sound, length: int, setting: RadioSetting) -> Samples:
    """The envelope of a carrier of 1 with this voice on it; behind the voice's end, of the carrier alone."""
    voice = band_pass(sound.samples, sound.rate, setting.low_hz, setting.high_hz)
    loudest = max(float(np.abs(voice).max(initial=0.0)), 1e-6)
    envelope = np.ones(length, dtype=np.float32)
    envelope[: len(voice)] += voice * np.float32(_DEPTH / loudest)
    return envelope


def _received(speech: Samples, rate: int, setting: RadioSetting, rng: np.random.Generator) -> Sound:
    """What the receiver's audio stage makes of it: one level for all, noise, squelch."""
    # The clipper makes harmonics that the receiver's audio filter takes away again.
    voice = band_pass(speech, rate, setting.low_hz, setting.high_hz)
    level = active_level(Sound(voice, rate))
    if level:
        voice *= np.float32(min(_TARGET / level, _MAX_GAIN))
        level = min(_TARGET, level * _MAX_GAIN)
    lead, tail = round(setting.lead_s * rate), round(setting.tail_s * rate)
    total = np.pad(voice, (lead, tail))
    total += _noise_level(setting, level or _TARGET, len(total), rate) * _hiss(setting, len(total), rate, rng)
    return Sound(within_full_scale(_faded(total, rate)), rate)


def _automatic_gain(samples: Samples, rate: int) -> Samples:
    """Bring the level towards the target: quickly down, slowly up, and never far up in a pause."""
    size = max(1, round(_FRAME_S * rate))
    levels = np.sqrt(frame_power(samples, size))
    followed = np.empty_like(levels)
    level = float(levels.max(initial=0.0))
    rise, decay = math.exp(-_FRAME_S / _ATTACK_S), math.exp(-_FRAME_S / _RELEASE_S)
    for index, now in enumerate(levels.tolist()):
        keep = rise if now > level else decay
        level = keep * level + (1 - keep) * now
        followed[index] = level
    gains = np.minimum(_TARGET / np.maximum(followed, 1e-6), _MAX_GAIN)
    middles = (np.arange(len(gains)) + 0.5) * size
    smooth = np.interp(np.arange(len(samples)), middles, gains) if len(gains) else np.zeros(0)
    return np.asarray(samples * smooth.astype(np.float32), dtype=np.float32)


def _hiss(setting: RadioSetting, count: int, rate: int, rng: np.random.Generator) -> Samples:
    """Noise as wide as the channel, root mean square 1."""
    if not count:
        return np.zeros(0, dtype=np.float32)
    size = fast_length(count)
    parts = rng.standard_normal(2 * (size // 2 + 1), dtype=np.float32)
    spectrum = parts.view(np.complex64) * _shape(size, rate, setting.low_hz, setting.high_hz)
    hiss = np.fft.irfft(spectrum, size)[:count].astype(np.float32)
    return hiss / np.float32(max(float(np.sqrt(np.mean(hiss**2))), 1e-9))


def _noise_level(setting: RadioSetting, level: float, count: int, rate: int) -> NDArray[np.float32]:
    """Amplitude of the noise at each sample: louder while the squelch opens and closes, without a step."""
    floor, burst = (level * 10 ** (db / 20) for db in (setting.noise_db, setting.tail_db))
    amplitude = np.full(count, floor)
    ramp = round(_FADE_S * rate)
    opening = min(round(min(setting.open_s, setting.lead_s) * rate), count)
    tail = min(round(setting.tail_s * rate), count)
    if opening:
        amplitude[:opening] = np.linspace(burst, floor, opening)
    if tail:
        amplitude[count - tail :] = burst
        amplitude[count - tail : count - tail + ramp] = np.linspace(floor, burst, ramp)[:tail]
    return amplitude.astype(np.float32)


def _faded(samples: Samples, rate: int) -> Samples:
    """From and to silence within a few milliseconds: a carrier's edges without clicks."""
    size = min(round(_FADE_S * rate), len(samples) // 2)
    slope = (np.sin(np.linspace(0, np.pi / 2, size)) ** 2).astype(np.float32)
    faded = samples.copy()
    faded[:size] *= slope
    faded[len(faded) - size :] *= slope[::-1]
    return faded
