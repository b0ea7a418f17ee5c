"""Walls as they were surveyed, with studs where a test puts them: no photo, rectified units and inches."""

from __future__ import annotations

import numpy as np

from vision.extent import Upright
from vision.measured import Measured
from vision.members import Stretch
from vision.placing import Placed
from vision.rectify import RectGrid
from vision.scale import Scale
from vision.survey import Survey
from vision.wall_plane import WallPlane
from vision.wall_region import Region

DISTANCE_IN, FACE_IN = 150.0, 1.5
PLANE = WallPlane(1200.0, (799.5, 599.5), 0.0, 0.0, ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))


def member(centre_in: float, sigma_in: float = 0.045) -> Measured:
    """A stud 1 1/2 in wide, its middle known so well."""
    stretch = Stretch(0.0, 10.0, 1, 0.9, 0.9, 0.9, 3.0, 0.0)
    left, right = ((centre_in + side * FACE_IN / 2) / DISTANCE_IN for side in (-1, 1))
    up = Upright(stretch, 0.0, 1.0, 1.0, True)
    return Measured(left, right, 0.0, 0.0, 0.6, sigma_in / DISTANCE_IN, right - left, None, None, up)


def wall(
    middles_in: list[float], length_in: float, *, cut_left: bool = False, spacing_in: float | None = 16.0
) -> tuple[Survey, Placed]:
    """A wall whose left end was read at 0 in, with members at `middles_in` from there."""
    region = Region(0.0, 0.0, length_in / DISTANCE_IN, 0.6, cut_left=cut_left)
    grid = RectGrid(0.0, 0.0, 0.001, 0.001, 1500, 600)
    survey = Survey(region, FACE_IN / DISTANCE_IN, tuple(member(x) for x in middles_in), grid, None)
    at = np.array(middles_in)
    rest = np.zeros_like(at)
    scale = Scale(DISTANCE_IN, 0.001, len(at), len(at), spacing_in)
    placed = Placed(at, rest, rest, rest, rest, rest, length_in, 0.1, 97.0, 0.3, PLANE, scale, 0.0)
    return survey, placed
