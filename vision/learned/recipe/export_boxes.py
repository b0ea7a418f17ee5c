"""Write the strip network's weights: ``python -m vision.learned.recipe.export_boxes OUT.onnx CHECKPOINT``."""

from __future__ import annotations

import sys
from pathlib import Path

import torch

from .export import in_bytes
from .strip_network import COLUMNS, StripNet


def export(target: Path, checkpoint: Path) -> None:
    """Export the averaged weights, how many strips and how long they are left open."""
    net = StripNet()
    net.load_state_dict(torch.load(checkpoint, map_location="cpu", weights_only=True)["average"])
    torch.onnx.export(
        net.eval(),
        (torch.zeros(1, 3, 320, COLUMNS),),
        str(target),
        opset_version=13,
        input_names=["strips"],
        output_names=["boxes"],
        dynamic_axes={"strips": {0: "n", 2: "h"}, "boxes": {0: "n", 2: "h4"}},
        dynamo=False,
    )
    in_bytes(target)


if __name__ == "__main__":
    export(Path(sys.argv[1]), Path(sys.argv[2]))
