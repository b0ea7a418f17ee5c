"""Random surface materials: wood, steel, sheets, masonry, fills, anything."""

from __future__ import annotations

import colorsys
import random

from .textures import ID, NAMES

TEX, SCALE_U, SCALE_V, OFFSET_U, OFFSET_V = range(5)
COLOUR_1, COLOUR_2 = 5, 8
CONTRAST, DIRT, DIRT_SCALE, SPEC, GLOSS = range(11, 16)
LINE_U, LINE_HALF, LINE_SHADE, LINE_V, STAGGER = range(16, 21)
EDGE_SHADE, EDGE_IN, BUMP, EMIT, FIXED_AXES = range(21, 26)
FIELDS = 26

Rgb = tuple[float, float, float]


def hsv(h: float, s: float, v: float) -> Rgb:
    return colorsys.hsv_to_rgb(h % 1.0, min(max(s, 0), 1), min(max(v, 0.01), 1))


def around(r: random.Random, colour: Rgb, spread: float) -> Rgb:
    shift = r.gauss(0, spread)
    return tuple(min(max(c + shift + r.gauss(0, spread * 0.35), 0.01), 1) for c in colour)  # type: ignore[return-value]


def material(
    r: random.Random,
    texture: str,
    tile_u_in: float,
    tile_v_in: float,
    c1: Rgb,
    c2: Rgb,
    *,
    contrast: float = 1.0,
    dirt: float = 0.15,
    dirt_in: float = 60.0,
    spec: float = 0.0,
    gloss: float = 20.0,
    line_u: float = 0.0,
    line_half: float = 0.06,
    line_shade: float = 0.4,
    line_v: float = 0.0,
    stagger: float = 0.0,
    edge_shade: float = 0.0,
    edge_in: float = 0.12,
    bump: float = 0.0,
    emit: float = 0.0,
    fixed: bool = False,
) -> list[float]:
    """Return one row of ``FIELDS`` numbers; colours are sRGB, made linear here."""
    lin1 = [c**2.2 for c in c1]
    lin2 = [c**2.2 for c in c2]
    return [
        float(ID[texture]),
        1 / tile_u_in,
        1 / tile_v_in,
        r.random(),
        r.random(),
        *lin1,
        *lin2,
        contrast,
        dirt,
        1 / dirt_in,
        spec,
        gloss,
        line_u,
        line_half,
        line_shade,
        line_v,
        stagger,
        edge_shade,
        edge_in,
        bump,
        emit,
        float(fixed),
    ]


WOODS: tuple[tuple[Rgb, Rgb], ...] = (
    ((0.86, 0.73, 0.54), (0.70, 0.53, 0.33)),
    ((0.90, 0.81, 0.66), (0.78, 0.62, 0.42)),
    ((0.80, 0.66, 0.46), (0.62, 0.44, 0.26)),
    ((0.78, 0.70, 0.52), (0.58, 0.50, 0.34)),
    ((0.46, 0.33, 0.23), (0.27, 0.18, 0.12)),
    ((0.35, 0.25, 0.18), (0.18, 0.12, 0.09)),
    ((0.58, 0.55, 0.50), (0.38, 0.36, 0.33)),
    ((0.55, 0.32, 0.20), (0.34, 0.17, 0.10)),
    ((0.66, 0.66, 0.46), (0.46, 0.47, 0.32)),
    ((0.86, 0.85, 0.82), (0.72, 0.71, 0.68)),
)
WOOD_WEIGHTS = (26, 18, 14, 8, 9, 7, 7, 6, 6, 4)


def any_colour(r: random.Random) -> Rgb:
    return hsv(r.random(), r.random() ** 1.5, r.uniform(0.05, 1.0))


def wood_kind(r: random.Random) -> dict[str, object]:
    """Pick what the studs of one scene have in common."""
    pair = r.choices(WOODS, WOOD_WEIGHTS)[0]
    if r.random() < 0.08:
        base = any_colour(r)
        pair = (base, around(r, base, 0.15))
    return {
        "pair": tuple(around(r, c, 0.05) for c in pair),
        "spread": r.choice((0.015, 0.03, 0.06, 0.12)),
        "contrast": r.uniform(0.2, 1.2),
        "edge": r.choice((0.0, r.uniform(-0.45, 0.35))),
        "edge_in": r.uniform(0.06, 0.22),
        "dirt": r.choice((0.05, 0.2, 0.5)),
        "mixed": r.random() < 0.12,
    }


def wood(r: random.Random, kind: dict[str, object] | None = None) -> list[float]:
    k = kind or wood_kind(r)
    pair = k["pair"]
    if k["mixed"] and r.random() < 0.3:
        pair = r.choices(WOODS, WOOD_WEIGHTS)[0]
    spread = float(k["spread"])  # type: ignore[arg-type]
    shift = r.gauss(0, spread)
    c1, c2 = (
        tuple(min(max(c + shift + r.gauss(0, spread * 0.25), 0.02), 0.98) for c in colour)
        for colour in pair  # type: ignore[attr-defined]
    )
    texture = r.choices(("grain_fine", "grain_knots", "streaks", "fbm_soft"), (5, 5, 2, 1))[0]
    return material(
        r,
        texture,
        r.uniform(30, 140),
        r.uniform(3, 12),
        c1,
        c2,
        contrast=float(k["contrast"]),  # type: ignore[arg-type]
        dirt=float(k["dirt"]),  # type: ignore[arg-type]
        dirt_in=r.uniform(8, 80),
        spec=r.choice((0.0, 0.02, 0.08)),
        edge_shade=float(k["edge"]),  # type: ignore[arg-type]
        edge_in=float(k["edge_in"]),  # type: ignore[arg-type]
        bump=r.uniform(0, 0.15),
    )


def steel(r: random.Random, tone: float) -> list[float]:
    base = hsv(r.uniform(0.52, 0.66), r.uniform(0.0, 0.10), tone * r.uniform(0.9, 1.1))
    return material(
        r,
        r.choice(("streaks", "fbm_soft", "cells")),
        r.uniform(20, 90),
        r.uniform(2, 14),
        base,
        around(r, base, 0.12),
        contrast=r.uniform(0.1, 0.7),
        spec=r.uniform(0.2, 0.9),
        gloss=r.uniform(4, 30),
        dirt=r.uniform(0, 0.3),
        edge_shade=r.uniform(-0.3, 0.3),
    )


def anything(r: random.Random) -> list[float]:
    """A surface with no rule: for clutter, strange rooms and robustness."""
    c1 = any_colour(r)
    c2 = any_colour(r) if r.random() < 0.4 else around(r, c1, 0.2)
    lines = r.random() < 0.25
    return material(
        r,
        r.choice(NAMES),
        r.uniform(6, 150),
        r.uniform(6, 150),
        c1,
        c2,
        contrast=r.uniform(0, 1.4),
        dirt=r.random() * 0.6,
        dirt_in=r.uniform(5, 120),
        spec=r.choice((0, 0, 0.1, 0.5)),
        gloss=r.uniform(3, 60),
        line_u=r.uniform(2, 30) if lines else 0.0,
        line_v=r.choice((0.0, r.uniform(2, 60))) if lines else 0.0,
        line_half=r.uniform(0.03, 0.4),
        line_shade=r.uniform(0.2, 1.5),
        stagger=r.choice((0.0, 0.5)),
        bump=r.uniform(0, 0.4),
        fixed=r.random() < 0.6,
    )


def tint(r: random.Random, row: list[float], kind: dict[str, object]) -> None:
    """Give a surface nearly the colours of one kind of lumber, in place."""
    for start, colour in zip((COLOUR_1, COLOUR_2), kind["pair"], strict=True):  # type: ignore[call-overload]
        row[start : start + 3] = [c**2.2 for c in around(r, colour, 0.06)]


FILLS: tuple[Rgb, ...] = (
    (0.92, 0.55, 0.66),
    (0.85, 0.78, 0.36),
    (0.78, 0.76, 0.68),
    (0.55, 0.53, 0.47),
    (0.62, 0.50, 0.36),
    (0.94, 0.92, 0.85),
    (0.90, 0.82, 0.62),
    (0.70, 0.78, 0.84),
    (0.80, 0.68, 0.50),
    (0.45, 0.45, 0.48),
)


def fill(r: random.Random) -> list[float]:
    """Insulation or foam between the studs."""
    c = around(r, r.choice(FILLS), 0.08) if r.random() < 0.9 else any_colour(r)
    dark = r.uniform(0.55, 0.95)
    return material(
        r,
        r.choice(("fluff", "fluff", "fbm_rough", "fbm_soft", "wrinkles", "blotches")),
        r.uniform(15, 60),
        r.uniform(15, 60),
        c,
        (c[0] * dark, c[1] * dark, c[2] * dark),
        contrast=r.uniform(0.2, 1.4),
        dirt=r.random() * 0.4,
        dirt_in=r.uniform(8, 60),
        bump=r.uniform(0, 0.9),
        spec=r.choice((0, 0, 0.1, 0.5)),
        gloss=r.uniform(3, 20),
        line_v=r.choice((0.0, 0.0, 0.0, 48.0)),
        line_half=0.3,
        line_shade=0.4,
        fixed=True,
    )
