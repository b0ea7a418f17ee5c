"""The view is adjusted on this wall's long edges, whatever stands before it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from vision.bundle import adjust_view
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
