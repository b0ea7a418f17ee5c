"""Procedural textures: sRGB pictures (H, W, 3) of bytes, made with numpy alone.

Each tiles without a seam and is meant to cover 128 x 128 in unless said otherwise.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]
Colour = tuple[float, float, float]

STRIPS = 10
STRIP_ROWS, STRIP_COLUMNS = 144, 2048  # 12 in around the section, 128 in along the grain


def fractal(
    rng: np.random.Generator,
    rows: int,
    columns: int,
    fall: float = 1.5,
    stretch: tuple[float, float] = (1.0, 1.0),
    low: float = 0.0,
) -> Array:
    """Tileable noise of zero mean and unit variance; power falls as frequency ** -2 fall.

    ``stretch`` lengthens features along rows and columns; frequencies under ``low`` cycles
    per picture are left out.
    """
    spectrum = np.fft.rfft2(rng.standard_normal((rows, columns)))
    fy = np.fft.fftfreq(rows)[:, None] * rows * stretch[0]
    fx = np.fft.rfftfreq(columns)[None] * columns * stretch[1]
    f = np.hypot(fy, fx)
    gain = np.where(f > max(low, 0.5), np.maximum(f, 1.0) ** -fall, 0.0)
    out = np.fft.irfft2(spectrum * gain, s=(rows, columns))
    out -= out.mean()
    return np.asarray(out / (out.std() + 1e-12))


def _paint(base: Colour, shade: Array, tint: Array | None = None) -> Picture:
    """Multiply a colour by (1 + shade), and push it towards warm by tint."""
    out = np.asarray(base, float) * (1.0 + shade[..., None])
    if tint is not None:
        out += tint[..., None] * np.array([1.0, 0.2, -1.0])
    return np.clip(out, 0, 255).astype(np.uint8)


def wood_strips(rng: np.random.Generator, base: Colour, age: float = 0.2) -> Picture:
    """Ten boards, one under the other: grain along the rows, knots, stamps, stains.

    ``age`` 0 is fresh and even, 1 grey, dirty and mixed.
    """
    rows, columns = STRIP_ROWS, STRIP_COLUMNS
    out = np.empty((STRIPS * rows, columns, 3), np.uint8)
    for i in range(STRIPS):
        own = np.asarray(base) * (1 + rng.normal(0, 0.045 + 0.08 * age))
        own = own + rng.normal(0, 3 + 6 * age) * np.array([1.0, 0.1, -1.0])
        across = np.linspace(0, 12, rows)[:, None]
        warp = fractal(rng, rows, columns, 1.8, (2.0, 40.0)) * rng.uniform(0.15, 0.5)
        knots = int(rng.integers(2, 9))
        along = np.linspace(0, 128, columns)[None]
        dark = np.zeros((rows, columns))
        for _ in range(knots):
            x, y = rng.uniform(0, 128), rng.uniform(0, 12)
            size = rng.uniform(0.15, 0.6)
            d = np.hypot((along - x) / 1.6, across - y)
            warp += np.exp(-((d / (size * 2.2)) ** 2)) * rng.choice([-1, 1]) * size * 2.0
            dark += np.exp(-((d / size) ** 4)) * rng.uniform(0.25, 0.6)
        rings = across * rng.uniform(2.0, 6.0) + warp * 3.0
        grain = np.sin(2 * np.pi * rings) ** 3 * rng.uniform(0.02, 0.075)
        streak = fractal(rng, rows, columns, 0.7, (1.0, 60.0)) * 0.035
        blotch = fractal(rng, rows, columns, 1.6, (1.0, 3.0)) * (0.03 + 0.07 * age)
        shade = grain + streak + blotch - dark
        strip = _paint(tuple(own), shade, 5 * fractal(rng, rows, columns, 1.5, (1.0, 6.0)))
        if rng.random() < 0.55:
            strip = _stamped(rng, strip)
        if rng.random() < 0.3:
            strip = _chalked(rng, strip)
        out[i * rows : (i + 1) * rows] = strip
    return out


def _stamped(rng: np.random.Generator, strip: Picture) -> Picture:
    image = Image.fromarray(strip)
    words = str(rng.choice(["S-P-F  KD-HT  2", "HEM-FIR  S-DRY", "STUD  KD  S-P-F", "KD-HT  No 2"]))
    ink = Image.new("L", image.size, 0)
    draw = ImageDraw.Draw(ink)
    for _ in range(int(rng.integers(1, 3))):
        font = ImageFont.load_default(size=float(rng.uniform(10, 17)))
        spot = (int(rng.integers(0, 1700)), int(rng.integers(0, 120)))
        draw.text(spot, words, fill=int(rng.integers(90, 200)), font=font)
    colour = tuple(int(v) for v in rng.choice([[30, 30, 40], [60, 30, 30], [25, 35, 80]]))
    return np.asarray(Image.composite(Image.new("RGB", image.size, colour), image, ink))


def _chalked(rng: np.random.Generator, strip: Picture) -> Picture:
    image = Image.fromarray(strip)
    draw = ImageDraw.Draw(image)
    colour = tuple(int(v) for v in rng.choice([[40, 70, 170], [190, 40, 40], [40, 40, 40]]))
    for _ in range(int(rng.integers(1, 5))):
        x = int(rng.integers(0, 2000))
        draw.line([(x, 0), (x + int(rng.integers(-9, 9)), 143)], fill=colour, width=2)
    return np.asarray(image)


def concrete(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """A poured wall or floor: cloudy, with pits, form joints and tie holes."""
    shade = 0.06 * fractal(rng, size, size, 1.5) + 0.03 * fractal(rng, size, size, 0.6)
    stain = fractal(rng, size, size, 1.8, (0.6, 1.5))
    shade -= 0.07 * np.clip(stain - 0.6, 0, None)
    image = Image.fromarray(_paint(base, shade, 2.0 * fractal(rng, size, size, 1.7)))
    draw = ImageDraw.Draw(image)
    for _ in range(int(rng.integers(100, 400))):
        x, y, r = rng.uniform(0, size), rng.uniform(0, size), rng.uniform(0.5, 2.5)
        tone = tuple(int(v * rng.uniform(0.55, 0.85)) for v in base)
        draw.ellipse([x - r, y - r, x + r, y + r], fill=tone)
    return np.asarray(image.filter(ImageFilter.GaussianBlur(0.6)))


def formed(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """A poured wall with panel joints every 24 or 48 in and tie marks."""
    image = Image.fromarray(concrete(rng, base, size))
    draw = ImageDraw.Draw(image)
    tone = tuple(int(v * rng.uniform(0.7, 0.9)) for v in base)
    step = size / float(rng.choice([3, 4, 5]))
    for x in np.arange(rng.uniform(0, step), size, step):
        draw.line([(x, 0), (x, size)], fill=tone, width=int(rng.integers(1, 4)))
        for y in np.arange(rng.uniform(0, 200), size, 288):
            draw.ellipse([x - 5, y - 5, x + 5, y + 5], fill=tone)
    return np.asarray(image.filter(ImageFilter.GaussianBlur(0.7)))


def masonry(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Concrete masonry units 16 x 8 in with mortar joints."""
    px = size / 128.0
    shade = 0.05 * fractal(rng, size, size, 0.9) + 0.05 * fractal(rng, size, size, 1.5)
    out = _paint(base, shade).astype(float)
    for row in range(16):
        y0 = int(row * 8 * px)
        out[y0 : y0 + int(0.4 * px)] *= rng.uniform(0.72, 0.95)
        shift = 8 * (row % 2)
        for k in range(8):
            x0 = int(((k * 16 + shift) % 128) * px)
            out[y0 : y0 + int(8 * px), x0 : x0 + int(0.4 * px)] *= 0.82
            x1 = int(min(x0 + 16 * px, size))
            out[y0 : y0 + int(8 * px), x0:x1] *= rng.normal(1.0, 0.03)
    return np.clip(out, 0, 255).astype(np.uint8)


def brick(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Clay brick, 8 x 2 2/3 in with its joints, in running bond: each brick of its own tone."""
    px = size / 128.0
    grain = 0.06 * fractal(rng, size, size, 0.7) + 0.05 * fractal(rng, size, size, 1.5)
    out = _paint((176, 170, 158), grain).astype(float)
    face = _paint(base, 1.3 * grain).astype(float)
    for row in range(48):
        y0, y1 = round((row * 8 / 3 + 0.19) * px), round(((row + 1) * 8 / 3 - 0.19) * px)
        for k in range(16):
            tone, warm = rng.normal(1.0, 0.11), rng.normal(0, 7)
            x0 = round((8 * k + 4 * (row % 2) + 0.19) * px)
            at = np.arange(x0, x0 + round(7.62 * px)) % size
            out[y0:y1, at] = face[y0:y1, at] * tone + np.array([1.0, 0.0, -0.6]) * warm
    # laitance and soot in broad patches
    out *= 1.0 + 0.07 * fractal(rng, size, size, 1.8)[..., None]
    image = Image.fromarray(np.clip(out, 0, 255).astype(np.uint8))
    return np.asarray(image.filter(ImageFilter.GaussianBlur(0.7)))


def foil(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Foil-faced board, wrinkled, with taped seams each 48 in; covers 144 x 144 in."""
    px = size / 144.0
    crease = np.exp(-12 * np.abs(fractal(rng, size, size, 1.3, low=4)))
    shade = 0.04 * fractal(rng, size, size, 1.5) + 0.02 * fractal(rng, size, size, 0.7) - 0.22 * crease
    for at in (12.0, 60.0, 108.0):
        x0, x1 = int((at - 1.5) * px), int((at + 1.5) * px)
        shade[:, x0:x1] = 0.1 + 0.05 * fractal(rng, size, x1 - x0, 1.2, (1.0, 3.0))
        shade[:, [x0, x1]] -= 0.25
    return _paint(base, shade)


def fibre(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Soft dark fibreboard with open seams and nail heads each 48 in; covers 144 x 144 in."""
    px = size / 144.0
    shade = 0.10 * fractal(rng, size, size, 0.5) + 0.05 * fractal(rng, size, size, 1.6)
    image = Image.fromarray(_paint(base, shade, 2.0 * fractal(rng, size, size, 1.5)))
    draw = ImageDraw.Draw(image)
    for at in (20.0, 68.0, 116.0):
        x = at * px
        draw.line([(x, 0), (x, size)], fill=(16, 13, 11), width=int(rng.integers(2, 5)))
        for y in np.arange(rng.uniform(0, 8 * px), size, 8 * px):
            for side in (-9, 9):
                draw.ellipse([x + side - 2, y - 2, x + side + 2, y + 2], fill=(128, 126, 124))
    return np.asarray(image.filter(ImageFilter.GaussianBlur(0.6)))


def flakes(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Oriented strand board: overlapping strands with 48 x 96 in panel joints."""
    image = Image.new("RGB", (size, size), tuple(int(v * 0.8) for v in base))
    draw = ImageDraw.Draw(image)
    px = size / 128.0
    for _ in range(9000):
        x, y = rng.uniform(0, size, 2)
        a = rng.normal(0.0, 0.5) if rng.random() < 0.7 else rng.uniform(0, np.pi)
        half, thick = rng.uniform(0.8, 2.6) * px, rng.uniform(0.2, 0.6) * px
        c, s = np.cos(a), np.sin(a)
        tone = rng.normal(1.0, 0.13)
        warm = rng.normal(0, 7)
        colour = tuple(
            int(np.clip(v * tone + w * warm, 0, 255)) for v, w in zip(base, (1, 0, -1), strict=True)
        )
        pts = [(-half, -thick), (half, -thick * 0.6), (half * 1.1, thick), (-half, thick * 0.8)]
        draw.polygon([(x + c * p - s * q, y + s * p + c * q) for p, q in pts], fill=colour)
    if rng.random() < 0.5:
        for x in (0.25 * size, 0.62 * size):
            draw.line([(x, 0), (x, size)], fill=(70, 50, 30), width=2)
    return np.asarray(image.filter(ImageFilter.GaussianBlur(0.5)))


def veneer(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Plywood face: wide wandering grain, joints of 48 in panels."""
    warp = fractal(rng, size, size, 2.0, (6.0, 1.0))
    rings = np.linspace(0, 30, size)[None] + warp * 2.2
    shade = 0.06 * np.sin(2 * np.pi * rings) + 0.03 * fractal(rng, size, size, 0.8, (30.0, 1.0))
    out = _paint(base, shade + 0.04 * fractal(rng, size, size, 1.5))
    out[:, int(0.4 * size) : int(0.4 * size) + 3] //= 2
    return out


def planks(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Horizontal sheathing boards 5.5 in high with dark gaps."""
    px = size / 128.0
    out = np.empty((size, size, 3), float)
    y = 0
    while y < size:
        high = min(int(5.5 * px), size - y)
        shade = 0.07 * fractal(rng, high, size, 0.8, (1.0, 30.0)) + rng.normal(0, 0.09)
        shade += 0.05 * fractal(rng, high, size, 1.6)
        out[y : y + high] = _paint(base, shade)
        out[y : y + 2] *= 0.35
        y += high
    return np.clip(out, 0, 255).astype(np.uint8)


def plain(rng: np.random.Generator, base: Colour, size: int = 768, rough: float = 0.02) -> Picture:
    """Paint, plaster, paper, plastic: nearly even."""
    shade = rough * fractal(rng, size, size, 1.6) + 0.4 * rough * fractal(rng, size, size, 0.5)
    return _paint(base, shade)


def board_back(rng: np.random.Generator, base: Colour, size: int = 1536) -> Picture:
    """Back of gypsum board on the far side: grey-brown paper, joints each 48 in."""
    image = Image.fromarray(plain(rng, base, size, 0.03))
    draw = ImageDraw.Draw(image)
    for y in (0.36 * size, 0.74 * size):
        draw.line([(0, y), (size, y)], fill=(235, 232, 225), width=int(rng.integers(2, 7)))
    x = rng.uniform(0, size)
    draw.line([(x, 0), (x, size)], fill=(225, 222, 215), width=3)
    return np.asarray(image.filter(ImageFilter.GaussianBlur(0.8)))


def wool(rng: np.random.Generator, base: Colour, size: int = 1024, depth: float = 0.12) -> Picture:
    """Glass, stone or cotton wool: cloudy clumps and fibres."""
    clump = fractal(rng, size, size, 1.1, low=6)
    fibre = fractal(rng, size, size, 0.4)
    tint = 3 * fractal(rng, size, size, 1.3, low=4)
    return _paint(base, 0.7 * depth * clump + 0.4 * depth * fibre, tint)


def paper(rng: np.random.Generator, base: Colour, size: int = 1024) -> Picture:
    """Kraft or other facing paper, creased, with faint printed lines."""
    crease = np.abs(fractal(rng, size, size, 1.4))
    out = _paint(base, 0.05 * fractal(rng, size, size, 1.2) - 0.03 * crease)
    for y in range(int(rng.integers(20, 90)), size, 128):
        out[y : y + 2] = (out[y : y + 2] * 0.9).astype(np.uint8)
    return out


def outdoors(rng: np.random.Generator, size: int = 1024) -> Picture:
    """Sky, trees and grass, as a blurred backdrop (does not tile)."""
    y = np.linspace(0, 1, size)[:, None] * np.ones((1, size))
    sky = np.array([150, 180, 215]) * (1 - y[..., None]) + np.array([225, 232, 240]) * y[..., None]
    leaf = fractal(rng, size, size, 1.0)
    tree_top = 0.35 + 0.12 * fractal(rng, 1, size, 1.3) + 0.03 * fractal(rng, size, size, 1.0)
    trees = np.asarray(rng.choice([[52, 78, 36], [70, 88, 40], [44, 66, 48], [96, 82, 44]]), float)
    green = trees * (1 + 0.45 * leaf[..., None])
    out = np.where((y > tree_top)[..., None], green, sky)
    grass = np.asarray(rng.choice([[98, 118, 60], [150, 138, 96], [110, 110, 100]]), float)
    ground = grass * (1 + 0.2 * fractal(rng, size, size, 0.9, (1, 0.5))[..., None])
    out = np.where((y > 0.66)[..., None], ground, out)
    image = Image.fromarray(np.clip(out, 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    for _ in range(int(rng.integers(2, 9))):
        x, w = rng.uniform(0, size), rng.uniform(3, 22)
        tone = int(rng.uniform(35, 90))
        draw.rectangle([x, 0.15 * size, x + w, 0.7 * size], fill=(tone, tone - 5, tone - 12))
    return np.asarray(image.filter(ImageFilter.GaussianBlur(1.5)))


def tape_blade(rng: np.random.Generator, length_in: float, colour: Colour) -> Picture:
    """A tape measure's blade: 16 px per inch, ticks and figures every inch."""
    px = 16
    image = Image.new("RGB", (int(length_in * px), px), tuple(int(v) for v in colour))
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=9)
    for inch in range(int(length_in) + 1):
        x = inch * px
        draw.line([(x, 0), (x, 9)], fill=(20, 20, 20))
        draw.line([(x + 8, 0), (x + 8, 5)], fill=(40, 40, 40))
        red = inch % 16 == 0 and inch > 0
        draw.text((x + 2, 5), str(inch), fill=(200, 20, 20) if red else (20, 20, 20), font=font)
    return np.asarray(image)
