"""The view is adjusted on this wall's long edges, whatever stands before it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from vision.bundle import Traces, _plainly_lean, _spread, adjust_view
from vision.directions import ViewDirections
from vision.rectify import to_photo
from vision.what import WhatMaps

WIDTH_PX, HEIGHT_PX = 1200, 900
STUDS = np.linspace(-0.48, 0.48, 9)
REGION = (-0.5, -0.36, 0.51, 0.36)


def view(pitch_deg: float, yaw_deg: float = 4.0) -> ViewDirections:
    yaw = cv2.Rodrigues(np.array([0, np.radians(yaw_deg), 0]))[0]
    pitch = cv2.Rodrigues(np.array([np.radians(pitch_deg), 0, 0]))[0]
    centre = ((WIDTH_PX - 1) / 2, (HEIGHT_PX - 1) / 2)
    return ViewDirections(np.asarray(pitch @ yaw).T, 1000.0, 0.0, centre, 0.0, 0.0)


def draw(picture: NDArray[np.uint8], corners: NDArray[np.float64], seen: ViewDirections, tone: int) -> None:
    points = np.rint(to_photo(seen, corners) * 16).astype(np.int32)
    cv2.fillConvexPoly(picture, points, tone, cv2.LINE_AA, 4)


def wall_with_pallet(true: ViewDirections, lean: float) -> tuple[NDArray[np.uint8], WhatMaps]:
    """Nine studs between plates, before them fourteen short slats that all lean alike; and what is what.

    A slat that leans back is seen narrowing upwards: its edges run as plumb ones would in another view.
    """
    picture = np.full((HEIGHT_PX, WIDTH_PX), 90, np.uint8)
    front, across = np.zeros_like(picture), np.zeros_like(picture)
    for y in (-0.36, 0.345):
        plate = np.array([(-0.5, y), (0.51, y), (0.51, y + 0.015), (-0.5, y + 0.015)])
        draw(picture, plate, true, 190)
        draw(across, plate, true, 255)
    for x in STUDS:
        stud = np.array([(x, -0.345), (x + 0.014, -0.345), (x + 0.014, 0.345), (x, 0.345)])
        draw(picture, stud, true, 190)
        draw(front, stud, true, 255)
    for x in np.linspace(0.12, 0.5, 14):
        top = x * (1 - lean)
        slat = np.array([(top, 0.1), (top + 0.012, 0.1), (x + 0.013, 0.34), (x, 0.34)])
        draw(picture, slat, true, 230)
    none = np.zeros(picture.shape, np.float32)
    seen = (front / 255).astype(np.float32)
    level = (across / 255).astype(np.float32)
    return cv2.GaussianBlur(picture, (0, 0), 0.8), WhatMaps(seen, level, level, none, none, none + 1)


@pytest.mark.parametrize("lean", [0.01, 0.03, 0.1])
def test_a_pallet_leaning_on_the_wall_does_not_tilt_it(lean: float) -> None:
    true = view(3.0)
    picture, maps = wall_with_pallet(true, lean)
    found = adjust_view(picture, 1.0, view(3.3, 4.2), True, REGION, maps).view
    plumb = float(np.degrees(np.arccos(np.clip(found.rotation[1] @ true.rotation[1], -1, 1))))
    assert plumb < 0.1


def racked(true: ViewDirections, lean: float) -> tuple[NDArray[np.uint8], WhatMaps]:
    """Nine studs between plates, and blocking between them, the studs all leaning alike from square."""
    picture = np.full((HEIGHT_PX, WIDTH_PX), 90, np.uint8)
    front, across = np.zeros_like(picture), np.zeros_like(picture)
    for y in (-0.36, -0.1, 0.12, 0.345):
        plate = np.array([(-0.5, y), (0.51, y), (0.51, y + 0.015), (-0.5, y + 0.015)])
        draw(picture, plate, true, 190)
        draw(across, plate, true, 255)
    for x in STUDS:
        edges = [
            (x + side + lean * y, y) for side, y in ((0, -0.345), (0.014, -0.345), (0.014, 0.345), (0, 0.345))
        ]
        draw(picture, np.array(edges), true, 190)
        draw(front, np.array(edges), true, 255)
    none = np.zeros(picture.shape, np.float32)
    level = (across / 255).astype(np.float32)
    return cv2.GaussianBlur(picture, (0, 0), 0.8), WhatMaps(
        (front / 255).astype(np.float32), level, level, none, none, none + 1
    )


def turned_by_deg(a: ViewDirections, b: ViewDirections) -> float:
    """Angle between two views, degrees."""
    cosine = (np.trace(a.rotation @ b.rotation.T) - 1) / 2
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


@pytest.mark.parametrize("lean", [-0.01, -0.005, 0.0, 0.004, 0.01])
def test_studs_that_all_lean_from_square_to_the_plates_do_not_turn_the_wall(lean: float) -> None:
    """By 0.004 in a racked frame: 3/8 in over 8 ft."""
    true = view(3.0)
    picture, maps = racked(true, lean)
    found = adjust_view(picture, 1.0, view(3.3, 4.2), True, REGION, maps).view
    assert turned_by_deg(found, true) < 0.1


@pytest.mark.parametrize(
    ("square", "leaning", "lean", "plain"),
    [
        (100.0, 80.0, 0.004, True),
        (100.0, 80.0, -0.004, True),
        (100.0, 80.0, 0.01, False),  # 1 in over 8 ft is much: only where it explains much
        (100.0, 60.0, 0.01, True),
        (100.0, 20.0, 0.02, False),  # no wall leans by 2 in
        (100.0, 97.0, 0.004, False),
        (20.0, 17.0, 0.004, False),
        (100.0, 80.0, 0.0005, False),  # 1/16 in over 10 ft
    ],
)
def test_a_lean_is_believed_where_the_lines_plainly_say_so(
    square: float, leaning: float, lean: float, plain: bool
) -> None:
    assert _plainly_lean(square, leaning, lean) is plain


def test_the_spread_of_traces_has_the_derivatives_that_differences_give() -> None:
    rng = np.random.default_rng(3)
    points = rng.uniform([100, 100], [1100, 800], (40, 2))
    traces = Traces(points, np.repeat(np.arange(4), 10), np.array([True, False, True, False]), np.ones(4))
    seen, at, step = view(3.0), np.array([0.01, -0.02, 0.005, 0.03, 0.01, 0.004]), 1e-6
    _, slopes = _spread(traces, seen, at)
    for k in range(6):
        move = np.eye(6)[k] * step
        apart = _spread(traces, seen, at + move)[0] - _spread(traces, seen, at - move)[0]
        assert slopes[:, k] == pytest.approx(apart / (2 * step), rel=1e-4, abs=1e-3)
