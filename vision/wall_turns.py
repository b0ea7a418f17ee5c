"""Where the wall's plates bend, the wall turns a corner: what follows is another wall.

Seen straight on, a wall's plates run level. The plates of a wall that meets it at a corner run towards
another vanishing point (Hartley & Zisserman 2004, §8.6): in the same picture they rise or fall from the
corner on. Studs line up across a corner, plates do not.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.rectify import RectGrid
from vision.runs import runs_of
from vision.wall_region import Region
from vision.what import WhatMaps

PLATE = 0.4  # least share of plate where its line is followed
ZONE = 0.06  # of the wall's height: how far the plate's line may be off where it is looked for
STEP = 4  # columns from one place where the plate's row is taken to the next
FOLLOW = 0.6  # how fast the search follows the plate from one such place to the next
LEAST_SEEN = 12  # such places
# What follows the bend: least slope, share of the wall's length, share of that length in which the plate is
# seen, and how far it has risen or fallen at its end, as a share of the wall's height. The straight plates of
# 188 tuning walls come to a rise of 0.04 at most, two real rooms' corners to 0.075 and 0.09.
TURNS, LEAST_RUN, LEAST_SHARE, LEAST_RISE = 0.08, 0.07, 0.5, 0.06
# The plate's line rounds the corner: the bend is found up to so far inside this wall, as a share of its
# height (0.05 and 0.08 in two rooms), and the stud in the corner is this wall's.
ROUNDED = 0.08
LEVEL = 0.05  # slope of a plate that is this wall's
LEAST_LEVEL = 0.3  # of the length; where less is level, the view is wrong and the wall not bent
STRAIGHTER = 0.4  # the bent line leaves so much of a straight one's squares
# Where the bend is tried, as shares of the plate's length: all along, then about the best.
BENDS_TRIED, BENDS_NEARBY = np.arange(0.1, 0.91, 0.02), np.arange(-0.018, 0.019, 0.002)


@dataclass(frozen=True)
class Bend:
    """A plate's line that bends.

    Attributes
    ----------
    at : float
        Column of the corner.
    level_left : bool
        The level part, this wall's, lies left of it.
    rise : float
        How far the other part has risen or fallen at its end, as a share of the wall's height.
    """

    at: float
    level_left: bool
    rise: float


def up_to_the_corner(region: Region, grid: RectGrid, maps: WhatMaps) -> Region | None:
    """The region as far as its plates run level; None where they do all along, or hardly show."""
    if region.tapped:
        return None
    bends = [
        bend
        for y, cut in ((region.top, region.cut_top), (region.bottom, region.cut_bottom))
        if not cut and (bend := plate_bend(region, grid, maps.plate, float(grid.row(y)))) is not None
    ]
    if not bends:
        return None
    bend = max(bends, key=lambda one: one.rise)
    x, beyond = float(grid.x(bend.at)), ROUNDED * region.height
    if bend.level_left:
        return replace(region, right=min(x + beyond, region.right), cut_right=False)
    return replace(region, left=max(x - beyond, region.left), cut_left=False)


def plate_bend(region: Region, grid: RectGrid, plate: NDArray[np.float32], row: float) -> Bend | None:
    """Where the plate that runs near `row` bends; None where it is straight.

    `plate` (H, W) is the share of plate at each pixel of `grid`.
    """
    found = plate_along(region, grid, plate, row)
    if found is None:
        return None
    line, length, height = found
    x, y = line[:, 0], line[:, 1] * (grid.step_y / grid.step)
    straight = float(np.polyfit(x, y, 1, full=True)[1].sum())
    span = x[-1] - x[0]
    at = _best_bend(x, y, x[0] + BENDS_TRIED * span)
    at = _best_bend(x, y, at + BENDS_NEARBY * span)
    (_, before, after), squares = _bent(x, y, at)
    level_left = bool(abs(before) < abs(after))
    level, turned = (before, after) if level_left else (after, before)
    run = x[-1] - at if level_left else at - x[0]
    seen = STEP * int((x > at).sum() if level_left else (x < at).sum()) / max(1.0, run)
    rise = abs(turned - level) * run / (height * (grid.step_y / grid.step))
    plain = (
        squares < STRAIGHTER * straight
        and abs(level) < LEVEL
        and abs(turned) > TURNS
        and LEAST_RUN * length < run < (1 - LEAST_LEVEL) * length
        and seen > LEAST_SHARE
        and rise > LEAST_RISE
    )
    return Bend(at, level_left, float(rise)) if plain else None


def _bent(x: NDArray[np.float64], y: NDArray[np.float64], at: float) -> tuple[NDArray[np.float64], float]:
    """Height at the bend and slopes before and after it, of the best line through (x, y) bent at `at`; the
    squares it leaves."""
    terms = np.column_stack([np.ones(len(x)), np.minimum(0, x - at), np.maximum(0, x - at)])
    found = np.linalg.lstsq(terms, y, rcond=None)[0]
    return found, float(np.sum((terms @ found - y) ** 2))


def _best_bend(x: NDArray[np.float64], y: NDArray[np.float64], tried: NDArray[np.float64]) -> float:
    return float(min(tried, key=lambda at: _bent(x, y, float(at))[1]))


def plate_along(
    region: Region, grid: RectGrid, plate: NDArray[np.float32], row: float
) -> tuple[NDArray[np.float64], int, float] | None:
    """The plate that runs near `row` along the wall, as `follow_plate`; the wall's columns, and its rows.

    None where too little of the plate is seen.
    """
    height = float(grid.row(region.bottom) - grid.row(region.top))
    first = int(max(0, grid.column(region.left)))
    end = int(min(grid.width, grid.column(region.right) + 1))
    line = follow_plate(plate, row, ZONE * height, first, end)
    return None if len(line) < LEAST_SEEN else (line, end - first, height)


def follow_plate(
    plate: NDArray[np.float32], row: float, zone: float, first: int, end: int
) -> NDArray[np.float64]:
    """Columns and rows (N, 2) of one plate's middle, every STEP columns, from its longest run outwards."""
    height = len(plate)
    a, b = int(max(0, row - zone)), int(min(height, row + zone + 1))
    if b - a < 3 or end <= first:
        return np.zeros((0, 2))
    strip = plate[a:b, first:end]
    runs = runs_of(strip.max(0) > PLATE)
    if not runs:
        return np.zeros((0, 2))
    low, high = max(runs, key=lambda one: one[1] - one[0])
    middle = first + (low + high) // 2
    share = strip[:, middle - first]
    begin = a + float(share @ np.arange(len(share)) / share.sum())
    found = []
    for columns in (range(middle, end, STEP), range(middle - STEP, first - 1, -STEP)):
        at = begin
        for c in columns:
            r0, r1 = int(max(0, at - zone)), int(min(height, at + zone + 1))
            part = plate[r0:r1, c]
            if r1 - r0 < 2 or part.max() <= PLATE:
                continue
            here = float(part @ np.arange(r0, r1) / part.sum())
            at += FOLLOW * (here - at)
            found.append((c, here))
    return np.array(sorted(found), np.float64)
