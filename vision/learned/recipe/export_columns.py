"""Write column weights: ``python -m vision.learned.recipe.export_columns OUT.onnx CHECKPOINT ...``.

Several checkpoints are asked together and their logits averaged (an ensemble; Lakshminarayanan et al. 2017).
"""

from __future__ import annotations

import sys
from pathlib import Path

import torch
from torch import nn

from .column_network import BANDS, CHANNELS, SLIM, WIDE, ColumnNet
from .export import write


class _Together(nn.Module):
    def __init__(self, nets: list[ColumnNet]) -> None:
        super().__init__()
        self.nets = nn.ModuleList(nets)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        total = self.nets[0](x)
        for net in list(self.nets)[1:]:
            total = total + net(x)
        return total / len(self.nets)


def export(target: Path, checkpoints: list[Path]) -> None:
    """Export the averaged weights of every checkpoint as one network, the columns' number left open."""
    nets = []
    for path in checkpoints:
        weights = torch.load(path, map_location="cpu", weights_only=True)["average"]
        net = ColumnNet(*(SLIM if len(weights["head.weight"][0]) == SLIM[0][0] else WIDE))
        net.load_state_dict(weights)
        nets.append(net)
    left_open = {"bands": {3: "w"}, "logits": {3: "w"}}
    write(target, _Together(nets), torch.zeros(1, CHANNELS, BANDS, 512), left_open)


if __name__ == "__main__":
    export(Path(sys.argv[1]), [Path(name) for name in sys.argv[2:]])
