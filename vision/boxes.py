"""Electrical boxes proposed beside the studs that carry them; the user accepts or drops each.

A box for one or two switches is fixed to the side of a stud, its rim near the front faces: a small rectangle
that begins where the face ends.  It is looked for by its shape alone, since boxes come in every colour: an
upper edge, a lower edge and a far side that stand out from the picture beside them and end where a box ends.
What runs on across the bay (blocking, a seam of the sheathing, a cable) is none.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.reading import Member, Opening
from vision.rectify import LATTICE_PX, spread_lattice
from vision.wall_plane import WallPlane

Floats = NDArray[np.float32]

PER_IN = 8
REACH_IN = 6.5  # how far beside a face the picture is looked at
LOWEST_IN, HIGHEST_IN = 5.0, 64.0  # where outlets and switches are (trade practice, no source)
# One switch or outlet is about 2 1/4 x 3 3/4 in, two about 4 x 3 3/4 or 4 x 4 (common practice, no source).
WIDTHS_IN = (2.0, 2.125, 2.25, 2.375, 2.5, 3.75, 4.0, 4.25)
HEIGHTS_IN = (3.5, 3.625, 3.75, 3.875, 4.0, 4.125)
ACROSS_PX = 2  # a step is the difference between what lies this far on either side of it
BEYOND_IN = (0.4, 2.2)  # where an edge of a box must have ended
# Chosen on tuning scenes (see `tests/benchmarks/boxes.py`).
LEAST_STEP = 5.0  # CIELAB units, the weakest of the three sides
NOISE_PERCENT = 90.0  # of the rows beside a face: leaves and shelves behind a wall are all edges
LEAST_OVER_NOISE = 2.0
HALF_SLACK = 1.5  # each half of a side alone shows it too: a brace or a shadow that runs aslant does not
MOST_BEYOND = 0.5  # of a side's own strength


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
    tall = [m for m in members if m.kind == "full"]
    low, high = LOWEST_IN, min(HIGHEST_IN, height_in - 8.0)
    if high - low < 12.0:
        return ()
    found: list[tuple[float, Opening]] = []
    for number, member in enumerate(tall):
        for side in (-1, 1):
            beside = number + side
            room_in = REACH_IN
            if 0 <= beside < len(tall):
                gap = abs(tall[beside].centre_in - member.centre_in)
                room_in = gap - 0.5 * (tall[beside].face_in + member.face_in)
            if room_in < REACH_IN:
                continue
            found += _beside(rgb, plane, member, side, low, high)
    found.sort(key=lambda each: -each[0])
    kept: list[Opening] = []
    for _, box in found:
        if not any(_touch(box, other) for other in kept):
            kept.append(box)
    return tuple(sorted(kept, key=lambda box: box.left_in))


def _touch(a: Opening, b: Opening) -> bool:
    return (
        a.left_in < b.right_in + 1
        and b.left_in < a.right_in + 1
        and a.bottom_in < b.top_in + 2
        and (b.bottom_in < a.top_in + 2)
    )


def _beside(
    rgb: NDArray[np.uint8], plane: WallPlane, member: Member, side: int, low_in: float, high_in: float
) -> list[tuple[float, Opening]]:
    """The best boxes beside one face, with how much they stand out."""
    foot, head = plane.to_wall(np.array(member.front_px, float))
    v = np.arange(low_in, high_in, 1.0 / PER_IN)
    ends = sorted([(foot[1], foot[0]), (head[1], head[0])])
    along = np.interp(v, [e[0] for e in ends], [e[1] for e in ends])
    face_px = max(4, round(member.face_in * PER_IN))
    u = np.arange(-face_px, round(REACH_IN * PER_IN)) / PER_IN
    at = _photo_map(plane, along, v, side * (0.5 * member.face_in + u))
    h, w = rgb.shape[:2]
    inside = (at[..., 0] > 1) & (at[..., 1] > 1) & (at[..., 0] < w - 2) & (at[..., 1] < h - 2)
    if inside.mean() < 0.6:
        return []
    strip = cv2.remap(rgb, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    lab = cv2.cvtColor(strip.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB)
    lab = cv2.GaussianBlur(lab, (0, 0), 0.8)
    out = []
    for score, row, height, width in _rectangles(lab, face_px):
        near = along[min(row + height // 2, len(along) - 1)] + side * 0.5 * member.face_in
        far = near + side * width / PER_IN
        bottom = low_in + row / PER_IN
        box = Opening(
            "box",
            float(min(near, far)),
            float(max(near, far)),
            float(bottom),
            float(bottom + height / PER_IN),
        )
        out.append((score, box))
    return out


def _photo_map(
    plane: WallPlane, along: NDArray[np.float64], v: NDArray[np.float64], beside: NDArray[np.float64]
) -> Floats:
    """Photo points (rows, columns, 2) of the strip `beside` (columns,) a line at `along`, heights `v`."""
    rows = np.arange(0, len(v) + LATTICE_PX, LATTICE_PX)
    columns = np.arange(0, len(beside) + LATTICE_PX, LATTICE_PX)
    x = np.interp(rows, np.arange(len(v)), along)[:, None] + (beside[0] + columns * (beside[1] - beside[0]))
    y = np.broadcast_to((v[0] + rows * (v[1] - v[0]))[:, None], x.shape)
    lattice = plane.to_photo(np.stack([x, y], axis=-1))
    return spread_lattice(lattice, len(beside), len(v))


def _rectangles(lab: Floats, face_px: int) -> list[tuple[float, int, int, int]]:
    """Rectangles that begin at column `face_px`, where the face ends, and stand out: score, first row,
    rows, columns."""
    rows, columns = lab.shape[:2]
    d = ACROSS_PX
    sums = cv2.integral(lab, sdepth=cv2.CV_64F)  # of all above and to the left
    beyond = [round(b * PER_IN) for b in BEYOND_IN]

    def across(first: NDArray[np.int64], last: NDArray[np.int64]) -> NDArray[np.float64]:
        """How much the mean of columns `first` to `last` (K,) changes at each row (rows, K), as a step or
        as a thin line."""
        mean = np.diff(sums[:, last] - sums[:, first], axis=0) / (last - first)[:, None]
        up, down = mean[: -2 * d], mean[2 * d :]
        step = _length(up - down)
        line = _length(mean[d:-d] - 0.5 * (up + down))
        out = np.zeros(mean.shape[:2])
        out[d + 1 : -d - 1] = np.maximum(step, 1.5 * line)[1:-1]
        return out

    def along(first: NDArray[np.int64], count: int, column: int) -> NDArray[np.float64]:
        """How much the mean of `count` rows from `first` on changes at a column."""
        a, b = np.clip(first, 0, rows), np.clip(first + count, 0, rows)
        n = np.maximum(b - a, 1)[:, None]
        at = [
            (sums[b, c + 1] - sums[b, c] - sums[a, c + 1] + sums[a, c]) / n
            for c in (column - d, column, min(column + d, columns - 1))
        ]
        step = _length(at[2] - at[0])
        line = _length(at[1] - 0.5 * (at[0] + at[2]))
        return np.maximum(step, 1.5 * line)

    widths = np.array([round(w * PER_IN) for w in WIDTHS_IN])
    sides, middles, start = face_px + widths, face_px + widths // 2, np.full(len(widths), face_px + 2)
    # A box is beside the face: a board or a tape across it is none.
    on_face = across(np.array([1]), np.array([face_px - 1]))
    halves = np.minimum(across(start, middles), across(middles, sides - 1))
    edges = np.minimum(across(start, sides - 1), HALF_SLACK * halves)
    leasts = np.maximum(LEAST_STEP, LEAST_OVER_NOISE * (np.percentile(edges, NOISE_PERCENT, axis=0) + 0.5))
    outside = across(sides + beyond[0], np.minimum(sides + beyond[1], columns))
    strongs = (edges > leasts) & (np.maximum(outside, on_face) < MOST_BEYOND * edges)
    best: list[tuple[float, int, int, int]] = []
    for width, side, least, edge, strong in zip(widths, sides, leasts, edges.T, strongs.T, strict=True):
        for height_in in HEIGHTS_IN:
            height = round(height_in * PER_IN)
            first = np.flatnonzero(strong[:-height] & strong[height:])
            if not len(first):
                continue
            half = height // 2
            parts = np.minimum(along(first + 2, half - 2, side), along(first + half, half - 2, side))
            far = np.minimum(along(first + 2, height - 4, side), HALF_SLACK * parts)
            pad = round(2.0 * PER_IN)
            above = along(first + height + beyond[0], pad, side)
            below = along(first - beyond[0] - pad, pad, side)
            ends = np.maximum(above, below) / (far + 1e-6)
            for k in np.flatnonzero((far > least) & (ends < MOST_BEYOND)):
                row = int(first[k])
                score = float(edge[row] + edge[row + height] + far[k])
                best.append((score, row, height, int(width)))
    best.sort(key=lambda each: -each[0])
    kept: list[tuple[float, int, int, int]] = []
    for each in best:
        if all(each[1] >= k[1] + k[2] or k[1] >= each[1] + each[2] for k in kept):
            kept.append(each)
    return kept


def _length(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.sqrt(np.einsum("...c,...c->...", vectors, vectors))
