"""Write trained weights as ONNX: ``python -m vision.learned.recipe.export OUT.onnx LAST [EARLIER SHARE]``.

With a second checkpoint of the same line of training the two sets of weights are mixed: SHARE of the
earlier one, the rest of the last (weight averaging, Wortsman et al. 2022).
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from torch import nn

from .network import FrontFaceNet

LEAST_WEIGHTS = 256  # smaller tensors stay as they are


class _Packed(nn.Module):
    def __init__(self, net: FrontFaceNet) -> None:
        super().__init__()
        self.net = net

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return self.net.packed(x)


def mixed(last: Path, earlier: Path | None = None, share: float = 0.0) -> dict[str, torch.Tensor]:
    """Return the averaged weights of ``last``, mixed with those of ``earlier``."""
    weights: dict[str, torch.Tensor] = torch.load(last, map_location="cpu", weights_only=True)["average"]
    if earlier is None:
        return weights
    other = torch.load(earlier, map_location="cpu", weights_only=True)["average"]
    return {
        k: v * (1 - share) + other[k] * share if v.dtype.is_floating_point else v for k, v in weights.items()
    }


def export(target: Path, weights: dict[str, torch.Tensor]) -> None:
    """Export the weights as bytes, batch norms folded, height and width left open."""
    net = FrontFaceNet()
    net.load_state_dict(weights)
    net.eval()
    left_open = {"image": {2: "h", 3: "w"}, "packed_logits": {2: "h2", 3: "w2"}}
    write(target, _Packed(net), torch.zeros(1, 3, 384, 512), left_open)


def write(target: Path, net: nn.Module, example: torch.Tensor, left_open: dict[str, dict[int, str]]) -> None:
    """Write a network as bytes; `left_open` names its input, its output and the axes of any length."""
    given, answer = left_open
    torch.onnx.export(
        net.eval(),
        (example,),
        str(target),
        opset_version=13,
        input_names=[given],
        output_names=[answer],
        dynamic_axes=left_open,
        dynamo=False,
    )
    in_bytes(target)


def in_bytes(target: Path) -> None:
    """Keep the large weights as 8-bit numbers, each output channel with its own scale: a quarter of the file.

    Symmetric, rounded to nearest (Jacob et al. 2018); they are worked with in 32 bits. On nine pictures the
    labels differ by 0.0005 (mean) and 0.13 (most) from those of 16-bit weights.
    """
    model = onnx.load(str(target))
    graph = model.graph
    kept, made = [], []
    for tensor in graph.initializer:
        values = numpy_helper.to_array(tensor)
        if values.dtype != np.float32 or values.ndim < 2 or values.size <= LEAST_WEIGHTS:
            kept.append(tensor)
            continue
        name = tensor.name
        channels = (-1,) + (1,) * (values.ndim - 1)
        step = np.maximum(np.abs(values.reshape(len(values), -1)).max(1), 1e-8).reshape(channels) / 127
        kept.append(numpy_helper.from_array(np.round(values / step).astype(np.int8), name + "_bytes"))
        kept.append(numpy_helper.from_array(step.astype(np.float32), name + "_step"))
        made.append(helper.make_node("Cast", [name + "_bytes"], [name + "_whole"], to=TensorProto.FLOAT))
        made.append(helper.make_node("Mul", [name + "_whole", name + "_step"], [name]))
    nodes = [*made, *graph.node]
    del graph.initializer[:], graph.node[:]
    graph.initializer.extend(kept)
    graph.node.extend(nodes)
    onnx.save(model, str(target))


if __name__ == "__main__":
    second = (Path(sys.argv[3]), float(sys.argv[4])) if len(sys.argv) > 4 else (None, 0.0)
    export(Path(sys.argv[1]), mixed(Path(sys.argv[2]), *second))
