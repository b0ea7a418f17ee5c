"""The network that judges whole columns of a straightened wall."""

from __future__ import annotations

from itertools import pairwise

import torch
from torch import nn
from torch.nn import functional as nnf

BANDS, CHANNELS = 24, 12
OUTPUTS = 4  # logits: in a full-height face, in a short one, a left edge, a right edge
STEP = 16  # the columns' number must be a multiple of it
SLIM = ((40, 48, 56, 64, 72), (20, 28, 32, 32))  # channels along the wall, and up it: 0.22 M parameters
WIDE = ((96, 96, 112, 112, 128), (32, 48, 64, 64))  # 0.78 M


def _conv(a: int, b: int, kernel: tuple[int, int], stride: int = 1, groups: int = 1) -> nn.Sequential:
    pad = (kernel[0] // 2 - (kernel[0] % 2 == 0), kernel[1] // 2)
    return nn.Sequential(
        nn.Conv2d(a, b, kernel, (stride, 1), pad, groups=groups, bias=False), nn.BatchNorm2d(b)
    )


class Along(nn.Module):
    """Depthwise along the wall, then a two-layer mix of channels, residual."""

    def __init__(self, width: int, k: int) -> None:
        super().__init__()
        self.depthwise = _conv(width, width, (1, k), groups=width)
        self.up = _conv(width, 2 * width, (1, 1))
        self.down = _conv(2 * width, width, (1, 1))

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return x + self.down(torch.relu(self.up(self.depthwise(x))))


class ColumnNet(nn.Module):
    """Bands 0..1 (B, 12, 24, W) to logits (B, 4, 1, W), W a multiple of 16."""

    def __init__(self, widths: tuple[int, ...] = SLIM[0], tall: tuple[int, ...] = SLIM[1]) -> None:
        super().__init__()
        a, b, c, d = tall
        self.tall = nn.Sequential(
            _conv(CHANNELS, a, (3, 5)),
            nn.ReLU(),
            _conv(a, b, (4, 3), 2),
            nn.ReLU(),
            _conv(b, c, (4, 3), 2),
            nn.ReLU(),
            _conv(c, d, (4, 3), 2),
            nn.ReLU(),
        )
        self.flat = _conv(d, widths[0], (3, 1))
        self.flat[0].padding = (0, 0)
        self.first = Along(widths[0], 9)
        counts = (1, 1, 2, 2)
        self.shrink = nn.ModuleList(_conv(p, q, (1, 1)) for p, q in pairwise(widths))
        self.deep = nn.ModuleList(
            nn.Sequential(*[Along(w, 11 if i > 1 else 9) for _ in range(n)])
            for i, (w, n) in enumerate(zip(widths[1:], counts, strict=True))
        )
        self.grow = nn.ModuleList(_conv(q, p, (1, 1)) for p, q in pairwise(widths))
        self.mend = nn.ModuleList(Along(w, 7) for w in widths[:-1])
        self.head = nn.Conv2d(widths[0], OUTPUTS, (1, 5), padding=(0, 2))

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        x = self.first(torch.relu(self.flat(self.tall(x))))
        kept = []
        for shrink, deep in zip(self.shrink, self.deep, strict=True):
            kept.append(x)
            x = deep(torch.relu(shrink(nnf.avg_pool2d(x, (1, 2)))))
        for k in range(len(kept) - 1, -1, -1):
            up = nnf.interpolate(self.grow[k](x), scale_factor=(1, 2), mode="nearest")
            x = self.mend[k](torch.relu(kept[k] + up))
        return self.head(x)
