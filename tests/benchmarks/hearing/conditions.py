"""What happens to a clean voice on its way to the ears: noise at a known ratio, a microphone's band. Seeded."""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.ears.recogniser import SAMPLE_RATE, Block
from voices.mixing import Noise, active_level, noise, within_full_scale
from voices.sound import Sound

Samples = NDArray[np.float32]

NOISES = ("white", "pink", "cockpit", "babble")
RATIOS_DB = (20, 15, 10, 5)
MICROPHONES = {"headset": (120.0, 7200.0), "radio": (300.0, 3400.0)}
"""Pass bands in hertz."""

LEVEL = 0.3
_HISS = 10 ** (-72 / 20)  # no sound card is silent
_LEAD_S, _TAIL_S = 0.4, 0.8


@dataclass(frozen=True)
class Condition:
    """`snr_db` None: nothing but the hiss of a sound card."""

    noise: str
    snr_db: int | None
    microphone: str

    def __str__(self) -> str:
        return f"{'clean' if self.snr_db is None else f'{self.noise} {self.snr_db} dB'}, {self.microphone}"


CLEAN = Condition("none", None, "headset")


def condition(number: int) -> Condition:
    """The `number`th condition: clean and the four ratios in turn, then the noises, then the microphones."""
    ratio = (None, *RATIOS_DB)[number % 5]
    kind = NOISES[number // 5 % len(NOISES)]
    microphone = tuple(MICROPHONES)[number // 3 % len(MICROPHONES)]
    return Condition("none" if ratio is None else kind, ratio, microphone)


def heard_through(clean: Block, where: Condition, babble: Sequence[Block], key: str) -> Block:
    """The voice as it reaches the ears, with room before and after; `babble` are other voices."""
    rng = np.random.default_rng(zlib.crc32(f"{key} {where}".encode()))
    voice = clean.astype(np.float32)
    voice *= LEVEL / max(1.0, float(np.abs(voice).max(initial=0.0)))
    lead, tail = (np.zeros(round(seconds * SAMPLE_RATE), np.float32) for seconds in (_LEAD_S, _TAIL_S))
    sound = np.concatenate([lead, voice, tail])
    total = sound + np.float32(_HISS) * rng.standard_normal(len(sound)).astype(np.float32)
    if where.snr_db is not None:
        level = active_level(Sound(sound, SAMPLE_RATE)) * 10 ** (-where.snr_db / 20)
        under = (
            _babble(babble, len(sound), rng)
            if where.noise == "babble"
            else _noise(where.noise, len(sound), rng)
        )
        total = total + np.float32(level) * under
    banded = _band(total, *MICROPHONES[where.microphone])
    return (within_full_scale(banded) * 32767).astype(np.int16)


def _noise(kind: str, count: int, rng: np.random.Generator) -> Samples:
    return noise(Noise(kind), count, SAMPLE_RATE, rng)


def _babble(voices: Sequence[Block], count: int, rng: np.random.Generator) -> Samples:
    """Six of the voices on top of one another, each from a place of its own, as loud as one another."""
    total = np.zeros(count, np.float32)
    for place in rng.choice(len(voices), size=min(6, len(voices)), replace=False):
        voice = voices[place].astype(np.float32)
        voice /= max(1.0, float(np.sqrt(np.mean(voice**2))))
        total += np.resize(np.roll(voice, int(rng.integers(len(voice)))), count)
    return total / np.float32(max(1e-9, float(np.sqrt(np.mean(total**2)))))


def _band(samples: Samples, low: float, high: float) -> Samples:
    """A band-pass with edges a sixth of an octave wide."""
    size = 1 << max(1, len(samples) - 1).bit_length()
    spectrum = np.fft.rfft(samples, size)
    hz = np.maximum(np.fft.rfftfreq(size, 1 / SAMPLE_RATE), 1.0)
    gain = 1 / np.sqrt((1 + (low / hz) ** 16) * (1 + (hz / high) ** 16))
    return np.asarray(np.fft.irfft(spectrum * gain, size)[: len(samples)], np.float32)


def sound_of(name: str, take: int) -> Block:
    """Three seconds without speech: static, crackle, a tone, a chord, a melody, the ticks of a squelch."""
    rng = np.random.default_rng(zlib.crc32(f"{name} {take}".encode()))
    at = np.arange(3 * SAMPLE_RATE) / SAMPLE_RATE
    white = rng.standard_normal(len(at))
    match name:
        case "static":
            samples = white
        case "crackle":
            samples = np.where(rng.random(len(at)) < 0.003, white * 6, 0.0) + 0.02 * white
        case "tone":
            samples = np.sin(2 * np.pi * rng.uniform(200, 1500) * at)
        case "chord":
            roots = rng.choice([110, 131, 147, 165], 1) * np.array([1, 1.26, 1.5, 2, 2.52])
            samples = sum(
                np.sign(np.sin(2 * np.pi * hz * at)) * 0.5 + np.sin(2 * np.pi * hz * at) for hz in roots
            )
        case "melody":
            notes = 220 * 2 ** (rng.choice([0, 2, 4, 5, 7, 9, 11, 12], 12) / 12)
            step = len(at) // 12
            samples = np.concatenate([np.sin(2 * np.pi * hz * at[:step]) for hz in notes])
        case _:
            gate = np.repeat(rng.random(30) < 0.3, len(at) // 30)
            samples = white[: len(gate)] * gate
    samples = np.asarray(samples, np.float64)
    return (samples * (10_000 / np.abs(samples).max())).astype(np.int16)
