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
    """Export the weights in half precision, batch norms folded, height and width left open."""
    net = FrontFaceNet()
    net.load_state_dict(weights)
    net.eval()
    torch.onnx.export(
        _Packed(net),
        (torch.zeros(1, 3, 384, 512),),
        str(target),
        opset_version=13,
        input_names=["image"],
        output_names=["packed_logits"],
        dynamic_axes={"image": {2: "h", 3: "w"}, "packed_logits": {2: "h2", 3: "w2"}},
        dynamo=False,
    )
    halve(target)


def halve(target: Path) -> None:
    """Keep large weights as 16-bit numbers, cast to 32 bits when the file is loaded: half the file."""
    model = onnx.load(str(target))
    graph = model.graph
    kept, casts = [], []
    for tensor in graph.initializer:
        values = numpy_helper.to_array(tensor)
        if values.dtype != np.float32 or values.size <= 64:
            kept.append(tensor)
            continue
        short = tensor.name + "_half"
        kept.append(numpy_helper.from_array(values.astype(np.float16), short))
        casts.append(helper.make_node("Cast", [short], [tensor.name], to=TensorProto.FLOAT))
    nodes = [*casts, *graph.node]
    del graph.initializer[:], graph.node[:]
    graph.initializer.extend(kept)
    graph.node.extend(nodes)
    onnx.save(model, str(target))


if __name__ == "__main__":
    second = (Path(sys.argv[3]), float(sys.argv[4])) if len(sys.argv) > 4 else (None, 0.0)
    export(Path(sys.argv[1]), mixed(Path(sys.argv[2]), *second))
