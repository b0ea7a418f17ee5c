"""Electrical boxes on the sides of studs, and things beside studs that are none."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from . import materials as mt
from .scene import STUD_FRONT, Scene

LOWEST_IN, HIGHEST_IN = 4.0, 84.0
LEAST_HEIGHT_IN = 40.0  # of a post that carries one
# Width and height of rims: one switch or outlet, two, three, a 4 in square (common practice, no source).
RIMS_IN = ((2.25, 3.75), (4.0, 3.75), (5.8, 3.75), (4.0, 4.0), (2.9, 2.9))
RIM_SHARE = (66, 15, 3, 13, 3)
SCRAP_SHARE = 0.1
USUAL_MIDDLES_IN = (13.5, 16.0, 18.0, 44.0, 48.0, 50.0)


@dataclass(frozen=True)
class Post:
    """The front face of one upright: its middle at ``height / 2``, how far it leans per inch up, its ends."""

    x: float
    y: float
    z: float
    slope: float
    half_width: float
    half_height: float

    def edge(self, side: int, y: float) -> float:
        """Where the face ends to the left (-1) or right (1) at a height."""
        return self.x + self.slope * (y - self.y) + side * self.half_width


@dataclass(frozen=True)
class WiredBox:
    """One electrical box: the post and the side it is on, its rim's extents and how far that stands proud."""

    post: int
    side: int
    left: float
    right: float
    bottom: float
    top: float
    proud: float
    first: int  # of the scene's boxes that it is made of
    last: int


def posts_of(s: Scene) -> list[Post]:
    """All uprights' front faces, in the order they were added."""
    out = []
    for row, label in zip(s.boxes, s.labels, strict=True):
        if label[0] != STUD_FRONT:
            continue
        cx, cy, cz, _, _, _, ex, ey, _, _, _, _, hx, hy, hz = row
        out.append(Post(cx, cy, cz + hz, ex / ey, hx, hy))
    return out


def add_wiring(s: Scene, r: random.Random) -> list[WiredBox]:
    """Put boxes and decoys beside the studs of a wall that is drawn but for what stands before it."""
    posts = posts_of(s)
    taken: list[tuple[float, float, float]] = []  # x, bottom, top
    out: list[WiredBox] = []
    family = _colours(r)
    for _ in range(r.choice((2, 4, 6, 8))):
        place = _place(posts, taken, r)
        if place is None:
            continue
        k, side, y = place
        rim = r.choices(RIMS_IN, RIM_SHARE)[0]
        wide, tall = (n * math.exp(r.gauss(0, 0.03)) for n in rim)
        room = _room(posts, k, side, y)
        if room < wide + 0.4:
            continue
        scrap = r.choice((0.75, 1.5)) if r.random() < SCRAP_SHARE and room > wide + 2 else 0.0
        colours = family if r.random() < 0.8 else _colours(r)
        out.append(_box(s, r, posts[k], k, side, y, (wide, tall), scrap, colours))
        taken.append((posts[k].edge(side, y), y - tall / 2 - 3, y + tall / 2 + 3))
    for _ in range(r.choice((0, 2, 4, 6))):
        place = _place(posts, taken, r)
        if place is not None:
            k, side, y = place
            _decoy(s, r, posts[k], side, y, _room(posts, k, side, y))
    return out


def _place(
    posts: list[Post], taken: list[tuple[float, float, float]], r: random.Random
) -> tuple[int, int, float] | None:
    """A post, a side and a height where there is room."""
    for _ in range(12):
        if not posts:
            return None
        k, side = r.randrange(len(posts)), r.choice((-1, 1))
        p = posts[k]
        low, high = max(LOWEST_IN, p.y - p.half_height) + 3, min(HIGHEST_IN, p.y + p.half_height) - 3
        y = (
            r.choice(USUAL_MIDDLES_IN) + r.gauss(0, 0.7)
            if r.random() < 0.6
            else r.uniform(low, max(low, high))
        )
        if 2 * p.half_height < LEAST_HEIGHT_IN or not low < y < high:
            continue
        x = p.edge(side, y)
        if _room(posts, k, side, y) < 3 or any(
            abs(x - tx) < 9 and a < y + 3 and y - 3 < b for tx, a, b in taken
        ):
            continue
        return k, side, y
    return None


def _room(posts: list[Post], k: int, side: int, y: float) -> float:
    """How far it is to the next upright on that side."""
    x = posts[k].edge(side, y)
    others = [
        side * (p.edge(-side, y) - x) for i, p in enumerate(posts) if i != k and abs(p.y - y) < p.half_height
    ]
    ahead = [d for d in others if d > -0.5]
    return min(ahead, default=60.0)


def _colours(r: random.Random) -> tuple[list[float], list[float]]:
    """Surfaces of a box: outside and rim, inside."""
    pick = r.random()
    if pick < 0.34:
        base = mt.hsv(r.uniform(0.54, 0.66), r.uniform(0.5, 1), r.uniform(0.25, 0.95))
    elif pick < 0.5:
        row = mt.steel(r, r.uniform(0.35, 0.95))
        return row, row if r.random() < 0.7 else mt.steel(r, r.uniform(0.2, 0.8))
    elif pick < 0.62:
        base = mt.hsv(r.random(), r.uniform(0, 0.12), r.uniform(0.4, 1.0))
    elif pick < 0.72:
        base = mt.hsv(r.uniform(0.0, 0.12), r.uniform(0.4, 1), r.uniform(0.25, 0.95))
    elif pick < 0.8:
        base = mt.hsv(r.random(), r.uniform(0, 0.2), r.uniform(0.05, 0.3))
    elif pick < 0.95:
        base = mt.any_colour(r)
    else:
        return mt.anything(r), mt.anything(r)
    spec, gloss = r.choice((0.0, 0.1, 0.4)), r.uniform(5, 40)
    rows = []
    for gain in (1.0, r.choice((1.0, 1.0, r.uniform(0.5, 1.1)))):
        c = (base[0] * gain, base[1] * gain, base[2] * gain)
        rows.append(
            mt.material(
                r, r.choice(("white", "fbm_soft")), 30, 30, c, mt.around(r, c, 0.06), spec=spec, gloss=gloss
            )
        )
    return rows[0], rows[1]


def _box(
    s: Scene,
    r: random.Random,
    post: Post,
    k: int,
    side: int,
    y: float,
    size: tuple[float, float],
    scrap: float,
    colours: tuple[list[float], list[float]],
) -> WiredBox:
    first = len(s.boxes)
    outer, inner = colours
    wide, tall = size
    edge = post.edge(side, y) + side * r.choice((0.0, 0.02, abs(r.gauss(0, 0.08))))
    if scrap:  # on a scrap of lumber nailed beside the stud
        a, b = sorted((edge, edge + side * scrap))
        z = post.z - r.choice((0.0, 0.0, r.uniform(0, 1.5)))
        s.box(
            (a, b),
            (y - r.uniform(2, 8), y + r.uniform(2, 8)),
            (z - r.uniform(1.5, 3.5), z),
            mt.wood(r, s.wood_kind),
        )
        edge += side * scrap
    far = edge + side * wide
    x0, x1 = min(edge, far), max(edge, far)
    y0, y1 = y - tall / 2, y + tall / 2
    proud = post.z + r.choice((0.0, 0.1, 0.25, 0.5, 0.5, 0.6, r.uniform(-0.3, 1.0)))
    deep = r.choice((1.5, 2.1, 2.75, 3.2))
    roll = r.gauss(0, 0.6)
    t = r.uniform(0.05, 0.16)
    pick = r.random()
    # Insulation is cut out round a box, so a shallow bottom stands in for what lies deeper in a filled bay.
    bottom = r.uniform(0.05, 0.7) if r.random() < 0.45 else deep
    if pick < 0.08:  # closed with a cover, or a plate of paper
        s.box((x0, x1), (y0, y1), (proud - deep, proud), inner, roll_deg=roll)
    else:
        s.box((x0, x1), (y0, y1), (proud - deep - t, proud - bottom), inner, roll_deg=roll)
        for a, b in ((x0, x0 + t), (x1 - t, x1)):
            s.box((a, b), (y0, y1), (proud - deep, proud), outer, roll_deg=0.0)
        for a, b in ((y0, y0 + t), (y1 - t, y1)):
            s.box((x0, x1), (a, b), (proud - deep, proud), outer, roll_deg=0.0)
        if r.random() < 0.35:  # ears for the device's screws
            for a, b in ((y0, y0 + 0.45), (y1 - 0.45, y1)):
                m = (x0 + x1) / 2 + r.uniform(-0.3, 0.3)
                s.box((m - 0.2, m + 0.2), (a, b), (proud - 1, proud), outer)
        if r.random() < 0.2:  # the wall between two devices
            m = (x0 + x1) / 2
            s.box((m - t / 2, m + t / 2), (y0, y1), (proud - deep, proud - 0.1), inner)
    last = len(s.boxes)
    if r.random() < 0.2:  # a bracket nailed to the face
        a = post.edge(side, y) - side * r.uniform(0.6, 1.6)
        xs = sorted((a, edge + side * 0.1))
        reach = r.uniform(0.8, 1.0) * tall / 2
        s.box((xs[0], xs[1]), (y - reach, y + reach), (post.z, post.z + 0.06), outer)
    wired = WiredBox(k, side, x0, x1, y0, y1, proud, first, last)
    if r.random() < 0.6:
        _cables(s, r, wired, post.edge(side, y), deep)
    if r.random() < 0.45:
        _loose_ends(s, r, wired)
    return wired


def _cables(s: Scene, r: random.Random, box: WiredBox, edge: float, deep: float) -> None:
    """Cables that come along the stud and in from above or below."""
    row = _cable_surface(r)
    for _ in range(r.choice((1, 1, 2, 3))):
        way = 1 if r.random() < 0.7 else -1
        start, reach = box.top if way > 0 else box.bottom, way * r.uniform(4, 40)
        x, z = r.uniform(box.left + 0.3, box.right - 0.3), box.proud - r.uniform(0.8, deep)
        along = edge + box.side * r.uniform(0.2, 1.2)
        s.bar((x, start, z), (along, start + reach * 0.3, z + r.gauss(0, 0.3)), 0.35, 0.2, row)
        s.bar((along, start + reach * 0.3, z), (along, start + reach, z), 0.35, 0.2, row)


def _loose_ends(s: Scene, r: random.Random, box: WiredBox) -> None:
    """Wires that hang out of a box."""
    wide, tall = box.right - box.left, box.top - box.bottom
    for _ in range(r.choice((1, 2, 3, 4))):
        row, thick = _cable_surface(r), r.choice((0.08, 0.12, 0.3))
        x, y = (box.left + box.right) / 2 + r.gauss(0, 0.25 * wide), (box.bottom + box.top) / 2
        inside = (x, y + r.gauss(0, 0.2 * tall), box.proud - 0.6)
        out = (x + r.gauss(0, 1.2), inside[1] + r.gauss(-1, 1.8), box.proud + r.uniform(0.3, 3))
        s.bar(inside, out, thick, thick, row)
        if r.random() < 0.5:
            end = (out[0] + r.gauss(0, 1.5), out[1] - r.uniform(0, 4), max(0.2, out[2] + r.gauss(0, 1)))
            s.bar(out, end, thick, thick, row)


def _cable_surface(r: random.Random) -> list[float]:
    colour = r.choice(
        (
            mt.hsv(r.random(), r.uniform(0, 0.1), r.uniform(0.7, 1)),
            mt.hsv(r.uniform(0.1, 0.16), r.uniform(0.5, 1), r.uniform(0.6, 1)),
            mt.hsv(0.08, r.uniform(0.5, 1), r.uniform(0.6, 1)),
            mt.hsv(r.random(), r.uniform(0, 0.2), r.uniform(0.02, 0.2)),
            mt.any_colour(r),
        )
    )
    return mt.material(r, "white", 30, 30, colour, colour)


def _decoy(s: Scene, r: random.Random, post: Post, side: int, y: float, room: float) -> None:
    """A block, a panel, a label, a scrap: a rectangle beside a stud that is no box."""
    row = mt.wood(r, s.wood_kind) if r.random() < 0.4 else mt.anything(r)
    edge = post.edge(side, y)
    pick = r.random()
    if pick < 0.35:  # too small, too narrow, too tall
        wide, tall = r.choice(
            (
                (r.uniform(0.4, 1.3), r.uniform(1, 14)),
                (r.uniform(2, 7), r.uniform(0.6, 2.0)),
                (r.uniform(2, 6), r.uniform(7, 20)),
            )
        )
        z = (-r.uniform(0.5, s.depth_in), post.z + r.uniform(-1, 0.4))
        gap = 0.0
    elif pick < 0.5:  # a panel across most of the bay
        wide, tall, gap = r.uniform(8, 14.5), r.uniform(8, 26), r.choice((0.0, r.uniform(0, 3)))
        z = (-s.depth_in, post.z + r.uniform(-1.5, 0.6))
    elif pick < 0.8:  # a label or stain on what closes the bay
        wide, tall, gap = r.uniform(1, 8), r.uniform(1, 8), r.uniform(0, 5)
        z = (-s.depth_in - 1, -s.depth_in + 0.15)
    else:  # a box that is on no stud's side
        wide, tall = (n * math.exp(r.gauss(0, 0.1)) for n in r.choice(RIMS_IN))
        gap, z = r.uniform(2.4, 5), (-2.5, r.uniform(-0.2, 0.5))
    if gap + wide > room + 0.5:
        wide = max(0.5, room - gap)
    a, b = sorted((edge + side * gap, edge + side * (gap + wide)))
    s.box((a, b), (y - tall / 2, y + tall / 2), (min(z), max(z)), row, roll_deg=r.gauss(0, 1.5))
