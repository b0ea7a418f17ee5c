"""A panorama is no photo of a plane: its plates curve, and it is refused with the reason."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

import sample_images
from vision import Photo, load_photo, read_wall
from vision.curved_plates import plates_curve
from vision.rectify import grid_over
from vision.wall_region import Region
from vision.what import WhatMaps

HALF_LENGTH, TOP, BOTTOM = 0.8, -0.35, 0.30  # of a wall at unit distance, the camera before its middle
GRID = grid_over(-0.9, -0.6, 0.9, 0.6, 0.0025)


def drawn(*lines: NDArray[np.float64]) -> WhatMaps:
    """Maps of plates whose middles run through these points (N, 2) of the picture plane."""
    plate = np.zeros((GRID.height, GRID.width), np.float32)
    for line in lines:
        at = np.column_stack([GRID.column(line[:, 0]), GRID.row(line[:, 1])])
        cv2.polylines(plate, [np.rint(at).astype(np.int32)], False, 1.0, 9)
    nothing = np.zeros_like(plate)
    return WhatMaps(nothing, plate, plate, nothing, nothing, np.ones_like(plate))


def on_a_cylinder(y: float) -> NDArray[np.float64]:
    """A level line of the wall as a panorama shows it: angle about the camera, height over the distance."""
    x = np.linspace(-HALF_LENGTH, HALF_LENGTH, 80)
    return np.column_stack([np.arctan(x), y / np.hypot(1.0, x)])


def along(y: float, sag: float = 0.0) -> NDArray[np.float64]:
    """A level line as a photo shows it, its middle lower by `sag`."""
    x = np.linspace(-HALF_LENGTH, HALF_LENGTH, 80)
    return np.column_stack([x, y + sag * (1 - (x / HALF_LENGTH) ** 2)])


def region() -> Region:
    return Region(-HALF_LENGTH, TOP, HALF_LENGTH, BOTTOM)


def on_cylinder_region(cut_bottom: bool = False) -> Region:
    half = float(np.arctan(HALF_LENGTH))
    return Region(-half, TOP, half, BOTTOM, cut_bottom=cut_bottom)


def test_plates_of_a_panorama_curve() -> None:
    maps = drawn(on_a_cylinder(TOP), on_a_cylinder(BOTTOM))
    assert plates_curve(on_cylinder_region(), GRID, maps)


def test_one_plate_alone_says_nothing() -> None:
    """A sagging ceiling curves as much."""
    assert not plates_curve(on_cylinder_region(cut_bottom=True), GRID, drawn(on_a_cylinder(TOP)))


def test_plates_of_a_photo_are_straight() -> None:
    assert not plates_curve(region(), GRID, drawn(along(TOP), along(BOTTOM)))


@pytest.mark.parametrize("sag", [0.008, -0.008])
def test_a_floor_and_a_ceiling_that_sag_alike_are_no_panorama(sag: float) -> None:
    assert not plates_curve(region(), GRID, drawn(along(TOP, sag), along(BOTTOM, sag)))


def test_a_plate_that_bends_at_a_corner_is_no_panorama() -> None:
    corner = np.array([[-HALF_LENGTH, TOP], [0.4, TOP], [HALF_LENGTH, TOP - 0.12]])
    assert not plates_curve(region(), GRID, drawn(corner, along(BOTTOM)))


def test_without_plates_nothing_is_said() -> None:
    assert not plates_curve(region(), GRID, drawn())


def turned_onto_a_cylinder(photo: Photo, rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The photo as a panorama would show it: columns by their angle about the camera's plumb axis."""
    height, width = rgb.shape[:2]
    assert photo.focal_px is not None
    half = np.arctan(width / 2 / photo.focal_px)
    turn = np.linspace(-half, half, int(2 * photo.focal_px * half))
    x = photo.focal_px * np.tan(turn) + (width - 1) / 2
    y = (np.arange(height) - (height - 1) / 2)[:, None] / np.cos(turn) + (height - 1) / 2
    columns = np.broadcast_to(x, y.shape).astype(np.float32)
    return cv2.remap(rgb, columns, y.astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)


def test_a_panorama_of_a_sample_wall_is_refused_and_told_what_to_do() -> None:
    photo = load_photo(sample_images.photo_path("long_wall").read_bytes())
    written = cv2.imencode(".png", turned_onto_a_cylinder(photo, photo.rgb)[..., ::-1])[1].tobytes()
    reading = read_wall(load_photo(written))
    assert reading.refused
    assert not reading.members
    last = reading.warnings[-1]
    assert last.code == "plates_curve"
    assert "panorama" in last.message
    assert "overlap" in last.advice


def test_no_sample_photo_is_taken_for_a_panorama() -> None:
    for name in sample_images.sample_names():
        reading = read_wall(load_photo(sample_images.photo_path(name).read_bytes()))
        assert "plates_curve" not in [w.code for w in reading.warnings]
