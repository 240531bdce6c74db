"""What the network is trained for: how likely all readings of a text are, against all readings of anything.

Forward-backward in the domain of probabilities, normalised at every frame, over whole batches: logarithms at
every step are several times slower on an accelerator. A batch's clips have the same number of frames.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from trainer.ears.training.hmm import PAUSE, Graph, Loop
from trainer.ears.training.topology import PDFS

_TINY = 1e-30
_SCALE_EVERY = 3
"""Frames between two scalings; the numbers stay far from the smallest that there are."""


@dataclass(frozen=True)
class Numerators:
    """The graphs of a batch, padded: [clips, states] and [clips, states, arcs]."""

    pdfs: Tensor
    before: Tensor
    weights: Tensor
    first: Tensor
    last: Tensor

    @classmethod
    def of(cls, graphs: Sequence[Graph], device: torch.device) -> "Numerators":
        states = max(len(graph.pdfs) for graph in graphs)
        arcs = max(graph.before.shape[1] for graph in graphs)

        def padded(parts: list[NDArray[np.generic]], shape: tuple[int, ...], kind: type) -> Tensor:
            whole: NDArray[np.generic] = np.zeros((len(parts), *shape), kind)
            for row, part in zip(whole, parts, strict=True):
                row[tuple(slice(size) for size in part.shape)] = part
            return torch.from_numpy(whole).to(device, non_blocking=True)

        return cls(
            padded([graph.pdfs for graph in graphs], (states,), np.int64),
            padded([graph.before for graph in graphs], (states, arcs), np.int64),
            padded([graph.weights for graph in graphs], (states, arcs), np.float32),
            padded([graph.first for graph in graphs], (states,), np.float32),
            padded([graph.last for graph in graphs], (states,), np.float32),
        )


def _emissions(scores: Tensor) -> tuple[Tensor, Tensor]:
    """Probabilities with the best of each frame at 1, and the logarithms that were taken out, by clip."""
    best = scores.amax(-1, keepdim=True)
    return (scores - best).exp(), best.sum((1, 2))


def _scaled(x: Tensor, dim: int) -> tuple[Tensor, Tensor]:
    total = x.sum(dim, keepdim=True).clamp(min=_TINY)
    return x / total, total


class _Forward:
    """The probabilities going forward, scaled now and then, with what was scaled away."""

    def __init__(self, dim: int) -> None:
        self._dim = dim
        self.kept: list[Tensor] = []
        self._scales: list[Tensor] = []

    def keep(self, alpha: Tensor) -> Tensor:
        if len(self.kept) % _SCALE_EVERY == 0:
            alpha, scale = _scaled(alpha, self._dim)
            self._scales.append(scale)
        self.kept.append(alpha)
        return alpha

    def logs(self) -> Tensor:
        return torch.stack(self._scales).log().sum(0).squeeze(self._dim)


def _backward(frames: int, last: Tensor, dim: int, step: Callable[[int, Tensor], Tensor]) -> list[Tensor]:
    """The probabilities going backward, in order of frames; `step(frame, beta)` goes back from a frame."""
    beta, kept = last, [last]
    for frame in range(frames - 1, 0, -1):
        beta = step(frame, beta)
        if frame % _SCALE_EVERY == 0:
            beta, _ = _scaled(beta, dim)
        kept.append(beta)
    return kept[::-1]


@torch.no_grad()
def numerator(scores: Tensor, graphs: Numerators) -> tuple[Tensor, Tensor]:
    """Log likelihood by clip, and how much each output is in use at each frame [clips, frames, PDFS]."""
    count, frames, _ = scores.shape
    emissions, logs = _emissions(scores)
    states, arcs = graphs.before.shape[1:]
    local = emissions.gather(2, graphs.pdfs[:, None].expand(-1, frames, -1)).transpose(0, 1).contiguous()
    flat = graphs.before.reshape(count, states * arcs)
    forward = _Forward(1)
    alpha = forward.keep(graphs.first * local[0])
    for frame in range(1, frames):
        led = (alpha.gather(1, flat).view(count, states, arcs) * graphs.weights).sum(2)
        alpha = forward.keep(led * local[frame])
    logs = logs + forward.logs() + (alpha * graphs.last).sum(1).clamp(min=_TINY).log()

    def step(frame: int, beta: Tensor) -> Tensor:
        onward = (local[frame] * beta)[:, :, None] * graphs.weights
        return torch.zeros_like(beta).scatter_add_(1, flat, onward.view(count, states * arcs))

    backward = _backward(frames, graphs.last, 1, step)
    gamma, _ = _scaled(torch.stack(forward.kept, 1) * torch.stack(backward, 1), 2)
    use = torch.zeros_like(scores).scatter_add_(2, graphs.pdfs[:, None].expand(-1, frames, -1), gamma)
    return logs, use


@torch.no_grad()
def phone_denominator(scores: Tensor, matrix: Tensor) -> tuple[Tensor, Tensor]:
    """The same against a phone bigram (`hmm.phone_bigram`): states are outputs."""
    frames = scores.shape[1]
    emissions, logs = _emissions(scores)
    inner, first, last = matrix[:-1, :-1].contiguous(), matrix[-1, :-1], matrix[:-1, -1]
    local = emissions.transpose(0, 1).contiguous()
    forward = _Forward(1)
    alpha = forward.keep(first * local[0])
    for frame in range(1, frames):
        alpha = forward.keep((alpha @ inner) * local[frame])
    logs = logs + forward.logs() + (alpha * last).sum(1).clamp(min=_TINY).log()
    turned = inner.t().contiguous()
    backward = _backward(frames, last.expand_as(alpha), 1, lambda frame, beta: (local[frame] * beta) @ turned)
    gamma, _ = _scaled(torch.stack(forward.kept, 1) * torch.stack(backward, 1), 2)
    return logs, gamma


class WordLoop:
    """The same against all words over and over. States first, clips second: one sparse product a frame."""

    def __init__(self, loop: Loop, device: torch.device) -> None:
        states = len(loop.pdfs)
        targets, places = (found.astype(np.int64) for found in np.nonzero(loop.weights))
        sources = loop.before[targets, places].astype(np.int64)
        weights = loop.weights[targets, places]
        self._pdfs = torch.from_numpy(loop.pdfs.astype(np.int64)).to(device)
        self._within = _sparse(targets, sources, weights, states, device)
        self._without = _sparse(sources, targets, weights, states, device)
        enter, leave = torch.from_numpy(loop.enter).to(device), torch.from_numpy(loop.leave).to(device)
        # Both ways out of a word, to the next word and to the pause, and the way out of the pause.
        to_word, to_pause = (1 - PAUSE) * leave, PAUSE * leave
        to_word[0] = 0.5
        pause = torch.zeros_like(enter)
        pause[0] = 1.0
        self._out = torch.stack([to_word, to_pause])
        self._into = torch.stack([enter, pause], 1)
        self._first = (1 - PAUSE) * enter + PAUSE * pause
        self._last = leave.clone()
        self._last[0] = 0.5

    @torch.no_grad()
    def __call__(self, scores: Tensor) -> tuple[Tensor, Tensor]:
        """Log likelihood by clip, and the use of each output at each frame."""
        count, frames, _ = scores.shape
        emissions, logs = _emissions(scores)
        local = emissions.permute(1, 2, 0).contiguous()
        forward = _Forward(0)
        alpha = forward.keep(self._first[:, None] * local[0][self._pdfs])
        for frame in range(1, frames):
            led = torch.addmm(torch.mm(self._within, alpha), self._into, torch.mm(self._out, alpha))
            alpha = forward.keep(led * local[frame][self._pdfs])
        logs = logs + forward.logs() + (alpha * self._last[:, None]).sum(0).clamp(min=_TINY).log()
        out, into = self._out.t().contiguous(), self._into.t().contiguous()

        def step(frame: int, beta: Tensor) -> Tensor:
            onward = local[frame][self._pdfs] * beta
            return torch.addmm(torch.mm(self._without, onward), out, torch.mm(into, onward))

        backward = _backward(frames, self._last[:, None].expand_as(alpha), 0, step)
        use = torch.zeros(frames, PDFS, count, device=scores.device)
        for frame, (ahead, behind) in enumerate(zip(forward.kept, backward, strict=True)):
            use[frame].index_add_(0, self._pdfs, ahead * behind)
        use = use / use.sum(1, keepdim=True).clamp(min=_TINY)
        return logs, use.permute(2, 0, 1)


def _sparse(
    rows: NDArray[np.int64],
    columns: NDArray[np.int64],
    values: NDArray[np.float32],
    size: int,
    device: torch.device,
) -> Tensor:
    indices = torch.from_numpy(np.stack([rows, columns]).astype(np.int64))
    whole = torch.sparse_coo_tensor(indices, torch.from_numpy(values.copy()), (size, size))
    return whole.coalesce().to_sparse_csr().to(device)


def cross_entropy(scores: Tensor, use: Tensor) -> Tensor:
    """Mean over frames, against the outputs in use by some reading."""
    return -(use * scores).sum(-1).mean()


def discrimination(scores: Tensor, wanted: Tensor, others: Tensor) -> Tensor:
    """A loss whose gradient is that of -log(numerator / denominator) by frame; clips that went wrong count nothing."""
    difference = others - wanted
    sane = torch.isfinite(difference).all(-1).all(-1)[:, None, None]
    return (torch.where(sane, difference, 0.0) * scores).sum(-1).mean()
