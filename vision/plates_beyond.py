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

COLUMNS, ROWS = 500, 400  # of what is looked at, at most
ZONE = 0.03  # of the wall's height: how far a plate's line may be off where it is looked for
GAP = 0.06  # of the wall's length: what may hide a plate
LEAST_LONGER = 0.12  # of the wall's length
LEAST_FACES, FACE = 2, 0.5  # studs on what follows, share of front face over half the height
ASIDE = 0.3  # of the wall's length: so far inside the rectangle the plate must be seen, too
LEAST_SEEN = 4  # places where the plate's row is taken, on either side of the end
IN_LINE = 0.012  # of the wall's height: how far the plates on both sides may lie out of one line


def as_far_as_its_plates(
    region: Region, maps: WhatMaps, view: ViewDirections, scale: float, extent: tuple[float, float]
) -> Region:
    """The region, longer where a plate runs on in line with its own and studs stand along it.

    Parameters
    ----------
    region : Region
        Rectified units.
    maps : WhatMaps
        Of the photo's working copy, which is `scale` times as large as the photo.
    extent : (float, float)
        Left and right end of what the photo shows of the plane.
    """
    if region.cut_top and region.cut_bottom:
        return region
    height, step = region.height, max(region.width, 0.3 * (extent[1] - extent[0])) / COLUMNS
    margin, step_y = 2 * ZONE * height, max(step, (1 + 4 * ZONE) * height / ROWS)
    grid = grid_over(extent[0], region.top - margin, extent[1], region.bottom + margin, step, step_y)
    plate = sample(maps.plate, view, grid, scale)
    middle = grid_over(
        extent[0], region.top + 0.25 * height, extent[1], region.bottom - 0.25 * height, step, height / 80
    )
    standing = (sample(maps.front, view, middle, scale) > FACE).mean(0) > 0.5
    left, right = region.left, region.right
    for y, cut in ((region.top, region.cut_top), (region.bottom, region.cut_bottom)):
        if cut:
            continue
        line = follow_plate(plate, float(grid.row(y)), ZONE * height / step_y, 0, grid.width)
        right = max(right, _end_of_run(line, standing, grid, region, 1))
        left = min(left, _end_of_run(line, standing, grid, region, -1))
    return replace(region, left=left, right=right)


def _end_of_run(
    line: NDArray[np.float64], standing: NDArray[np.bool_], grid: RectGrid, region: Region, order: int
) -> float:
    """Where a plate's `line`, columns and rows (N, 2), ends beyond the region; `order`: 1 to the right."""
    here = region.right if order > 0 else region.left
    edge, length = float(grid.column(here)), region.width / grid.step
    if len(line) < 2 * LEAST_SEEN:
        return here
    away = (line[:, 0] - edge) * order
    inside = line[(away <= 0) & (away > -ASIDE * length)]
    x = np.sort(away[away > 0])
    breaks = np.flatnonzero(np.diff(np.concatenate([[0.0], x])) > GAP * length)
    run = x[: breaks[0]] if len(breaks) else x
    if min(len(run), len(inside)) < LEAST_SEEN or run[-1] < LEAST_LONGER * length:
        return here
    end = run[-1]
    beyond = line[(away > 0) & (away <= end)]
    slope = abs(np.polyfit(beyond[:, 0], beyond[:, 1], 1)[0]) * grid.step_y / grid.step
    # Both parts, each continued by its own line, meet at the end: a wall behind or before this one does not.
    meets = [np.polyval(np.polyfit(part[:, 0], part[:, 1], 1), edge) for part in (inside, beyond)]
    if slope > LEVEL or abs(meets[1] - meets[0]) * grid.step_y > IN_LINE * region.height:
        return here
    a, b = sorted((edge + order * 0.02 * length, edge + order * end))  # not the stud that the end cuts
    studs = runs_of(standing[int(max(0, a)) : int(b) + 1])
    return float(grid.x(edge + order * end)) if len(studs) >= LEAST_FACES else here
