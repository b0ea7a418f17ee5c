"""The network: a small U-shaped net that works at half resolution and below."""

from __future__ import annotations

import torch
from torch import nn
from torch.nn import functional as nnf

from .scene import CLASS_COUNT

OUTPUTS = CLASS_COUNT + 2  # class logits, wall logit, joint logit
WIDTHS = (32, 48, 96, 160, 192)
STRIDE = 32


def _conv(a: int, b: int, k: int, stride: int = 1, groups: int = 1, pad: int | None = None) -> nn.Sequential:
    p = k // 2 if pad is None else pad
    return nn.Sequential(nn.Conv2d(a, b, k, stride, p, groups=groups, bias=False), nn.BatchNorm2d(b))


class Plain(nn.Module):
    """One residual 3x3 convolution."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.conv = _conv(width, width, 3)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return torch.relu(x + self.conv(x))


class Wide(nn.Module):
    """Depthwise k x k, then a two-layer mix of channels, residual."""

    def __init__(self, width: int, k: int) -> None:
        super().__init__()
        self.depthwise = _conv(width, width, k, groups=width)
        self.up = _conv(width, 2 * width, 1)
        self.down = _conv(2 * width, width, 1)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return x + self.down(torch.relu(self.up(self.depthwise(x))))


class FrontFaceNet(nn.Module):
    """RGB in 0..1, (B,3,H,W) with H, W multiples of 32, to logits (B,7,H,W)."""

    def __init__(self) -> None:
        super().__init__()
        a, b, c, d, e = WIDTHS
        self.stem = _conv(3, a, 6, 2, pad=2)
        self.e1 = Plain(a)
        self.d2, self.e2 = _conv(a, b, 3, 2), nn.Sequential(Plain(b), Plain(b))
        self.d3, self.e3 = _conv(b, c, 3, 2), nn.Sequential(*[Wide(c, 5) for _ in range(3)])
        self.d4, self.e4 = _conv(c, d, 3, 2), nn.Sequential(*[Wide(d, 5) for _ in range(4)])
        self.d5, self.e5 = _conv(d, e, 3, 2), nn.Sequential(*[Wide(e, 7) for _ in range(3)])
        self.u4, self.m4 = _conv(e, d, 1), Wide(d, 5)
        self.u3, self.m3 = _conv(d, c, 1), Wide(c, 5)
        self.u2, self.m2 = _conv(c, b, 1), nn.Sequential(Plain(b), Plain(b))
        self.u1, self.m1 = _conv(b, a, 1), nn.Sequential(Plain(a), Plain(a))
        self.head = nn.Conv2d(a, 4 * OUTPUTS, 3, 1, 1)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return nnf.pixel_shuffle(self.packed(x), 2)

    def packed(self, x: torch.Tensor) -> torch.Tensor:
        """Return the logits before unpacking: (B, 28, H/2, W/2)."""
        x1 = self.e1(torch.relu(self.stem(x)))
        x2 = self.e2(torch.relu(self.d2(x1)))
        x3 = self.e3(torch.relu(self.d3(x2)))
        x4 = self.e4(torch.relu(self.d4(x3)))
        y = self.e5(torch.relu(self.d5(x4)))
        y = self.m4(x4 + nnf.interpolate(self.u4(y), scale_factor=2, mode="nearest"))
        y = self.m3(x3 + nnf.interpolate(self.u3(y), scale_factor=2, mode="nearest"))
        y = self.m2(x2 + nnf.interpolate(self.u2(y), scale_factor=2, mode="nearest"))
        y = self.m1(x1 + nnf.interpolate(self.u1(y), scale_factor=2, mode="nearest"))
        return self.head(y)


@torch.no_grad()
def take_over(net: FrontFaceNet, smaller: dict[str, torch.Tensor]) -> None:
    """Give ``net`` the weights of a narrower one so that it computes the same (Chen et al. 2016, Net2Net).

    What the old channels hear of the new ones begins at zero, new residual blocks begin as the identity,
    and new channels begin at random.
    """
    own = net.state_dict()
    for name, value in own.items():
        old = smaller.get(name)
        if old is None:
            if name.endswith("down.1.weight"):
                value.zero_()
            continue
        if value.ndim == 0 or value.shape == old.shape:
            value.copy_(old)
            continue
        if value.ndim > 1 and value.shape[1] > old.shape[1]:
            value[: old.shape[0], old.shape[1] :] = 0
        value[tuple(slice(0, n) for n in old.shape)] = old
    net.load_state_dict(own)
