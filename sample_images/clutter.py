"""Things that stand, lean and hang in front of the wall."""

from __future__ import annotations

import numpy as np

from . import textures as tx
from .carpentry import lumber
from .draws import Scene
from .meshes import Mesh, beam, box, sheet, tube, turned
from .stage import Material, Stage
from .wall_plan import WallPlan

X, Y, Z = np.eye(3)


def add_clutter(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan) -> None:
    """Every kind named by the scene, each at its own place along the wall."""
    spots = rng.permutation(np.linspace(0.08, 0.92, max(2, len(scene.clutter))))
    for kind, spot in zip(scene.clutter, spots, strict=False):
        x = float((spot + rng.normal(0, 0.05)) * plan.length_in)
        MAKERS[kind](stage, rng, scene, plan, x)


def _colour(stage: Stage, rng: np.random.Generator, scene: Scene, kind: str = "gloss") -> str:
    shades = (scene.accent, (190, 192, 196), (40, 42, 46), (230, 180, 40))
    return stage.paint(shades[int(rng.integers(0, len(shades)))], kind, 0.3)


def _bucket(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    for k in range(int(rng.integers(1, 4))):
        z = float(rng.uniform(9, 46))
        p = ((4.9, 0), (5.1, 0.4), (5.9, 13.2), (6.3, 13.3), (6.3, 14.2), (5.8, 14.3), (5.6, 13), (4.6, 1))
        stage.add(_colour(stage, rng, scene), turned(p, (x + 16 * k, 0, z)))


def _drum(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    z = float(rng.uniform(12, 40))
    p = ((8, 0.5), (8.6, 1), (8.6, 14), (8.9, 14.5), (8.9, 16), (7, 20), (3, 22), (0.1, 22.4))
    stage.add(_colour(stage, rng, scene), turned(p, (x, 0, z)))
    s = np.linspace(0, 1, 40)
    hose = np.column_stack([x + 8 + 30 * s, 14 * (1 - s) ** 2 + 0.9, z + 10 * np.sin(4 * s)])
    stage.add(stage.paint((40, 40, 42), "gloss", 0.4), tube(hose, 0.9))


def _ladder(
    stage: Stage, x: float, z0: float, z1: float, high: float, wide: float, colour: str, step: float = 12.0
) -> None:
    """Two rails leaning from (z0, floor) to (z1, high), with rungs."""
    for side in (-1, 1):
        low_x, top_x = x + side * wide / 2, x + side * wide * 0.4
        ends = np.array([(low_x, 0, z0), (top_x, high, z1)])
        stage.add(colour, beam(ends, X, Z, 1.1, 2.8, 0.1))
    for y in np.arange(step, high - 3, step):
        t = y / high
        half = wide / 2 * (1 - 0.2 * t)
        z = z0 + (z1 - z0) * t
        ends = np.array([(x - half, y, z), (x + half, y, z)])
        stage.add(colour, beam(ends, Y, Z, 1.0, 2.6, 0.1))


def _step_ladder(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    z, high = float(rng.uniform(14, 40)), float(rng.choice([46.0, 69.0]))
    colour = _colour(stage, rng, scene)
    _ladder(stage, x, z + 22, z + 4, high, 20.0, colour)
    _ladder(stage, x, z - 14, z + 1, high, 19.0, colour, 23.0)
    stage.add(colour, box((x - 9, high - 1, z - 2), (x + 9, high, z + 7)))


def _extension_ladder(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    metal = stage.paint((186, 188, 192), "metal", 0.3)
    _ladder(stage, x, float(rng.uniform(20, 34)), 1.6, plan.height_in - rng.uniform(-2, 12), 17.0, metal)


def _leaning(stage: Stage, rng: np.random.Generator, plan: WallPlan, x: float, count: int) -> None:
    for k in range(count):
        high = float(rng.uniform(60, plan.height_in - 3))
        foot = float(rng.uniform(4, 22))
        slant = float(rng.normal(0, 7))
        ends = np.array([(x + 3 * k, 0.4, foot), (x + 3 * k + slant, high, 1.4)])
        along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
        across = np.cross(Z, along)
        across = -across / np.linalg.norm(across)
        flat = rng.random() < 0.5
        wide, deep = (3.5, 1.5) if flat else (1.5, 3.5)
        back = np.cross(across, along)
        lumber(stage, rng, ends + Z * deep / 2, across, back, wide, deep, "wood_around")


def _loose_studs(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    _leaning(stage, rng, plan, x, int(rng.integers(1, 5)))


def _lumber(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    _leaning(stage, rng, plan, x + 10, int(rng.integers(1, 3)))
    for k in range(int(rng.integers(3, 9))):
        z, y = 14 + 3.7 * (k % 4), 0.8 + 1.55 * (k // 4)
        ends = np.array([(x - 45 + rng.uniform(-4, 4), y, z), (x + 45, y, z + rng.uniform(-2, 2))])
        lumber(stage, rng, ends, Y, Z, 1.5, 3.5, "wood_around")


def _broom(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    ends = np.linspace((x, 3, 16), (x + rng.normal(0, 5), 56, 0.9), 3)
    stage.add(_colour(stage, rng, scene), tube(ends, 0.5))
    stage.add(_colour(stage, rng, scene), box((x - 6, 0, 14), (x + 6, 4, 18), 0.4))


def _carton(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    stage.define("carton", Material(picture=tx.paper(rng, (176, 134, 92))))
    for k in range(int(rng.integers(1, 4))):
        w, h = rng.uniform(9, 20), rng.uniform(7, 16)
        z = float(rng.uniform(4, 40))
        stage.add("carton", box((x + 14 * k, 0, z), (x + 14 * k + w, h, z + w * 0.8), 0.1))


def _front_cable(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    s = np.linspace(0, 1, 60)
    reach = rng.uniform(10, 50) * rng.choice([-1, 1])
    y = plan.height_in - 4 - rng.uniform(20, 60) * np.sin(np.pi * s)
    path = np.column_stack([x + reach * s, y, 1.6 + 0.4 * np.sin(9 * s)])
    stage.add(_colour(stage, rng, scene), tube(path, 0.26))
    down = np.column_stack([x + 1.2 * np.sin(7 * s), plan.height_in - s * rng.uniform(40, 80), 1.1 + 0 * s])
    stage.add(_colour(stage, rng, scene), tube(down, 0.26))


def _hose(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    a = np.linspace(0, 7 * np.pi, 160)
    r = 9 + 0.15 * a
    z0 = float(rng.uniform(14, 36))
    coil = np.column_stack([x + r * np.cos(a), 0.6 + 0.09 * a, z0 + r * np.sin(a)])
    stage.add(_colour(stage, rng, scene), tube(coil, 0.45))
    s = np.linspace(0, 1, 80)
    y = rng.uniform(40, 70) * np.sin(np.pi * s) ** 0.7 + 0.6
    stage.add(_colour(stage, rng, scene), tube(np.column_stack([x + 46 * s, y, 1.2 + 8 * (1 - s)]), 0.45))


def _shelf(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    colour = _colour(stage, rng, scene, "metal")
    for dx in (0, 34):
        for z in (4, 17):
            stage.add(colour, box((x + dx, 0, z), (x + dx + 1.3, 60, z + 1.3)))
    stage.define("carton", Material(picture=tx.paper(rng, (176, 134, 92))))
    for y in (8, 30, 52):
        stage.add(colour, box((x, y, 4), (x + 35, y + 1.2, 18.3)))
        if rng.random() < 0.7:
            w = rng.uniform(8, 16)
            stage.add("carton", box((x + 4, y + 1.2, 6), (x + 4 + w, y + 1.2 + w * 0.8, 16)))


def _toolbox(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    colour = _colour(stage, rng, scene)
    z = float(rng.uniform(8, 34))
    stage.add(colour, box((x, 0, z), (x + 19, 9, z + 9), 0.4))
    stage.add(stage.paint((35, 35, 38), "gloss", 0.4), box((x + 5, 9, z + 4), (x + 14, 10.4, z + 5), 0.2))


def _sawhorse(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    z = float(rng.uniform(20, 50))
    beam_ends = np.array([(x - 22, 29, z), (x + 22, 29, z)])
    lumber(stage, rng, beam_ends, Y, Z, 3.5, 1.5, "wood_around")
    for dx in (-17, 17):
        for dz in (-11, 11):
            ends = np.array([(x + dx * 1.15, 0, z + dz), (x + dx, 28, z)])
            stage.add("wood_around", beam(ends, X, Z, 1.5, 2.5, 0.08, (rng.random(), 0.1)))
    if rng.random() < 0.5:
        ends = np.array([(x - 60, 31.6, z), (x + 40, 31.6, z + 5)])
        lumber(stage, rng, ends, Z, Y, 5.5, 1.5, "wood_around")


def _leaning_panel(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    kind = "flakes" if rng.random() < 0.4 else "plain"
    colour = (190, 152, 100) if kind == "flakes" else (206, 204, 198)
    picture = tx.flakes(rng, colour) if kind == "flakes" else tx.plain(rng, colour)
    stage.define("panel", Material(picture=picture))
    wide, high, foot = rng.uniform(20, 40), rng.uniform(24, 52), rng.uniform(6, 16)
    face: Mesh = sheet(
        (x, 0.1, foot), (wide, 0, 0), (0, high, 1.3 - foot), 128.0, (rng.random(), rng.random())
    )
    stage.add("panel", face)


def _leaning_frame(
    x: float, foot: float, top: float, high: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Origin, direction up the slope and outward normal of a plane leaning from the floor to the wall."""
    up = np.array([0.0, high, top - foot])
    up /= np.linalg.norm(up)
    return np.array([x, 0.0, foot]), up, np.cross(X, up)


def _inside(x: float, reach: float, plan: WallPlan) -> float:
    """The place nearest ``x`` from which something wide stays between the walls at both ends."""
    return float(np.clip(x, min(reach, plan.length_in / 2), max(plan.length_in - reach, plan.length_in / 2)))


def _pallet(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    """A pallet stood on edge against the wall: upright slats over three stringers."""
    stage.define("pallet", Material(picture=tx.wood_strips(rng, (168, 140, 104), 0.9)))
    wide, high, foot = 48.0, 40.0, float(rng.uniform(9, 15))
    x = _inside(x, wide / 2 + 1, plan)
    o, up, out = _leaning_frame(x - wide / 2, foot, 5.2, high)
    for b in (1.0, high / 2, high - 1.0):
        ends = np.array([o + up * b + X * a - out * 2.4 for a in (0.0, wide)])
        lumber(stage, rng, ends, up, -out, 1.5, 3.5, "pallet")
    for count, depth in ((7, -0.32), (4, -4.48)):
        for a in np.linspace(2.0, wide - 2.0, count):
            a = a + float(rng.normal(0, 0.15))
            w = float(rng.choice([3.5, 3.5, 5.0])) if 3 < a < wide - 3 else 3.9
            ends = np.array([o + X * a + up * b + out * depth for b in (0.1, high - rng.uniform(0.1, 0.4))])
            lumber(stage, rng, ends, X, out, w, 0.62, "pallet", 0.05)


def _pipe_lengths(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    """Round pipes leaning against the wall."""
    shades = ((228, 228, 224), (186, 108, 70), (52, 52, 56), (150, 154, 158))
    for _ in range(int(rng.integers(2, 6))):
        radius = float(rng.choice([0.25, 0.44, 0.66, 1.0, 1.5]))
        k = int(rng.integers(0, 4))
        colour = stage.paint(shades[k], "metal" if k in (1, 3) else "gloss", 0.3)
        high = float(rng.uniform(50, min(118.0, plan.height_in - 3)))
        foot = float(rng.uniform(6, 20))
        ends = np.linspace((x, 0, foot), (x + rng.normal(0, 6), high, radius + 0.15), 3)
        stage.add(colour, tube(ends, radius, 18), tube(ends, 0.86 * radius, 18))
        x += 2 * radius + float(rng.uniform(0.3, 3.0))


def _cloth(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    """A coat or dust sheet hung on a nail in a stud: gathered above, in folds below."""
    full = [m for m in plan.members if m.full_height]
    member = min(full, key=lambda m: abs(m.centre_in - x))
    top, drop = float(rng.uniform(54, 66)), float(rng.uniform(26, 46))
    at, wide = float(member.centre_at(top)), float(rng.uniform(13, 24))
    shades = ((62, 70, 92), (206, 198, 180), (112, 66, 44), (74, 84, 62))
    colour = stage.paint(shades[int(rng.integers(0, 4))], "matt")
    rows, cols = 60, 80
    u, v = np.meshgrid(np.linspace(-1, 1, cols), np.linspace(0, 1, rows))  # v 0 at the hem
    spread = 0.1 + 0.9 * (1 - v) ** 0.45 * (1 - 0.12 * (1 - v))
    folds = np.cos((rng.uniform(3, 5) * np.pi) * u + rng.uniform(0, 6) + 0.8 * v)
    loose = tx.fractal(rng, rows, cols, 1.6, (3.0, 1.0))
    deep = 0.5 + (0.35 + 0.9 * (1 - v)) * (1.1 + folds + 0.25 * loose) * (1 - 0.35 * np.abs(u) ** 3)
    hem = (1 - v) * (2.0 * u**2 + 0.5 * tx.fractal(rng, 1, cols, 1.5))
    flat = sheet((at - 1, top - drop, 0), (2, 0, 0), (0, drop, 0), heights=deep)
    points = np.stack([at + u * spread * wide / 2, top - drop * (1 - v) + hem - 4 * v * u**2, deep], -1)
    normals = np.cross(np.gradient(points, axis=1), np.gradient(points, axis=0))
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    stage.add(colour, Mesh(points.reshape(-1, 3), normals.reshape(-1, 3), flat.uv, flat.faces))
    nail = stage.paint((70, 70, 74), "metal", 0.4)
    stage.add(nail, box((at - 0.1, top - 0.6, -0.5), (at + 0.1, top - 0.4, 2.4)))


def _barrow(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    """A wheelbarrow seen from its side: tray on two shafts, one wheel, two legs."""
    z, s = float(rng.uniform(22, 44)), float(rng.choice([-1, 1]))
    x = _inside(x, 37.0, plan)
    tray = turned(
        ((0.1, 0), (11, 0), (12, 0.6), (17, 10.6), (17.6, 10.7), (17.4, 10.2), (12.5, 1.2), (0.1, 0.8)),
        (0, 0, 0),
        48,
    )
    # the turned tub made oblong: its bottom on the rising shafts, its rim lower towards the handles
    angle = np.arctan2(tray.points[:, 2], tray.points[:, 0])
    square = (np.abs(np.cos(angle)) ** 5 + np.abs(np.sin(angle)) ** 5) ** -0.2
    p = tray.points * np.column_stack([1.05 * square, np.ones_like(square), 0.78 * square])
    lift = 14.7 + p[:, 1] + p[:, 0] * (0.288 - 0.4 * p[:, 1] / 10.6)
    moved = np.column_stack([x + s * p[:, 0], lift, z + p[:, 2]])
    turn = np.array([s, 1.0, 1.0])
    faces = tray.faces if s > 0 else tray.faces[:, [0, 2, 1]]
    stage.add(_colour(stage, rng, scene), Mesh(moved, tray.normals * turn, tray.uv, faces))
    hub_x, a = x - s * 21.0, np.linspace(0, 2 * np.pi, 40)
    ring = np.column_stack([hub_x + 6.0 * np.cos(a), 7.6 + 6.0 * np.sin(a), np.full(40, z)])
    stage.add(stage.paint((34, 34, 36), "gloss", 0.5), tube(ring, 1.6))
    hub = np.array([(hub_x, 7.6, z - 0.8), (hub_x, 7.6, z + 0.8)])
    steel = stage.paint((120, 122, 126), "metal", 0.4)
    stage.add(steel, beam(hub, X, Y, 9.0, 9.0, 4.4))
    for side in (-1, 1):
        ends = np.array([(hub_x, 7.6, z + side * 2.6), (x + s * 36, 24.0, z + side * 11)])
        lumber(stage, rng, ends, Y, Z, 1.6, 1.4, "wood_around")
        leg = [
            (x + s * 6, 14, z + side * 6.5),
            (x + s * 12, 0.6, z + side * 8),
            (x + s * 17, 18, z + side * 8),
        ]
        stage.add(steel, tube(np.array([leg[0], leg[1]]), 0.6), tube(np.array([leg[1], leg[2]]), 0.6))


def _door_leaf(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, x: float) -> None:
    """A door leaf leaning on the wall, with raised panels and the hole for its latch."""
    wide, high = float(rng.choice([24.0, 28.0, 30.0, 32.0])), min(80.0, plan.height_in - 6)
    x = _inside(x, wide / 2 + 1, plan)
    o, up, out = _leaning_frame(x - wide / 2, float(rng.uniform(9, 20)), 2.0, high)
    colour = ((230, 228, 220), (150, 100, 62), (196, 190, 172))[int(rng.integers(0, 3))]
    leaf = stage.paint(colour, "gloss", 0.4)
    middle = np.array([o + X * wide / 2 + up * b - out * 0.7 for b in (0.1, high)])
    stage.add(leaf, beam(middle, X, out, wide, 1.375, 0.06))
    rows = (
        ((7.0, 30.0), (39.0, high - 6))
        if rng.random() < 0.5
        else ((7.0, 26.0), (34.0, 54.0), (59.0, high - 5))
    )
    half = (wide - 12.5) / 2
    for low, top in rows:
        for a in (4.5, 8.0 + half):
            for b in (low, top):
                ends = np.array([o + X * (a + d) + up * b for d in (0.0, half)])
                stage.add(leaf, beam(ends, up, out, 1.0, 0.7, 0.2))
            for d in (0.0, half):
                ends = np.array([o + X * (a + d) + up * b for b in (low, top)])
                stage.add(leaf, beam(ends, X, out, 1.0, 0.7, 0.2))
    latch = o + X * (2.6 if rng.random() < 0.5 else wide - 2.6) + up * 36
    dark = stage.paint((24, 22, 20), "matt")
    stage.add(dark, beam(np.array([latch, latch + out * 0.03]), X, up, 2.1, 2.1, 1.04))


MAKERS = {
    "bucket": _bucket,
    "drum": _drum,
    "step_ladder": _step_ladder,
    "extension_ladder": _extension_ladder,
    "loose_studs": _loose_studs,
    "lumber": _lumber,
    "broom": _broom,
    "carton": _carton,
    "front_cable": _front_cable,
    "hose": _hose,
    "shelf": _shelf,
    "toolbox": _toolbox,
    "sawhorse": _sawhorse,
    "leaning_panel": _leaning_panel,
    "pallet": _pallet,
    "pipe_lengths": _pipe_lengths,
    "cloth": _cloth,
    "barrow": _barrow,
    "door_leaf": _door_leaf,
}
