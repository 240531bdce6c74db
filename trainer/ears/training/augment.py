"""What happens to a voice before it is heard, at random and on tensors: pace, room, microphone, radio, noise.

Every method takes and gives [clips, samples] in the scale of 16-bit numbers. All randomness comes from
one generator, so the same seed gives the same sound.
"""

import math
from dataclasses import dataclass

import torch
from torch import Tensor

from trainer.ears.recogniser import SAMPLE_RATE
from trainer.ears.training.features import BINS

WARPS = tuple(0.82 + 0.02 * step for step in range(20))
"""Lengths of the vocal tract: from a large man's to a child's. Index 9 is 1.0."""

_UNWARPED = 9


@dataclass(frozen=True)
class Hearing:
    """How bad it gets. Probabilities, and ranges in decibels."""

    reverberant: float = 0.35
    banded: float = 0.4
    clipped: float = 0.2
    clean: float = 0.25
    babble: float = 0.3
    telephone: float = 0.15
    gated: float = 0.12
    hum: float = 0.2
    loudest_noise_db: float = -2.0
    faintest_noise_db: float = 32.0
    loudest_babble_db: float = 3.0


class Augmenter:
    """Random hearing conditions for batches of clips."""

    def __init__(self, seed: int, device: torch.device, hearing: Hearing = Hearing()) -> None:
        self._generator = torch.Generator(device).manual_seed(seed)
        self._device = device
        self._hearing = hearing

    def _uniform(self, count: int, low: float, high: float) -> Tensor:
        return low + (high - low) * torch.rand(count, 1, generator=self._generator, device=self._device)

    def _chance(self, count: int, probability: float) -> Tensor:
        return torch.rand(count, 1, generator=self._generator, device=self._device) < probability

    def _normal(self, *shape: int) -> Tensor:
        return torch.randn(*shape, generator=self._generator, device=self._device)

    def pace(self, count: int) -> Tensor:
        """Factors of speed (and pitch), [clips]; three in ten are left as they are."""
        factors = self._uniform(count, 0.85, 1.2)
        return torch.where(self._chance(count, 0.3), 1.0, factors)[:, 0]

    def warps(self, count: int) -> Tensor:
        """Indices into `WARPS`, [clips]."""
        drawn = (_UNWARPED + 3.0 * self._normal(count)).round().clamp(0, len(WARPS) - 1).long()
        return torch.where(self._chance(count, 0.25)[:, 0], _UNWARPED, drawn)

    def place(self, sound: Tensor, starts: Tensor, lengths: Tensor, pace: Tensor, samples: int) -> Tensor:
        """Cut clips out of `sound` at their pace into [clips, samples], each somewhere in its row.

        Values between samples are by cubic interpolation (Catmull-Rom).
        """
        count = len(starts)
        room = (samples - lengths / pace).clamp(min=0.0)[:, None]
        lead = torch.minimum(
            room * self._uniform(count, 0.0, 1.0), self._uniform(count, 0.05, 0.7) * SAMPLE_RATE
        )
        at = (torch.arange(samples, device=self._device)[None] - lead) * pace[:, None]
        first = at.floor()
        part = at - first
        whole = first.long()

        def sample(offset: int) -> Tensor:
            index = whole + offset
            inside = (index >= 0) & (index < lengths[:, None])
            return sound[(index.clamp(min=0) + starts[:, None]).clamp(max=len(sound) - 1)].float() * inside

        a, b, c, d = (sample(offset) for offset in (-1, 0, 1, 2))
        return b + 0.5 * part * (c - a + part * (2 * a - 5 * b + 4 * c - d + part * (3 * (b - c) + d - a)))

    def hear(self, clean: Tensor) -> Tensor:
        """Room, noise, microphone or radio, clipping and gain."""
        count, samples = clean.shape
        hearing = self._hearing
        level = _level(clean)
        size = samples + SAMPLE_RATE // 2
        frequencies = torch.fft.rfftfreq(size, 1 / SAMPLE_RATE, device=self._device)[None]
        spectrum = torch.fft.rfft(clean, n=size) * self._room(count, size)
        noise_db = self._uniform(count, hearing.loudest_noise_db, hearing.faintest_noise_db)
        babble = self._chance(count, hearing.babble)
        noise_db = torch.where(babble, noise_db.clamp(min=hearing.loudest_babble_db), noise_db)
        noise_db = torch.where(self._chance(count, hearing.clean), self._uniform(count, 35.0, 90.0), noise_db)
        noise = torch.where(babble, self._voices(clean, size), self._noise(count, frequencies, size))
        noise = noise * (level / _rms(noise) * 10 ** (-noise_db / 20))
        noise_spectrum = torch.fft.rfft(noise, n=size)
        channel = self._channel(count, frequencies)
        before = self._chance(
            count, 0.5
        )  # the noise of the cockpit is before the channel, that of the radio after it
        heard = torch.fft.irfft(channel * (spectrum + before * noise_spectrum), n=size)[:, :samples]
        heard = heard * (level / _level(heard).clamp(min=1.0)) + ~before * noise[:, :samples]
        return self._gain(self._gate(self._telephone(self._clip(heard))))

    def _room(self, count: int, size: int) -> Tensor:
        """Spectra of rooms: a direct sound and a tail of noise that decays by 60 dB in 0.1 to 0.6 s."""
        length = SAMPLE_RATE // 2
        time = torch.arange(length, device=self._device)[None] / SAMPLE_RATE
        tail = self._normal(count, length) * torch.exp(-6.9 * time / self._uniform(count, 0.1, 0.6))
        tail = tail * (time > 0.002)
        tail = tail / tail.square().sum(-1, keepdim=True).sqrt()
        tail = (
            tail
            * 10 ** (-self._uniform(count, 0.0, 14.0) / 20)
            * self._chance(count, self._hearing.reverberant)
        )
        tail[:, 0] = 1.0
        return torch.fft.rfft(tail, n=size)

    def _noise(self, count: int, frequencies: Tensor, size: int) -> Tensor:
        """Coloured noise, with tones of engines and mains in some."""
        slope = self._uniform(count, -0.2, 1.1)  # 0 white, 0.5 pink, 1 brown
        shape = (frequencies.clamp(min=40.0) / 1000) ** -slope
        white = torch.fft.rfft(self._normal(count, size))
        noise = torch.fft.irfft(white * shape, n=size)
        noise = noise / _rms(noise)
        time = torch.arange(size, device=self._device)[None] / SAMPLE_RATE
        base = self._uniform(count, 45.0, 420.0)
        tones = sum(
            torch.sin(2 * math.pi * base * harmonic * time + self._uniform(count, 0.0, 6.3)) / harmonic
            for harmonic in (1, 2, 3, 5)
        )
        noise = noise + self._chance(count, self._hearing.hum) * self._uniform(count, 0.3, 2.0) * tones
        sway = 1 + self._uniform(count, 0.0, 0.7) * torch.sin(
            2 * math.pi * self._uniform(count, 0.2, 3.0) * time + self._uniform(count, 0.0, 6.3)
        )
        noise = noise * sway
        return noise / _rms(noise)

    def _voices(self, clean: Tensor, size: int) -> Tensor:
        """Other clips of the batch at once: a crowd of six, or one or two that stand out."""
        others = torch.zeros_like(clean)
        for step in (1, 2, 3, 5, 8, 13):
            loud = torch.exp(1.2 * self._normal(len(clean), 1))
            others = others + loud * torch.roll(clean, (step, 1000 * step * step), (0, 1))
        others = torch.nn.functional.pad(others, (0, size - clean.shape[1]))
        return others / _rms(others)

    def _channel(self, count: int, frequencies: Tensor) -> Tensor:
        """A microphone's uneven response; for some a band like that of a radio or telephone."""
        points = 7
        gains = self._normal(count, points) * 4.0
        place = (frequencies.clamp(min=60.0) / 60.0).log() / math.log(8000 / 60.0) * (points - 1)
        left = place.floor().long().clamp(max=points - 2)[0]
        part = (place[0] - left)[None]
        decibels = gains[:, left] * (1 - part) + gains[:, left + 1] * part
        low = self._uniform(count, 180.0, 450.0)
        high = self._uniform(count, 2300.0, 4200.0)
        ratio = frequencies.clamp(min=1.0)
        band = 1 / torch.sqrt((1 + (low / ratio) ** 8) * (1 + (ratio / high) ** 10))
        return 10 ** (decibels / 20) * torch.where(self._chance(count, self._hearing.banded), band, 1.0)

    def _clip(self, sound: Tensor) -> Tensor:
        """Softly or hard, at up to five times the level."""
        count = len(sound)
        limit = _level(sound).clamp(min=1.0) * self._uniform(count, 0.9, 5.0)
        bent = torch.where(
            self._chance(count, 0.5), limit * torch.tanh(sound / limit), sound.clamp(-limit, limit)
        )
        return torch.where(self._chance(count, self._hearing.clipped), bent, sound)

    def _telephone(self, sound: Tensor) -> Tensor:
        """Some were sampled at 8 kHz once: nothing is left above 3.3 to 4 kHz; half of them in 8 bits (mu-law)."""
        count, samples = sound.shape
        frequencies = torch.fft.rfftfreq(samples, 1 / SAMPLE_RATE, device=self._device)[None]
        edge = self._uniform(count, 3300.0, 4000.0)
        passed = ((edge - frequencies) / 100.0).clamp(0.0, 1.0)
        narrow = torch.fft.irfft(torch.fft.rfft(sound) * passed, n=samples)
        loudest = narrow.abs().amax(-1, keepdim=True).clamp(min=1.0)
        steps = torch.log1p(255 * narrow.abs() / loudest) / math.log(256) * 127
        coarse = narrow.sign() * torch.expm1(steps.round() / 127 * math.log(256)) / 255 * loudest
        narrow = torch.where(self._chance(count, 0.5), coarse, narrow)
        return torch.where(self._chance(count, self._hearing.telephone), narrow, sound)

    def _gate(self, sound: Tensor) -> Tensor:
        """Some microphones pass nothing at all between words: quieter than a threshold for 0.15 s is silence."""
        count, samples = sound.shape
        block = SAMPLE_RATE // 100
        loud = torch.nn.functional.max_pool1d(sound.abs()[:, None], block, ceil_mode=True)
        near = torch.nn.functional.max_pool1d(loud, 15, stride=1, padding=7)
        threshold = _level(sound) * 10 ** (-self._uniform(count, 8.0, 30.0) / 20)
        opened = (near[:, 0] > threshold).float().repeat_interleave(block, 1)[:, :samples]
        return torch.where(self._chance(count, self._hearing.gated), sound * opened, sound)

    def _gain(self, sound: Tensor) -> Tensor:
        """From a whisper at the far end of the room to overload; with the dither of `OwnGraphRecogniser`."""
        loudest = sound.abs().amax(-1, keepdim=True).clamp(min=1.0)
        wanted = 10 ** self._uniform(len(sound), 2.6, 4.5)
        heard = sound * (wanted / loudest) + self._normal(*sound.shape)
        return heard.round().clamp(-32768, 32767)

    def mask(self, energies: Tensor) -> Tensor:
        """Hide stretches of time and of the mel axis behind the clip's mean."""
        count, frames, _ = energies.shape
        mean = energies.mean((1, 2), keepdim=True)
        hidden = torch.zeros(count, frames, BINS, dtype=torch.bool, device=self._device)
        time = torch.arange(frames, device=self._device)[None]
        bins = torch.arange(BINS, device=self._device)[None]
        for _ in range(2):
            start = self._uniform(count, 0.0, float(frames))
            width = self._uniform(count, 0.0, 14.0) * self._chance(count, 0.4)
            hidden |= ((time >= start) & (time < start + width))[:, :, None]
            start = self._uniform(count, 0.0, float(BINS))
            width = self._uniform(count, 0.0, 7.0) * self._chance(count, 0.4)
            hidden |= ((bins >= start) & (bins < start + width))[:, None]
        return torch.where(hidden, mean, energies)


def _rms(sound: Tensor) -> Tensor:
    return sound.square().mean(-1, keepdim=True).sqrt().clamp(min=1e-3)


def _level(sound: Tensor) -> Tensor:
    """The root mean square of where somebody speaks: of the samples above a twentieth of the loudest."""
    loud = sound.abs() > 0.05 * sound.abs().amax(-1, keepdim=True)
    return ((sound.square() * loud).sum(-1, keepdim=True) / loud.sum(-1, keepdim=True).clamp(min=1)).sqrt()
