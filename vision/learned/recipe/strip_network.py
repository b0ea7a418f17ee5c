"""The network that looks for electrical boxes in a straightened strip beside a stud."""

from __future__ import annotations

import torch
from torch import nn

PER_IN = 8  # pixels
COLUMNS = 64  # 1 1/2 in of the face, 6 1/2 in beside it
FACE_IN = 1.5
STEP = 4  # rows to an answer
# Logit of a box's middle; how far up the middle lies, near side, far side, height: inches.
OUTPUTS = 5


def _conv(a: int, b: int, k: int, stride: tuple[int, int] = (1, 1)) -> nn.Sequential:
    return nn.Sequential(nn.Conv2d(a, b, k, stride, k // 2, bias=False), nn.BatchNorm2d(b), nn.ReLU())


class _Plain(nn.Module):
    def __init__(self, width: int) -> None:
        super().__init__()
        self.first = _conv(width, width, 3)
        self.second = nn.Sequential(nn.Conv2d(width, width, 3, 1, 1, bias=False), nn.BatchNorm2d(width))

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return torch.relu(x + self.second(self.first(x)))


class _Upright(nn.Module):
    def __init__(self, width: int, k: int) -> None:
        super().__init__()
        self.mix = nn.Sequential(
            nn.Conv2d(width, width, (k, 1), 1, (k // 2, 0), bias=False), nn.BatchNorm2d(width)
        )

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return torch.relu(x + self.mix(x))


class StripNet(nn.Module):
    """RGB 0..1 (B, 3, rows, 64), rows a multiple of 4, to (B, 5, rows / 4, 1)."""

    def __init__(self) -> None:
        super().__init__()
        self.down = nn.Sequential(_conv(3, 12, 5, (2, 2)), _conv(12, 24, 3, (2, 2)), _Plain(24))
        self.narrower = nn.Sequential(_conv(24, 40, 3, (1, 2)), _Plain(40), _Plain(40))
        across = nn.Conv2d(40, 64, (1, COLUMNS // 8), bias=False)
        self.across = nn.Sequential(across, nn.BatchNorm2d(64), nn.ReLU())
        self.upright = nn.Sequential(_Upright(64, 7), _Upright(64, 7))
        self.head = nn.Conv2d(64, OUTPUTS, 1)
        nn.init.zeros_(self.head.weight)
        assert self.head.bias is not None
        with torch.no_grad():  # few places hold a box, and most boxes are one device's
            self.head.bias.copy_(torch.tensor([-4.0, 0.0, 0.0, 2.5, 3.8]))

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return torch.as_tensor(self.head(self.upright(self.across(self.narrower(self.down(x))))))
