"""A wall goes on where its plates do: a rectangle that ends short of them is made longer.

The map of "this wall" can end in the midst of a wall, at a post between two rooms or where the light ends.
The plates then run on in one line, with studs between them. Round a corner they do not: seen straight on,
the next wall's plates rise or fall (`wall_turns.py`).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.rectify import RectGrid, grid_over, sample
from vision.runs import runs_of
from vision.wall_region import Region
from vision.wall_turns import LEVEL, follow_plate
from vision.what import WhatMaps

COLUMNS = 500  # in which the rectangle is looked at
ZONE = 0.03  # of the wall's height: how far a plate's line may be off where it is looked for
GAP = 0.06  # of the wall's length: what may hide a plate
LEAST_LONGER = 0.12  # of the wall's length
LEAST_FACES, FACE = 2, 0.5  # studs on what follows, share of front face over half the height
ASIDE = 0.3  # of the wall's length: how far the plate's line is taken from inside the rectangle


def as_far_as_its_plates(
    region: Region, maps: WhatMaps, view: ViewDirections, scale: float, extent: tuple[float, float]
) -> Region:
    """The region, longer where a plate runs on level and studs stand along it.

    Parameters
    ----------
    region : Region
        Rectified units.
    maps : WhatMaps
        Of the photo's working copy, which is `scale` times as large as the photo.
    extent : (float, float)
        Left and right end of what the photo shows of the plane.
    """
    margin, height = 2 * ZONE * region.height, region.height
    step = region.width / COLUMNS
    grid = grid_over(extent[0], region.top - margin, extent[1], region.bottom + margin, step)
    plate = sample(maps.plate, view, grid, scale)
    r0, r1 = (int(grid.row(region.top + share * height)) for share in (0.25, 0.75))
    rows = np.linspace(r0, r1, 40).astype(int)
    faces = sample(maps.front, view, grid, scale)[rows] > FACE
    standing = faces.mean(0) > 0.5
    left, right = region.left, region.right
    for y, cut in ((region.top, region.cut_top), (region.bottom, region.cut_bottom)):
        if cut:
            continue
        line = follow_plate(plate, float(grid.row(y)), ZONE * height / step, 0, grid.width)
        right = max(right, _end_of_run(line, standing, grid, region, 1))
        left = min(left, _end_of_run(line, standing, grid, region, -1))
    return replace(region, left=left, right=right)


def _end_of_run(
    line: NDArray[np.float64], standing: NDArray[np.bool_], grid: RectGrid, region: Region, order: int
) -> float:
    """Where a plate's `line`, columns and rows (N, 2), ends beyond the region; `order`: 1 to the right."""
    here = region.right if order > 0 else region.left
    edge, length = float(grid.column(here)), region.width / grid.step
    beyond = line[(line[:, 0] - edge) * order > 0] if len(line) else line
    beside = line[(np.abs(line[:, 0] - edge) < ASIDE * length)] if len(line) else line
    if not len(beyond) or not len(beside):
        return here
    x = np.sort((beyond[:, 0] - edge) * order)
    breaks = np.flatnonzero(np.diff(np.concatenate([[0.0], x])) > GAP * length)
    run = x[: breaks[0]] if len(breaks) else x
    if not len(run) or run[-1] < LEAST_LONGER * length:
        return here
    end = run[-1]
    on = beyond[(beyond[:, 0] - edge) * order <= end]
    if len(on) < 3 or abs(np.polyfit(on[:, 0], on[:, 1], 1)[0]) > LEVEL:
        return here
    a, b = sorted((edge, edge + order * end))
    studs = runs_of(standing[int(max(0, a)) : int(b) + 1])
    return float(grid.x(edge + order * end)) if len(studs) >= LEAST_FACES else here
