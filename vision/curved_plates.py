"""Plates that curve: a panorama, whose columns look in as many directions, or a lens beyond what is undone.

Seen straight on, straight plates are straight. A panorama lies on a cylinder about a plumb axis (Szeliski
2010, Computer Vision, §9.1.6; section from memory): plumb lines stay straight in it, level ones curve towards
the middle's height at both ends, so that the view is found as ever and every place along the wall is wrong.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.rectify import RectGrid
from vision.wall_region import Region
from vision.wall_turns import LEAST_SEEN, plate_along
from vision.what import WhatMaps

# How far both plates are from straight over the wall's length, as shares of its height, each away from the
# other in the middle; how far the points stray from the parabola, as a share of that; over how much of the
# wall's length a plate is seen. Of 377 photos (tuning, another generator's, 22 real ones) none is so.
CURVED, STRAY, LEAST_SPAN = 0.008, 0.25, 0.5
OUTLIER, ROUNDS = 3.0, 3  # medians of the points' strays; of fitting without them


@dataclass(frozen=True)
class Curve:
    """How a plate curves over the wall's length.

    Attributes
    ----------
    rise : float
        How far its middle lies outside the line through its ends, away from the wall's middle; of the height.
    stray : float
        Standard deviation of its points from the parabola, of the wall's height.
    span : float
        Share of the wall's length over which it is seen.
    """

    rise: float
    stray: float
    span: float


def plates_curve(region: Region, grid: RectGrid, maps: WhatMaps) -> bool:
    """Whether this wall's plates curve as in a panorama."""
    top, bottom = (
        None if cut else plate_curve(region, grid, maps.plate, float(grid.row(y)), outward)
        for y, cut, outward in ((region.top, region.cut_top, -1), (region.bottom, region.cut_bottom, 1))
    )
    return all(
        c is not None and c.rise > CURVED and c.stray < STRAY * c.rise and c.span > LEAST_SPAN
        for c in (top, bottom)
    )


def plate_curve(
    region: Region, grid: RectGrid, plate: NDArray[np.float32], row: float, outward: int
) -> Curve | None:
    """How the plate that runs near `row` curves; None where too little of it is seen.

    `plate` (H, W): share of plate at each pixel of `grid`; `outward`: the sign of rows away from the wall.
    """
    found = plate_along(region, grid, plate, row)
    if found is None:
        return None
    line, length, height = found
    x, y = line[:, 0] / length, line[:, 1] / height
    x = x - x.mean()
    for _ in range(ROUNDS):
        fit = np.polyfit(x, y, 2)
        away = np.abs(y - np.polyval(fit, x))
        near = away <= OUTLIER * max(1e-4, float(np.median(away)))
        if near.sum() < LEAST_SEEN:
            return None
        x, y = x[near], y[near]
    stray = float(np.std(y - np.polyval(fit, x)))
    return Curve(float(-outward * fit[0] / 4), stray, float(np.ptp(x)))
