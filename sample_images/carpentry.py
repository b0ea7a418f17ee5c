"""Turns a wall plan into lumber or steel on the stage."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .meshes import beam, box, sheet, tube
from .stage import Material, Stage
from .textures import STRIPS, plain, wood_strips
from .wall_plan import Bar, Member, WallPlan

Vec = tuple[float, float, float]
X, Y, Z = np.eye(3)


def add_woods(
    stage: Stage,
    rng: np.random.Generator,
    wood: tuple[tuple[float, float, float], float],
) -> None:
    """The wall's own wood and, a little different, that of everything around it."""
    base, age = wood
    stage.define("wood", Material(picture=wood_strips(rng, base, age)))
    shift = 1 + rng.normal(0, 0.08)
    other = (base[0] * shift, base[1] * shift, base[2] * shift)
    stage.define("wood_around", Material(picture=wood_strips(rng, other, min(1.0, age + 0.2))))


def lumber(
    stage: Stage,
    rng: np.random.Generator,
    path: ArrayLike,
    across: ArrayLike,
    back: ArrayLike,
    width: float,
    depth: float,
    material: str = "wood",
    radius: float | None = None,
) -> None:
    """One piece of wood; it gets a board of the texture of its own."""
    around = 2 * (width + depth)
    scale = min(1.0, 11.5 / around)
    strip = int(rng.integers(0, STRIPS))
    origin = (float(rng.random()), (strip * 12.0 + 0.2) / (12.0 * STRIPS))
    if radius is None:
        radius = float(rng.uniform(0.08, 0.125))
    sign = 1.0 if rng.random() < 0.5 else -1.0
    stage.add(
        material,
        beam(
            path,
            across,
            back,
            width,
            depth,
            min(radius, 0.45 * min(width, depth)),
            origin,
            (sign / 128.0, scale / (12.0 * STRIPS)),
        ),
    )


def add_wall(stage: Stage, rng: np.random.Generator, plan: WallPlan) -> None:
    """Members, plates, openings' framing, blocking, brace and boxes."""
    if plan.material == "steel":
        picture = plain(rng, (176, 180, 184), rough=0.05)
        stage.define("steel", Material("metal", (176, 180, 184), picture, rough=0.28))
    for member in plan.members:
        if plan.material == "steel":
            _steel_member(stage, rng, member)
        else:
            _wood_member(stage, rng, member)
    for bar in plan.bars:
        if plan.material == "steel":
            _steel_bar(stage, rng, bar)
        else:
            _wood_bar(stage, rng, bar)
    colours = ((40, 80, 160), (150, 152, 156), (200, 200, 196), (190, 100, 40))
    blue = stage.paint(colours[int(rng.integers(0, 4))], "gloss", 0.3)
    for b in plan.boxes:
        front, rear, wall = b.front_in, b.front_in - 2.9, 0.12
        low, high = b.bottom_in, b.top_in
        stage.add(blue, box((b.left_in, low, rear), (b.right_in, high, rear + wall)))
        for x in (b.left_in, b.right_in - wall):
            stage.add(blue, box((x, low, rear), (x + wall, high, front)))
        for y in (low, high - wall):
            stage.add(blue, box((b.left_in, y, rear), (b.right_in, y + wall, front)))


def _stations(member: Member) -> np.ndarray:
    return np.linspace(member.bottom_in, member.top_in, 9)


def _wood_member(stage: Stage, rng: np.random.Generator, m: Member) -> None:
    y = _stations(m)
    for k in range(m.plies):
        x = m.centre_at(y) + (k - (m.plies - 1) / 2) * m.ply_face_in
        shy = float(rng.uniform(0.0, 0.06)) if k else 0.0
        path = np.column_stack([x, y, m.front_at(y) - shy - m.depth_in / 2])
        lumber(stage, rng, path, X, -Z, m.ply_face_in, m.depth_in)


def _wood_bar(stage: Stage, rng: np.random.Generator, bar: Bar) -> None:
    high = bar.top_in - bar.bottom_in
    s = np.linspace(0.0, 1.0, 5)
    x = bar.left_in + s * (bar.right_in - bar.left_in)
    y = bar.bottom_in + high / 2 + s * bar.rise_in
    z = np.full_like(s, bar.front_in - bar.depth_in / 2)
    along = np.array([x[-1] - x[0], y[-1] - y[0], 0.0])
    along /= np.linalg.norm(along)
    up = np.cross(Z, along)
    lumber(stage, rng, np.column_stack([x, y, z]), up, -Z, high, bar.depth_in)


def _steel_member(stage: Stage, rng: np.random.Generator, m: Member) -> None:
    """A C: front flange, web on one side, back flange, and the lip of the open side."""
    y = _stations(m)
    thick = 0.04
    side = 1.0 if rng.random() < 0.8 else -1.0
    x, z = m.centre_at(y), m.front_at(y)
    half = m.face_in / 2

    def plate(dx: float, dz: float, width: float, depth: float) -> None:
        path = np.column_stack([x + dx, y, z + dz])
        stage.add("steel", beam(path, X, -Z, width, depth, 0.015, (rng.random(), rng.random())))

    plate(0.0, -thick / 2, m.face_in, thick)
    plate(0.0, -m.depth_in + thick / 2, m.face_in, thick)
    plate(side * (half - thick / 2), -m.depth_in / 2, thick, m.depth_in)
    for dz in (-0.15, -m.depth_in + 0.15):
        plate(-side * (half - thick / 2), dz, thick, 0.3)


def _steel_bar(stage: Stage, rng: np.random.Generator, bar: Bar) -> None:
    thick = 0.04
    low = 0.0 if bar.kind == "bottom_plate" else bar.top_in - thick
    if bar.kind == "block":
        low = bar.bottom_in
    z0, z1 = bar.front_in - bar.depth_in, bar.front_in + thick
    for z in (z0, bar.front_in):
        stage.add("steel", box((bar.left_in, bar.bottom_in, z), (bar.right_in, bar.top_in, z + thick)))
    stage.add("steel", box((bar.left_in, low, z0), (bar.right_in, low + thick, z1)))


def stud_row(
    stage: Stage,
    rng: np.random.Generator,
    origin: ArrayLike,
    along: ArrayLike,
    front: ArrayLike,
    length: float,
    height: float,
    spacing: float = 16.0,
    depth: float = 3.5,
) -> None:
    """A framed wall that is not the one photographed: a second row, or a side wall.

    ``origin`` is its lower left front corner, ``front`` the direction its faces look.
    """
    o, a, f = (np.asarray(v, float) for v in (origin, along, front))
    mid = o - f * depth / 2
    spots = np.arange(0.75 + rng.uniform(0, 8), length - 0.7, spacing)
    for s in np.concatenate([[0.75], spots[spots > 3.0], [length - 0.75]]):
        s = float(s + rng.normal(0, 0.15))
        lean = float(rng.normal(0, 0.15))
        ends = np.array([mid + a * s + Y * 1.5, mid + a * (s + lean) + Y * (height - 1.5)])
        lumber(stage, rng, ends, a, -f, 1.5, depth, "wood_around")
    for y in (0.75, height - 0.75):
        ends = np.array([mid + Y * y, mid + a * length + Y * y])
        lumber(stage, rng, ends, Y, -f, 1.5, depth, "wood_around")


def add_services(stage: Stage, rng: np.random.Generator, plan: WallPlan, kinds: tuple[str, ...]) -> None:
    """Cables through the studs, pipes in the bays, a temporary board nailed across."""
    length, height, middle = plan.length_in, plan.height_in, -plan.depth_in / 2
    wires = ((236, 200, 60), (230, 230, 226), (224, 120, 40), (40, 40, 42))
    pipes = ((232, 232, 228), (190, 110, 70), (190, 40, 40), (50, 90, 190))
    wire = stage.paint(wires[int(rng.integers(0, 4))], "gloss", 0.3)
    pipe = stage.paint(pipes[int(rng.integers(0, 4))], "gloss", 0.2)
    if "cable_holes" in kinds:
        for _ in range(int(rng.integers(1, 3))):
            x = np.linspace(0, length, 60)
            y = rng.uniform(16, 60) + 0.8 * np.sin(x / 2.55 + rng.uniform(0, 6))
            z = middle + 0.3 * np.sin(x / 9.0)
            stage.add(wire, tube(np.column_stack([x, y, z]), 0.22))
    if "cable_drop" in kinds:
        y = np.linspace(12, height, 30)
        x = rng.uniform(6, length - 6) + 0.5 * np.sin(y / 11)
        stage.add(wire, tube(np.column_stack([x, y, np.full(30, -0.8)]), 0.22))
    if "pipe_up" in kinds:
        for _ in range(int(rng.integers(1, 3))):
            at = float(rng.uniform(6, length - 6))
            ends = np.linspace((at, 0, middle), (at, height, middle), 4)
            stage.add(pipe, tube(ends, float(rng.choice([0.44, 0.8, 1.2])), 20))
    if "pipe_across" in kinds:
        up = float(rng.uniform(14, 50))
        ends = np.linspace((3, up, -1.0), (length * rng.uniform(0.4, 0.98), up + 0.8, -1.0), 4)
        stage.add(pipe, tube(ends, 0.44, 16))
    if "strip" in kinds and plan.material == "wood":
        up, rise = float(rng.uniform(30, 66)), float(rng.normal(0, 2.0))
        a, b = rng.uniform(-4, length * 0.4), rng.uniform(length * 0.6, length + 6)
        ends = np.array([(a, up, 0.42), (b, up + rise, 0.42)])
        lumber(stage, rng, ends, Y, -Z, 2.5, 0.72, "wood_around")


def add_reference(
    stage: Stage,
    rng: np.random.Generator,
    plan: WallPlan,
    kind: str,
    off_in: float,
    accent: tuple[float, float, float],
) -> dict[str, object] | None:
    """Tape or level; returns kind, length and the wall points (x, y, z) of its two marks."""
    length = plan.length_in
    if kind == "tape":
        from .textures import tape_blade

        start = 0.0 if rng.random() < 0.4 else float(rng.uniform(0.5, min(24.0, length * 0.2)))
        feet = int((length - start - 4.0) // 12)
        feet = max(3, feet - int(rng.integers(0, max(1, feet // 3) + 1)))
        run, end = 12.0 * feet, start + 12.0 * feet
        low = 0.28 if rng.random() < 0.8 or plan.openings else float(rng.uniform(20.0, 56.0))
        blade = (240, 205, 60) if rng.random() < 0.75 else (232, 232, 226)
        colour = tuple(float(c) for c in blade)
        # on the plate it lies flat; across the studs it rides on the proudest
        z = off_in + (0.03 if low < 1.0 else 0.14)
        stage.define("blade", Material("gloss", picture=tape_blade(rng, run, colour), rough=0.35))  # type: ignore[arg-type]
        face = sheet((start, low, z), (run, 0, 0), (0, 1.0, 0), 1.0)
        uv = np.column_stack([(face.points[:, 0] - start) / run, 1.0 - (face.points[:, 1] - low)])
        stage.add("blade", type(face)(face.points, face.normals, uv, face.faces))
        steel = stage.paint((170, 172, 176), "metal", 0.3)
        stage.add(steel, box((start - 0.06, low - 0.1, z - 0.5), (start, low + 1.1, z + 0.05)))
        case = stage.paint(accent, "gloss", 0.3)
        y0 = max(low - 1.2, 0.02)
        stage.add(case, box((end, y0, z - 0.1), (end + 3.1, y0 + 2.9, z + 1.5), 0.3))
        y = low + 0.5
        return {"kind": "tape", "length_in": run, "marks": ((start, y, z), (end, y, z))}
    if kind == "level":
        run = float(rng.choice([24.0, 48.0, 48.0, 72.0]))
        run = run if run < min(length, plan.height_in) - 14.0 else 24.0
        body = stage.paint(accent, "gloss", 0.3)
        dark = stage.paint((35, 35, 38), "gloss", 0.3)
        vial = stage.paint((190, 225, 70), "gloss", 0.1)
        z = off_in + 0.14
        if rng.random() < 0.6:
            x, y = rng.uniform(3.0, length - run - 3.0), rng.uniform(22.0, 60.0)
            under, over = np.array((x, y, z)), np.array((x + run, y + 2.4, z + 1.0))
            u = X
            marks = ((x, y + 1.2, z + 1.0), (x + run, y + 1.2, z + 1.0))
        else:
            x, y = rng.uniform(4.0, length - 7.0), rng.uniform(0.1, 6.0)
            under, over = np.array((x, y, z)), np.array((x + 2.4, y + run, z + 1.0))
            u = Y
            marks = ((x + 1.2, y, z + 1.0), (x + 1.2, y + run, z + 1.0))
        stage.add(body, box(under + u * 0.4, over - u * 0.4, 0.08))
        for a, b in ((0.0, 0.4), (run - 0.4, run)):
            stage.add(dark, box(under + u * a, over - u * (run - b), 0.05))
        for at in (0.12, 0.5, 0.88):
            spot = (under + over) / 2 + u * run * (at - 0.5)
            stage.add(vial, box(spot - 0.7, spot + 0.7 * (X + Y) + Z * 0.52, 0.1))
        return {"kind": "level", "length_in": run, "marks": marks}
    return None
