"""The wall that is to be read: plates, studs, openings, blocking, fills, sheets."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

from . import grounds as gr
from . import materials as mt
from .scene import CROSS_FRONT, PLATE_FRONT, SIDE_FACE, STUD_FRONT, Scene

Surface = Callable[[], list[float]]


def add_wall(s: Scene, r: random.Random) -> None:
    """Add one framed wall with its front faces near z = 0 and set the outline."""
    length = r.choice((r.uniform(48, 130), r.uniform(96, 200), r.uniform(120, 312)))
    height = r.choice((97.1, 97.1, r.uniform(84, 125), r.uniform(60, 110)))
    metal = s.metal = r.random() < 0.17
    face = 1.25 if metal else r.choices((1.5, r.uniform(1.25, 2.6)), (62, 38))[0]
    depth = r.choices((3.5, 5.5, r.uniform(1.5, 6)), (60, 15, 25))[0]
    s.depth_in = depth
    if metal:
        tone = r.uniform(0.35, 0.85)
        surface: Surface = lambda: mt.steel(r, tone)  # noqa: E731
    elif s.weird and r.random() < 0.6:
        base = mt.anything(r)
        surface = lambda: list(base) if r.random() < 0.8 else mt.anything(r)  # noqa: E731
    else:
        kind = s.wood_kind = mt.wood_kind(r)
        surface = lambda: mt.wood(r, kind)  # noqa: E731
    slope = r.uniform(-0.12, 0.12) if r.random() < 0.06 else 0.0
    plate = r.uniform(1.2, 2.2) if r.random() < 0.3 else 1.5
    top_rows = 0 if r.random() < 0.03 else r.choice((1, 1, 2, 2, 2, 3))
    bottom_rows = 0 if r.random() < 0.05 else r.choice((1, 1, 1, 2))
    frame = _Frame(
        s, r, surface, metal, face, depth, height, plate, plate * bottom_rows, plate * top_rows, slope, length
    )
    frame.plates(bottom_rows, top_rows)
    taken = frame.openings()
    frame.studs(taken)
    frame.blocking()
    frame.fills()
    frame.sheets()
    s.outline = [0.0, length, 0.0, height, height + slope * length]


class _Frame:
    def __init__(
        self,
        s: Scene,
        r: random.Random,
        surface: Surface,
        metal: bool,
        face: float,
        depth: float,
        height: float,
        plate: float,
        low: float,
        top: float,
        slope: float,
        length: float,
    ) -> None:
        self.s, self.r, self.surface, self.metal = s, r, surface, metal
        self.face, self.depth, self.height, self.plate = face, depth, height, plate
        self.low, self.top, self.slope, self.length = low, top, slope, length
        self.proud_in = r.choice((0.02, 0.05, 0.15))
        self.lean_deg = r.choice((0.05, 0.2, 0.2, 0.8))
        self.posts: list[tuple[float, float]] = []  # (left, right) of every upright on the plane
        self.holes: list[tuple[float, float, float, float]] = []

    def member(
        self,
        x0: float,
        x1: float,
        y0: float,
        y1: float,
        front: int,
        *,
        lean: bool = False,
        joints: tuple[bool, bool] = (False, False),
        depth: float | None = None,
        roll: float = 0.0,
    ) -> None:
        r = self.r
        proud = r.gauss(0, self.proud_in)
        d = depth if depth is not None else self.depth
        roll = roll + (r.gauss(0, self.lean_deg) if lean else 0.0)
        self.s.box(
            (x0, x1),
            (y0, y1),
            (-d + proud, proud),
            self.surface(),
            front,
            SIDE_FACE,
            roll_deg=roll,
            joint_left=joints[0],
            joint_right=joints[1],
        )

    def upright(self, x0: float, y0: float, y1: float, joints: tuple[bool, bool] = (False, False)) -> None:
        r, w = self.r, self.face
        if not self.metal:
            self.member(x0, x0 + w, y0, y1, STUD_FRONT, lean=True, joints=joints)
        else:
            surface, t, d = self.surface(), 0.06, self.depth
            left = r.random() < 0.5
            web = (x0, x0 + t) if left else (x0 + w - t, x0 + w)
            lip = (x0 + w - t, x0 + w) if left else (x0, x0 + t)
            s = self.s
            s.box((x0, x0 + w), (y0, y1), (-t, 0), surface, STUD_FRONT, SIDE_FACE)
            s.box((x0, x0 + w), (y0, y1), (-d, -d + t), surface, SIDE_FACE, SIDE_FACE)
            s.box(web, (y0, y1), (-d, -t), surface, SIDE_FACE, SIDE_FACE)
            s.box(lip, (y0, y1), (-0.35, -t), surface, SIDE_FACE, SIDE_FACE)
        self.posts.append((x0, x0 + w))

    def ceiling_at(self, x: float) -> float:
        return self.height - self.top + self.slope * x

    def plates(self, bottom_rows: int, top_rows: int) -> None:
        r, p = self.r, self.plate
        for k in range(bottom_rows):
            self.member(0, self.length, k * p, (k + 1) * p, PLATE_FRONT)
        over = r.choice((0.0, 0.0, r.uniform(0, 12)))
        angle = math.degrees(math.atan(self.slope))
        for k in range(top_rows):
            mid = self.slope * self.length / 2
            y1 = self.height - k * p + mid
            split = self.length * r.uniform(0.3, 0.7) if r.random() < 0.4 and not self.slope else None
            spans = [(0.0, self.length)] if split is None else [(0.0, split), (split, self.length)]
            for a, b in spans:
                self.member(a - (over if a == 0 else 0), b, y1 - p, y1, PLATE_FRONT, roll=angle)

    def openings(self) -> list[tuple[float, float]]:
        """Frame up to two doors or windows; return the x ranges they take."""
        r, w = self.r, self.face
        taken: list[tuple[float, float]] = []
        for _ in range(r.choices((0, 1, 2), (50, 38, 12))[0]):
            door = r.random() < 0.45
            size = r.uniform(26, 40) if door else r.uniform(18, 74)
            kings, trims = r.choice((1, 1, 1, 2)), r.choice((0, 1, 1, 1, 2))
            half = size / 2 + (kings + trims) * w
            if self.length < 2 * half + 8:
                continue
            centre = r.uniform(half + 2, self.length - half - 2)
            if any(a < centre + half and centre - half < b for a, b in taken):
                continue
            taken.append((centre - half, centre + half))
            x0, x1 = centre - size / 2, centre + size / 2
            ceiling = min(self.ceiling_at(x0), self.ceiling_at(x1))
            head = r.choice((1.5, 3.0, 5.5, 7.25, 9.25, 11.25))
            y1 = min(r.uniform(0.68, 0.86) * self.height, ceiling - head)
            if r.random() < 0.2:
                y1 = ceiling - head
            y0 = 0.0 if door else r.uniform(0.15, 0.5) * self.height
            for side in (-1, 1):
                for k in range(trims):
                    a = x0 - (k + 1) * w if side < 0 else x1 + k * w
                    self.upright(a, self.low, y1, (side > 0 or k < trims - 1, side < 0 or k < trims - 1))
                for k in range(kings):
                    a = x0 - (trims + k + 1) * w if side < 0 else x1 + (trims + k) * w
                    self.upright(a, self.low, self.ceiling_at(a), (True, True))
            rows = r.choice((1, 1, 2)) if head > 3 else 1
            for k in range(rows):
                h = head / rows
                self.member(x0 - trims * w, x1 + trims * w, y1 + k * h, y1 + (k + 1) * h, CROSS_FRONT)
            pitch = r.choice((16.0, 12.0, 24.0))
            cripples = [x0 + r.uniform(2, pitch)]
            while cripples[-1] + pitch < x1 - w:
                cripples.append(cripples[-1] + pitch)
            if r.random() < 0.5:
                cripples += [x0, x1 - w]
            for x in cripples:
                if x > x1 - w:
                    continue
                if self.ceiling_at(x) - (y1 + head) > 3:
                    self.upright(x, y1 + head, self.ceiling_at(x))
                if not door and y0 - self.low > 4:
                    self.upright(x, self.low, y0 - 1.5)
            if not door:
                self.member(x0, x1, y0 - 1.5, y0, CROSS_FRONT)
            elif r.random() < 0.7 and self.low:
                # the plate is cut out in the doorway: cover it with floor-coloured material
                self.s.box((x0, x1), (-0.05, self.low + 0.02), (-self.depth, 0.2), gr.floor(r))
            self.holes.append((x0, x1, y0 if not door else 0.0, y1))
            if not door and r.random() < 0.6:
                self.window(x0, x1, y0, y1)
        self.s.windows = list(self.holes)
        return taken

    def window(self, x0: float, x1: float, y0: float, y1: float) -> None:
        r, s = self.r, self.s
        colour = r.choice(((0.95, 0.95, 0.93), (0.3, 0.25, 0.2), (0.7, 0.6, 0.45), (0.1, 0.1, 0.1)))
        row = mt.material(r, "fbm_soft", 60, 60, colour, colour, spec=0.2)
        b, z = r.uniform(1, 3), (-self.depth, r.uniform(-2.5, 0.4))
        for across, up in (
            ((x0, x0 + b), (y0, y1)),
            ((x1 - b, x1), (y0, y1)),
            ((x0, x1), (y0, y0 + b)),
            ((x0, x1), (y1 - b, y1)),
        ):
            s.box(across, up, z, row)
        for k in range(r.choice((0, 1, 1, 2))):
            x = x0 + (x1 - x0) * (k + 1) / 3
            s.box((x - b / 2, x + b / 2), (y0, y1), (-self.depth, z[1] - 0.3), row)
        if r.random() < 0.6:
            glow = r.uniform(0.4, 3) if r.random() < 0.7 else 0.0
            pane = mt.material(
                r,
                r.choice(("foliage", "clutter", "fbm_soft", "fbm_soft")),
                60,
                60,
                mt.hsv(r.random(), r.random() * 0.4, r.uniform(0.3, 1)),
                (0.8, 0.9, 1.0),
                emit=glow,
            )
            s.box((x0, x1), (y0, y1), (-self.depth - 0.2, -self.depth + 0.3), pane)

    def studs(self, taken: list[tuple[float, float]]) -> None:
        r, w = self.r, self.face
        pitch = r.choices((16.0, 24.0, r.uniform(10, 30), 19.2, 12.0), (40, 25, 20, 8, 7))[0]
        jitter = r.choice((0.05, 0.2, 0.5, 2.5))
        double = r.choice((0.0, 0.05, 0.12, 0.4))
        missing = r.choice((0.0, 0.0, 0.06))
        ends = r.choices((1, 2, 3), (70, 20, 10))[0]
        spots = []
        x = r.uniform(0.1, 1.0) * pitch if r.random() < 0.4 else pitch - w / 2
        while x < self.length - ends * w - 1:
            spots.append((x + r.gauss(0, jitter), 1))
            x += pitch
        for a, b in taken:  # layout studs stay clear of the opening groups
            spots = [(p, n) for p, n in spots if p + w < a - 0.3 or p > b + 0.3]
        spots = [
            (p, r.choice((2, 2, 3)) if r.random() < double else 1) for p, _ in spots if r.random() >= missing
        ]
        for _ in range(r.choice((0, 0, 0, 1, 2))):  # an extra stud where no layout mark is
            spots.append((r.uniform(4, self.length - 4), 1))
        if r.random() < 0.94:
            spots.append((0.0, ends))
        if r.random() < 0.94:
            spots.append((self.length - ends * w, ends if r.random() < 0.7 else 1))
        used = [(a, b) for a, b in taken]
        for p, n in sorted(spots):
            gap = 0.0 if r.random() < 0.7 else r.uniform(0, 0.25)
            a, b = p, p + n * w + (n - 1) * gap
            if b > self.length + 0.1 or any(a < d - 0.02 and c + 0.02 < b for c, d in used):
                continue
            used.append((a, b))
            for k in range(n):
                left = a + k * (w + gap)
                self.upright(left, self.low, self.ceiling_at(left + w / 2), (k > 0, k < n - 1))

    def bays(self) -> list[tuple[float, float]]:
        edges, out, reach = sorted(self.posts), [], 0.0
        for a, b in edges:
            if a - reach > 1.0:
                out.append((reach, a))
            reach = max(reach, b)
        return out

    def in_hole(self, a: float, b: float) -> bool:
        return any(x0 < (a + b) / 2 < x1 for x0, x1, _, _ in self.holes)

    def blocking(self) -> None:
        r = self.r
        if r.random() < 0.3:
            for row in range(r.choice((1, 1, 2))):
                y = self.height * (r.uniform(0.35, 0.65) if row == 0 else r.uniform(0.15, 0.85))
                stagger, share = r.choice((0.0, 0.8, 2.0)), r.choice((1.0, 1.0, 0.5))
                d = r.choice((self.depth, self.depth, 1.5))
                h = r.choice((self.plate, self.plate, 3.5))
                for k, (a, b) in enumerate(self.bays()):
                    if r.random() < share and not self.in_hole(a, b):
                        y0 = y + (stagger if k % 2 else -stagger) + r.gauss(0, 0.3)
                        self.member(a, b, y0, y0 + h, CROSS_FRONT, depth=d)
        if r.random() < 0.09:  # a let-in brace, flush or slightly proud
            for _ in range(r.choice((1, 1, 2))):
                angle = r.choice((-1, 1)) * r.uniform(28, 65)
                x, y = r.uniform(0.1, 0.9) * self.length, self.height / 2
                reach = self.height / 2 / 0.9
                w = r.uniform(1.4, 3.8)
                self.s.box(
                    (x - reach, x + reach),
                    (y - w / 2, y + w / 2),
                    (-0.7, r.uniform(0.02, 0.9)),
                    self.surface(),
                    CROSS_FRONT,
                    SIDE_FACE,
                    roll_deg=angle,
                )

    def fills(self) -> None:
        r, s = self.r, self.s
        y0, y1 = self.low, self.height - self.top
        # what closes the far side
        pick = r.random()
        s.open_behind = pick >= 0.58
        if not s.open_behind:
            gap = 0.0 if r.random() < 0.7 else r.uniform(0, 6)
            back = gr.backing(r)
            if self.metal and r.random() < 0.5:
                back = gr.bare_concrete(r)
            if self.holes and not self.slope:
                self._around_holes(gap, back)
            else:
                s.box(
                    (-2, self.length + 2),
                    (-1, self.height + 2),
                    (-self.depth - gap - 0.5, -self.depth - gap),
                    back,
                )
            s.outdoors = s.outdoors and r.random() < 0.6
        if r.random() < 0.36:
            share = r.choice((1.0, 1.0, 1.0, 0.6))
            recess = r.choice((0.0, r.uniform(0, 2.5), r.uniform(-0.7, 0.2)))
            base = mt.fill(r)
            if s.wood_kind and r.random() < 0.25:  # foam or wool of nearly the lumber's colour
                mt.tint(r, base, s.wood_kind)
            for a, b in self.bays():
                if r.random() > share or self.in_hole(a, b):
                    continue
                row = list(base)
                row[mt.OFFSET_U], row[mt.OFFSET_V] = r.random(), r.random()
                front = -recess + r.gauss(0, 0.15)
                lap = r.uniform(0, 0.25) if front > 0 else 0.0
                low = y0 if r.random() < 0.9 else r.uniform(y0, y1 * 0.6)
                s.box((a - lap, b + lap), (low, y1), (-self.depth, front), row)
                if r.random() < 0.5:  # rounded shoulders: a second, narrower and prouder slab
                    inset = r.uniform(0.4, 2.5)
                    s.box(
                        (a + inset, b - inset),
                        (low + 1, y1 - 1),
                        (-self.depth, front + r.uniform(0.05, 0.9)),
                        row,
                    )

    def _around_holes(self, gap: float, back: list[float]) -> None:
        z = (-self.depth - gap - 0.5, -self.depth - gap)
        x = -2.0
        for x0, x1, y0, y1 in sorted(self.holes):
            if x0 > x:
                self.s.box((x, x0), (-1, self.height + 2), z, back)
            self.s.box((x0, x1), (y1, self.height + 2), z, back)
            if y0 > 0:
                self.s.box((x0, x1), (-1, y0), z, back)
            x = x1
        self.s.box((x, self.length + 2), (-1, self.height + 2), z, back)

    def sheets(self) -> None:
        """Boards already hung on a part, and a thin sheet stapled over the faces."""
        r, s = self.r, self.s
        if r.random() < 0.06:
            a = r.uniform(0, self.length)
            b = a + r.choice((-1, 1)) * r.uniform(20, 96)
            a, b = max(0, min(a, b)), min(self.length, max(a, b))
            y1 = self.height if r.random() < 0.5 else 48
            s.box((a, b), (0.5, y1), (0.1, 0.6), gr.plain_wall(r))
        if r.random() < 0.2:
            milky = r.random() < 0.7
            alpha = r.uniform(0.05, 0.75) if milky else r.uniform(0.55, 0.93)
            colour = (
                mt.hsv(r.random(), r.random() * 0.3, r.uniform(0.5, 1))
                if milky
                else mt.around(r, (0.6, 0.48, 0.33), 0.15)
            )
            x0 = -1.0 if r.random() < 0.7 else r.uniform(0, self.length * 0.6)
            x1 = self.length + 1 if r.random() < 0.7 else r.uniform(x0 + 20, self.length + 20)
            s.overlay = [
                1.0,
                x0,
                x1,
                r.uniform(-2, 3),
                self.height + r.uniform(-4, 2),
                alpha,
                *[c**2.2 for c in colour],
                r.uniform(0, 1.5) if r.random() < 0.7 else r.uniform(1.5, 2.5),
                r.uniform(12, 90),
                r.choice((0.0, r.uniform(0, 0.6))),
                r.choice((0.0, r.uniform(-0.3, 0.4))),
            ]
        else:
            s.overlay = [0.0] * 13
