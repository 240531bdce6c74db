"""The network: a time-delay network with narrow joints and residual paths, one output every third frame.

Every layer but the first is a linear map of three frames onto a narrow joint, an affine map back, the layer's own
input added, and a rectifier. All of it is written in Kaldi's terms by `nnet3.py`.
"""

from dataclasses import dataclass

import torch
from torch import Tensor, nn

from trainer.ears.training.features import BINS
from trainer.ears.training.topology import PDFS

STRIDE = 3
"""Frames of 10 ms to one output; libvosk assumes 3."""


@dataclass(frozen=True)
class Shape:
    """`offsets` are the reach of each layer after the first, in frames of 10 ms; the first sees `first` on each side.

    The first of `offsets` may be any number; the others are multiples of `STRIDE`.
    """

    width: int = 640
    joint: int = 224
    first: int = 2
    offsets: tuple[int, ...] = (1, 3, 3, 3, 3, 3, 3, 3, 3, 6)

    @property
    def reach(self) -> int:
        """How many frames before and after its own an output depends on."""
        return self.first + sum(self.offsets)


class _Layer(nn.Module):
    def __init__(self, shape: Shape, offset: int, stride: int) -> None:
        super().__init__()
        dilation = offset if stride > 1 else offset // STRIDE
        self.offset, self.stride = offset, stride
        self.trim = dilation
        self.joint = nn.Conv1d(shape.width, shape.joint, 3, dilation=dilation, stride=stride, bias=False)
        self.affine = nn.Conv1d(shape.joint, shape.width, 1, bias=False)
        self.norm = nn.BatchNorm1d(shape.width)

    def forward(self, x: Tensor) -> Tensor:
        own = x[:, :, self.trim : -self.trim : self.stride]
        out: Tensor = torch.relu(self.norm(self.affine(self.joint(x))) + own)
        return out


class Network(nn.Module):
    """Cepstra [clips, frames, BINS] to scores of the outputs, [clips, ceil(frames / STRIDE), PDFS]."""

    mean: Tensor
    deviation: Tensor

    def __init__(self, shape: Shape = Shape()) -> None:
        super().__init__()
        self.shape = shape
        self.register_buffer("mean", torch.zeros(BINS))
        self.register_buffer("deviation", torch.ones(BINS))
        self.entry = nn.Conv1d(BINS, shape.width, 2 * shape.first + 1, bias=False)
        self.entry_norm = nn.BatchNorm1d(shape.width)
        self.layers = nn.ModuleList(
            _Layer(shape, offset, STRIDE if number == 0 else 1) for number, offset in enumerate(shape.offsets)
        )
        self.score = nn.Conv1d(shape.width, PDFS, 1)
        self.second = nn.Conv1d(shape.width, PDFS, 1)
        """Trained by cross-entropy while `score` is trained to tell words apart; it keeps the layers honest."""

    def hidden(self, cepstra: Tensor) -> Tensor:
        """The last layer, [clips, width, outputs]. Beyond its ends a clip goes on as it began and ended."""
        frames = cepstra.shape[1]
        x = ((cepstra - self.mean) / self.deviation).transpose(1, 2)
        beyond = (STRIDE - frames) % STRIDE
        x = nn.functional.pad(x, (self.shape.reach, self.shape.reach + beyond), mode="replicate")
        x = torch.relu(self.entry_norm(self.entry(x)))
        for layer in self.layers:
            x = layer(x)
        return x[:, :, : -(-frames // STRIDE)]

    def forward(self, cepstra: Tensor) -> Tensor:
        """Natural logarithms of probabilities."""
        scores: Tensor = self.score(self.hidden(cepstra)).transpose(1, 2).log_softmax(-1)
        return scores

    def both(self, cepstra: Tensor) -> tuple[Tensor, Tensor]:
        """Log probabilities of the output and of the second head."""
        hidden = self.hidden(cepstra)
        first, second = (head(hidden).transpose(1, 2).log_softmax(-1) for head in (self.score, self.second))
        return first, second
