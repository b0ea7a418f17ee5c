"""From linear light to what a phone would store: exposure, blur, noise, JPEG."""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional as nnf


def _rand(b: int, low: float, high: float, g: torch.Generator, device: torch.device) -> Tensor:
    return torch.rand((b, 1, 1, 1), generator=g, device=device) * (high - low) + low


def _gate(b: int, share: float, g: torch.Generator, device: torch.device) -> Tensor:
    return (torch.rand((b, 1, 1, 1), generator=g, device=device) < share).float()


def blur(image: Tensor, sigma_x: Tensor, sigma_y: Tensor, radius: int = 4) -> Tensor:
    """Separable Gaussian with its own sigma (px) per picture, (B,1,1,1) each."""
    b, c, h, w = image.shape
    x = torch.arange(-radius, radius + 1, device=image.device, dtype=image.dtype)
    for axis, sigma in ((3, sigma_x), (2, sigma_y)):
        kernel = torch.exp(-0.5 * (x[None] / sigma.view(b, 1).clamp(min=0.05)) ** 2)
        kernel = (kernel / kernel.sum(1, keepdim=True)).repeat_interleave(c, 0)
        kernel = kernel[:, None, None, :] if axis == 3 else kernel[:, None, :, None]
        pad = (radius, radius, 0, 0) if axis == 3 else (0, 0, radius, radius)
        flat = nnf.pad(image.reshape(1, b * c, h, w), pad, mode="replicate")
        image = nnf.conv2d(flat, kernel, groups=b * c).view(b, c, h, w)
    return image


def _dct(device: torch.device) -> Tensor:
    k = torch.arange(8, device=device, dtype=torch.float32)
    m = torch.cos(math.pi * (2 * k[None] + 1) * k[:, None] / 16) * 0.5
    m[0] *= math.sqrt(0.5)
    return m


# fmt: off
_LUMA = (
    16, 11, 10, 16, 24, 40, 51, 61,
    12, 12, 14, 19, 26, 58, 60, 55,
    14, 13, 16, 24, 40, 57, 69, 56,
    14, 17, 22, 29, 51, 87, 80, 62,
    18, 22, 37, 56, 68, 109, 103, 77,
    24, 35, 55, 64, 81, 104, 113, 92,
    49, 64, 78, 87, 103, 121, 120, 101,
    72, 92, 95, 98, 112, 100, 103, 99,
)
# fmt: on


def jpeg(image: Tensor, quality: Tensor) -> Tensor:
    """Quantise 8x8 DCT blocks as ITU-T T.81 Annex K does (luma table for all three)."""
    b, c, h, w = image.shape
    to = torch.tensor(
        [[0.299, 0.587, 0.114], [-0.1687, -0.3313, 0.5], [0.5, -0.4187, -0.0813]], device=image.device
    )
    y = torch.einsum("ij,bjhw->bihw", to, image) * 255 - torch.tensor(
        [128.0, 0, 0], device=image.device
    ).view(1, 3, 1, 1)
    scale = torch.where(quality < 50, 50 / quality, 2 - quality / 50).view(b, 1, 1, 1, 1, 1)
    table = torch.tensor(_LUMA, device=image.device, dtype=torch.float32).view(1, 1, 1, 1, 8, 8) * scale
    chroma = torch.tensor([1.0, 1.6, 1.6], device=image.device).view(1, 3, 1, 1, 1, 1)
    table = (table * chroma).clamp(min=1)
    m = _dct(image.device)
    blocks = y.view(b, c, h // 8, 8, w // 8, 8).permute(0, 1, 2, 4, 3, 5)
    blocks = torch.round(m @ blocks @ m.T / table) * table
    y = (m.T @ blocks @ m).permute(0, 1, 2, 4, 3, 5).reshape(b, c, h, w)
    y = (y + torch.tensor([128.0, 0, 0], device=image.device).view(1, 3, 1, 1)) / 255
    return torch.einsum("ij,bjhw->bihw", torch.linalg.inv(to), y)


def develop(colour: Tensor, g: torch.Generator) -> Tensor:
    """Return display values 0..1 from linear light (B,3,H,W), H and W multiples of 8."""
    b, _, h, w = colour.shape
    dev = colour.device
    white = 1 + torch.randn((b, 3, 1, 1), generator=g, device=dev) * 0.10
    image = colour * white.clamp(0.6, 1.6)
    level = image.mean(1, keepdim=True).flatten(1)
    anchor = torch.quantile(level[:, ::37], 0.6, dim=1).view(b, 1, 1, 1).clamp(min=1e-4)
    dark = _gate(b, 0.12, g, dev)
    image = image / anchor * _rand(b, 0.10, 0.5, g, dev) * (1 - dark * _rand(b, 0.3, 0.85, g, dev))
    y = torch.linspace(-1, 1, h, device=dev).view(1, 1, h, 1) * h / w
    x = torch.linspace(-1, 1, w, device=dev).view(1, 1, 1, w)
    image = image * (1 - _rand(b, 0, 0.3, g, dev) * (x * x + y * y))
    halo = blur(nnf.avg_pool2d(image.clamp(max=8), 4), _rand(b, 1, 3, g, dev), _rand(b, 1, 3, g, dev), 8)
    image = image + nnf.interpolate(halo, size=(h, w), mode="bilinear") * _rand(b, 0, 0.12, g, dev) * _gate(
        b, 0.5, g, dev
    )
    soft = _gate(b, 0.5, g, dev)
    image = torch.where(soft > 0, image / (1 + image.clamp(min=0)) * 1.5, image).clamp(0, 1)
    image = image.clamp(min=1e-5) ** (1 / _rand(b, 1.8, 2.6, g, dev))
    grey = image.mean(1, keepdim=True)
    image = grey + (image - grey) * torch.where(
        _gate(b, 0.06, g, dev) > 0, _rand(b, 0, 0.3, g, dev), _rand(b, 0.6, 1.4, g, dev)
    )
    image = 0.5 + (image - 0.5) * _rand(b, 0.75, 1.25, g, dev)
    # sharpness: from crisp to defocused or shaken, in either direction
    both = _rand(b, 0.05, 0.7, g, dev) + _gate(b, 0.15, g, dev) * _rand(b, 0, 1.6, g, dev)
    image = blur(
        image,
        both + _gate(b, 0.1, g, dev) * _rand(b, 0, 2, g, dev),
        both + _gate(b, 0.1, g, dev) * _rand(b, 0, 2, g, dev),
    )
    gain = _rand(b, 0, 1, g, dev) ** 3 * 0.05 + dark * _rand(b, 0, 0.06, g, dev)
    noise = torch.randn(image.shape, generator=g, device=dev)
    tint = torch.randn((b, 3, h // 2, w // 2), generator=g, device=dev)
    noise = (
        noise.mean(1, keepdim=True) * 1.2
        + 0.4 * noise
        + 0.7 * nnf.interpolate(tint, size=(h, w), mode="bilinear")
    )
    image = image + noise * gain
    wide = blur(image, torch.ones_like(both), torch.ones_like(both))
    image = image + (image - wide) * _rand(b, 0, 1.4, g, dev) * _gate(b, 0.6, g, dev)
    image = image.clamp(0, 1)
    quality = _rand(b, 30, 97, g, dev)
    image = torch.where(_gate(b, 0.7, g, dev) > 0, jpeg(image, quality), image)
    return image.clamp(0, 1)
