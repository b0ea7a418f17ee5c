"""The scenes of the committed sample photos: one per kind of difficulty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from .draws import ROWS, TUNING, Colour, Scene, Shot, View
from .framing import WallStyle

FRESH: tuple[Colour, float] = ((226, 198, 150), 0.12)
CONCRETE: tuple[str, Colour] = ("concrete", (158, 155, 148))
FLAKES: tuple[str, Colour] = ("flakes", (196, 154, 98))


def _scene(name: str, seed: int, row: str, style: WallStyle, view: View, **changes: object) -> Scene:
    scene = Scene(
        name=name,
        seed=500_000 + seed,
        kept_for="samples",
        row=row,
        style=style,
        wood=FRESH,
        back=CONCRETE,
        beyond=None,
        fill=None,
        bulge_in=0.0,
        sheet=None,
        clutter=(),
        lights=("bulbs",),
        ambient=0.45,
        floor=("concrete", (140, 138, 132)),
        ceiling="joists_out",
        sides=(("concrete", (160, 158, 150), 10.0), ("framed", (0, 0, 0), 6.0)),
        accent=(200, 60, 40),
        reference="tape",
        reference_off_in=0.0,
        services=(),
        view=view,
        shot=Shot(width_px=2000, noise=0.004, jpeg=90),
    )
    return replace(scene, **changes)  # type: ignore[arg-type]


def demo_scenes() -> Iterator[Scene]:
    """Every committed sample photo, the demo wall first."""
    yield _scene(
        "long_wall",
        1,
        ROWS[0],
        # 16 ft 2 in, laid out from the right: no stud 8 ft from the left corner
        WallStyle(194.0, 97.125, layout_from="right", double_top=True, crooked=0.8, features=("boxes",)),
        View(26.0, yaw_deg=2.5, roll_deg=0.4, k1=-0.012, k2=0.003, off_centre=(0.003, -0.002), fill=0.88),
        services=("cable_holes",),
        tags=("wood", "concrete", "tape"),
    )
    yield _scene(
        "door_wall",
        2,
        ROWS[2],
        WallStyle(150.0, 97.125, double_top=True, features=("door", "boxes", "double_left")),
        View(25.0, yaw_deg=-4.0, roll_deg=-0.6, k1=0.015, fill=0.86),
        wood=((214, 178, 118), 0.25),
        lights=("mixed",) if "mixed" in TUNING.lights else ("bulbs",),
        tags=("wood", "door", "tape"),
    )
    yield _scene(
        "window_wall",
        3,
        ROWS[2],
        WallStyle(168.0, 96.0, features=("window", "blocking"), depth_in=5.5),
        View(26.0, yaw_deg=3.0, k1=-0.02, fill=0.86),
        back=FLAKES,
        lights=("window",),
        ceiling="joists_along",
        tags=("wood", "window", "blocking", "tape"),
    )
    yield _scene(
        "insulated_wall",
        4,
        ROWS[1],
        WallStyle(146.0, 97.125, layout_from="left"),
        View(26.0, yaw_deg=-2.0, k1=0.01, fill=0.88),
        fill=("wool", (226, 130, 150)),
        bulge_in=0.3,
        tags=("wood", "insulation", "tape"),
    )
    yield _scene(
        "partition_seen_through",
        5,
        ROWS[3],
        WallStyle(132.0, 97.125, spacing_in=16.0, layout_from="right"),
        View(26.0, yaw_deg=5.0, roll_deg=0.8, k1=-0.015, fill=0.84),
        back=None,
        beyond="second_row",
        reference="level",
        accent=(230, 180, 30),
        tags=("wood", "second_row", "level"),
    )
    yield _scene(
        "cluttered_wall",
        6,
        ROWS[3],
        WallStyle(160.0, 97.125, double_top=True, features=("boxes", "displaced")),
        View(24.0, yaw_deg=-6.0, pitch_deg=1.0, k1=0.02, fill=0.86),
        clutter=("step_ladder", "loose_studs", "bucket", "front_cable"),
        lights=("bulbs", "work_light_high"),
        tags=("wood", "clutter", "tape"),
    )
    yield _scene(
        "steel_wall",
        7,
        ROWS[4],
        WallStyle(140.0, 109.125, 16.0, material="steel", ply_face_in=1.25, depth_in=3.625),
        View(26.0, yaw_deg=3.0, k1=-0.01, fill=0.86),
        back=("board_back", (156, 146, 132)),
        lights=("tubes",),
        ceiling="plain",
        tags=("steel", "tape"),
    )
    yield _scene(
        "sheeted_wall",
        8,
        ROWS[5],
        WallStyle(120.0, 96.0, layout_from="left"),
        View(26.0, yaw_deg=-3.0, k1=0.01, fill=0.86),
        fill=("wool", (214, 194, 92)),
        sheet=("clear", (225, 228, 230)),
        tags=("wood", "sheet_clear", "tape"),
    )
    yield _scene(
        "narrow_wall",
        9,
        ROWS[0],
        WallStyle(68.0, 2440 / 25.4, 400 / 25.4, ply_face_in=38 / 25.4, depth_in=89 / 25.4),
        View(26.0, portrait=True, yaw_deg=2.0, k1=-0.012, fill=0.88),
        back=FLAKES,
        reference="none",
        sides=(None, ("plain", (214, 210, 200), 0.0)),
        shot=Shot(width_px=2000, noise=0.005, jpeg=88, orientation=6),
        tags=("wood", "metric", "portrait"),
    )
