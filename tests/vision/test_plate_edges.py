"""How high a wall is: its plates' outer edges on drawn pictures, and on sample photos of known height.

Lumber plates are 1 1/2 in thick (PS 20: 2x lumber, dressed); one lies on the floor, one or two on the studs.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.vision.sample_walls import CASES, reading_of
from vision.plate_edges import settle_plates
from vision.rectify import RectGrid
from vision.survey import Survey
from vision.wall_picture import WallPicture
from vision.wall_region import Region
from vision.what import WhatMaps

PX = 8  # rows and columns an inch
LENGTH, HIGH, ABOVE, BELOW = 96.0, 97.0, 8.0, 8.0  # inches; how much the picture shows above and below
PLATE = 1.5
STUDS, BAYS, WOOD, JOIST, FLOOR = 70.0, 40.0, 66.0, 78.0, 52.0  # lightness
LINE = 20.0  # of the gap between two pieces of lumber


def settled(
    plates: int,
    found_off: tuple[float, float] = (0.0, 0.0),
    taken_for_plate: float = 0.0,
    gap_line: bool = True,
    joint_line: bool = True,
    above: float = JOIST,
) -> Survey:
    """Plates settled on a drawn wall.

    The region's top and bottom lie `found_off` inches too high and too low; the labels call `taken_for_plate`
    inches of what is above the plates plate as well; `gap_line`, `joint_line`: a line shows where
    the plates end, and between two.
    """
    rows = round((ABOVE + HIGH + BELOW) * PX)
    y_in = HIGH - (np.arange(rows) + 0.5) / PX + ABOVE  # height above the underside of the bottom plate
    x_in = (np.arange(round(LENGTH * PX)) + 0.5) / PX
    under = HIGH - plates * PLATE
    light = np.full((rows, len(x_in)), BAYS, np.float32)
    light[:, np.abs((x_in + 8) % 16 - 8) < 0.75] = STUDS
    light[y_in > under] = WOOD
    light[y_in > HIGH] = above
    light[(y_in < PLATE) & (y_in > 0)] = WOOD
    light[y_in < 0] = FLOOR
    joints = [under + PLATE] if plates == 2 and joint_line else []
    for y in [*joints, *([HIGH] if gap_line else [])]:
        light[np.abs(y_in - y) < 0.1] = LINE
    light += np.random.default_rng(3).normal(0, 1.0, light.shape).astype(np.float32)
    plate = ((y_in > under) & (y_in < HIGH + taken_for_plate)) | ((y_in < PLATE) & (y_in > 0))
    wall = (y_in > 0) & (y_in < HIGH + taken_for_plate)
    maps = {n: np.zeros_like(light) for n in ("front", "across", "plate", "joint", "side", "wall")}
    maps["plate"][plate], maps["wall"][wall] = 0.95, 0.95
    grid = RectGrid(0.0, -HIGH - ABOVE + 0.5 / PX, 1 / PX, 1 / PX, len(x_in), rows)
    region = Region(0.0, -HIGH - found_off[0], LENGTH, found_off[1])
    lab = np.stack([light, light * 0 + 5, light * 0 + 15], -1)
    picture = WallPicture(region, grid, lab, np.ones(light.shape, bool), WhatMaps(**maps))
    return settle_plates(Survey(region, 1.5, (), grid, picture.maps), picture, PLATE)


@pytest.mark.parametrize("plates", [1, 2])
@pytest.mark.parametrize("off_in", [-1.5, -0.3, 0.0, 1.0])
def test_the_outer_edge_is_found_from_where_the_studs_end(plates: int, off_in: float) -> None:
    survey = settled(plates, (off_in, off_in))
    assert survey.region.height == pytest.approx(HIGH, abs=0.1)
    assert survey.height_sigma is not None
    assert survey.height_sigma < 0.3


def test_of_two_top_plates_the_upper_one_counts_though_the_labels_know_one() -> None:
    survey = settled(2, (-PLATE, 0.0), taken_for_plate=-PLATE, joint_line=False)
    assert survey.region.height == pytest.approx(HIGH, abs=0.1)


def test_a_joist_of_the_plates_colour_is_no_plate() -> None:
    survey = settled(2, (4.5, 0.0), taken_for_plate=4.5, above=WOOD)
    assert survey.region.height == pytest.approx(HIGH, abs=0.15)


def test_where_nothing_shows_one_plate_from_two_the_height_is_in_doubt() -> None:
    survey = settled(1, (4.5, 0.0), taken_for_plate=4.5, gap_line=False, above=WOOD)
    assert survey.height_sigma is not None
    assert survey.height_sigma > 0.75
    assert abs(survey.region.height - HIGH) < 2 * survey.height_sigma


@pytest.mark.parametrize("name", [n for n, c in CASES.items() if c.whole and c.marks_px])
def test_a_photographed_wall_comes_out_as_high_as_it_is(name: str) -> None:
    reading = reading_of(name)
    assert reading.wall is not None
    off_in = abs(reading.wall.height_in - CASES[name].height_in)
    assert off_in < max(0.3, 2 * reading.wall.height_sigma_in)
