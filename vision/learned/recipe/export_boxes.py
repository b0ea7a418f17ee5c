"""Write the strip network's weights: ``python -m vision.learned.recipe.export_boxes OUT.onnx CHECKPOINT``."""

from __future__ import annotations

import sys
from pathlib import Path

import torch

from .export import write
from .strip_network import COLUMNS, StripNet


def export(target: Path, checkpoint: Path) -> None:
    """Export the averaged weights, how many strips and how long they are left open."""
    net = StripNet()
    net.load_state_dict(torch.load(checkpoint, map_location="cpu", weights_only=True)["average"])
    left_open = {"strips": {0: "n", 2: "h"}, "boxes": {0: "n", 2: "h4"}}
    write(target, net, torch.zeros(1, 3, 320, COLUMNS), left_open)


if __name__ == "__main__":
    export(Path(sys.argv[1]), Path(sys.argv[2]))
