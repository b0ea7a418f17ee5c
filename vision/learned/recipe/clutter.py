"""What stands, leans and hangs before the wall: none of it is a member of it."""

from __future__ import annotations

import random

from . import grounds as gr
from . import materials as mt
from .scene import Scene


def add_clutter(s: Scene, r: random.Random, x0: float, x1: float, height: float) -> None:
    floor_y = 0.0

    def along() -> float:
        if r.random() < 0.3:  # near an end, where it hides the end stud or passes for it
            return r.choice((x0, x1)) + r.gauss(0, 7)
        return r.uniform(x0 - 30, x1 + 30)

    for _ in range(r.choice((0, 0, 1, 2, 4))):  # boxes, buckets, stacks
        x, z = along(), r.choice((r.uniform(1, 20), r.uniform(1, 120), -r.uniform(8, 100)))
        w, h, d = r.uniform(5, 36), r.uniform(4, 36), r.uniform(5, 30)
        s.box((x, x + w), (floor_y, floor_y + h), (z, z + d), mt.anything(r), turn_deg=r.uniform(-45, 45))
    kind = s.wood_kind if s.wood_kind and r.random() < 0.6 else mt.wood_kind(r)
    for _ in range(r.choice((0, 0, 0, 1, 1, 2, 4))):  # boards and loose studs leaning on the wall
        x, foot, top = along(), r.uniform(3, 30), r.choice((0.97, r.uniform(0.3, 1.05))) * height
        wide, thick, slant = (
            r.choice((1.5, 3.5, r.uniform(1, 8))),
            r.uniform(0.6, 3.5),
            r.choice((0.5, 2, 6, 15)),
        )
        for k in range(r.choice((1, 1, 2, 3))):  # often a few side by side
            row = mt.wood(r, kind) if r.random() < 0.8 else mt.anything(r)
            a, t = x + k * wide * r.uniform(0.8, 2), top * r.uniform(0.9, 1)
            s.bar((a, floor_y, foot), (a + r.gauss(0, slant), t, thick / 2 + 0.1), wide, thick, row)
    for _ in range(r.choice((0, 0, 0, 1, 2))):  # a level, a broom, a tube: upright before the wall
        x, z = along(), r.uniform(1, 16)
        y = floor_y + r.choice((0, r.uniform(0, 30)))
        s.bar(
            (x, y, z),
            (x + r.gauss(0, 4), y + r.uniform(24, 96), r.uniform(0.6, z)),
            r.uniform(0.7, 4),
            1,
            mt.wood(r, kind) if r.random() < 0.4 else mt.anything(r),
        )
    if r.random() < 0.1:
        _bench(s, r, along(), mt.wood_kind(r) if r.random() < 0.5 else kind)
    if r.random() < 0.24:
        if r.random() < 0.5:
            _ladder(s, r, along(), height)
        else:
            _straight_ladder(s, r, along(), height)
    if r.random() < 0.14:
        _shelf(s, r, along(), kind)
    for _ in range(r.choice((0, 0, 0, 1, 3))):
        _cable(s, r, along(), height)
    for _ in range(r.choice((0, 0, 1, 2, 3))):  # pipes, cables, tape, level, cords
        row = mt.anything(r) if r.random() < 0.7 else mt.steel(r, r.uniform(0.3, 1))
        t = r.choice((0.25, 0.5, 1.0, 2.4))
        z = r.choice((0.3, r.uniform(-3, 0), r.uniform(0.2, 30)))
        if r.random() < 0.6:
            y = r.uniform(0.1, 0.9) * height
            a = along()
            reach = r.uniform(10, 200)
            s.bar((a, y, z), (a + reach, y + r.gauss(0, 6), z), t, t, row)
        else:
            x = along()
            s.bar((x, r.uniform(0, 40), z), (x + r.gauss(0, 3), r.uniform(50, height + 10), z), t, t, row)
    for _ in range(r.choice((0, 0, 2, 5))):  # wall boxes beside studs
        x, y = along(), r.choice((12.0, 44.0, r.uniform(10, 80)))
        s.box((x, x + 2.2), (y, y + 3.6), (-2.5, 0.3), mt.anything(r))
    if r.random() < 0.17:  # a post or beam nearer to the camera
        x, z = along(), r.uniform(20, 90)
        s.bar(
            (x, floor_y, z),
            (x, height + 20, z),
            r.uniform(2, 8),
            r.uniform(2, 8),
            mt.anything(r) if r.random() < 0.5 else mt.wood(r),
        )
    if r.random() < 0.08:  # sheets or panels standing about
        x, z, w = along(), r.uniform(2, 30), r.uniform(20, 50)
        s.box(
            (x, x + w),
            (0, r.uniform(30, 96)),
            (z, z + 0.7),
            gr.plain_wall(r),
            turn_deg=r.uniform(-30, 30),
            tilt_deg=r.uniform(0, 14),
        )


def _ladder(s: Scene, r: random.Random, x: float, height: float) -> None:
    row, top, w = mt.anything(r), r.uniform(50, 100), r.uniform(14, 22)
    legs = ((r.uniform(20, 40), 6.0),) if r.random() < 0.4 else ((30.0, 16.0), (4.0, 14.0))
    for foot, head in legs:
        for dx in (0.0, w):
            s.bar((x + dx, 0, foot), (x + w / 2 + (dx - w / 2) * 0.7, top, head), 2, 1.2, row)
        for k in range(1, int(top / 12)):
            t = k * 12 / top
            z = foot + (head - foot) * t
            s.bar((x + w * 0.15 * t, k * 12, z), (x + w * (1 - 0.15 * t), k * 12, z), 1.2, 1.2, row)
    if r.random() < 0.7:  # the cap
        z = legs[0][1]
        s.box((x + w * 0.1, x + w * 0.9), (top - 1, top + r.uniform(0.5, 4)), (z - 5, z + 3), row)


def _bench(s: Scene, r: random.Random, x: float, kind: dict[str, object]) -> None:
    """A frame of a table, a trestle or a wall lying about: posts and rails of the same lumber."""
    w, h, d, z = r.uniform(24, 90), r.uniform(14, 44), r.uniform(16, 36), r.uniform(6, 70)
    for dx in (0, w / 2, w) if w > 60 else (0, w):
        for dz in (0, d):
            s.box((x + dx, x + dx + 1.5), (0, h), (z + dz, z + dz + 3.5), mt.wood(r, kind))
    for y in (h - 3.5, r.uniform(2, h / 2)):
        for dz in (0, d):
            s.box((x, x + w), (y, y + r.choice((1.5, 3.5))), (z + dz + 3.5, z + dz + 5), mt.wood(r, kind))
    if r.random() < 0.4:
        s.box((x - 3, x + w + 3), (h, h + 0.8), (z - 3, z + d + 6), mt.anything(r))


def _straight_ladder(s: Scene, r: random.Random, x: float, height: float) -> None:
    """A straight ladder, or two slid over one another, leaning on the wall."""
    row = mt.wood(r) if r.random() < 0.3 else mt.anything(r) if r.random() < 0.4 else mt.steel(r, 0.8)
    w, foot, top, slant = r.uniform(13, 19), r.uniform(8, 40), r.uniform(0.6, 1.1) * height, r.gauss(0, 4)
    face = r.uniform(0.9, 3)
    for part in range(r.choice((1, 1, 2))):
        inset, lift = 1.4 * part, 1.2 * part
        for dx in (inset, w - inset):
            s.bar((x + dx, 0, foot + lift), (x + dx + slant, top, 1.5 + lift), face, 1.2, row)
        for k in range(1, int(top / 12)):
            t = k * 12 / top
            z = foot + (1.5 - foot) * t + lift
            s.bar((x + inset + slant * t, k * 12, z), (x + w - inset + slant * t, k * 12, z), 1.3, 1.3, row)


def _shelf(s: Scene, r: random.Random, x: float, kind: dict[str, object]) -> None:
    """A shelf before the wall: four posts, boards, things on the boards."""
    post = mt.wood(r, kind) if r.random() < 0.5 else mt.anything(r)
    w, h, d, z = r.uniform(24, 72), r.uniform(36, 80), r.uniform(10, 24), r.uniform(0.5, 14)
    t = r.uniform(0.6, 2.2)
    for dx in (0.0, w - t):
        for dz in (0.0, d - t):
            s.box((x + dx, x + dx + t), (0, h), (z + dz, z + dz + t), post)
    levels = r.randint(2, 5)
    for k in range(levels):
        y = h * (k + 0.3) / levels
        s.box((x, x + w), (y, y + 0.8), (z, z + d), post)
        for _ in range(r.choice((0, 1, 2))):
            a, b = x + r.uniform(0, 0.8) * w, r.uniform(3, 14)
            s.box(
                (a, a + b),
                (y + 0.8, y + 0.8 + r.uniform(2, 0.8 * h / levels)),
                (z + 1, z + d - 1),
                mt.anything(r),
            )


def _cable(s: Scene, r: random.Random, x: float, height: float) -> None:
    """A cable, hose or cord hanging down before the wall or along a stud, in a few straight pieces."""
    row = mt.anything(r)
    t, z = r.choice((0.2, 0.4, 0.8, 1.5)), r.choice((0.3, r.uniform(0.3, 40)))
    y, low = height + r.uniform(-20, 6), r.uniform(-0.1, 0.7) * height
    steps = r.randint(2, 5)
    drop = (y - low) / steps
    for _ in range(steps):
        a, c = x + r.gauss(0, r.choice((0.3, 1.5, 4))), max(0.3, z + r.gauss(0, 0.5))
        s.bar((x, y, z), (a, y - drop, c), t, t, row)
        x, y, z = a, y - drop, c
