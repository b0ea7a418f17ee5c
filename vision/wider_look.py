"""Look once more, straight on and wider: does the wall go on beyond what was taken for it?

In the whole photo, aslant and small, a beam's post, a duct or a ladder can end the map of "this wall" midway.
Straightened and larger the same network often sees the rest, and the plates run on in line
(`plates_beyond.py`).
"""

from __future__ import annotations

from vision.plates_beyond import FACE, ONE_PLATE, longer
from vision.rectify import grid_over, photo_extent, pick, sampling_map
from vision.viewing import Viewed, narrowed
from vision.what import look

REACH = 2.0  # walls: how far beyond the region is looked, as photo_extent has it
MARGIN = 0.06  # of the wall's height, above and below
LONG_SIDE_PX = 896  # of what is looked at: at 640 one wall of two that go on is found, at 896 both


def wider(viewed: Viewed) -> Viewed | None:
    """The view of a wall that goes on beyond the region, fitted anew; None where it does not."""
    region = viewed.region
    if region is None or region.tapped or not viewed.model or (region.cut_top and region.cut_bottom):
        return None
    h, w = viewed.working_rgb.shape[:2]
    k = viewed.scale
    first, _, last, _ = photo_extent(viewed.view, round(w / k), round(h / k), REACH)
    left = region.left if region.cut_left else max(first, region.left - REACH * region.width)
    right = region.right if region.cut_right else min(last, region.right + REACH * region.width)
    if max(region.left - left, right - region.right) < ONE_PLATE.longer * region.width:
        return None
    margin = MARGIN * region.height
    left, right = min(left, region.left), max(right, region.right)
    grid = grid_over(left, region.top - margin, right, region.bottom + margin, (right - left) / LONG_SIDE_PX)
    maps = look(pick(viewed.working_rgb, sampling_map(viewed.view, grid, k)), LONG_SIDE_PX)
    if maps is None:
        return None
    quarter = 0.25 * region.height
    middle = slice(int(grid.row(region.top + quarter)), int(grid.row(region.bottom - quarter)))
    standing = (maps.front[middle] > FACE).mean(0) > 0.5
    found = longer(region, maps.plate, standing, grid)
    return None if found == region else narrowed(viewed, found)
