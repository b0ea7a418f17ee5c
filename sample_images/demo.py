"""The scenes of the committed sample photos: one per kind of difficulty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from .draws import ROWS, Colour, Scene, Shot, View, draw_scene
from .framing import WallStyle

FRESH: tuple[Colour, float] = ((226, 198, 150), 0.12)
CONCRETE: tuple[str, Colour] = ("concrete", (158, 155, 148))

# One tuning scene per kind of difficulty; validation scenes stay unseen.
FROM_TUNING = {
    "blocking_wall": 2,
    "cluttered_wall": 24,
    "door_wall": 38,
    "insulated_wall": 27,
    "partition_seen_through": 17,
    "sheeted_wall": 6,
    "steel_wall": 31,
}


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
    for name, index in FROM_TUNING.items():
        yield replace(draw_scene("tuning", index), name=name)
