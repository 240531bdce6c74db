"""Networks in Kaldi's nnet3 form, as libvosk reads them; and such a network on tensors, to learn from.

Written: every normalisation folded into the affine map before it, matrices in 16 bits (Kaldi's `CompressedMatrix`, "CM2": a
smallest value, a range and 65,535 steps of it), no learning-rate fields, uniform priors.
"""

import re
import struct
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from trainer.ears.training.errors import TrainingError
from trainer.ears.training.network import Network
from trainer.ears.training.topology import PDFS, transition_model_bytes

Matrix = NDArray[np.float32]


def _integer(value: int) -> bytes:
    return struct.pack("<bi", 4, value)


def _vector(values: Matrix) -> bytes:
    return b"FV " + _integer(len(values)) + np.ascontiguousarray(values, "<f4").tobytes()


_STEPS = 65535


def _affine(name: str, matrix: Matrix, bias: Matrix) -> bytes:
    head = f"<ComponentName> {name} <FixedAffineComponent> <LinearParams> CM2 ".encode()
    low, span = float(matrix.min()), float(np.ptp(matrix)) or 1.0
    sizes = struct.pack("<ffii", low, span, *matrix.shape)
    body = np.round((matrix - low) / span * _STEPS).astype("<u2").tobytes()
    return head + sizes + body + b"<BiasParams> " + _vector(bias) + b"</FixedAffineComponent> "


def _read_matrix(data: bytes, at: int) -> tuple[Matrix, int]:
    """The matrix whose mark ("FM " or "CM2 ") begins at `at`, and where what follows it begins."""
    if data[at : at + 3] == b"FM ":
        rows, columns = (struct.unpack_from("<i", data, at + place)[0] for place in (4, 9))
        at, count = at + 13, rows * columns
        return np.frombuffer(data, "<f4", count, at).reshape(rows, columns), at + 4 * count
    low, span, rows, columns = struct.unpack_from("<ffii", data, at + 4)
    at, count = at + 20, rows * columns
    steps = np.frombuffer(data, "<u2", count, at).reshape(rows, columns)
    return (low + span / _STEPS * steps).astype(np.float32), at + 2 * count


def _pointwise(name: str, kind: str, size: int) -> bytes:
    """A component without parameters; its statistics are left empty."""
    nothing = _vector(np.zeros(0, np.float32))
    count = struct.pack("<bd", 8, 0.0)
    return (
        f"<ComponentName> {name} <{kind}> <Dim> ".encode()
        + _integer(size)
        + b"<ValueAvg> " + nothing + b"<DerivAvg> " + nothing + b"<Count> " + count
        + b"<OderivRms> " + nothing + b"<OderivCount> " + count
        + b"<NumDimsSelfRepaired> " + count + b"<NumDimsProcessed> " + count
        + f"</{kind}> ".encode()
    )  # fmt: skip


def _folded(weight: Tensor, norm: torch.nn.BatchNorm1d) -> tuple[Matrix, Matrix]:
    """A bias-free map [out, in] followed by a normalisation, as one affine map."""
    scale = norm.weight / (norm.running_var + norm.eps).sqrt()  # type: ignore[operator]
    bias = norm.bias - norm.running_mean * scale  # type: ignore[operator]
    return (weight * scale[:, None]).numpy(), bias.numpy()


def _spliced(weight: Tensor) -> Tensor:
    """A convolution's weights [out, in, taps] as a matrix over the taps' frames one after the other."""
    return weight.permute(0, 2, 1).reshape(weight.shape[0], -1)


def _appended(node: str, offsets: list[int]) -> str:
    parts = [node if offset == 0 else f"Offset({node}, {offset})" for offset in offsets]
    return f"Append({', '.join(parts)})" if len(parts) > 1 else parts[0]


@torch.no_grad()
def model_bytes(network: Network) -> bytes:
    """The whole `am/final.mdl`: transition model, network, priors."""
    network = network.cpu().eval().float()
    lines: list[str] = ["input-node name=input dim=40"]
    components: list[bytes] = []

    def node(name: str, source: str, component: bytes) -> None:
        lines.append(f"component-node name={name} component={name} input={source}")
        components.append(component)

    shape = network.shape
    weight = network.entry.weight / network.deviation[None, :, None]
    matrix, bias = _folded(_spliced(weight), network.entry_norm)
    # the mean of the input, through the same map and scale
    bias = bias - matrix @ np.tile(network.mean.numpy(), 2 * shape.first + 1)
    node(
        "l0.affine",
        _appended("input", list(range(-shape.first, shape.first + 1))),
        _affine("l0.affine", matrix, bias),
    )
    node("l0.relu", "l0.affine", _pointwise("l0.relu", "RectifiedLinearComponent", shape.width))
    for number, layer in enumerate(network.layers, start=1):
        name, before = f"l{number}", f"l{number - 1}.relu"
        joint = _spliced(layer.joint.weight).numpy()
        source = _appended(before, [-layer.offset, 0, layer.offset])
        node(f"{name}.joint", source, _affine(f"{name}.joint", joint, np.zeros(shape.joint, np.float32)))
        matrix, bias = _folded(layer.affine.weight[:, :, 0], layer.norm)
        node(f"{name}.affine", f"{name}.joint", _affine(f"{name}.affine", matrix, bias))
        relu = _pointwise(f"{name}.relu", "RectifiedLinearComponent", shape.width)
        node(f"{name}.relu", f"Sum({name}.affine, {before})", relu)
    score = network.score.weight[:, :, 0].numpy()
    bias_of_score = network.score.bias.numpy()  # type: ignore[union-attr]
    node("score.affine", f"l{len(network.layers)}.relu", _affine("score.affine", score, bias_of_score))
    node("score.log-softmax", "score.affine", _pointwise("score.log-softmax", "LogSoftmaxComponent", PDFS))
    lines.append("output-node name=output input=score.log-softmax objective=linear")
    return b"".join(
        (
            b"\0B",
            transition_model_bytes(),
            b"<Nnet3> ",
            ("\n" + "\n".join(lines) + "\n\n").encode(),
            b"<NumComponents> ",
            _integer(len(components)),
            *components,
            b"</Nnet3> <LeftContext> ",
            _integer(0),
            b"<RightContext> ",
            _integer(0),
            b"<Priors> ",
            _vector(np.ones(PDFS, np.float32)),
        )
    )


_NODE = re.compile(r"component-node name=(\S+) component=(\S+) input=(.+)")
_MAP = re.compile(rb"<ComponentName> (\S+) <FixedAffineComponent> <LinearParams> (?=FM |CM2 )")
_OFFSET = re.compile(r"Offset\((\S+), (-?\d+)\)")


class KaldiNetwork:
    """A network of affine maps, rectifiers and sums out of a `final.mdl`: cepstra to log probabilities."""

    def __init__(self, path: Path, device: torch.device) -> None:
        """TrainingError if the file is no such network."""
        data = path.read_bytes()
        self._device = device
        start, end = data.find(b"<Nnet3>"), data.find(b"<NumComponents>")
        if start < 0 or end < 0:
            raise TrainingError(f"{path} holds no nnet3 network", "give the final.mdl of a model made here")
        self._nodes = _NODE.findall(data[start:end].decode("ascii"))
        self._maps: dict[str, tuple[Tensor, Tensor]] = {}
        for found in _MAP.finditer(data):
            matrix, at = _read_matrix(data, found.end())
            bias = np.frombuffer(data, "<f4", len(matrix), at + len(b"<BiasParams> FV ") + 5)
            self._maps[found[1].decode()] = (
                torch.from_numpy(matrix.copy()).to(device),
                torch.from_numpy(bias.copy()).to(device),
            )

    @torch.no_grad()
    def __call__(self, cepstra: Tensor, stride: int = 3) -> Tensor:
        """[clips, frames, features] to [clips, ceil(frames / stride), outputs]; beyond its ends a clip goes on."""
        frames = cepstra.shape[1]
        reach = 60
        padded = torch.nn.functional.pad(cepstra.transpose(1, 2), (reach, reach), mode="replicate")
        values = {"input": padded.transpose(1, 2)}
        for name, component, source in self._nodes:
            if source.startswith("Sum("):
                value = torch.stack([values[part] for part in source[4:-1].split(", ")]).sum(0)
            else:
                value = self._append(values, source)
            if component in self._maps:
                matrix, bias = self._maps[component]
                value = torch.matmul(value, matrix.t()) + bias
            elif component.endswith("relu"):
                value = value.relu()
            else:
                value = value.log_softmax(-1)
            values[name] = value
        last = values[self._nodes[-1][0]]
        return last[:, reach : reach + frames : stride]

    def _append(self, values: dict[str, Tensor], source: str) -> Tensor:
        inner = source[len("Append(") : -1] if source.startswith("Append(") else source
        parts = []
        for part in re.findall(r"Offset\([^)]*\)|[^,\s]+", inner):
            moved = _OFFSET.match(part)
            parts.append(values[part] if not moved else torch.roll(values[moved[1]], -int(moved[2]), 1))
        return torch.cat(parts, -1)
