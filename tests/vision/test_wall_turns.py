"""A room's corner in the photo: the wall ends where its plates bend, not where studs stop lining up."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from vision.rectify import RectGrid, grid_over
from vision.wall_region import Region
from vision.wall_turns import plate_bend, up_to_the_corner
from vision.what import WhatMaps

TOP, BOTTOM = -0.35, 0.30  # of the plates' middles, in camera distances from the camera's height
LEFT, CORNER, NEAREST = -0.9, 0.35, 0.45  # the side wall comes up to so much of the camera's distance
GRID = grid_over(LEFT - 0.05, -1.0, 0.95, 0.9, 0.0025)


def drawn(*lines: NDArray[np.float64]) -> NDArray[np.float32]:
    """A map of plates of which each line's middle passes through points (N, 3) before a pinhole camera.

    The general-purpose library projects the points; the grid is the picture plane at unit distance.
    """
    plate = np.zeros((GRID.height, GRID.width), np.float32)
    for line in lines:
        seen, _ = cv2.projectPoints(line, np.zeros(3), np.zeros(3), np.eye(3), np.zeros(5))
        at = np.column_stack([GRID.column(seen[:, 0, 0]), GRID.row(seen[:, 0, 1])])
        cv2.polylines(plate, [np.rint(at).astype(np.int32)], False, 1.0, 9)
    return plate


def in_the_room(y: float, *, around_the_corner: bool = True) -> NDArray[np.float64]:
    """A plate's middle at height y: along the wall to the corner, then along the side wall to the camera."""
    along = [[x, y, 1.0] for x in np.linspace(LEFT, CORNER, 40)]
    beside = [[CORNER, y, z] for z in np.linspace(1.0, NEAREST, 40)] if around_the_corner else []
    return np.array([*along, *beside])


def region(right: float = CORNER / NEAREST) -> Region:
    return Region(LEFT, TOP, right, BOTTOM, cut_right=True)


def maps(plate: NDArray[np.float32]) -> WhatMaps:
    nothing = np.zeros_like(plate)
    return WhatMaps(nothing, plate, plate, nothing, nothing, np.ones_like(plate))


def ends_in_the_corner(x: float) -> bool:
    """The corner's own stud is in, and little of the side wall: under a tenth of the wall's height."""
    return CORNER - 0.01 < x < CORNER + 0.1 * (BOTTOM - TOP)


def mirrored(what: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.ascontiguousarray(what[:, ::-1])


def test_a_wall_ends_at_the_rooms_corner_where_its_plates_bend() -> None:
    plate = drawn(in_the_room(TOP), in_the_room(BOTTOM))
    found = up_to_the_corner(region(), GRID, maps(plate))
    assert found is not None
    assert ends_in_the_corner(found.right)
    assert found.left == LEFT
    assert not found.cut_right


def test_one_plate_is_enough_where_things_on_the_floor_hide_the_other() -> None:
    found = up_to_the_corner(region(), GRID, maps(drawn(in_the_room(TOP))))
    assert found is not None
    assert ends_in_the_corner(found.right)


def test_the_mirror_image_ends_at_the_mirrored_corner() -> None:
    plate = drawn(in_the_room(TOP), in_the_room(BOTTOM))
    there = RectGrid(-GRID.x(GRID.width - 1), GRID.top, GRID.step, GRID.step_y, GRID.width, GRID.height)
    whole = region()
    other = replace(whole, left=-whole.right, right=-whole.left, cut_left=True, cut_right=False)
    found = up_to_the_corner(other, there, maps(mirrored(plate)))
    straight = up_to_the_corner(whole, GRID, maps(plate))
    assert found is not None
    assert straight is not None
    assert found.left == pytest.approx(-straight.right, abs=0.02)
    assert not found.cut_left


def test_straight_plates_leave_the_wall_as_long_as_it_was_taken() -> None:
    ends = region(CORNER)
    plates = (in_the_room(TOP, around_the_corner=False), in_the_room(BOTTOM, around_the_corner=False))
    assert up_to_the_corner(ends, GRID, maps(drawn(*plates))) is None


def test_plates_that_slope_all_along_say_that_the_view_is_wrong_and_not_that_the_wall_turns() -> None:
    slope = np.array([[x, TOP - 0.15 * (x - LEFT), 1.0] for x in np.linspace(LEFT, 0.75, 40)])
    assert plate_bend(region(), GRID, drawn(slope), float(GRID.row(TOP))) is None


def test_a_short_bit_of_level_plate_beside_a_long_slope_is_no_wall() -> None:
    slope = np.array([[LEFT, TOP - 0.3, 1.0], [0.4, TOP, 1.0], [0.75, TOP, 1.0]])
    assert plate_bend(region(), GRID, drawn(slope), float(GRID.row(TOP))) is None


def test_a_plate_that_sags_is_still_one_wall() -> None:
    sag = np.array([[x, TOP + 0.012 * (1 - (x / 0.8) ** 2), 1.0] for x in np.linspace(LEFT, 0.75, 60)])
    assert up_to_the_corner(region(), GRID, maps(drawn(sag))) is None


def test_tapped_corners_are_the_users_word() -> None:
    plate = drawn(in_the_room(TOP), in_the_room(BOTTOM))
    assert up_to_the_corner(replace(region(), tapped=True), GRID, maps(plate)) is None


def test_a_picture_without_plates_says_nothing() -> None:
    assert up_to_the_corner(region(), GRID, maps(np.zeros((GRID.height, GRID.width), np.float32))) is None
