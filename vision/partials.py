"""Short members, cripples and the like, in what the taller ones leave of the wall."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vision.edges import sheared_mean
from vision.extent import Upright, measure_extent
from vision.members import select_members
from vision.ply_cues import PlyCues

SIDE_FACES = 1.2  # a side face seen at a slant is at most about this many faces wide
# A partial member is looked for in what the full ones leave; lower than this it is a scrap.
LEAST_PARTIAL_HEIGHT = 0.09


def add_partials(
    ups: list[Upright],
    front: NDArray[np.float32],
    votes: NDArray[np.float32],
    seen: NDArray[np.bool_],
    height_px: float,
    face_px: float,
    limits: tuple[float, float],
    foot: float,
) -> list[Upright]:
    """Look for cripples and other short members in what the taller ones leave, part by part."""
    bands = len(front)
    left_over = front.copy()
    for u in ups:
        s = u.stretch
        a = max(0, int(np.floor(s.left - 0.35 * face_px)))
        b = int(np.ceil(s.right + 0.35 * face_px)) + 1
        lo, hi = int(np.floor(u.top * bands)), int(np.ceil(u.bottom * bands))
        left_over[max(0, lo - 1) : hi + 1, a:b] = 0
    found: list[Upright] = []
    nothing = np.zeros(front.shape[1])
    alone = PlyCues(nothing, nothing, nothing, 1.0, 0.0)
    for top, bottom in ((0.0, 0.22), (0.0, 0.4), (0.55, 1.0), (0.25, 0.75), (0.35, 1.0)):
        lo, hi = round(top * bands), round(bottom * bands)
        part = left_over[lo:hi]
        column = part.mean(0).astype(float)
        if column.max() < 0.35:
            continue
        share, slope = sheared_mean(votes[lo:hi], seen[lo:hi], height_px * (bottom - top))
        for s in select_members(column, share, slope, face_px, alone, foot):
            if s.left < limits[0] or s.right > limits[1] or s.front < 0.45:
                continue
            u = measure_extent(left_over, seen, replace(s, slope=0.0), height_px)
            if u.bottom - u.top < LEAST_PARTIAL_HEIGHT or u.visible < 0.5:
                continue
            whole = u.top == 0.0 and u.bottom == 1.0
            if whole and _beside_a_full_one(u, ups, face_px):
                continue  # its neighbour's side face: the selection over the whole height left it out
            found.append(replace(u, full=whole))
            a = max(0, int(s.left - 0.3 * face_px))
            left_over[:, a : int(s.right + 0.3 * face_px) + 1] *= 0
    return sorted(ups + found, key=lambda u: (u.stretch.centre, u.top))


def _beside_a_full_one(u: Upright, ups: list[Upright], face_px: float) -> bool:
    a, b = u.stretch.left, u.stretch.right
    return any(q.full and max(q.stretch.left - b, a - q.stretch.right) < SIDE_FACES * face_px for q in ups)
