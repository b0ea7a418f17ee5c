"""The camera of the truth against OpenCV's own projection."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from sample_images.camera import Camera, aimed, focal_px


def a_camera(k1: float = -0.03, k2: float = 0.01) -> Camera:
    rotation = aimed(7.0, -4.0, 2.0)
    return Camera(
        1600,
        1200,
        focal_px(26.0, 1600, 1200),
        803.0,
        595.0,
        k1,
        k2,
        (70.0, 58.0, 160.0),
        tuple(tuple(float(v) for v in row) for row in rotation),  # type: ignore[misc]
        26.0,
    )


POINTS = np.array([(x, y, z) for x in (0.0, 60.0, 192.0) for y in (0.0, 97.0) for z in (-3.5, 0.0, 1.0)])


@pytest.mark.parametrize(("k1", "k2"), [(0.0, 0.0), (-0.05, 0.02), (0.04, -0.02)])
def test_projection_agrees_with_opencv_project_points(k1: float, k2: float) -> None:
    camera = a_camera(k1, k2)
    turn, _ = cv2.Rodrigues(np.asarray(camera.rotation))
    k = np.array([[camera.f_px, 0, camera.cx_px], [0, camera.f_px, camera.cy_px], [0, 0, 1]])
    theirs, _ = cv2.projectPoints(POINTS, turn, camera.translation_in, k, np.array([k1, k2, 0.0, 0.0]))
    np.testing.assert_allclose(camera.project(POINTS), theirs.reshape(-1, 2), atol=1e-6)


def test_pixels_go_back_to_the_wall_inches_they_came_from() -> None:
    camera = a_camera()
    wall = np.array([(0.0, 0.0, 0.0), (96.0, 48.0, 0.0), (192.0, 97.0, 0.0)])
    np.testing.assert_allclose(camera.wall_xy(camera.project(wall)), wall[:, :2], atol=1e-6)


def test_homography_agrees_with_opencv_find_homography() -> None:
    camera = a_camera(0.0, 0.0)
    wall = POINTS[POINTS[:, 2] == 0.0]
    theirs, _ = cv2.findHomography(wall[:, :2], camera.project(wall))
    np.testing.assert_allclose(camera.wall_to_undistorted_px(), theirs / theirs[2, 2], rtol=1e-5, atol=1e-7)


def test_yaw_to_the_right_brings_the_right_of_the_wall_to_the_middle() -> None:
    to_the_right = aimed(10.0, 0.0, 0.0)[2]
    assert to_the_right[0] > 0
    assert aimed(0.0, 10.0, 0.0)[2][1] > 0


def test_a_26_mm_phone_lens_sees_79_5_degrees_across_the_diagonal() -> None:
    # 2 atan(43.27 / (2 x 26)): the definition of the 35-mm-equivalent focal length by the diagonal
    f = focal_px(26.0, 4000, 3000)
    assert np.degrees(2 * np.arctan(2500.0 / f)) == pytest.approx(79.5, abs=0.1)
