"""A phone that moved is told from a lens that is not sharp, and by how much and which way it moved."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from vision.advice import photo_warnings
from vision.photo import Photo
from vision.placing import Placed
from vision.scale import Scale
from vision.smear import Smear, find_smear, smear_of, with_smear
from vision.wall_plane import WallPlane

SIZE_PX = (700, 1000)


@pytest.fixture(scope="module")
def wall() -> NDArray[np.uint8]:
    """A framed wall as seen by a phone: studs and plates before boards with some grain, and noise."""
    rng = np.random.default_rng(4)
    grain = cv2.GaussianBlur(rng.normal(0, 1, SIZE_PX), (0, 0), 1.0) * 40
    picture = 110 + grain
    for y in range(60, 700, 90):
        picture[y : y + 3] -= 50
    for x in range(40, 1000, 120):
        picture[:, x : x + 11] = 190 + 0.6 * grain[:, x : x + 11]
    picture[20:32] = picture[660:672] = 200
    return _seen(picture)


def _seen(picture: NDArray[Any]) -> NDArray[np.uint8]:
    """With a phone's noise, as bytes."""
    noise = np.random.default_rng(5).normal(0, 1.0, picture.shape)
    return np.clip(np.rint(picture + noise), 0, 255).astype(np.uint8)


def smeared(picture: NDArray[np.uint8], length_px: float, angle_deg: float) -> NDArray[np.uint8]:
    """The picture averaged along a straight line, by turning, blurring in rows and turning back."""
    h, w = picture.shape
    turn = cv2.getRotationMatrix2D((w / 2, h / 2), angle_deg, 1.0)
    level = cv2.warpAffine(
        picture.astype(np.float32), turn, (w, h), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
    )
    level = cv2.blur(level, (round(length_px), 1))
    back = cv2.warpAffine(
        level, turn, (w, h), flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REFLECT
    )
    return _seen(back)


def as_photo(grey: NDArray[np.uint8]) -> Photo:
    rgb = cv2.cvtColor(grey, cv2.COLOR_GRAY2RGB)
    return Photo(rgb, rgb.shape[1], rgb.shape[0], 1200.0, None, 1, "x")


def said(grey: NDArray[np.uint8]) -> set[str]:
    photo = as_photo(grey)
    return {w.code for w in photo_warnings(photo, smear_of(photo))}


def test_a_sharp_photo_is_not_called_moved(wall: NDArray[np.uint8]) -> None:
    assert find_smear(wall) is None
    assert said(wall) == set()


@pytest.mark.parametrize("angle_deg", [0, 45, 90, 135])
@pytest.mark.parametrize("length_px", [9, 25])
def test_a_phone_that_moved_is_told_with_length_and_direction(
    wall: NDArray[np.uint8], length_px: int, angle_deg: int
) -> None:
    moved = smeared(wall, length_px, angle_deg)
    found = find_smear(moved)
    assert found is not None
    assert float(np.hypot(found.x_px, found.y_px)) == pytest.approx(length_px, rel=0.3)
    off = np.degrees(np.arctan2(found.y_px, found.x_px)) - angle_deg
    assert abs((off + 90) % 180 - 90) < 12
    assert said(moved) == {"moved"}


def test_a_lens_out_of_focus_is_called_not_sharp_and_not_moved(wall: NDArray[np.uint8]) -> None:
    assert said(np.asarray(cv2.GaussianBlur(wall, (0, 0), 8.0), np.uint8)) == {"blurred"}


def test_the_smear_of_a_large_photo_is_given_in_its_own_pixels(wall: NDArray[np.uint8]) -> None:
    large = cv2.resize(smeared(wall, 10, 0), None, fx=3.2, fy=3.2, interpolation=cv2.INTER_CUBIC)
    found = smear_of(as_photo(large))
    assert found is not None
    assert abs(found.x_px) == pytest.approx(32, rel=0.3)


def test_a_plain_picture_or_a_tiny_one_has_no_smear() -> None:
    assert find_smear(np.full(SIZE_PX, 90, np.uint8)) is None
    assert find_smear(np.full((240, 240), 90, np.uint8)) is None


def test_only_what_runs_along_the_wall_makes_places_less_sure() -> None:
    """Ten pixels to the inch: 20 px along the wall are 2 in, of which 0.15 is added to a sigma of 0.1 in."""
    plane = WallPlane(1.0, (0.0, 0.0), 0.0, 0.0, ((0.1, 0.0, 0.0), (0.0, -0.1, 96.0), (0.0, 0.0, 1.0)))
    at, tenth = np.array([16.0, 32.0]), np.full(2, 0.1)
    placed = Placed(at, tenth, at, at, at, at, 192.0, 0.2, 96.0, 0.4, plane, Scale(100.0, 0.001), 0.0)
    along, on_wall_in = with_smear(placed, Smear(20.0, 0.0))
    assert on_wall_in == pytest.approx(2.0)
    np.testing.assert_allclose(along.sigma_in, np.hypot(0.1, 0.3))
    assert along.length_sigma_in == pytest.approx(np.hypot(0.2, 0.3))
    assert along.height_sigma_in == pytest.approx(0.4)
    up, on_wall_in = with_smear(placed, Smear(0.0, 20.0))
    assert on_wall_in == pytest.approx(2.0)
    np.testing.assert_allclose(up.sigma_in, 0.1)
    assert with_smear(placed, None)[0] is placed
