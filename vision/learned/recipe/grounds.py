"""Large surfaces of a room or garden: what closes a wall behind, floors, plain walls, ground."""

from __future__ import annotations

import random

from .materials import (
    EDGE_SHADE,
    FIXED_AXES,
    LINE_HALF,
    LINE_SHADE,
    LINE_U,
    LINE_V,
    SCALE_U,
    SCALE_V,
    STAGGER,
    anything,
    around,
    hsv,
    material,
    wood,
    wood_kind,
)


def backing(r: random.Random) -> list[float]:
    """Sheathing or the wall behind the studs; seen between them."""
    pick = r.random()
    if pick < 0.17:
        c = around(r, (0.74, 0.58, 0.36), 0.09)
        return material(
            r,
            "flakes",
            r.uniform(16, 40),
            r.uniform(16, 40),
            c,
            around(r, (0.5, 0.36, 0.2), 0.08),
            contrast=r.uniform(0.4, 1.2),
            line_u=r.choice((0.0, 48.0, 48.0)),
            line_v=r.choice((0.0, 96.0)),
            line_half=0.12,
            line_shade=r.uniform(0.1, 0.6),
            fixed=True,
        )
    if pick < 0.26:
        c = around(r, (0.78, 0.63, 0.43), 0.1)
        return material(
            r,
            r.choice(("grain_fine", "grain_knots")),
            r.uniform(20, 60),
            r.uniform(30, 90),
            c,
            around(r, c, 0.1),
            contrast=r.uniform(0.2, 0.8),
            line_u=48.0,
            line_half=0.1,
            line_shade=r.uniform(0.1, 0.7),
            fixed=True,
        )
    if pick < 0.46:
        grey = r.uniform(0.3, 0.85)
        c = around(r, (grey, grey, grey * r.uniform(0.9, 1.0)), 0.03)
        return material(
            r,
            r.choice(("concrete", "fbm_rough", "fbm_soft", "blotches")),
            r.uniform(30, 140),
            r.uniform(30, 140),
            c,
            around(r, c, 0.1),
            contrast=r.uniform(0.1, 1.0),
            dirt=r.random() * 0.6,
            dirt_in=r.uniform(20, 120),
            line_u=r.choice((0.0, 0.0, r.uniform(16, 48))),
            line_v=r.choice((0.0, r.uniform(16, 96))),
            line_half=r.uniform(0.04, 0.3),
            line_shade=r.uniform(0.3, 1.3),
            fixed=True,
        )
    if pick < 0.68:  # boards with joints: the classic look-alike of a row of studs
        kind = wood_kind(r)
        row = wood(r, kind)
        upright = r.random() < 0.6
        pitch = r.uniform(3, 9)
        row[SCALE_U], row[SCALE_V] = (1 / r.uniform(4, 14), 1 / r.uniform(40, 140))
        row[LINE_U], row[LINE_V] = (pitch, 0.0) if upright else (0.0, pitch)
        if not upright:
            row[SCALE_U], row[SCALE_V] = row[SCALE_V], row[SCALE_U]
        row[LINE_HALF], row[LINE_SHADE] = r.uniform(0.05, 0.5), r.choice((r.uniform(0.05, 0.7), 1.4))
        row[STAGGER], row[FIXED_AXES], row[EDGE_SHADE] = 2.0, 1.0, 0.0  # 2 = each board its own tone
        return row
    if pick < 0.76:
        c = around(r, r.choice(((0.55, 0.28, 0.2), (0.6, 0.6, 0.58), (0.7, 0.6, 0.5))), 0.07)
        return material(
            r,
            r.choice(("fbm_rough", "concrete")),
            50,
            50,
            c,
            around(r, c, 0.12),
            contrast=r.random(),
            line_u=r.choice((8.0, 16.0)),
            line_v=r.choice((2.7, 8.0)),
            line_half=r.uniform(0.15, 0.3),
            line_shade=r.choice((0.4, 1.4)),
            stagger=0.5,
            fixed=True,
        )
    if pick < 0.82:  # corrugated or foil-faced
        v = r.uniform(0.4, 0.9)
        return material(
            r,
            "wrinkles",
            r.uniform(20, 60),
            r.uniform(20, 60),
            hsv(r.random(), 0.1, v),
            hsv(r.random(), 0.1, v * 0.8),
            spec=r.uniform(0.1, 0.8),
            gloss=r.uniform(3, 20),
            line_u=r.uniform(2, 5),
            line_half=r.uniform(0.3, 1.2),
            line_shade=r.uniform(0.6, 1.3),
            fixed=True,
            bump=r.uniform(0, 0.4),
        )
    if pick < 0.88:
        v = r.uniform(0.02, 0.3)
        return material(
            r, "wrinkles", 40, 40, (v, v, v), (v * 0.7, v * 0.7, v), spec=r.random() * 0.2, bump=0.2
        )
    return anything(r)


def bare_concrete(r: random.Random) -> list[float]:
    """Concrete or render in the tones of bare steel."""
    grey = r.uniform(0.3, 0.8)
    c = around(r, (grey, grey, grey * r.uniform(0.93, 1.0)), 0.02)
    return material(
        r,
        r.choice(("concrete", "fbm_rough", "fbm_soft", "blotches")),
        r.uniform(30, 140),
        r.uniform(30, 140),
        c,
        around(r, c, 0.1),
        contrast=r.uniform(0.2, 1.2),
        dirt=r.random() * 0.7,
        dirt_in=r.uniform(12, 120),
        line_u=r.choice((0.0, 0.0, 24.0)),
        line_v=r.choice((0.0, r.uniform(16, 96))),
        line_half=r.uniform(0.04, 0.3),
        line_shade=r.uniform(0.4, 1.3),
        fixed=True,
    )


def floor(r: random.Random) -> list[float]:
    pick = r.random()
    if pick < 0.5:
        g = r.uniform(0.25, 0.8)
        c = around(r, (g, g * 0.98, g * 0.94), 0.03)
        return material(
            r,
            r.choice(("concrete", "fbm_soft", "fbm_rough")),
            r.uniform(60, 200),
            r.uniform(60, 200),
            c,
            around(r, c, 0.1),
            spec=r.choice((0, 0.1, 0.4)),
            gloss=30,
            dirt=r.random() * 0.6,
            fixed=True,
        )
    if pick < 0.8:
        row = wood(r)
        row[LINE_U], row[LINE_HALF], row[LINE_SHADE], row[FIXED_AXES] = r.uniform(3, 48), 0.1, 0.4, 1.0
        return row
    return anything(r)


def plain_wall(r: random.Random) -> list[float]:
    """Painted board, masonry or sheathing of the surrounding room."""
    if r.random() < 0.5:
        c = hsv(r.random(), r.random() * 0.25, r.uniform(0.35, 0.97))
        return material(
            r,
            r.choice(("fbm_soft", "concrete", "fbm_rough")),
            90,
            90,
            c,
            around(r, c, 0.04),
            contrast=0.6,
            line_u=r.choice((0.0, 48.0)),
            line_half=r.uniform(0.1, 1.2),
            line_shade=r.uniform(0.7, 1.2),
            fixed=True,
        )
    return backing(r)


def ground(r: random.Random) -> list[float]:
    c = r.choice(((0.32, 0.40, 0.18), (0.45, 0.38, 0.28), (0.5, 0.48, 0.44), (0.28, 0.24, 0.18)))
    c = around(r, c, 0.08)
    return material(
        r,
        r.choice(("foliage", "fbm_rough", "clutter_fine", "fluff")),
        r.uniform(40, 160),
        r.uniform(40, 160),
        c,
        around(r, c, 0.2),
        contrast=r.uniform(0.6, 1.4),
        dirt=0.5,
        fixed=True,
    )
