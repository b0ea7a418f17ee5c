"""What is behind, beside, above and under the wall."""

from __future__ import annotations

import numpy as np

from . import textures as tx
from .carpentry import lumber, stud_row
from .draws import Scene
from .meshes import Mesh, sheet
from .stage import Colour, Material, Stage
from .wall_plan import WallPlan

X, Y, Z = np.eye(3)
MAKERS = {
    "concrete": tx.concrete,
    "formed": tx.formed,
    "masonry": tx.masonry,
    "flakes": tx.flakes,
    "veneer": tx.veneer,
    "planks": tx.planks,
    "board_back": tx.board_back,
    "plain": tx.plain,
    "brick": tx.brick,
    "foil": tx.foil,
    "fibre": tx.fibre,
}
TILE_IN = {"foil": 144.0, "fibre": 144.0}  # the others cover 128 in


def surface(stage: Stage, rng: np.random.Generator, kind: str, colour: Colour) -> str:
    """Define (once) a surface of this make and colour and return its material name."""
    name = f"surface_{kind}_{'_'.join(str(int(c)) for c in colour)}"
    if name not in stage.materials:
        picture = MAKERS[kind](rng, colour)
        if kind == "foil":
            stage.define(name, Material("metal", picture=picture, rough=0.38))
        else:
            stage.define(name, Material(picture=picture))
    return name


def add_room(stage: Stage, rng: np.random.Generator, scene: Scene, plan: WallPlan, eye: np.ndarray) -> None:
    """Floor, ceiling, side walls, and what is seen through the bays and openings."""
    length, height, depth = plan.length_in, plan.height_in, plan.depth_in
    front = float(eye[2]) + 40.0
    gaps: list[float | None] = []
    for k, side in enumerate(scene.sides):
        outside = eye[0] < 4.0 if k == 0 else eye[0] > length - 4.0
        if side is None or (outside and side[2] < 60.0):
            gaps.append(None)
        else:
            gaps.append(side[2])
    left = -140.0 if gaps[0] is None else -gaps[0]
    right = length + (140.0 if gaps[1] is None else gaps[1])
    far = -depth - (320.0 if scene.beyond else 130.0)
    _floor(stage, rng, scene, (left - 200, right + 200, far, front))
    drop = float(rng.uniform(0.0, 10.0)) if rng.random() < 0.25 else 0.0
    _ceiling(stage, rng, scene, (left, right, far, front), height + drop)
    for k, side in enumerate(scene.sides):
        if side is not None and gaps[k] is not None:
            x = left if k == 0 else right
            _side_wall(stage, rng, side, k == 0, x, front, height + drop)
    if scene.beyond is None:
        _behind(stage, rng, scene, plan, (left, right), height + drop)
    else:
        _beyond(stage, rng, scene, plan, (left - 100, right + 100), height + drop)


def _floor(
    stage: Stage, rng: np.random.Generator, scene: Scene, box: tuple[float, float, float, float]
) -> None:
    name = surface(stage, rng, *scene.floor)
    x0, x1, z0, z1 = box
    stage.add(
        name, sheet((x0, 0, z1), (x1 - x0, 0, 0), (0, 0, z0 - z1), uv_origin=(rng.random(), rng.random()))
    )


def _ceiling(
    stage: Stage,
    rng: np.random.Generator,
    scene: Scene,
    box: tuple[float, float, float, float],
    height: float,
) -> None:
    x0, x1, z0, z1 = box
    if scene.ceiling == "none":
        return
    if scene.ceiling == "plain":
        name = surface(stage, rng, "plain", (222, 220, 214))
        stage.add(name, sheet((x0, height, z0), (x1 - x0, 0, 0), (0, 0, z1 - z0)))
        return
    deep = float(rng.choice([7.25, 9.25, 11.25]))
    deck = (
        surface(stage, rng, "flakes", (176, 138, 92))
        if rng.random() < 0.6
        else surface(stage, rng, "planks", (150, 116, 80))
    )
    top = height + deep
    stage.add(deck, sheet((x0, top, z0), (x1 - x0, 0, 0), (0, 0, z1 - z0)))
    mid = height + deep / 2
    step = float(rng.choice([16.0, 16.0, 19.2, 24.0]))
    if scene.ceiling == "joists_out":
        for x in np.arange(x0 + rng.uniform(1, 16), x1, step):
            ends = np.array([(x, mid, z0), (x + rng.normal(0, 0.2), mid, z1)])
            lumber(stage, rng, ends, X, Y, 1.5, deep, "wood_around")
    else:
        for z in np.arange(-1.75, z1, step):
            ends = np.array([(x0, mid, z), (x1, mid, z + rng.normal(0, 0.2))])
            lumber(stage, rng, ends, Z, Y, 1.5, deep, "wood_around")


def _side_wall(
    stage: Stage,
    rng: np.random.Generator,
    side: tuple[str, Colour, float],
    at_left: bool,
    x: float,
    front: float,
    height: float,
) -> None:
    kind, colour, _ = side
    inward = X if at_left else -X
    if kind == "framed":
        origin = np.array([x, 0.0, front if at_left else -3.5])
        along = -Z if at_left else Z
        reach = front + 3.5
        # its faces stand in the plane x; the bays are closed behind
        stud_row(stage, rng, origin, along, inward, reach, height)
        kind, colour, x = "flakes", (186, 148, 100), x - inward[0] * 3.6
    name = surface(stage, rng, kind, colour)
    start = (x, 0.0, front) if at_left else (x, 0.0, -140.0)
    run = (0, 0, -140.0 - front) if at_left else (0, 0, front + 140.0)
    tile = TILE_IN.get(kind, 128.0)
    stage.add(name, sheet(start, run, (0, height + 13.0, 0), tile, (rng.random(), rng.random())))


def _behind(
    stage: Stage,
    rng: np.random.Generator,
    scene: Scene,
    plan: WallPlan,
    reach: tuple[float, float],
    height: float,
) -> None:
    """The surface right behind the bays, open where the wall has openings."""
    assert scene.back is not None
    gap = (
        0.02
        if scene.back[0] in ("flakes", "veneer", "planks", "board_back", "foil", "fibre")
        else float(rng.choice([0.05, 0.5, 1.0, 2.0]))
    )
    z = -plan.depth_in - gap
    left, right = reach
    holes = tuple(
        (o.left_in - left, o.right_in - left, o.bottom_in - (0 if o.bottom_in else 1), o.top_in)
        for o in plan.openings
    )
    name = surface(stage, rng, *scene.back)
    stage.add(
        name,
        sheet(
            (left, 0, z),
            (right - left, 0, 0),
            (0, height + 13, 0),
            TILE_IN.get(scene.back[0], 128.0),
            holes=holes,
            uv_origin=(rng.random(), rng.random()),
        ),
    )
    if not holes:
        return
    for o in plan.openings:
        wide, high = o.right_in - o.left_in, o.top_in - o.bottom_in
        for start, u, v in (
            ((o.left_in, o.bottom_in, z), (0, high, 0), (0, 0, -5.0)),
            ((o.right_in, o.bottom_in, z), (0, high, 0), (0, 0, -5.0)),
            ((o.left_in, o.top_in, z), (wide, 0, 0), (0, 0, -5.0)),
            ((o.left_in, o.bottom_in + 0.01, z), (wide, 0, 0), (0, 0, -5.0)),
        ):
            stage.add(name, sheet(start, u, v))
    if all(o.kind == "window" for o in plan.openings):
        _outdoors(stage, rng, left - 300, right + 300, z - 240.0, float(rng.uniform(0.9, 2.2)))
    else:
        wall = surface(stage, rng, "plain", (200, 196, 186))
        back = z - float(rng.uniform(50, 120))
        stage.add(wall, sheet((left - 100, 0, back), (right - left + 200, 0, 0), (0, height, 0)))


def _beyond(
    stage: Stage,
    rng: np.random.Generator,
    scene: Scene,
    plan: WallPlan,
    reach: tuple[float, float],
    height: float,
) -> None:
    """Another room, a second row of studs, or the open air seen through the bays."""
    left, right = reach
    z = -plan.depth_in - float(rng.uniform(45, 150))
    if scene.beyond in ("yard", "street"):
        _outdoors(stage, rng, left - 500, right + 500, -plan.depth_in - 300.0, 1.0)
        return
    if scene.beyond == "second_row":
        stud_row(
            stage,
            rng,
            (left + rng.uniform(0, 60), 0, z),
            X,
            Z,
            right - left - rng.uniform(20, 100),
            height,
            float(rng.choice([16.0, 16.0, 24.0])),
        )
        z -= 3.6 + (float(rng.uniform(10, 60)) if rng.random() < 0.4 else 0.0)
    kind, colour = scene.back if scene.back else ("concrete", (158, 156, 150))
    if scene.beyond in ("room", "hall"):
        kind, colour = ("plain", (206, 202, 190)) if rng.random() < 0.5 else ("concrete", (150, 150, 146))
    name = surface(stage, rng, kind, colour)
    stage.add(
        name,
        sheet(
            (left, 0, z), (right - left, 0, 0), (0, height + 13, 0), uv_origin=(rng.random(), rng.random())
        ),
    )


def _outdoors(
    stage: Stage, rng: np.random.Generator, left: float, right: float, z: float, power: float
) -> None:
    stage.define("outdoors", Material("glow", picture=tx.outdoors(rng), power=power))
    flat = sheet((left, -60.0, z), (right - left, 0, 0), (0, 420.0, 0))
    uv = np.column_stack(
        [(flat.points[:, 0] - left) / (right - left), 1.0 - (flat.points[:, 1] + 60.0) / 420.0]
    )
    stage.add("outdoors", Mesh(flat.points, flat.normals, uv, flat.faces))
