"""Which way the camera looked: known turns are found again from lines, and from four corners."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from vision.directions import ViewDirections, find_directions, plane_normals
from vision.rectify import to_photo, to_rect
from vision.viewing import directions_of_corners

WIDTH_PX, HEIGHT_PX, FOCAL_PX = 1600, 1200, 1200.0
PRINCIPAL_PX = ((WIDTH_PX - 1) / 2, (HEIGHT_PX - 1) / 2)


def view_turned(yaw_deg: float, pitch_deg: float, roll_deg: float, k1: float = 0.0) -> ViewDirections:
    """A camera turned about the plumb line, then tilted, then rolled."""
    a, b, c = np.radians((yaw_deg, pitch_deg, roll_deg))
    yaw = cv2.Rodrigues(np.array([0, a, 0]))[0]
    pitch = cv2.Rodrigues(np.array([b, 0, 0]))[0]
    roll = cv2.Rodrigues(np.array([0, 0, c]))[0]
    return ViewDirections(np.asarray(roll @ pitch @ yaw).T, FOCAL_PX, k1, PRINCIPAL_PX, 0.0, 0.0)


def wall_lines(view: ViewDirections) -> NDArray[np.float64]:
    """Segments (N, 4) as a wall gives: twelve studs' edges and both edges of two plates, cut up by studs."""
    plumb = [((x, -0.36), (x, 0.36)) for x in np.linspace(-0.52, 0.52, 12)]
    plumb += [((x + 0.015, -0.36), (x + 0.015, 0.36)) for x in np.linspace(-0.52, 0.52, 12)]
    level = [((x, y), (x + 0.16, y)) for y in (-0.38, -0.36, 0.36, 0.38) for x in (-0.5, -0.25, 0.0, 0.3)]
    ends = np.array(plumb + level)
    photo = to_photo(view, ends.reshape(-1, 2))
    return photo.reshape(-1, 4)


def angle_deg(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    return float(np.degrees(np.arccos(np.clip(a @ b, -1, 1))))


@pytest.mark.parametrize(
    ("yaw", "pitch", "roll", "k1"),
    [(0, 0, 0, 0.0), (7, 2, 1, 0.0), (-12, -4, -2, -0.03), (20, 3, 0.5, -0.06), (4, 6, -1.5, 0.03)],
)
def test_a_known_turn_is_found_to_a_tenth_of_a_degree(
    yaw: float, pitch: float, roll: float, k1: float
) -> None:
    true = view_turned(yaw, pitch, roll, k1)
    lines = wall_lines(true)
    found = find_directions(lines, np.ones(len(lines)), FOCAL_PX, PRINCIPAL_PX)
    assert found is not None
    for ours, theirs in zip(found.rotation, true.rotation, strict=True):
        assert angle_deg(ours, theirs) < 0.1
    assert found.k1 == pytest.approx(k1, abs=1e-9)
    np.testing.assert_allclose(found.rotation @ found.rotation.T, np.eye(3), atol=1e-9)


def test_the_turn_is_found_through_a_neighbours_lines() -> None:
    """A third as many lines of a wall that runs away at 70 degrees, and noise of half a pixel."""
    rng = np.random.default_rng(7)
    true = view_turned(9, 2, 0.7)
    lines = wall_lines(true)
    x = rng.uniform(100, 1500, (12, 2))
    stray = np.column_stack(
        [x[:, 0], x[:, 1] % 1200, x[:, 0] + 200, (x[:, 1] + rng.uniform(60, 110, 12)) % 1200]
    )
    both = np.vstack([lines + rng.normal(0, 0.5, lines.shape), stray])
    found = find_directions(both, np.ones(len(both)), FOCAL_PX, PRINCIPAL_PX)
    assert found is not None
    assert angle_deg(found.rotation[1], true.rotation[1]) < 0.3
    assert angle_deg(found.rotation[0], true.rotation[0]) < 0.6


def test_lines_of_weight_nothing_are_not_heard() -> None:
    true = view_turned(6, -2, 0.5)
    lines = wall_lines(true)
    other = wall_lines(view_turned(-15, 5, 3))
    weights = np.concatenate([np.ones(len(lines)), np.zeros(len(other))])
    found = find_directions(np.vstack([lines, other]), weights, FOCAL_PX, PRINCIPAL_PX)
    assert found is not None
    assert angle_deg(found.rotation[2], true.rotation[2]) < 0.1


def test_too_few_lines_give_no_view() -> None:
    lines = wall_lines(view_turned(0, 0, 0))[:3]
    assert find_directions(lines, np.ones(3), FOCAL_PX, PRINCIPAL_PX) is None


def test_a_lines_plane_holds_both_its_ends() -> None:
    lines = wall_lines(view_turned(5, 3, 1, -0.05))
    normals, length = plane_normals(lines, FOCAL_PX, PRINCIPAL_PX, 0.0)
    for end in (lines[:, :2], lines[:, 2:]):
        rays = np.column_stack([(end - PRINCIPAL_PX) / FOCAL_PX, np.ones(len(end))])
        assert np.abs((normals * rays).sum(1)).max() < 1e-12
    np.testing.assert_allclose(length * FOCAL_PX, np.hypot(*(lines[:, 2:] - lines[:, :2]).T))


# A wall of 12 ft by 8 ft drawn by a camera of 1500 px focal length (worked out by hand).
DRAWN_FOCAL_PX, CENTRE_PX = 1500.0, (2000.0, 1500.0)
TL, TR, BL, BR = (1333.33, 1100.00), (2374.27, 1218.30), (1319.83, 1854.96), (2283.84, 1812.55)


def whiteboard_aspect(corners: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Focal length (px) and width / height of a rectangle from its four corners TL, TR, BL, BR.

    Zhang & He, Whiteboard scanning and image enhancement, MSR-TR-2003-39, section 4 (formula from memory).
    """
    m1, m2, m3, m4 = (np.array([x - CENTRE_PX[0], y - CENTRE_PX[1], 1.0]) for x, y in corners)
    k2 = np.cross(m1, m4) @ m3 / (np.cross(m2, m4) @ m3)
    k3 = np.cross(m1, m4) @ m2 / (np.cross(m3, m4) @ m2)
    n2, n3 = k2 * m2 - m1, k3 * m3 - m1
    f2 = -(n2[0] * n3[0] + n2[1] * n3[1]) / (n2[2] * n3[2])
    w = np.array([1 / f2, 1 / f2, 1.0])
    return float(np.sqrt(f2)), float(np.sqrt((w * n2) @ n2 / ((w * n3) @ n3)))


def test_a_12_by_8_wall_has_its_shape_from_its_corners_alone() -> None:
    focal_px, ratio = whiteboard_aspect((TL, TR, BL, BR))
    assert focal_px == pytest.approx(DRAWN_FOCAL_PX, rel=1e-3)
    assert ratio == pytest.approx(1.5, abs=1e-3)
    view = directions_of_corners(np.array([TL, TR, BR, BL]), DRAWN_FOCAL_PX, CENTRE_PX)
    tl, tr, br, bl = to_rect(view, np.array([TL, TR, BR, BL]))
    assert (tr[0] - tl[0]) / (bl[1] - tl[1]) == pytest.approx(ratio, abs=0.01)
    assert (br[0] - bl[0]) / (br[1] - tr[1]) == pytest.approx(ratio, abs=0.01)
    # Straight on, the top is level and the sides are plumb.
    assert abs(tl[1] - tr[1]) < 1e-3 * (tr[0] - tl[0])
    assert abs(tl[0] - bl[0]) < 1e-3 * (tr[0] - tl[0])


@pytest.mark.parametrize(("yaw", "pitch", "roll"), [(3, 1, 0), (-15, 5, 2), (25, -3, -1)])
def test_four_corners_tell_the_turn(yaw: float, pitch: float, roll: float) -> None:
    true = view_turned(yaw, pitch, roll)
    corners = to_photo(true, np.array([[-0.5, -0.35], [0.5, -0.35], [0.5, 0.35], [-0.5, 0.35]]))
    found = directions_of_corners(corners, FOCAL_PX, PRINCIPAL_PX)
    np.testing.assert_allclose(found.rotation, true.rotation, atol=1e-6)
    assert found.yaw_deg == pytest.approx(true.yaw_deg, abs=1e-3)
    assert found.pitch_deg == pytest.approx(true.pitch_deg, abs=1e-3)
