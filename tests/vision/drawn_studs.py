"""Studs drawn before a wall as bright as they are, bowed and leaning, and as a coarse reading has them."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.extent import Upright
from vision.measured import Measured
from vision.members import Stretch
from vision.rectify import grid_over, to_rect
from vision.survey import Survey
from vision.wall_region import Region

WIDTH_PX, HEIGHT_PX, FOCAL_PX = 900, 620, 700.0
PRINCIPAL_PX = ((WIDTH_PX - 1) / 2, (HEIGHT_PX - 1) / 2)
INCHES_PER_UNIT = 130.0  # the camera stands this far from the wall: 5.4 px to the inch
WALL_HEIGHT_IN, FACE_IN = 97.0, 1.5
TOP, BOTTOM = -0.5 * WALL_HEIGHT_IN / INCHES_PER_UNIT, 0.5 * WALL_HEIGHT_IN / INCHES_PER_UNIT
WOOD, BEHIND = (170, 130, 90), (120, 140, 150)  # of one brightness (BT.601)
CENTRES_IN = tuple(range(-64, 65, 16))


def looking(k1: float = 0.0, yaw_deg: float = 0.0) -> ViewDirections:
    turn = np.asarray(cv2.Rodrigues(np.array([0.0, np.radians(yaw_deg), 0.0]))[0])
    return ViewDirections(turn, FOCAL_PX, k1, PRINCIPAL_PX, 0.0, 0.0)


def drawn(
    view: ViewDirections, bows_in: dict[int, float], leans_in: dict[int, float] | None = None, seed: int = 1
) -> NDArray[np.uint8]:
    """Studs before a wall as bright but bluer, each pixel the mean of what it covers, with noise."""
    px, py = np.meshgrid(np.arange(WIDTH_PX, dtype=float), np.arange(HEIGHT_PX, dtype=float))
    x, y = (to_rect(view, np.column_stack([px.ravel(), py.ravel()])) * INCHES_PER_UNIT).T
    u = y / WALL_HEIGHT_IN
    bows, leans = (np.array([(d or {}).get(c, 0.0) for c in CENTRES_IN]) for d in (bows_in, leans_in))
    nearest = np.clip(np.rint((x - CENTRES_IN[0]) / 16).astype(int), 0, len(CENTRES_IN) - 1)
    line = np.array(CENTRES_IN)[nearest] + bows[nearest] * (1 - 4 * u**2) - leans[nearest] * u
    covered = np.clip((FACE_IN / 2 - np.abs(x - line)) * FOCAL_PX / INCHES_PER_UNIT + 0.5, 0, 1)
    covered = covered.reshape(HEIGHT_PX, WIDTH_PX, 1)
    rgb = np.array(WOOD) * covered + np.array(BEHIND) * (1 - covered)
    rgb = rgb + np.random.default_rng(seed).normal(0, 4, rgb.shape)
    return np.clip(rgb, 0, 255).astype(np.uint8)


def surveyed(off_in: float = 0.1) -> Survey:
    """The studs as the coarse reading leaves them: a little beside their place, and straight."""
    face = FACE_IN / INCHES_PER_UNIT
    region = Region(-0.6, TOP, 0.6, BOTTOM)
    members = []
    for centre in CENTRES_IN:
        x = (centre + off_in) / INCHES_PER_UNIT
        up = Upright(Stretch(0.0, 1.0, 1, 1.0, 1.0, 1.0, 1.0, 0.0), 0.0, 1.0, 1.0, True)
        members.append(
            Measured(x - face / 2, x + face / 2, 0.0, TOP, BOTTOM, 0.1 * face, face, None, None, up),
        )
    grid = grid_over(-0.6, TOP, 0.6, BOTTOM, 1 / FOCAL_PX)
    return Survey(region, face, tuple(members), grid, None)
