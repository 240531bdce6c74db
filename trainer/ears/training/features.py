"""Cepstra on tensors, equal to `kaldi_native_fbank.OnlineMfcc` with the settings of the model's `conf/mfcc.conf`.

Definitions as in Kaldi's `feat/feature-window.cc`, `mel-computations.cc` and `feature-mfcc.cc`.
"""

import math

import torch
from torch import Tensor

from trainer.ears.recogniser import SAMPLE_RATE

BINS = 40
SETTINGS = """\
--use-energy=false
--num-mel-bins=40
--num-ceps=40
--low-freq=20
--high-freq=-400
--sample-frequency=16000
--allow-downsample=true
--allow-upsample=true
--dither=1.0
"""
"""The text of `conf/mfcc.conf`. The dither is that of the training: one step of 16-bit sound."""

_FRAME, _SHIFT, _FFT = 400, 160, 512
_LOW, _HIGH = 20.0, SAMPLE_RATE / 2 - 400.0
_LIFTER = 22.0
_EPSILON = 1.1920929e-07
_KNEE = 5500.0
"""Hertz: above it a warped frequency axis runs back to the same end."""


def frames_of(samples: int) -> int:
    """How many frames a sound of so many samples has."""
    return max(0, 1 + (samples - _FRAME) // _SHIFT)


def _mel(hertz: Tensor) -> Tensor:
    return 1127.0 * torch.log1p(hertz / 700.0)


def _filters(warp: float) -> Tensor:
    """Triangles on the mel axis, [bins of the transform, BINS]; `warp` above 1 is a shorter vocal tract."""
    hertz = torch.arange(_FFT // 2, dtype=torch.float64) * (SAMPLE_RATE / _FFT)
    top = SAMPLE_RATE / 2
    knee = _KNEE / max(warp, 1.0)
    upper = knee * warp + (hertz - knee) * (top - knee * warp) / (top - knee)
    place = _mel(torch.where(hertz < knee, hertz * warp, upper))
    low, high = (float(_mel(torch.tensor(edge, dtype=torch.float64))) for edge in (_LOW, _HIGH))
    step = (high - low) / (BINS + 1)
    centre = low + step * torch.arange(1, BINS + 1, dtype=torch.float64)
    distance = (place[:, None] - centre[None]).abs() / step
    return (1.0 - distance).clamp(min=0.0).float()


class Cepstra(torch.nn.Module):
    """Sound to logarithmic mel energies to cepstra; filters for several lengths of the vocal tract are kept."""

    filters: Tensor
    window: Tensor
    transform: Tensor

    def __init__(self, warps: tuple[float, ...] = (1.0,)) -> None:
        super().__init__()
        n = torch.arange(_FRAME, dtype=torch.float64)
        window = (0.5 - 0.5 * torch.cos(2 * math.pi * n / (_FRAME - 1))) ** 0.85
        self.register_buffer("window", window.float(), persistent=False)
        self.register_buffer("filters", torch.stack([_filters(warp) for warp in warps]), persistent=False)
        place = torch.arange(BINS, dtype=torch.float64)
        cosines = torch.cos(math.pi / BINS * (place[:, None] + 0.5) * place[None]) * math.sqrt(2 / BINS)
        cosines[:, 0] = math.sqrt(1 / BINS)
        lifter = 1.0 + 0.5 * _LIFTER * torch.sin(math.pi * place / _LIFTER)
        self.register_buffer("transform", (cosines * lifter[None]).float(), persistent=False)

    def energies(self, sound: Tensor, warp: Tensor | None = None) -> Tensor:
        """[clips, samples] (as 16-bit numbers) to [clips, frames, BINS]; `warp` picks a filter bank a clip."""
        frames = sound.unfold(1, _FRAME, _SHIFT)
        frames = frames - frames.mean(-1, keepdim=True)
        before = torch.cat([frames[..., :1], frames[..., :-1]], -1)
        spectrum = torch.fft.rfft((frames - 0.97 * before) * self.window, n=_FFT)
        power = spectrum.real.square() + spectrum.imag.square()
        filters = self.filters[:1] if warp is None else self.filters[warp]
        return torch.matmul(power[..., : _FFT // 2], filters).clamp(min=_EPSILON).log()

    def cepstra(self, energies: Tensor) -> Tensor:
        """The same frames as cepstra, liftered."""
        return torch.matmul(energies, self.transform)

    def forward(self, sound: Tensor) -> Tensor:
        return self.cepstra(self.energies(sound))
