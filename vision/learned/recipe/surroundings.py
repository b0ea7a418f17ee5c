"""What stands around, behind and in front of the wall: none of it is a member of it."""

from __future__ import annotations

import random

from . import grounds as gr
from . import materials as mt
from .clutter import add_clutter
from .scene import Scene


def add_surroundings(s: Scene, r: random.Random) -> None:
    x0, x1, _, height, _ = s.outline
    if s.outdoors:
        _garden(s, r, x0, x1, height)
    else:
        _room(s, r, x0, x1, height)
    if r.random() < (0.75 if s.open_behind else 0.3):
        for _ in range(1 if r.random() < 0.8 else 2):
            _row_behind(s, r, x0, x1, height)
    add_clutter(s, r, x0, x1, height)


def _surface(s: Scene, r: random.Random, usual: list[float]) -> list[float]:
    return mt.anything(r) if s.weird and r.random() < 0.5 else usual


def _room(s: Scene, r: random.Random, x0: float, x1: float, height: float) -> None:
    floor_y = -r.choice((0.0, 0.0, r.uniform(0, 6)))
    left = x0 - r.choice((0.1, r.uniform(0, 3), r.uniform(0, 60), r.uniform(40, 200)))
    right = x1 + r.choice((0.1, r.uniform(0, 3), r.uniform(0, 60), r.uniform(40, 200)))
    back = -r.choice((r.uniform(6, 30), r.uniform(60, 300)))
    top = height + r.choice((0.0, 0.0, r.uniform(0, 30)))
    deck = top + r.choice((0.0, r.uniform(6, 12)))
    s.box((left - 5, right + 5), (floor_y - 2, floor_y), (back, 700), _surface(s, r, gr.floor(r)))
    if r.random() < 0.9:
        s.box((left - 5, right + 5), (deck, deck + 2), (back, 700), _surface(s, r, gr.backing(r)))
    s.box((left - 5, right + 5), (floor_y, deck), (back - 2, back), _surface(s, r, gr.plain_wall(r)))
    if deck - top > 3 and r.random() < 0.85:
        kind, pitch, thick = mt.wood_kind(r), r.choice((12, 16, 24)), r.uniform(1.4, 2.5)
        if r.random() < 0.7:  # joists run towards the camera
            x = left + r.uniform(0, pitch)
            while x < right:
                s.box((x, x + thick), (top, deck), (back, 300), mt.wood(r, kind))
                x += pitch
        else:
            z = r.uniform(0, pitch)
            while z < 200:
                s.box((left, right), (top, deck), (z, z + thick), mt.wood(r, kind))
                z += pitch
    for side, x in ((-1, left), (1, right)):
        if r.random() < 0.3:
            continue
        framed = r.random() < 0.65
        gap = 4.0 if framed else 0.0
        outer = (x - gap - 1, x - gap) if side < 0 else (x + gap, x + gap + 1)
        s.box(outer, (floor_y, deck), (back, 700), _surface(s, r, gr.plain_wall(r)))
        if framed:
            _side_wall(s, r, side, x, floor_y, height)
    if r.random() < 0.12:  # a plain strip of wall beside the framing, in its own plane
        side = r.random() < 0.5
        a, b = (left, x0 - 0.2) if side else (x1 + 0.2, right)
        if b - a > 2:
            s.box((a, b), (floor_y, top), (-4, r.uniform(-2, 1)), gr.plain_wall(r))


def _side_wall(s: Scene, r: random.Random, side: int, x: float, floor_y: float, height: float) -> None:
    kind, w, pitch = _lumber(s, r), r.uniform(1.3, 2), r.choice((16, 24))
    span = (x - 3.5, x) if side < 0 else (x, x + 3.5)
    end = r.uniform(60, 300)
    for y in (floor_y, height - w):
        s.box(span, (y, y + w), (0.3, end), mt.wood(r, kind))
    z = r.choice((0.1, 0.3, r.uniform(0.3, pitch)))
    filled = r.random() < 0.5
    fill = mt.fill(r)
    while z < end:
        s.box(span, (floor_y, height), (z, z + w), mt.wood(r, kind))
        if filled:
            s.box((span[0] + 0.3, span[1] - 0.3), (floor_y, height), (z + w, z + pitch), fill)
        z += pitch


def _lumber(s: Scene, r: random.Random) -> dict[str, object]:
    """The wall's own lumber, often: then only depth and place tell the two apart."""
    return s.wood_kind if s.wood_kind and r.random() < 0.5 else mt.wood_kind(r)


def _row_behind(s: Scene, r: random.Random, x0: float, x1: float, height: float) -> None:
    """Another framed wall further back, parallel or turned: never part of the answer."""
    kind, w, pitch = _lumber(s, r), r.uniform(1.3, 2), r.choice((16.0, 24.0, r.uniform(10, 30)))
    z = -s.depth_in - r.choice((r.uniform(2, 20), r.uniform(20, 240)))
    a, b = x0 - r.uniform(-30, 150), x1 + r.uniform(-30, 150)
    h = height + r.choice((0, r.uniform(-12, 12)))
    for y in (0.0, h - w):
        s.box((a, b), (y, y + w), (z - 3.5, z), mt.wood(r, kind))
    x = a
    while x < b - w:
        s.box((x, x + w), (0, h), (z - 3.5, z), mt.wood(r, kind))
        x += pitch
    if r.random() < 0.3:
        y = h * r.uniform(0.3, 0.7)
        s.box((a, b), (y, y + w), (z - 3.5, z - 0.1), mt.wood(r, kind))
    if r.random() < 0.5:
        s.box((a, b), (0, h), (z - 4.2, z - 3.6), gr.backing(r))


def _garden(s: Scene, r: random.Random, x0: float, x1: float, height: float) -> None:
    ground_y = -r.uniform(0, 30)
    s.box((-4000, 4000), (ground_y - 4, ground_y), (-4000, 4000), gr.ground(r))
    if ground_y < -3:
        deck = r.uniform(0, 60)
        s.box((x0 - deck / 2, x1 + deck / 2), (ground_y, -0.05), (-150, r.uniform(0, 6)), gr.floor(r))
    for _ in range(r.randrange(0, 6)):
        x, z = r.uniform(x0 - 400, x1 + 400), -r.uniform(60, 900)
        w, h = r.uniform(10, 300), r.uniform(30, 300)
        row = mt.anything(r) if r.random() < 0.5 else gr.backing(r)
        s.box((x, x + w), (ground_y, ground_y + h), (z - 20, z), row, turn_deg=r.uniform(-40, 40))
    for _ in range(r.randrange(0, 5)):  # trunks and posts
        x, z = r.uniform(x0 - 200, x1 + 200), -r.uniform(30, 500)
        s.bar((x, ground_y, z), (x + r.gauss(0, 15), 300, z), r.uniform(2, 20), r.uniform(2, 20), mt.wood(r))
    if r.random() < 0.35:  # rafters
        kind, pitch, rise = mt.wood_kind(r), r.choice((16, 24)), r.uniform(-30, 30)
        x = x0
        while x < x1:
            s.bar(
                (x, height + 3, -120),
                (x, height + 3 + rise, r.uniform(0, 20)),
                1.5,
                r.uniform(3.5, 7),
                mt.wood(r, kind),
            )
            x += pitch
        if r.random() < 0.5:
            s.box((x0 - 10, x1 + 10), (height + 7, height + 9), (-150, 20), gr.backing(r))
    if r.random() < 0.4:  # side wall of the same shed
        side = r.choice((-1, 1))
        x = x0 + 3.5 if side < 0 else x1 - 3.5
        kind, z = mt.wood_kind(r), -5.5
        for y in (0.0, height - 1.5):
            s.box((x - 3.5, x), (y, y + 1.5), (-150, -4), mt.wood(r, kind))
        while z > -150:
            s.box((x - 3.5, x), (0, height), (z - 1.5, z), mt.wood(r, kind))
            z -= r.choice((16, 24))
