"""Photo pixels to wall inches and back, against OpenCV, scikit-image and the four-point theorem."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage.transform import ProjectiveTransform

from vision.wall_plane import WallPlane, apply_homography, distort, undistort

FOCAL_PX, PRINCIPAL_PX = 1500.0, (999.5, 749.5)
# A 12 ft by 8 ft wall and its four corners in a tilted photo.
WALL_IN = np.array([[0, 96], [144, 96], [144, 0], [0, 0]], np.float64)
PHOTO_PX = np.array([[310, 190], [1690, 260], [1650, 1230], [290, 1180]], np.float64)


def plane_through(
    photo_px: NDArray[np.float64], wall_in: NDArray[np.float64], k1: float = 0.0, k2: float = 0.0
) -> WallPlane:
    """The plane that sends four photo points to four wall points, by OpenCV's four-point solution."""
    view = undistort((photo_px - np.asarray(PRINCIPAL_PX)) / FOCAL_PX, k1, k2)
    h = cv2.getPerspectiveTransform(view.astype(np.float32), wall_in.astype(np.float32))
    return WallPlane(FOCAL_PX, PRINCIPAL_PX, k1, k2, tuple(tuple(float(v) for v in row) for row in h))


def grid_of_view(reach: float = 0.6) -> NDArray[np.float64]:
    x, y = np.meshgrid(np.linspace(-reach, reach, 13), np.linspace(-0.75 * reach, 0.75 * reach, 9))
    return np.column_stack([x.ravel(), y.ravel()])


def dlt(source: NDArray[np.float64], target: NDArray[np.float64]) -> NDArray[np.float64]:
    """Direct linear transform: two rows a point pair, the null vector (H&Z 2004, Algorithm 4.1)."""
    rows = []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows.append([0, 0, 0, -x, -y, -1, v * x, v * y, v])
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
    return np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)


@pytest.mark.parametrize(("k1", "k2"), [(-0.12, 0.03), (0.06, 0.0), (-0.05, 0.01)])
def test_a_bent_line_is_bent_as_opencv_bends_it(k1: float, k2: float) -> None:
    """Brown's radial terms are OpenCV's first two distortion coefficients."""
    u = grid_of_view()
    points = np.column_stack([u, np.ones(len(u))])
    bent, _ = cv2.projectPoints(points, np.zeros(3), np.zeros(3), np.eye(3), np.array([k1, k2, 0.0, 0.0]))
    np.testing.assert_allclose(distort(u, k1, k2), bent.reshape(-1, 2), atol=1e-12)


@pytest.mark.parametrize(("k1", "k2"), [(-0.12, 0.03), (0.06, 0.0), (-0.05, 0.01)])
def test_straightening_agrees_with_opencv_to_a_hundredth_of_a_pixel(k1: float, k2: float) -> None:
    bent = distort(grid_of_view(), k1, k2)
    tight = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 60, 1e-12)
    lens = np.array([k1, k2, 0.0, 0.0])
    opencv = cv2.undistortPoints(bent.reshape(-1, 1, 2), np.eye(3), lens, criteria=tight)
    assert np.abs(undistort(bent, k1, k2) - opencv.reshape(-1, 2)).max() * FOCAL_PX < 0.01


@given(
    k1=st.floats(-0.12, 0.12),
    k2=st.floats(-0.02, 0.02),
    x=st.floats(-0.6, 0.6),
    y=st.floats(-0.5, 0.5),
)
@settings(max_examples=60, deadline=None)
def test_bending_and_straightening_returns_the_same_place(k1: float, k2: float, x: float, y: float) -> None:
    u = np.array([[x, y]])
    # Within a tenth of a pixel even at the corner of a wide lens bent as far as a reading may go.
    assert np.abs(undistort(distort(u, k1, k2), k1, k2) - u).max() * FOCAL_PX < 0.1


def test_a_lens_without_distortion_leaves_points_alone() -> None:
    u = grid_of_view()
    np.testing.assert_array_equal(undistort(u, 0.0, 0.0), u)
    np.testing.assert_array_equal(distort(u, 0.0, 0.0), u)


def test_the_homography_sends_points_as_scikit_image_and_opencv_do() -> None:
    h = cv2.getPerspectiveTransform(PHOTO_PX.astype(np.float32), WALL_IN.astype(np.float32))
    points = np.random.default_rng(4).uniform((300, 200), (1650, 1200), (50, 2))
    ours = apply_homography(h, points)
    np.testing.assert_allclose(ours, ProjectiveTransform(matrix=h)(points), rtol=1e-9)
    np.testing.assert_allclose(ours, cv2.perspectiveTransform(points[None], h)[0], rtol=1e-9)


def test_four_exact_points_fix_the_wall_exactly() -> None:
    """Four pairs give the eight numbers of a homography (Hartley & Zisserman 2004, §4.1)."""
    true = np.array([[0.11, 0.013, -20.0], [-0.004, -0.12, 140.0], [1.2e-5, -3.0e-5, 1.0]])
    wall = apply_homography(true, PHOTO_PX)
    solved = dlt(PHOTO_PX / 1000, wall / 100)
    solved = np.diag([100, 100, 1.0]) @ solved @ np.diag([1e-3, 1e-3, 1.0])
    np.testing.assert_allclose(solved / solved[2, 2], true, rtol=1e-7, atol=1e-10)
    plane = plane_through(PHOTO_PX, wall)
    inside = np.random.default_rng(5).uniform((300, 200), (1650, 1200), (30, 2))
    np.testing.assert_allclose(plane.to_wall(inside), apply_homography(true, inside), atol=0.001)


def test_corners_come_out_at_the_corners_of_the_wall() -> None:
    for k1, k2 in ((0.0, 0.0), (-0.08, 0.01)):
        plane = plane_through(PHOTO_PX, WALL_IN, k1, k2)
        np.testing.assert_allclose(plane.to_wall(PHOTO_PX), WALL_IN, atol=0.001)
        np.testing.assert_allclose(plane.to_photo(WALL_IN), PHOTO_PX, atol=0.02)


@given(
    x=st.floats(-12, 156),
    y=st.floats(-12, 108),
    k1=st.floats(-0.1, 0.1),
    shift=st.lists(st.floats(-80, 80), min_size=8, max_size=8),
)
@settings(max_examples=60, deadline=None)
def test_from_the_wall_to_the_photo_and_back(x: float, y: float, k1: float, shift: list[float]) -> None:
    corners = PHOTO_PX + np.array(shift).reshape(4, 2)
    assume(cv2.isContourConvex(corners.astype(np.float32).reshape(-1, 1, 2)))
    plane = plane_through(corners, WALL_IN, k1)
    np.testing.assert_allclose(plane.to_wall(plane.to_photo((x, y))), (x, y), atol=0.01)


def test_one_point_gives_one_point_and_many_give_many() -> None:
    plane = plane_through(PHOTO_PX, WALL_IN)
    assert plane.to_wall((700.0, 600.0)).shape == (2,)
    assert plane.to_wall(PHOTO_PX).shape == (4, 2)
    assert plane.to_photo((72.0, 48.0)).shape == (2,)
    np.testing.assert_allclose(plane.to_wall(PHOTO_PX)[2], plane.to_wall(PHOTO_PX[2]), atol=1e-9)


def test_a_longer_reference_stretches_every_length_alike() -> None:
    plane = plane_through(PHOTO_PX, WALL_IN, -0.05)
    longer = plane.moved(1.02)
    inside = np.array([[500, 400], [1500, 1100]], float)
    np.testing.assert_allclose(longer.to_wall(inside), 1.02 * plane.to_wall(inside), rtol=1e-12)
    np.testing.assert_allclose(longer.to_photo(1.02 * WALL_IN), plane.to_photo(WALL_IN), atol=1e-6)
