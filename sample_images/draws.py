"""The drawing of one scene from a seed, out of one of the catalogues."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from .catalogues import CATALOGUES, Catalogue, Colour
from .framing import WallStyle

ROWS = (
    "open bays, concrete, OSB",
    "insulation",
    "openings, doubles, corners, blocking, braces",
    "see-through, clutter, hard shadows",
    "steel, dark or moved",
    "sheet or paper over the faces",
)


@dataclass(frozen=True)
class View:
    """Where the camera stands and what it is; the rest follows from the wall."""

    f35_mm: float = 26.0
    portrait: bool = False
    yaw_deg: float = 0.0
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    k1: float = 0.0
    k2: float = 0.0
    off_centre: tuple[float, float] = (0.0, 0.0)
    fill: float = 0.85
    shift: float = 0.0
    eye_in: float = 58.0
    distance_in: float = 0.0


@dataclass(frozen=True)
class Shot:
    """What the phone makes of the light."""

    width_px: int = 1600
    exposure: float = 1.0
    noise: float = 0.006
    moved_px: float = 0.0
    moved_deg: float = 0.0
    soft_px: float = 0.6
    sharpen: float = 0.5
    jpeg: int = 91
    exif_f35: bool = True
    orientation: int = 1


@dataclass(frozen=True)
class Scene:
    """One scene, ready to build."""

    name: str
    seed: int
    kept_for: str
    row: str
    style: WallStyle
    wood: tuple[Colour, float]
    back: tuple[str, Colour] | None
    beyond: str | None
    fill: tuple[str, Colour] | None
    bulge_in: float
    sheet: tuple[str, Colour] | None
    clutter: tuple[str, ...]
    lights: tuple[str, ...]
    ambient: float
    floor: tuple[str, Colour]
    ceiling: str
    sides: tuple[tuple[str, Colour, float] | None, tuple[str, Colour, float] | None]
    accent: Colour
    reference: str
    reference_off_in: float
    services: tuple[str, ...]
    view: View
    shot: Shot
    tags: tuple[str, ...] = field(default=())


def draw_scene(kept_for: str, index: int) -> Scene:
    """Scene ``index`` of a set: its row goes round, everything else is drawn."""
    catalogue = CATALOGUES[kept_for]
    seed = catalogue.seed + index
    rng = np.random.default_rng(seed)
    row = ROWS[(0, 3, 2, 1, 2, 3, 5, 4, 0, 1, 3, 2)[index % 12]]
    style = _style(rng, row, catalogue)
    scene = Scene(
        name=f"{kept_for[0]}{index:03d}",
        seed=seed,
        kept_for=kept_for,
        row=row,
        style=style,
        wood=_one(rng, catalogue.woods),
        back=_one(rng, catalogue.backs),
        beyond=None,
        fill=None,
        bulge_in=0.0,
        sheet=None,
        clutter=(),
        lights=(),
        ambient=float(rng.uniform(0.15, 0.6)),
        floor=_one(rng, catalogue.floors),
        ceiling=str(rng.choice(["joists_out", "joists_along", "plain"], p=[0.45, 0.3, 0.25])),
        sides=(_side(rng, catalogue), _side(rng, catalogue)),
        accent=_one(rng, catalogue.accents),
        reference=str(rng.choice(["tape", "level", "none"], p=[0.5, 0.17, 0.33])),
        reference_off_in=0.0,
        services=_services(rng, catalogue),
        view=_view(rng, style),
        shot=_shot(rng),
    )
    if scene.reference == "tape" and rng.random() < 0.25:
        scene = replace(scene, reference_off_in=float(rng.choice([0.25, 0.375, 0.5])))
    scene = _conditions(rng, scene, catalogue)
    if scene.sheet is not None and scene.reference != "none":
        # a tape or level lies on the sheet, not under it
        scene = replace(scene, reference_off_in=max(scene.reference_off_in, 0.5))
    if scene.sheet is not None or scene.fill is not None:
        scene = replace(scene, services=tuple(k for k in scene.services if k != "strip"))
    if scene.reference == "level":
        scene = replace(scene, bulge_in=min(scene.bulge_in, -0.1))
    return replace(scene, tags=_tags(scene))


def _one(rng: np.random.Generator, options: tuple) -> tuple:
    return options[int(rng.integers(0, len(options)))]


def _style(rng: np.random.Generator, row: str, catalogue: Catalogue) -> WallStyle:
    spacing = float(rng.choice([16.0, 24.0], p=[0.75, 0.25]))
    length = float(np.round(rng.uniform(72.0, 216.0) * 8) / 8)
    if rng.random() < 0.12:
        length = float(np.round(rng.uniform(60.0, 84.0) * 8) / 8)
    height = float(rng.choice([84.0, 88.5, 92.0, 96.0, 97.125, 97.125, 97.125, 109.125, 121.125]))
    style = WallStyle(
        length_in=length,
        height_in=height,
        spacing_in=spacing,
        layout_from=str(rng.choice(["left", "right"])),
        depth_in=float(rng.choice([3.5, 5.5], p=[0.75, 0.25])),
        double_top=bool(rng.random() < 0.5),
        jitter_in=float(rng.uniform(*catalogue.jitter_in)),
        crooked=float(rng.uniform(*catalogue.crooked)),
    )
    if rng.random() < 0.14:  # 38 mm metric framing at 400 or 600 mm
        style = replace(
            style,
            ply_face_in=38 / 25.4,
            depth_in=float(rng.choice([89, 140])) / 25.4,
            spacing_in=float(rng.choice([400, 600])) / 25.4,
            height_in=float(rng.choice([2400, 2440, 2700])) / 25.4,
        )
    chosen = []
    framing = row == ROWS[2]
    if framing:
        kinds = ["door", "window", "window_wide", "doubles", "corners", "blocking", "brace"]
        first = str(rng.choice(kinds, p=[0.2, 0.2, 0.12, 0.16, 0.12, 0.12, 0.08]))
        chosen.append(first)
        if rng.random() < 0.6:
            chosen.append(str(rng.choice(kinds)))
        if {"door", "window", "window_wide"} & set(chosen):
            style = replace(style, length_in=max(style.length_in, 108.0))
    if rng.random() < (0.5 if framing else 0.15):
        chosen.append("displaced")
    if rng.random() < 0.1:
        chosen.append("missing")
    if not framing and rng.random() < 0.1:
        chosen.append("blocking")
    if rng.random() < 0.45:
        chosen.append("boxes")
    for side in ("left", "right"):
        if "corners" in chosen:
            chosen.append(f"corner_{side}")
        elif rng.random() < 0.12:
            chosen.append(f"double_{side}")
    features = tuple(sorted({f for f in chosen if f != "corners"}))
    if row == ROWS[4] and rng.random() < 0.5:
        features = tuple(f for f in features if f in ("boxes", "displaced", "missing"))
        style = replace(
            style,
            material="steel",
            ply_face_in=1.25,
            depth_in=3.625,
            double_top=False,
            spacing_in=float(rng.choice([16.0, 24.0])),
        )
    return replace(style, features=features)


def _side(rng: np.random.Generator, catalogue: Catalogue) -> tuple[str, Colour, float] | None:
    """A side wall and how far past the end of the wall it stands; None: the room goes on."""
    if rng.random() < catalogue.open_end_share:
        return None
    kind, colour = _one(rng, catalogue.walls)
    gap = 0.0 if rng.random() < catalogue.touching_share else float(rng.uniform(*catalogue.end_gap_in))
    return kind, colour, gap


def _services(rng: np.random.Generator, catalogue: Catalogue) -> tuple[str, ...]:
    kinds = ("cable_holes", "cable_drop", "pipe_up", "pipe_across", "strip")
    return tuple(k for k in kinds if rng.random() < catalogue.service_share)


def _view(rng: np.random.Generator, style: WallStyle) -> View:
    frontal = rng.random() < 0.6
    wide = style.length_in / style.height_in
    return View(
        f35_mm=float(rng.choice([24.0, 25.0, 26.0, 27.0, 28.0])),
        portrait=bool(rng.random() < (0.45 if wide < 1.2 else 0.1)),
        yaw_deg=float(np.clip(rng.normal(0, 2.5 if frontal else 7.5), -15, 15)),
        pitch_deg=float(np.clip(rng.normal(0.5, 2.5), -10, 10)),
        roll_deg=float(np.clip(rng.normal(0, 1.2), -4, 4)),
        k1=float(rng.uniform(-0.05, 0.04)),
        k2=float(rng.uniform(-0.02, 0.02)),
        off_centre=(float(rng.normal(0, 0.004)), float(rng.normal(0, 0.004))),
        fill=float(rng.uniform(0.72, 0.95) if rng.random() < 0.8 else rng.uniform(1.05, 1.4)),
        shift=float(rng.normal(0, 0.05)),
        eye_in=float(rng.uniform(44, 68)),
    )


def _shot(rng: np.random.Generator) -> Shot:
    return Shot(
        exposure=float(rng.uniform(0.8, 1.25)),
        noise=float(rng.uniform(0.003, 0.012)),
        soft_px=float(rng.uniform(0.45, 0.8)),
        sharpen=float(rng.uniform(0.2, 0.9)),
        jpeg=int(rng.integers(80, 92)),
        exif_f35=bool(rng.random() < 0.7),
        orientation=int(rng.choice([1, 1, 1, 3, 6, 8])),
    )


def _conditions(rng: np.random.Generator, scene: Scene, catalogue: Catalogue) -> Scene:
    """What the scene's row of the benchmark table asks for."""
    row = scene.row
    lights = (str(rng.choice(catalogue.lights)),)
    hard = [x for x in catalogue.lights if x.startswith(("work_light", "two_lamps", "flash", "sun"))]
    n_clutter = int(rng.choice([0, 1, 2], p=[0.5, 0.3, 0.2]))
    if row == ROWS[0]:
        lights = (str(rng.choice([x for x in catalogue.lights if x not in hard])),)
    if row == ROWS[1] or (row in (ROWS[2], ROWS[4]) and rng.random() < 0.2):
        scene = replace(scene, fill=_one(rng, catalogue.fills))
        scene = replace(scene, bulge_in=float(rng.choice([-0.4, 0.0, 0.3, 0.9])))
    if row == ROWS[3]:
        mode = str(rng.choice(["beyond", "clutter", "hard"], p=[0.45, 0.3, 0.25]))
        if mode == "beyond":
            scene = replace(scene, back=None, beyond=str(rng.choice(catalogue.beyonds)))
        elif mode == "clutter":
            n_clutter = int(rng.integers(3, 6))
        else:
            lights = (str(rng.choice(hard)),)
            n_clutter = int(rng.integers(1, 4))
            scene = replace(scene, ambient=scene.ambient * 0.3)
    elif row in (ROWS[2], ROWS[4]) and scene.fill is None and rng.random() < 0.2:
        scene = replace(scene, back=None, beyond=str(rng.choice(catalogue.beyonds)))
    if row == ROWS[4] and scene.style.material != "steel":
        shot = scene.shot
        if rng.random() < 0.5:
            shot = replace(
                shot,
                exposure=shot.exposure * float(rng.uniform(0.25, 0.5)),
                noise=float(rng.uniform(0.02, 0.04)),
            )
        else:
            shot = replace(shot, moved_px=float(rng.uniform(2.0, 5.0)), moved_deg=float(rng.uniform(0, 180)))
        scene = replace(scene, shot=shot)
    if row == ROWS[5]:
        scene = replace(scene, sheet=_one(rng, catalogue.sheets), fill=_one(rng, catalogue.fills))
        if rng.random() < 0.4 and scene.sheet and scene.sheet[0] in ("clear", "milky", "blue_film"):
            scene = replace(scene, fill=None)
    if scene.beyond in ("yard", "street"):
        lights = ("daylight",)
        scene = replace(
            scene, ceiling=str(rng.choice(["none", "joists_out"])), sides=(None, None), ambient=1.0
        )
    picks = rng.choice(catalogue.clutter, size=min(n_clutter, len(catalogue.clutter)), replace=False)
    return replace(scene, lights=lights, clutter=tuple(str(x) for x in picks))


def _tags(scene: Scene) -> tuple[str, ...]:
    style, shot = scene.style, scene.shot
    tags = [style.material, f"{style.spacing_in:.4g}_in", *style.features, *scene.clutter]
    tags += [f"light_{x}" for x in scene.lights]
    tags += [scene.back[0]] if scene.back else []
    tags += [scene.beyond] if scene.beyond else []
    tags += [f"fill_{scene.fill[0]}"] if scene.fill else []
    tags += ["bulging"] if scene.fill and scene.fill[0] != "rigid" and scene.bulge_in > 0.2 else []
    tags += [f"sheet_{scene.sheet[0]}"] if scene.sheet else []
    tags += ["metric"] if style.material == "wood" and style.ply_face_in < 1.5 else []
    tags += ["portrait" if scene.view.portrait else "landscape"]
    tags += ["dark"] if shot.noise >= 0.02 else []
    tags += ["moved"] if shot.moved_px else []
    tags += [] if shot.exif_f35 else ["no_exif_focal"]
    tags += ["reference_in_front"] if scene.reference_off_in else []
    return tuple(tags)
