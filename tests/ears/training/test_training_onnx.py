"""The networks of synthesizers on PyTorch against onnxruntime, the reference library, on graphs of random weights."""

from pathlib import Path

import numpy as np
import pytest

onnx = pytest.importorskip("onnx")
onnxruntime = pytest.importorskip("onnxruntime")
torch = pytest.importorskip("torch")

from onnx import TensorProto, helper, numpy_helper  # noqa: E402

from trainer.ears.training.errors import TrainingError  # noqa: E402
from trainer.ears.training.onnx_on_torch import OnnxOnTorch  # noqa: E402

RNG = np.random.default_rng(5)


def _saved(path: Path, nodes: list, constants: dict, shape: list) -> Path:
    x = helper.make_tensor_value_info("x", TensorProto.FLOAT, shape)
    y = helper.make_tensor_value_info("y", TensorProto.FLOAT, None)
    held = [numpy_helper.from_array(np.asarray(value), name) for name, value in constants.items()]
    model = helper.make_model(
        helper.make_graph(nodes, "g", [x], [y], held),
        opset_imports=[helper.make_opsetid("", 17)],
        ir_version=8,
    )
    onnx.save(model, str(path))
    return path


def _both(path: Path, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    theirs = onnxruntime.InferenceSession(str(path), providers=["CPUExecutionProvider"]).run(None, {"x": x})[
        0
    ]
    return OnnxOnTorch(path, torch.device("cpu"))(x=x).numpy(), theirs


def _float(*shape: int) -> np.ndarray:
    return RNG.normal(size=shape).astype(np.float32)


CASES = {
    "convolutions": (
        [
            helper.make_node("Conv", ["x", "w", "b"], ["c"], pads=[2, 1], dilations=[1], strides=[2]),
            helper.make_node("LeakyRelu", ["c"], ["l"], alpha=0.2),
            helper.make_node("ConvTranspose", ["l", "v"], ["y"], strides=[2], pads=[1, 1], output_padding=[1]),
        ],
        {"w": _float(6, 4, 3), "b": _float(6), "v": _float(6, 5, 4)},
    ),
    "slices backward and by twos": (
        [
            helper.make_node("Slice", ["x", "s", "e", "a", "t"], ["p"]),
            helper.make_node("Pad", ["p", "n"], ["y"], mode="reflect"),
        ],
        {"s": [-1, 1], "e": [-100, 100], "a": [1, 2], "t": [-1, 2], "n": [0, 0, 2, 0, 0, 1]},
    ),
    "resized and transposed": (
        [
            helper.make_node("Resize", ["x", "", "z"], ["r"], mode="linear", coordinate_transformation_mode="half_pixel"),
            helper.make_node("Transpose", ["r"], ["y"], perm=[2, 0, 1]),
        ],
        {"z": np.array([1, 1, 2.5], np.float32)},
    ),
    "shapes that come from shapes": (
        [
            helper.make_node("Shape", ["x"], ["h"]),
            helper.make_node("Gather", ["h", "two"], ["n"], axis=0),
            helper.make_node("Unsqueeze", ["n", "zero"], ["u"]),
            helper.make_node("Concat", ["minus", "u"], ["q"], axis=0),
            helper.make_node("Reshape", ["x", "q"], ["m"]),
            helper.make_node("Softmax", ["m"], ["y"], axis=1),
        ],
        {"two": np.int64(2), "zero": np.array([0]), "minus": np.array([-1])},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_as_the_reference_has_it(name: str, tmp_path: Path) -> None:
    nodes, constants = CASES[name]
    constants = {key: np.asarray(value) for key, value in constants.items()}
    ours, theirs = _both(_saved(tmp_path / "g.onnx", nodes, constants, [2, 4, 12]), _float(2, 4, 12))
    assert ours.shape == theirs.shape
    np.testing.assert_allclose(ours, theirs, atol=1e-5)


def test_whole_number_weights_are_near_the_quantized_reference(tmp_path: Path) -> None:
    """The reference rounds what comes in to 8 bits, we do not: alike within what the rounding takes."""
    weight = RNG.integers(0, 255, (12, 7)).astype(np.uint8)
    nodes = [
        helper.make_node("DynamicQuantizeLinear", ["x"], ["q", "qs", "qz"]),
        helper.make_node("MatMulInteger", ["q", "w", "qz", "wz"], ["i"]),
        helper.make_node("Cast", ["i"], ["f"], to=TensorProto.FLOAT),
        helper.make_node("Mul", ["qs", "ws"], ["k"]),
        helper.make_node("Mul", ["f", "k"], ["y"]),
    ]
    constants = {"w": weight, "wz": np.uint8(128), "ws": np.float32(0.01)}
    x = _float(2, 4, 12)
    ours, theirs = _both(_saved(tmp_path / "g.onnx", nodes, constants, [2, 4, 12]), x)
    exact = x @ ((weight.astype(np.float32) - 128) * 0.01)
    np.testing.assert_allclose(ours, exact, atol=1e-4)
    assert np.abs(ours - theirs).max() < 0.02 * np.abs(exact).max()


def test_an_unknown_operator_is_named(tmp_path: Path) -> None:
    path = _saved(tmp_path / "g.onnx", [helper.make_node("Erf", ["x"], ["y"])], {}, [2, 4, 12])
    with pytest.raises(TrainingError, match="operator Erf is not known"):
        OnnxOnTorch(path, torch.device("cpu"))
