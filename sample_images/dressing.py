"""Insulation in the bays, and sheets or paper over the faces."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from . import textures as tx
from .draws import Scene
from .meshes import box, sheet
from .stage import Material, Stage
from .wall_plan import Opening, WallPlan


def bays(plan: WallPlan) -> list[tuple[float, float, float, float]]:
    """Gaps between neighbouring members as (left, right, bottom, top); openings are skipped."""
    full = sorted((m for m in plan.members if m.full_height), key=lambda m: m.centre_in)
    short = [m for m in plan.members if not m.full_height]
    bottom = min(m.bottom_in for m in full)
    top = max(m.top_in for m in full)
    out = []
    for a, b in pairwise(full):
        left, right = a.centre_in + a.face_in / 2, b.centre_in - b.face_in / 2
        if right - left < 2.0:
            continue
        inside = [o for o in plan.openings if left - 4 < o.left_in and o.right_in < right + 4]
        if not inside:
            out.append((left, right, bottom, top))
            continue
        o = inside[0]
        header = max(b.top_in for b in plan.bars if b.kind == "header")
        for low, high in ((bottom, o.bottom_in - 1.5), (header, top)):
            if high - low < 6.0:
                continue
            edges = [
                m for m in short if left < m.centre_in < right and m.bottom_in < (low + high) / 2 < m.top_in
            ]
            edges.sort(key=lambda m: m.centre_in)
            for c, d in pairwise(edges):
                span = (c.centre_in + c.face_in / 2, d.centre_in - d.face_in / 2)
                if span[1] - span[0] > 2.0:
                    out.append((*span, low, high))
    return out


def add_fill(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan) -> None:
    """Insulation in (most of) the bays, flush, set back or bulging out."""
    assert scene.fill is not None
    kind, colour = scene.fill
    if kind == "rigid":
        _boards(stage, rng, colour, plan)
        return
    depth = 0.12 if kind == "wool" else 0.05
    stage.define("fill", Material(picture=tx.wool(rng, colour, depth=depth)))
    skip = rng.random() * 0.2 if rng.random() < 0.4 else 0.0
    for left, right, low, high in bays(plan):
        if rng.random() < skip:
            continue
        cols = max(6, int((right - left) / 0.5))
        rows = max(6, int((high - low) / 0.7))
        u = np.linspace(-1, 1, cols)[None]
        v = np.linspace(-1, 1, rows)[:, None]
        pillow = (1 - u**6) * (1 - v**12)
        rough = 0.11 if kind == "wool" else 0.3
        tall = (high - low) / (right - left)
        lump = tx.fractal(rng, rows, cols, 1.2, (tall, 0.3 * tall))
        own = scene.bulge_in + float(rng.normal(0, 0.12))
        height = own * pillow + rough * lump - 0.08
        if scene.bulge_in <= 0.0:
            height = np.minimum(height, 0.02)
        # facing tucked at the edges: a batt never covers a stud's face by itself
        edge = np.minimum(1 - np.abs(u), 0.12) / 0.12
        height = np.where(height > -0.05, -0.05 + (height + 0.05) * edge, height)
        ends = np.minimum(1 - np.abs(v), 0.03) / 0.03
        height = np.where(height > -0.05, -0.05 + (height + 0.05) * ends, height)
        stage.add(
            "fill",
            sheet(
                (left, low, 0.0),
                (right - left, 0, 0),
                (0, high - low, 0),
                72.0,
                (rng.random(), rng.random()),
                height,
            ),
        )


def _boards(
    stage: Stage, rng: np.random.Generator, colour: tuple[float, float, float], plan: WallPlan
) -> None:
    """Flat foam boards cut to the bays: set back a little, gaps at the studs, joints across."""
    stage.define("fill", Material(picture=tx.plain(rng, colour, rough=0.03)))
    thick = float(rng.choice([1.0, 1.5, 2.0]))
    set_back = float(rng.uniform(0.1, 1.0))
    skip = rng.random() * 0.2 if rng.random() < 0.4 else 0.0
    for left, right, low, high in bays(plan):
        if rng.random() < skip:
            continue
        start, piece = low + 0.05, float(rng.choice([48.0, 96.0]) * rng.uniform(0.6, 1.0))
        while high - start > 2.0:
            end = min(start + piece, high - 0.05)
            gaps = rng.uniform(0.05, 0.45, 2)
            front = -set_back - abs(float(rng.normal(0, 0.12)))
            corner = (right - gaps[1], end, front)
            stage.add("fill", box((left + gaps[0], start, front - thick), corner, 0.02))
            start, piece = end + float(rng.uniform(0.04, 0.25)), float(rng.choice([48.0, 96.0]))


def add_sheet(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan) -> None:
    """Paper stapled bay by bay, or one wide sheet over everything."""
    assert scene.sheet is not None
    kind, colour = scene.sheet
    if kind in ("kraft", "grey_paper", "dark_paper"):
        _paper(stage, rng, colour, plan)
        return
    size = 1024
    # wrinkles run out from the staples on the faces; they carry the highlights
    if kind == "wrap":
        stage.define("sheet", Material("gloss", picture=tx.paper(rng, colour), rough=0.45))
    else:
        base = {"clear": 0.10, "blue_film": 0.26}.get(kind, 0.38)
        crease = np.abs(tx.fractal(rng, size, size, 1.3, (0.5, 1.0), low=3))
        opacity = np.clip(
            base + 0.12 * np.exp(-6 * crease) + 0.03 * tx.fractal(rng, size, size, 1.0), 0.02, 0.9
        )
        stage.define("sheet", Material("film", colour, rough=0.16, opacity=opacity))
    for left, right, low, high in _whole(plan):
        cols, rows = max(8, int((right - left) / 0.9)), max(8, int((high - low) / 0.9))
        x = np.linspace(left, right, cols)
        fold = 0.16 * tx.fractal(rng, rows, cols, 1.5, (0.35, 1.0), low=2)
        faces = [m for m in plan.members if m.bottom_in < (low + high) / 2 < m.top_in]
        near = np.min([np.abs(x - m.centre_in) / (m.face_in / 2 + 0.9) for m in faces], axis=0)
        loose = np.clip(near - 0.6, 0.0, 1.0)[None]
        heights = 0.16 + np.abs(fold) * (0.25 + loose) + loose * float(rng.uniform(-0.05, 0.35))
        stage.add(
            "sheet",
            sheet(
                (left, low, 0.0), (right - left, 0, 0), (0, high - low, 0), 90.0, (rng.random(), 0), heights
            ),
        )
    laps = rng.random() < 0.5
    if laps and kind != "wrap":
        at = float(rng.uniform(0.3, 0.7) * plan.length_in)
        heights = 0.3 + 0.06 * tx.fractal(rng, 60, 8, 1.2)
        stage.add(
            "sheet", sheet((at, 1.0, 0), (8.0, 0, 0), (0, plan.height_in - 2, 0), 90.0, heights=heights)
        )


def _whole(plan: WallPlan) -> list[tuple[float, float, float, float]]:
    """The wall but for its openings, as rectangles."""
    out, start = [], 0.0
    height = plan.height_in
    low, high = 0.6, height - 0.8

    def around(o: Opening) -> list[tuple[float, float, float, float]]:
        parts = [(o.left_in, o.right_in, o.top_in, high)]
        if o.bottom_in > 4:
            parts.append((o.left_in, o.right_in, low, o.bottom_in))
        return parts

    for o in sorted(plan.openings, key=lambda o: o.left_in):
        out.append((start, o.left_in, low, high))
        out += around(o)
        start = o.right_in
    out.append((start, plan.length_in, low, high))
    return out


def _paper(
    stage: Stage,
    rng: np.random.Generator,
    colour: tuple[float, float, float],
    plan: WallPlan,
) -> None:
    """Facing paper: each bay's strip laps on the faces to both sides by its flange."""
    stage.define("sheet", Material("gloss", picture=tx.paper(rng, colour), rough=0.5))
    for i, (left, right, low, high) in enumerate(bays(plan)):
        lap = [float(rng.uniform(0.45, 1.05)) for _ in range(2)]
        a, b = left - lap[0], right + lap[1]
        cols, rows = max(16, int((b - a) / 0.4)), max(10, int((high - low) / 0.9))
        x = np.linspace(a, b, cols)[None]
        y = np.linspace(0, 1, rows)[:, None]
        inside = np.clip(np.minimum(x - left, right - x) / 1.2, 0.0, 1.0)
        belly = float(rng.uniform(0.1, 0.9)) * np.sin(np.pi * np.clip((x - left) / (right - left), 0, 1))
        wave = 0.10 * tx.fractal(rng, rows, cols, 1.4, (0.6, 1.0))
        heights = 0.13 + 0.05 * (i % 2) + inside * (belly + wave) + 0.02 * wave
        # between the staples the flange gapes a little
        heights = heights + (1 - inside) * 0.05 * np.abs(np.sin(np.pi * y * 12))
        stage.add(
            "sheet",
            sheet(
                (a, low - 0.8, 0), (b - a, 0, 0), (0, high - low + 1.4, 0), 60.0, (rng.random(), 0), heights
            ),
        )
