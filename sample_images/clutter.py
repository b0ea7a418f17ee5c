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
}
