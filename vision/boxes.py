"""Electrical boxes proposed beside the studs that carry them; the user accepts or drops each.

Both sides of every full-height stud are straightened into strips, and a small network tells where in them a
box begins beside the face (`learned/box_model.py`). Without its weights no box is proposed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.learned import box_model
from vision.learned.box_model import BESIDE_IN, FACE_IN, PER_IN, ROWS_STEP, SeenBox
from vision.reading import Member, Opening
from vision.rectify import LATTICE_PX, spread_lattice
from vision.wall_plane import WallPlane

# Outlets are low, switches at half height, lamps above them (trade practice, no source).
LOWEST_IN, HIGHEST_IN = 4.0, 72.0
BELOW_TOP_IN = 4.0  # plates and what is nailed to them
LEAST_ROOM_IN = 2.6  # to the next stud: a box for one device, 2 1/4 in wide, and its wall
LEAST_IN_PHOTO = 0.5  # of a strip
# Tuning scenes, 196 boxes on 194 walls: 182 found and 7 false at 0.5, 178 and 6 here, 171 and 3 at 0.6.
LEAST_SHARE = 0.55
# How much a face differs at a box's height from the face above and below, in CIELAB and of the difference
# between the box and that face. Tuning scenes: 1 box of 178 has more, 4 of 11 things that are none.
LEAST_CHANGE, ACROSS_SHARE = 10.0, 0.8
FACE_MARGIN_PX = 2


@dataclass(frozen=True)
class _Strip:
    """What stands beside one side (-1 left, 1 right) of a stud: rows upward from LOWEST_IN."""

    pixels: NDArray[np.uint8]
    edge_in: NDArray[np.float64]  # where the face ends, per row
    side: int


def propose_boxes(
    rgb: NDArray[np.uint8], plane: WallPlane, members: Sequence[Member], height_in: float
) -> tuple[Opening, ...]:
    """Boxes beside full-height members, none of them sure.

    Parameters
    ----------
    rgb : ndarray, shape (H, W, 3), uint8
        The photo that `plane` belongs to.
    plane : WallPlane
    members : sequence of Member
        In wall inches, left to right.
    height_in : float
        Of the wall.
    """
    strips = _strips(rgb, plane, members, height_in)
    if not strips:
        return ()
    seen = box_model.find_boxes([strip.pixels for strip in strips], LEAST_SHARE)
    if seen is None:
        return ()
    found = [
        (box.share, _in_wall(box, strip))
        for strip, boxes in zip(strips, seen, strict=True)
        for box in boxes
        if not _runs_across_the_face(box, strip)
    ]
    found.sort(key=lambda each: -each[0])
    kept: list[Opening] = []
    for _, box in found:
        if not any(_touch(box, other) for other in kept):
            kept.append(box)
    return tuple(sorted(kept, key=lambda box: box.left_in))


def _strips(
    rgb: NDArray[np.uint8], plane: WallPlane, members: Sequence[Member], height_in: float
) -> list[_Strip]:
    """Both sides of every full-height member that has room beside it and stands in the photo."""
    rows = int((min(HIGHEST_IN, height_in - BELOW_TOP_IN) - LOWEST_IN) * PER_IN) // ROWS_STEP * ROWS_STEP
    if rows <= 0:
        return []
    up = LOWEST_IN + np.arange(rows) / PER_IN
    beside = np.arange(-FACE_IN, BESIDE_IN, 1 / PER_IN)
    tall = [m for m in members if m.kind == "full"]
    h, w = rgb.shape[:2]
    out = []
    for number, member in enumerate(tall):
        (foot_x, foot_y), (head_x, head_y) = plane.to_wall(np.array(member.front_px, float))
        lean = (head_x - foot_x) / (head_y - foot_y)
        for side in (-1, 1):
            if _room_in(tall, number, side) < LEAST_ROOM_IN:
                continue
            edge = foot_x + lean * (up - foot_y) + side * 0.5 * member.face_in
            at = _photo_map(plane, edge, up, side * beside)
            inside = (at > 1).all(-1) & (at[..., 0] < w - 2) & (at[..., 1] < h - 2)
            if inside.mean() < LEAST_IN_PHOTO:
                continue
            pixels = cv2.remap(rgb, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
            out.append(_Strip(np.asarray(pixels, np.uint8), edge, side))
    return out


def _room_in(tall: Sequence[Member], number: int, side: int) -> float:
    """From a face to the next one on that side."""
    beside = number + side
    if not 0 <= beside < len(tall):
        return float("inf")
    a, b = tall[number], tall[beside]
    return abs(b.centre_in - a.centre_in) - 0.5 * (a.face_in + b.face_in)


def _photo_map(
    plane: WallPlane, edge: NDArray[np.float64], up: NDArray[np.float64], beside: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Photo points (rows, columns, 2) at heights `up`, `beside` (columns,) a line at `edge` (rows,)."""
    rows = np.arange(0, len(up) + LATTICE_PX, LATTICE_PX)
    columns = np.arange(0, len(beside) + LATTICE_PX, LATTICE_PX)
    x = edge[0] + rows * (edge[1] - edge[0])
    x = x[:, None] + (beside[0] + columns * (beside[1] - beside[0]))
    y = np.broadcast_to((up[0] + rows * (up[1] - up[0]))[:, None], x.shape)
    return spread_lattice(plane.to_photo(np.stack([x, y], axis=-1)), len(beside), len(up))


def _in_wall(box: SeenBox, strip: _Strip) -> Opening:
    row = int(np.clip(round(box.middle_in * PER_IN), 0, len(strip.edge_in) - 1))
    left, right = sorted(float(strip.edge_in[row] + strip.side * x) for x in (box.near_in, box.far_in))
    middle = LOWEST_IN + box.middle_in
    return Opening("box", left, right, middle - 0.5 * box.height_in, middle + 0.5 * box.height_in)


def _runs_across_the_face(box: SeenBox, strip: _Strip) -> bool:
    """Whether the face at a box's height has the box's colour: a board, a level or a tape lies across it."""
    lab = cv2.cvtColor(strip.pixels.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    low, high = (round((box.middle_in + s * 0.5 * box.height_in) * PER_IN) for s in (-1, 1))
    low, high = max(low, 0), min(high, len(lab))
    trim, gap, reach = (high - low) // 5, PER_IN // 2, 2 * PER_IN
    face = lab[:, FACE_MARGIN_PX : round(FACE_IN * PER_IN) - FACE_MARGIN_PX]
    around = np.concatenate([face[max(low - reach, 0) : max(low - gap, 0)], face[high + gap : high + reach]])
    left, right = (round((FACE_IN + x) * PER_IN) for x in (box.near_in, box.far_in))
    beside = lab[low + trim : high - trim, max(left, 0) + 1 : right - 1]
    if not around.size or not beside.size:
        return False
    usual = around.mean((0, 1))
    changed = float(np.linalg.norm(face[low + trim : high - trim].mean((0, 1)) - usual))
    return changed > max(LEAST_CHANGE, ACROSS_SHARE * float(np.linalg.norm(beside.mean((0, 1)) - usual)))


def _touch(a: Opening, b: Opening) -> bool:
    """Two sides of one narrow bay show the same box."""
    return (
        a.left_in < b.right_in + 1
        and b.left_in < a.right_in + 1
        and a.bottom_in < b.top_in + 2
        and b.bottom_in < a.top_in + 2
    )
