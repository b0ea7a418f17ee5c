"""A wall goes on where its plates do: a rectangle that ends short of them is made longer.

The map of "this wall" can end in the midst of a wall, at a post between two rooms or where the light ends.
The plates then run on in one line, with studs between them. Round a corner they do not: seen straight on,
the next wall's plates rise or fall (`wall_turns.py`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

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
FACE = 0.5  # share of front face over half the height: a stud stands there
ASIDE = 0.3  # of the wall's length: so far inside the rectangle the plate must be seen, too
LEAST_SEEN = 4  # places where the plate's row is taken, on either side of the end


@dataclass(frozen=True)
class Beyond:
    """What must follow a gap in a plate for the wall to go on behind it; two of them in wall lengths."""

    gap: float
    longer: float
    studs: int
    in_line: float  # of the wall's height: how far the plates on both sides may lie out of one line


ONE_PLATE = Beyond(0.06, 0.12, 2, 0.012)
BOTH_PLATES = Beyond(0.2, 0.3, 3, 0.02)  # a beam in its pocket, a duct or a ladder hides more of both


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
    return longer(region, plate, standing, grid)


def longer(region: Region, plate: NDArray[np.float32], standing: NDArray[np.bool_], grid: RectGrid) -> Region:
    """The region as far as its plates run on.

    Parameters
    ----------
    region : Region
        Rectified units.
    plate : (H, W) array
        Share of plate at each pixel of `grid`.
    standing : (W,) bool array
        Columns in which a stud stands.
    """
    lines = [
        follow_plate(plate, float(grid.row(y)), ZONE * region.height / grid.step_y, 0, grid.width)
        for y, cut in ((region.top, region.cut_top), (region.bottom, region.cut_bottom))
        if not cut
    ]

    def end(order: int) -> float:
        """How far the wall goes on, rectified units: as one plate says, or both together."""
        one, both = (
            [_run_beyond(line, standing, grid, region, order, asked) for line in lines]
            for asked in (ONE_PLATE, BOTH_PLATES)
        )
        return max(one + both if len(both) == 2 and min(both) > 0 else one, default=0.0)

    return replace(region, left=region.left - end(-1), right=region.right + end(1))


def _run_beyond(
    line: NDArray[np.float64],
    standing: NDArray[np.bool_],
    grid: RectGrid,
    region: Region,
    order: int,
    asked: Beyond,
) -> float:
    """How far a plate's `line`, columns and rows (N, 2), runs beyond the region; `order`: 1 to the right."""
    here = region.right if order > 0 else region.left
    edge, length = float(grid.column(here)), region.width / grid.step
    if len(line) < 2 * LEAST_SEEN:
        return 0.0
    away = (line[:, 0] - edge) * order
    inside = line[(away <= 0) & (away > -ASIDE * length)]
    x = np.sort(away[away > 0])
    breaks = np.flatnonzero(np.diff(np.concatenate([[0.0], x])) > asked.gap * length)
    run = x[: breaks[0]] if len(breaks) else x
    if min(len(run), len(inside)) < LEAST_SEEN or run[-1] < asked.longer * length:
        return 0.0
    end = run[-1]
    beyond = line[(away > 0) & (away <= end)]
    slope = abs(np.polyfit(beyond[:, 0], beyond[:, 1], 1)[0]) * grid.step_y / grid.step
    # Both parts, each continued by its own line, meet at the end: a wall behind or before this one does not.
    meets = [np.polyval(np.polyfit(part[:, 0], part[:, 1], 1), edge) for part in (inside, beyond)]
    if slope > LEVEL or abs(meets[1] - meets[0]) * grid.step_y > asked.in_line * region.height:
        return 0.0
    a, b = sorted((edge + order * 0.02 * length, edge + order * end))  # not the stud that the end cuts
    studs = runs_of(standing[int(max(0, a)) : int(b) + 1])
    return float(end * grid.step) if len(studs) >= asked.studs else 0.0
