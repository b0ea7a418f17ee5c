"""The wall's plane seen straight on, with what each pixel shows."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vision.edges import EdgeBands, band_mean, edge_votes, lab_of
from vision.photo import Photo
from vision.plates import refine_region
from vision.rectify import RectGrid, grid_over, pick, sampling_map, within
from vision.viewing import Viewed
from vision.wall_region import Region
from vision.what import LONG_SIDE_WALL_PX, WhatMaps, look

MARGIN = 0.05  # of the wall's length and height, kept around it
MOST_COLUMNS = 1700
# A wall that fills little of a large photo is sampled from a larger copy, up to this many columns.
ENOUGH_COLUMNS, WORTH_IT = 1300, 1.25
BLUR, BLUR_RANGE_PX = 0.12, (0.7, 3.0)  # of the gradient, in faces and in columns


@dataclass(frozen=True)
class WallPicture:
    """The wall seen straight on, with what each pixel shows.

    Attributes
    ----------
    region : Region
        Pulled to the plates.
    grid : RectGrid
    lab : (H, W, 3) float32 array
        Its colours in CIELAB.
    seen : (H, W) bool array
        False where the photo does not show the plane.
    maps : WhatMaps or None
        None without the model.
    """

    region: Region
    grid: RectGrid
    lab: NDArray[np.float32]
    seen: NDArray[np.bool_]
    maps: WhatMaps | None

    @property
    def rows(self) -> tuple[float, float]:
        """Rows of the region's top and bottom."""
        return float(self.grid.row(self.region.top)), float(self.grid.row(self.region.bottom))

    def edges(
        self, face_px: float, rows: tuple[float, float] | None = None, columns: slice = slice(None)
    ) -> EdgeBands:
        """Where the picture has upright edges, smoothed for faces about `face_px` columns wide.

        Between two rows, those of the region where none are given, and in these columns.
        """
        blur = float(np.clip(BLUR * face_px, *BLUR_RANGE_PX))
        return edge_votes(self.lab[:, columns], self.seen[:, columns], *(rows or self.rows), blur)

    @cached_property
    def banded(self) -> WhatMaps | None:
        """The maps' means in the bands (BANDS, W) between the region's top and bottom; made once."""
        if self.maps is None:
            return None
        return WhatMaps(*(band_mean(getattr(self.maps, f.name), *self.rows) for f in fields(WhatMaps)))


def picture_wall(viewed: Viewed, photo: Photo) -> WallPicture:
    """Sample the plane of the wall in `photo` over the region and look at it once more, closer."""
    region = viewed.region
    if region is None:
        raise ValueError("the view has no region")
    view = viewed.view
    mx, my = MARGIN * region.width, MARGIN * region.height
    width = region.width * (1 + 2 * MARGIN)
    rgb, scale = viewed.working_rgb, viewed.scale
    larger = min(1.0, ENOUGH_COLUMNS / (width * view.focal_px))
    if larger > WORTH_IT * scale:
        rgb = photo.smaller(larger)
        scale = rgb.shape[1] / photo.width_px
    step = max(1.0 / (view.focal_px * scale), width / MOST_COLUMNS)
    grid = grid_over(region.left - mx, region.top - my, region.right + mx, region.bottom + my, step)
    at = sampling_map(view, grid, scale)
    rect = pick(rgb, at)
    seen = within(at, *rgb.shape[:2])
    maps = look(rect, LONG_SIDE_WALL_PX)
    lab = lab_of(rect)
    if maps is not None:
        region = refine_region(region, grid, maps, lab, seen)
    return WallPicture(region, grid, lab, seen, maps)
