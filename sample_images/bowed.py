"""Scenes in which some studs are bowed along the wall more than a board can hide."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .draws import Scene, draw_scene
from .framing import draw_wall

FIRST_SCENE = 1000  # of the catalogue's seeds: beyond those of the plain sets
BOWED_SHARE = 0.4
BOWS_IN = (0.2, 0.8)


def draw_bowed_scene(kept_for: str, index: int) -> Scene:
    """Scene ``index`` of a set (a key of ``CATALOGUES``) with bowed studs: a scene of the same catalogue.

    The studs that bow, how far and to which side are drawn by a stream of their own.
    """
    scene = draw_scene(kept_for, FIRST_SCENE + index)
    plan = draw_wall(np.random.default_rng([scene.seed, 0]), scene.style)
    rng = np.random.default_rng([scene.seed, 77])
    full = [m for m in plan.members if m.full_height]
    bowed = tuple(
        (i, float(rng.uniform(*BOWS_IN) * rng.choice([-1, 1])))
        for i, m in enumerate(full)
        if m.kind in ("common", "double") and rng.random() < BOWED_SHARE
    )
    return replace(
        scene,
        name=f"{kept_for[0]}b{index:03d}",
        style=replace(scene.style, bowed=bowed),
        tags=(*scene.tags, "bowed"),
    )
