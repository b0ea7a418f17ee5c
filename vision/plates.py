"""The plates bound the wall: pull a rough region to the outer edges of its plates."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.edges import edge_votes, sheared_mean
from vision.rectify import RectGrid
from vision.runs import runs_of
from vision.wall_region import Region
from vision.what import WhatMaps

PLATE_SHARE = 0.22  # of the wall's length over which a row must show plate; clutter hides the rest
# What the wall's plates go on past, as shares of its length, and the share of a gap that a header spans.
SHORT_GAP, LONG_RUN, HEADER_SPANS = 0.04, 0.12, 0.6
PHOTO_ENDS = (
    0.02  # of the wall's length: where the photo shows less than this beyond an end, it cuts the wall
)
PLAINLY_WALL = 0.88
PLATES_PULL = 0.16  # of the wall's length: how far a side is pulled to where the plates end
PLATE_ZONE = 0.05  # of the wall's height at top and bottom, in which its plates are looked for


def plates_seen(
    plate: NDArray[np.float32], row_top: int, row_bottom: int
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Share of top plate and of bottom plate per column (W,), from the map of plates (H, W)."""
    zone = max(2, round(PLATE_ZONE * (row_bottom - row_top)))
    top = plate[max(0, row_top - 2) : row_top + zone].max(0)
    return top, plate[max(0, row_bottom - zone) : row_bottom + 2].max(0)


def refine_region(
    region: Region, grid: RectGrid, maps: WhatMaps, lab: NDArray[np.float32], seen: NDArray[np.bool_]
) -> Region:
    """Pull the region's sides to the plates where they are seen, else to where the finer map ends."""
    region = _refine_rows(region, grid, maps, lab, seen)
    return _refine_columns(region, grid, maps, seen)


def _crossing(profile: NDArray[np.float64], near: float, reach: float, rising: bool) -> float | None:
    """Where `profile` crosses 0.5 nearest to index `near`, within `reach`."""
    p = profile if rising else -profile
    level = 0.5 if rising else -0.5
    k = np.flatnonzero((p[:-1] < level) & (p[1:] >= level))
    if not len(k):
        return None
    at = k + (level - p[k]) / np.maximum(p[k + 1] - p[k], 1e-9)
    j = int(np.argmin(np.abs(at - near)))
    return float(at[j]) if abs(at[j] - near) <= reach else None


def _refine_rows(
    region: Region, grid: RectGrid, maps: WhatMaps, lab: NDArray[np.float32], seen: NDArray[np.bool_]
) -> Region:
    c0, c1 = int(max(0, grid.column(region.left))), int(min(grid.width, grid.column(region.right) + 1))
    ok = seen[:, c0:c1]
    n = np.maximum(ok.sum(1), 1)
    enough = ok.mean(1) > 0.2
    wall = np.where(enough, (maps.wall[:, c0:c1] * ok).sum(1) / n, 0.0)
    plate = np.where(enough, (maps.plate[:, c0:c1] * ok).sum(1) / n, 0.0)
    wall = cv2.blur(wall.reshape(-1, 1), (1, 5)).ravel()
    edges = edge_votes(lab, seen, c0, c1 - 1, 1.2, axis=1)
    share, _ = sheared_mean(edges.votes, edges.seen, float(c1 - c0))
    height = region.height / grid.step_y
    found = []
    for y, first, cut in ((region.top, True, region.cut_top), (region.bottom, False, region.cut_bottom)):
        near = float(grid.row(y))
        at = _plate_edge(plate, near, height, first, 0.05 if region.tapped else 0.2)
        if at is None and not cut:
            at = _crossing(wall, near, 0.06 * height, first)
        if at is None:
            found.append(y)
            continue
        # Snap to the strongest edge across the wall close by: the outer edge of the plate.
        j = np.arange(len(share))
        pull = share * np.exp(-0.5 * ((j - at) / (0.010 * height)) ** 2)
        k = int(np.argmax(pull))
        found.append(float(grid.y(k if pull[k] > 0.2 else at)))
    if found[1] - found[0] < 0.5 * region.height:
        return region
    return replace(region, top=found[0], bottom=found[1])


def _plate_edge(
    plate: NDArray[np.float64], near: float, height: float, first: bool, inward: float
) -> float | None:
    """Row of the outer edge of the outermost plate, between a little outside and `inward` inside."""
    sign = 1 if first else -1
    lo, hi = sorted((near - sign * 0.05 * height, near + sign * inward * height))
    a, b = int(max(0, lo)), int(min(len(plate), hi + 1))
    if b - a < 3:
        return None
    part = plate[a:b]
    level = max(PLATE_SHARE, 0.5 * float(part.max()))
    on = np.flatnonzero(part > level)
    if not len(on):
        return None
    k = int(on[0] if first else on[-1])
    return float(a + k)


def _run_of_plates(both: NDArray[np.bool_], head: NDArray[np.float32]) -> NDArray[np.int64]:
    """Columns, first and last, of the run of plates that is this wall; empty when none is seen.

    From the longest run outwards. Past a gap the wall goes on where a header spans it (a door has no
    bottom plate), where the gap is short, or where a long run follows (clutter hid the plate between):
    else what follows is the next wall's plate, which lines up with ours in a corner.
    """
    runs = runs_of(both)
    if not runs:
        return np.zeros(0, np.int64)
    n = len(both)
    k = max(range(len(runs)), key=lambda i: runs[i][1] - runs[i][0])
    low, high = runs[k]

    def goes_on(gap: slice, run: tuple[int, int]) -> bool:
        spanned = float((head[gap] > 0.4).mean()) > HEADER_SPANS
        return spanned or gap.stop - gap.start < SHORT_GAP * n or run[1] - run[0] > LONG_RUN * n

    for run in runs[k + 1 :]:
        if not goes_on(slice(high, run[0]), run):
            break
        high = run[1]
    for run in reversed(runs[:k]):
        if not goes_on(slice(run[1], low), run):
            break
        low = run[0]
    return np.array([low, high - 1], np.int64)


def _refine_columns(region: Region, grid: RectGrid, maps: WhatMaps, seen: NDArray[np.bool_]) -> Region:
    r0, r1 = int(max(0, grid.row(region.top))), int(min(grid.height, grid.row(region.bottom) + 1))
    ok = seen[r0:r1]
    n = np.maximum(ok.sum(0), 1)
    wall = np.where(ok.mean(0) > 0.2, (maps.wall[r0:r1] * ok).sum(0) / n, 0.0)
    wall = cv2.blur(wall.reshape(1, -1), (5, 1)).ravel()
    # The wall reaches as far as both its plates do; one alone may be a neighbour's that lines up.
    top, bottom = plates_seen(maps.plate, r0, r1)
    both = cv2.blur(np.minimum(top, bottom).reshape(1, -1), (7, 1)).ravel() > 0.4
    # Behind clutter on the floor the top plate alone counts, where the rest plainly is this wall.
    both |= (cv2.blur(top.reshape(1, -1), (7, 1)).ravel() > 0.6) & (wall > PLAINLY_WALL)
    c0, c1 = grid.column(region.left), grid.column(region.right)
    first = max(0, int(c0))
    head = maps.across[r0 + (r1 - r0) // 12 : r0 + (r1 - r0) // 2].max(0)
    on = _run_of_plates(both[first : int(c1) + 1], head[first : int(c1) + 1]) + first
    sides = []
    for x, rising, cut in ((region.left, True, region.cut_left), (region.right, False, region.cut_right)):
        near = float(grid.column(x))
        at = None if cut else _crossing(wall, near, 0.05 * region.width / grid.step, rising)
        side = x if at is None else float(grid.x(at))
        if len(on) and on[1] - on[0] > 0.3 * (c1 - c0):
            edge = float(on[0] if rising else on[-1])
            if abs(edge - grid.column(side)) < PLATES_PULL * (c1 - c0):
                side = float(grid.x(edge))
        sides.append(side)
    near = max(2, round(PHOTO_ENDS * (c1 - c0)))
    a, b = round(float(grid.column(sides[0]))), round(float(grid.column(sides[1])))
    outside = ok[:, max(0, a - near) : max(0, a - 1)], ok[:, b + 2 : b + 1 + near]
    return replace(
        region,
        left=sides[0],
        right=sides[1],
        cut_left=region.cut_left or outside[0].size == 0 or bool(outside[0].mean() < 0.5),
        cut_right=region.cut_right or outside[1].size == 0 or bool(outside[1].mean() < 0.5),
    )
