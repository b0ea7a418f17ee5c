"""What a phone makes of the light: exposure, noise, sharpening, JPEG, EXIF."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from .draws import Shot

Array = NDArray[np.float64]


def _blurred(picture: Array, sigma: float) -> Array:
    if sigma <= 0.05:
        return picture
    reach = int(np.ceil(3 * sigma))
    k = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    k /= k.sum()
    for axis in (0, 1):
        pad = [(0, 0)] * picture.ndim
        pad[axis] = (reach, reach)
        wide = np.pad(picture, pad, mode="edge")
        size = picture.shape[axis]
        out = np.zeros_like(picture)
        for i, w in enumerate(k):
            out += w * np.take(wide, range(i, i + size), axis=axis)
        picture = out
    return picture


def _moved(picture: Array, length_px: float, angle_deg: float) -> Array:
    """Straight camera shake, centred, so that it does not shift what it blurs."""
    steps = max(3, int(np.ceil(length_px)) * 2 + 1)
    total = np.zeros_like(picture)
    a = np.radians(angle_deg)
    for s in np.linspace(-0.5, 0.5, steps) * length_px:
        dx, dy = s * np.cos(a), s * np.sin(a)
        ix, iy = int(np.floor(dx)), int(np.floor(dy))
        fx, fy = dx - ix, dy - iy
        for jx, jy, w in (
            (ix, iy, (1 - fx) * (1 - fy)),
            (ix + 1, iy, fx * (1 - fy)),
            (ix, iy + 1, (1 - fx) * fy),
            (ix + 1, iy + 1, fx * fy),
        ):
            if w > 1e-9:
                total += w * np.roll(picture, (jy, jx), axis=(0, 1))
    return total / steps


def develop(light: Array, shot: Shot, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Linear RGB to the sRGB bytes a phone would show (upright)."""
    rows, columns = light.shape[:2]
    grey = light.mean(axis=(0, 1))
    balance = (grey.mean() / np.maximum(grey, 1e-9)) ** 0.45
    light = light * balance
    tone = float(np.exp(np.mean(np.log(light.mean(axis=2) + 1e-4))))
    bright = float(np.percentile(light.mean(axis=2), 90))
    light = light * (shot.exposure * min(0.20 / tone, 0.85 / bright))
    y, x = np.mgrid[0:rows, 0:columns]
    r2 = ((x - columns / 2) ** 2 + (y - rows / 2) ** 2) / (rows**2 + columns**2) * 4
    light = light * (1 - 0.16 * r2)[..., None]
    if shot.moved_px:
        light = _moved(light, shot.moved_px, shot.moved_deg)
    light = np.minimum(light, 6.0)
    light = light + 0.02 * _blurred(light, 14.0)  # veiling glare around lamps
    light = _blurred(light, shot.soft_px)
    noise = rng.standard_normal(light.shape) * np.sqrt(shot.noise**2 * (np.clip(light, 0, 1) * 4 + 0.15))
    luma = noise.mean(axis=2, keepdims=True)
    light = light + luma * 1.3 + _blurred(noise - luma, 1.1) * 1.4
    light = np.clip(light, 0.0, None)
    tone_curve = light * (1 + light / 9.0) / (1 + light * 0.55)  # soft shoulder
    v = np.clip(tone_curve * 1.28, 0, 1)
    v = np.where(v <= 0.0031308, 12.92 * v, 1.055 * np.maximum(v, 1e-9) ** (1 / 2.4) - 0.055)
    v = v + 0.10 * (v - 0.45) * v * (1 - v) * 4  # a little contrast
    detail = v - _blurred(v, 1.2)
    v = v + shot.sharpen * np.clip(detail.mean(axis=2, keepdims=True), -0.12, 0.12)
    return (np.clip(v, 0, 1) * 255 + 0.5).astype(np.uint8)


def jpeg_bytes(upright: NDArray[np.uint8], shot: Shot, f35_mm: float) -> bytes:
    """JPEG as stored by a phone held any way: turned, with the EXIF tag that turns it back."""
    image = Image.fromarray(upright)
    undo = {
        3: Image.Transpose.ROTATE_180,
        6: Image.Transpose.ROTATE_90,
        8: Image.Transpose.ROTATE_270,
    }
    if shot.orientation in undo:
        image = image.transpose(undo[shot.orientation])
    exif = Image.Exif()
    exif[0x0112] = shot.orientation
    if shot.exif_f35:
        inner = exif.get_ifd(0x8769)
        inner[0xA405] = round(f35_mm)
        exif[0x8769] = inner
    out = io.BytesIO()
    image.save(out, "JPEG", quality=shot.jpeg, subsampling=2, exif=exif)
    return out.getvalue()
