"""An edge drawn at a known place is measured there."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.edges import BANDS, band_mean, edge_votes, lab_of, measure_edge, sheared_mean
from vision.rectify import to_photo, to_rect

WIDTH_PX, HEIGHT_PX, FOCAL_PX = 460, 360, 400.0
PRINCIPAL_PX = ((WIDTH_PX - 1) / 2, (HEIGHT_PX - 1) / 2)
TOP, BOTTOM = -0.3, 0.3
PER_PX = 8  # the drawing is made this many times finer and averaged, as a sensor does


def looking(yaw_deg: float = 0.0, k1: float = 0.0) -> ViewDirections:
    turn = np.asarray(cv2.Rodrigues(np.array([0.0, np.radians(yaw_deg), 0.0]))[0])
    return ViewDirections(turn, FOCAL_PX, k1, PRINCIPAL_PX, 0.0, 0.0)


def drawn(view: ViewDirections, x_mid: float, slope: float, dark: float, light: float) -> NDArray[np.float32]:
    """A photo, dark left and light right of a line of the wall, each pixel the mean of what it covers."""
    step = (np.arange(PER_PX) + 0.5) / PER_PX - 0.5
    picture = np.zeros((HEIGHT_PX, WIDTH_PX))
    px, py = np.meshgrid(np.arange(WIDTH_PX, dtype=float), np.arange(HEIGHT_PX, dtype=float))
    for dx in step:
        r = to_rect(view, np.column_stack([(px + dx).ravel(), py.ravel()]))
        beyond = r[:, 0] > x_mid + slope * (r[:, 1] - 0.5 * (TOP + BOTTOM))
        picture += beyond.reshape(HEIGHT_PX, WIDTH_PX)
    return (dark + (light - dark) * picture / PER_PX).astype(np.float32)


@pytest.mark.parametrize(
    ("yaw", "k1", "x_mid", "slope", "light"),
    [(0, 0.0, 0.1234, 0.0, 180), (10, -0.05, -0.2217, 0.006, 120), (-8, 0.03, 0.3051, -0.008, 60)],
)
def test_a_drawn_edge_is_located_within_a_tenth_of_a_pixel(
    yaw: float, k1: float, x_mid: float, slope: float, light: float
) -> None:
    view = looking(yaw, k1)
    picture = drawn(view, x_mid, slope, 40, light)
    picture += np.random.default_rng(3).normal(0, 2.0, picture.shape).astype(np.float32)
    # Sought from two pixels beside it, as the coarse reading leaves it.
    line = measure_edge(picture, view, x_mid + 2 / FOCAL_PX, 0.0, TOP, BOTTOM, 6 / FOCAL_PX)
    assert line is not None
    found = to_photo(view, np.array([[line.x_mid, 0.0], [x_mid, 0.0]]))
    assert abs(found[0, 0] - found[1, 0]) < 0.1
    assert line.slope == pytest.approx(slope, abs=5e-4)
    assert line.share > 0.95
    assert 0 < line.sigma * FOCAL_PX < 0.2


def test_a_dark_stud_before_a_light_wall_is_measured_as_well() -> None:
    view = looking()
    line = measure_edge(
        drawn(view, 0.05, 0.0, 200, 60), view, 0.05 - 1 / FOCAL_PX, 0, TOP, BOTTOM, 5 / FOCAL_PX
    )
    assert line is not None
    assert abs(line.x_mid - 0.05) * FOCAL_PX < 0.1


def test_an_edge_half_hidden_by_a_box_is_measured_on_the_rest() -> None:
    view = looking()
    picture = drawn(view, 0.05, 0.0, 60, 200)
    picture[180:310] = 130
    line = measure_edge(picture, view, 0.05, 0.0, TOP, BOTTOM, 5 / FOCAL_PX)
    assert line is not None
    assert abs(line.x_mid - 0.05) * FOCAL_PX < 0.15
    assert 0.3 < line.share < 0.75


def test_an_even_surface_has_no_edge() -> None:
    even = np.full((HEIGHT_PX, WIDTH_PX), 128, np.float32)
    assert measure_edge(even, looking(), 0.0, 0.0, TOP, BOTTOM, 5 / FOCAL_PX) is None


def test_an_edge_outside_the_photo_is_not_measured() -> None:
    picture = drawn(looking(), 0.05, 0.0, 60, 200)
    assert measure_edge(picture, looking(), 2.0, 0.0, TOP, BOTTOM, 5 / FOCAL_PX) is None


def test_bands_average_the_rows_between_two_rows() -> None:
    rows = np.repeat(np.arange(BANDS, dtype=np.float32), 4)
    picture = np.tile(rows[:, None], (1, 5))
    np.testing.assert_allclose(band_mean(picture, 0, 4 * BANDS)[:, 2], np.arange(BANDS), atol=1e-4)


def test_an_edge_running_the_whole_height_outvotes_a_short_one() -> None:
    rect = np.full((480, 300, 3), 90, np.uint8)
    rect[:, 100:] = 150  # from top to bottom
    rect[:90, 200:] = 210  # a short one of the same contrast
    bands = edge_votes(lab_of(rect), np.ones((480, 300), bool), 0, 480, 3.0)
    share, slope = sheared_mean(bands.votes, bands.seen, 480)
    assert share[97:103].max() > 0.9
    assert share[197:203].max() < 0.35
    assert slope[int(np.argmax(share))] == pytest.approx(0.0, abs=0.0031)


def test_a_leaning_edge_is_followed_along_its_lean() -> None:
    """Half an inch over eight feet is a run of 0.0052 of the height (1/192)."""
    height, run = 960, 0.006
    rect = np.full((height, 300, 3), 90, np.uint8)
    for i in range(height):
        rect[i, round(150 + run * (i - height / 2)) :] = 170
    bands = edge_votes(lab_of(rect), np.ones((height, 300), bool), 0, height, 3.0)
    share, slope = sheared_mean(bands.votes, bands.seen, height)
    k = int(np.argmax(share))
    assert abs(k - 150) <= 2
    assert slope[k] == pytest.approx(run, abs=0.0031)
