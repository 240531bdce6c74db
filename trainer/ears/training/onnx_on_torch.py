"""An ONNX graph carried out by PyTorch, operator by operator, so that a synthesizer's network runs on an accelerator.

onnxruntime does this on the processor; its build for accelerators is larger than what can be sent to a lent machine.
Only the operators that Kokoro's network has. Its weights are integers with a scale; here they are turned into
floating point once, and what the graph would quantize on the way is left as it is, so the sound is the finer one.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional as F

from trainer.ears.training.errors import TrainingError, needs

_TYPES = {
    1: torch.float32, 6: torch.float32, 7: torch.int64, 9: torch.bool, 10: torch.float32, 11: torch.float32,
    2: torch.float32, 3: torch.float32,
}  # fmt: skip
"""ONNX's numbers of types. Integers of 8 and 32 bits, which only quantizing makes, stay floating point; so do half and double."""

Values = list[Any]


def _ints(value: Tensor) -> list[int]:
    return [int(x) for x in value.reshape(-1).tolist()]


def _pads(attributes: dict[str, Any], dims: int) -> tuple[list[int], list[int]]:
    pads = attributes.get("pads") or [0] * (2 * dims)
    return pads[:dims], pads[dims:]


def _convolve(x: Tensor, weight: Tensor, bias: Tensor | None, a: dict[str, Any]) -> Tensor:
    dims = x.dim() - 2
    before, after = _pads(a, dims)
    if before != after:
        x = F.pad(x, [p for pair in zip(reversed(before), reversed(after), strict=True) for p in pair])
        before = [0] * dims
    convolve = F.conv1d if dims == 1 else F.conv2d
    return convolve(
        x,
        weight,
        bias,
        a.get("strides", [1] * dims),
        before,
        a.get("dilations", [1] * dims),
        a.get("group", 1),
    )


def _transposed(x: Tensor, weight: Tensor, bias: Tensor | None, a: dict[str, Any]) -> Tensor:
    dims = x.dim() - 2
    before, after = _pads(a, dims)
    extra = a.get("output_padding", [0] * dims)
    out = F.conv_transpose1d(
        x, weight, bias, a.get("strides", [1]), before, extra, a.get("group", 1), a.get("dilations", [1])
    )
    return out[..., : out.shape[-1] - (after[0] - before[0])] if after != before else out


def _slice(x: Tensor, starts: Tensor, ends: Tensor, axes: Tensor | None, steps: Tensor | None) -> Tensor:
    first, last = _ints(starts), _ints(ends)
    along = list(range(len(first))) if axes is None else _ints(axes)
    by = [1] * len(first) if steps is None else _ints(steps)
    for start, end, axis, step in zip(first, last, along, by, strict=True):
        size = x.shape[axis]
        if step < 0:
            chosen = range(size)[slice(start, None if end < -size else end, step)]
            x = x.index_select(axis, torch.tensor(list(chosen), device=x.device))
        else:
            low, high, _ = slice(start, end, step).indices(size)
            x = x.narrow(axis, low, max(0, high - low))
            if step > 1:
                x = x.index_select(axis, torch.arange(0, x.shape[axis], step, device=x.device))
    return x


def _pad(x: Tensor, pads: Tensor, value: Tensor | None, axes: Tensor | None, mode: str) -> Tensor:
    sizes = _ints(pads)
    along = list(range(x.dim())) if axes is None else [a % x.dim() for a in _ints(axes)]
    count = len(along)
    each = {axis: (sizes[i], sizes[i + count]) for i, axis in enumerate(along)}
    flat = [n for axis in reversed(range(x.dim())) for n in each.get(axis, (0, 0))]
    if mode == "constant":
        return F.pad(x, flat, value=0.0 if value is None or value.numel() == 0 else float(value))
    while len(flat) > 2 and flat[-2:] == [0, 0]:
        flat = flat[:-2]
    return F.pad(x, flat, mode={"reflect": "reflect", "edge": "replicate"}[mode])


def _resize(x: Tensor, scales: Tensor | None, sizes: Tensor | None, mode: str, place: str) -> Tensor:
    want = _ints(sizes)[2:] if sizes is not None and sizes.numel() else None
    by = None if want else scales.reshape(-1).tolist()[2:]  # type: ignore[union-attr]
    if mode == "nearest":
        return F.interpolate(x, want, by, "nearest")
    return F.interpolate(x, want, by, "linear", align_corners=place == "align_corners")


def _stft(signal: Tensor, step: Tensor, window: Tensor, onesided: int) -> Tensor:
    signal = signal.squeeze(-1) if signal.dim() == 3 else signal
    frames = signal.unfold(-1, window.shape[0], int(step)) * window
    found = torch.fft.rfft(frames) if onesided else torch.fft.fft(frames)
    return torch.view_as_real(found)


def _normal(x: Tensor, scale: Tensor, bias: Tensor | None, a: dict[str, Any]) -> Tensor:
    return F.layer_norm(x, x.shape[a.get("axis", -1) :], scale, bias, a.get("epsilon", 1e-5))


def _scattered(data: Tensor, indices: Tensor, updates: Tensor) -> Tensor:
    out = data.clone()
    out[tuple(indices.long().unbind(-1))] = updates.to(out.dtype)
    return out


def _arithmetic(function: Callable[[Any, Any], Any]) -> Callable[[Values, dict[str, Any]], Any]:
    return lambda x, a: function(*_together(x[:2]))


def _together(values: Values) -> Values:
    """Numbers of shapes stay with the processor until they meet others."""
    devices = {each.device for each in values if each.dim() > 0}
    if len(devices) < 2:
        return values
    (device,) = (device for device in devices if device.type != "cpu")
    return [each.to(device) for each in values]


def _divided(x: Tensor, y: Tensor) -> Tensor:
    return x / y if x.is_floating_point() else torch.div(x, y, rounding_mode="trunc")


def _axes(x: Values, a: dict[str, Any]) -> list[int]:
    return _ints(x[1]) if len(x) > 1 and x[1] is not None else list(a.get("axes", []))


def _squeezed(x: Values, a: dict[str, Any]) -> Tensor:
    axes = _axes(x, a)
    return x[0].squeeze(tuple(axes)) if axes else x[0].squeeze()


def _unsqueezed(x: Values, a: dict[str, Any]) -> Tensor:
    out: Tensor = x[0]
    for axis in sorted(_axes(x, a)):
        out = out.unsqueeze(axis)
    return out


def _reshaped(x: Values, a: dict[str, Any]) -> Tensor:
    wanted = _ints(x[1])
    sizes = [x[0].shape[place] if size == 0 else size for place, size in enumerate(wanted)]
    out: Tensor = x[0].reshape(sizes)
    return out


def _gathered(x: Values, a: dict[str, Any]) -> Tensor:
    axis = a.get("axis", 0) % x[0].dim()
    index = x[1].to(x[0].device).long()
    index = torch.where(index < 0, index + x[0].shape[axis], index)
    flat = x[0].index_select(axis, index.reshape(-1))
    return flat.reshape(x[0].shape[:axis] + index.shape + x[0].shape[axis + 1 :])


def _split(x: Values, a: dict[str, Any]) -> tuple[Tensor, ...]:
    axis = a.get("axis", 0)
    if len(x) > 1 and x[1] is not None:
        return tuple(x[0].split(_ints(x[1]), axis))
    count = a.get("num_outputs") or a["outputs"]
    return tuple(x[0].split(-(-x[0].shape[axis] // count), axis))


def _mean(x: Values, a: dict[str, Any]) -> Tensor:
    axes, kept = _axes(x, a), bool(a.get("keepdims", 1))
    return x[0].mean(axes, kept) if axes else x[0].mean()


def _sum(x: Values, a: dict[str, Any]) -> Tensor:
    axes, kept = _axes(x, a), bool(a.get("keepdims", 1))
    return x[0].sum(axes, kept) if axes else x[0].sum()


def _clipped(x: Values, a: dict[str, Any]) -> Tensor:
    low = x[1] if len(x) > 1 else None
    high = x[2] if len(x) > 2 else None
    return torch.clamp(x[0], None if low is None else low, None if high is None else high)


def _added_and_normal(x: Values, a: dict[str, Any]) -> Tensor:
    whole = x[0] + x[1] + (x[4] if len(x) > 4 and x[4] is not None else 0)
    return F.layer_norm(whole, whole.shape[-1:], x[2], x[3], a.get("epsilon", 1e-12))


def _fast_gelu(x: Values, a: dict[str, Any]) -> Tensor:
    return F.gelu(x[0] + x[1] if len(x) > 1 and x[1] is not None else x[0], approximate="tanh")


def _fused_product(x: Values, a: dict[str, Any]) -> Tensor:
    left = x[0].transpose(-1, -2) if a.get("transA") else x[0]
    right = x[1].transpose(-1, -2) if a.get("transB") else x[1]
    return float(a.get("alpha", 1.0)) * (left @ right)


def _integer_product(x: Values, a: dict[str, Any]) -> Tensor:
    """What was not quantized times the weights, which have lost their zero point when the graph was read."""
    return x[0] @ x[1]


_OPERATORS: dict[str, Callable[[Values, dict[str, Any]], Any]] = {
    "Mul": _arithmetic(lambda x, y: x * y),
    "Add": _arithmetic(lambda x, y: x + y),
    "Sub": _arithmetic(lambda x, y: x - y),
    "Div": _arithmetic(_divided),
    "Pow": _arithmetic(lambda x, y: x**y),
    "Equal": _arithmetic(lambda x, y: x == y),
    "Greater": _arithmetic(lambda x, y: x > y),
    "GreaterOrEqual": _arithmetic(lambda x, y: x >= y),
    "Less": _arithmetic(lambda x, y: x < y),
    "And": _arithmetic(lambda x, y: x & y),
    "MatMul": _arithmetic(lambda x, y: x @ y),
    "Cast": lambda x, a: x[0].to(_TYPES[a["to"]]),
    "Sqrt": lambda x, a: x[0].sqrt(),
    "Sin": lambda x, a: x[0].sin(),
    "Cos": lambda x, a: x[0].cos(),
    "Exp": lambda x, a: x[0].exp(),
    "Atan": lambda x, a: x[0].atan().nan_to_num(0.0),  # nothing over nothing, in silence
    "Tanh": lambda x, a: x[0].tanh(),
    "Sigmoid": lambda x, a: x[0].sigmoid(),
    "Floor": lambda x, a: x[0].floor(),
    "Round": lambda x, a: x[0].round(),
    "Clip": _clipped,
    "Where": lambda x, a: torch.where(*_together(x)),
    "Softmax": lambda x, a: x[0].softmax(a.get("axis", -1)),
    "LeakyRelu": lambda x, a: F.leaky_relu(x[0], a.get("alpha", 0.01)),
    "LayerNormalization": lambda x, a: _normal(x[0], x[1], x[2] if len(x) > 2 else None, a),
    "SkipLayerNormalization": _added_and_normal,
    "FastGelu": _fast_gelu,
    "FusedMatMul": _fused_product,
    "MatMulInteger": _integer_product,
    "ConvInteger": lambda x, a: _convolve(x[0], x[1], None, a),
    "Conv": lambda x, a: _convolve(x[0], x[1], x[2] if len(x) > 2 else None, a),
    "ConvTranspose": lambda x, a: _transposed(x[0], x[1], x[2] if len(x) > 2 else None, a),
    "Unsqueeze": _unsqueezed,
    "Squeeze": _squeezed,
    "Reshape": _reshaped,
    "Transpose": lambda x, a: x[0].permute(a["perm"]),
    "Concat": lambda x, a: torch.cat([each.to(x[-1].device) for each in x], a["axis"]),
    "Gather": _gathered,
    "Split": _split,
    "Slice": lambda x, a: _slice(*(x + [None] * (5 - len(x)))),
    "Shape": lambda x, a: torch.tensor(x[0].shape),
    "ReduceMean": _mean,
    "ReduceSum": _sum,
    "CumSum": lambda x, a: x[0].cumsum(int(x[1])),
    "Range": lambda x, a: torch.arange(x[0].item(), x[1].item(), x[2].item(), device=a["device"]),
    "Expand": lambda x, a: x[0] * torch.ones(_ints(x[1]), dtype=x[0].dtype, device=x[0].device),
    "ConstantOfShape": lambda x, a: torch.full(
        _ints(x[0]), a["value"].item() if "value" in a else 0.0, device=a["device"]
    ),
    "Pad": lambda x, a: _pad(
        x[0],
        x[1],
        x[2] if len(x) > 2 else None,
        x[3] if len(x) > 3 else None,
        a.get("mode", "constant"),
    ),
    "Resize": lambda x, a: _resize(
        x[0],
        x[2] if len(x) > 2 else None,
        x[3] if len(x) > 3 else None,
        a["mode"],
        a.get("coordinate_transformation_mode", "half_pixel"),
    ),
    "DequantizeLinear": lambda x, a: (x[0] - (x[2] if len(x) > 2 and x[2] is not None else 0)) * x[1],
    "STFT": lambda x, a: _stft(x[0], x[1], x[2], a.get("onesided", 1)),
    "NonZero": lambda x, a: x[0].nonzero().t(),
    "ScatterND": lambda x, a: _scattered(*_together(x)),
}


class OnnxOnTorch:
    """The graph in `path`, ready to be carried out on a device; what is drawn at random is PyTorch's."""

    def __init__(self, path: Path, device: torch.device) -> None:
        try:
            import onnx
            from onnx import numpy_helper
        except ImportError:
            raise needs("onnx") from None
        graph = onnx.load(str(path)).graph
        self._device = device
        self._known: dict[str, Any] = {}
        raw = {each.name: numpy_helper.to_array(each) for each in graph.initializer}
        self._inputs = [each.name for each in graph.input]
        self._output = graph.output[0].name
        steps = []
        for node in graph.node:
            given = {a.name: onnx.helper.get_attribute_value(a) for a in node.attribute}
            given = {name: _plain(value, numpy_helper) for name, value in given.items()}
            given |= {"outputs": len(node.output), "device": device}
            if node.op_type == "Constant":
                raw[node.output[0]] = given["value"].numpy()
                continue
            steps.append((node.op_type, list(node.input), list(node.output), given))
        whole = {inputs[0] for kind, inputs, _, given in steps if kind == "Cast" and given["to"] == 6}
        self._steps = []
        for kind, inputs, outputs, given in steps:
            if kind == "Floor" and outputs[0] in whole:  # a bias, on its way to whole numbers
                kind, given = "Cast", {"to": 1}
            self._steps.append(self._ready(kind, inputs, outputs, given, raw))
        used = {name for _, inputs, _, _ in self._steps for name in inputs}
        for name in used & raw.keys() - self._known.keys():
            self._known[name] = _on(raw[name], device)
        last = {name: number for number, (_, inputs, _, _) in enumerate(self._steps) for name in inputs}
        self._over: list[list[str]] = [[] for _ in self._steps]
        for name, number in last.items():
            if name not in self._known and name != self._output:
                self._over[number].append(name)

    def _ready(
        self, kind: str, inputs: list[str], outputs: list[str], given: dict[str, Any], raw: dict[str, Any]
    ) -> tuple[Callable[[Values, dict[str, Any]], Any], list[str], list[str], dict[str, Any]]:
        """A step of the run; weights that are quantized become floating point here."""
        if kind in ("MatMulInteger", "ConvInteger"):
            weight, zero = inputs[1], inputs[3] if len(inputs) > 3 else ""
            plain = f"{weight} as it is"
            if plain not in self._known:
                offset = raw[zero].astype(np.float32) if zero in raw else np.float32(0)
                if kind == "ConvInteger" and np.ndim(offset) == 1:
                    offset = offset.reshape(-1, *[1] * (raw[weight].ndim - 1))
                self._known[plain] = _on(raw[weight].astype(np.float32) - offset, self._device)
            return _OPERATORS[kind], [inputs[0], plain], outputs, given
        if kind == "DynamicQuantizeLinear":
            one = torch.ones((), device=self._device)
            nothing = torch.zeros((), device=self._device)
            return (lambda x, a: (x[0], one, nothing)), inputs, outputs, given
        if kind == "DynamicQuantizeLSTM":
            lstm = _lstm(inputs, given, raw, self._device)
            starts = [inputs[0], *inputs[5:7]]
            return lstm, starts, outputs, given
        if kind not in _OPERATORS:
            raise TrainingError(f"the operator {kind} is not known here", "use onnxruntime for this network")
        return _OPERATORS[kind], inputs, outputs, given

    @torch.no_grad()
    def __call__(self, **inputs: np.ndarray[Any, Any]) -> Tensor:
        """The first output; every input by name."""
        values = dict(self._known)
        for name in self._inputs:
            values[name] = _on(inputs[name], self._device)
        for (step, names, outputs, given), over in zip(self._steps, self._over, strict=True):
            found = step([values[name] if name else None for name in names], given)
            if isinstance(found, tuple):
                values.update(zip(outputs, found, strict=False))
            else:
                values[outputs[0]] = found
            for name in over:
                values.pop(name, None)
        out: Tensor = values[self._output]
        return out


def _plain(value: Any, numpy_helper: Any) -> Any:
    if isinstance(value, bytes):
        return value.decode()
    if hasattr(value, "dims"):
        return torch.from_numpy(np.array(numpy_helper.to_array(value)))
    return list(value) if isinstance(value, (tuple, list)) or hasattr(value, "append") else value


def _on(value: Any, device: torch.device) -> Tensor:
    """Whole numbers of shapes stay with the processor, where they are read."""
    array = np.asarray(value)
    if array.dtype in (np.float16, np.float64, np.uint8, np.int8):
        array = array.astype(np.float32)
    tensor = torch.from_numpy(np.array(array))
    return tensor if tensor.dtype in (torch.int64, torch.int32) and tensor.dim() <= 1 else tensor.to(device)


def _lstm(
    inputs: list[str], given: dict[str, Any], raw: dict[str, Any], device: torch.device
) -> Callable[[Values, dict[str, Any]], Any]:
    """A bidirectional LSTM of quantized weights as PyTorch's own; ONNX has the gates in another order."""
    both = [
        _dequantized(raw, inputs[1], inputs[8], inputs[9]),
        _dequantized(raw, inputs[2], inputs[10], inputs[11]),
    ]
    size, ways = given["hidden_size"], both[0].shape[0]
    module = torch.nn.LSTM(both[0].shape[1], size, bidirectional=ways == 2)
    order = np.concatenate([np.arange(size) + size * gate for gate in (0, 2, 3, 1)])  # i o f c -> i f c o
    for way in range(ways):
        tail = "_l0_reverse" if way else "_l0"
        bias = raw[inputs[3]][way].reshape(2, 4 * size)
        parts = (both[0][way].T, both[1][way].T, bias[0][:, None], bias[1][:, None])
        for name, part in zip(("weight_ih", "weight_hh", "bias_ih", "bias_hh"), parts, strict=True):
            value = torch.from_numpy(np.ascontiguousarray(part[order].astype(np.float32))).squeeze(-1)
            getattr(module, name + tail).data = value
    module = module.to(device).eval()

    def run(x: Values, a: dict[str, Any]) -> tuple[Tensor, Tensor, Tensor]:
        out, (hidden, cell) = module(x[0])
        shaped = out.unflatten(-1, (ways, size)).transpose(1, 2)
        return shaped, hidden, cell

    return run


def _dequantized(raw: dict[str, Any], weight: str, scale: str, zero: str) -> np.ndarray[Any, Any]:
    values, by, offset = (raw[name].astype(np.float32) for name in (weight, scale, zero))
    if by.ndim == 1:
        by, offset = by[:, None, None], offset[:, None, None]
    if by.ndim == 2:
        by, offset = by[:, None, :], offset[:, None, :]
    return np.asarray((values - offset) * by)
