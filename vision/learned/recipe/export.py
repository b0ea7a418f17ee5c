"""Write the trained weights as ONNX: ``python -m vision.learned.recipe.export CHECKPOINT OUT.onnx``."""

from __future__ import annotations

import sys
from pathlib import Path

import torch
from torch import nn

from .network import FrontFaceNet


class _Packed(nn.Module):
    def __init__(self, net: FrontFaceNet) -> None:
        super().__init__()
        self.net = net

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return self.net.packed(x)


def export(checkpoint: Path, target: Path) -> None:
    """Export the averaged weights, batch norms folded, height and width left open."""
    net = FrontFaceNet()
    net.load_state_dict(torch.load(checkpoint, map_location="cpu", weights_only=True)["average"])
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


if __name__ == "__main__":
    export(Path(sys.argv[1]), Path(sys.argv[2]))
