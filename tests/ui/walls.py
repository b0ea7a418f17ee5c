"""Readings and planes of invented walls, made from a camera whose every figure is known."""

from __future__ import annotations

import cv2
import numpy as np

from vision.reading import Member, Opening, Reading, Reference, Wall
from vision.wall_plane import WallPlane

FOCAL_PX, PRINCIPAL_PX = 2600.0, (1999.5, 1499.5)
K1, K2 = -0.09, 0.02
# The camera stands 150 in before the middle of a 16 ft 2 in wall at eye height, turned a little.
TURN = cv2.Rodrigues(np.array([0.03, -0.06, 0.01]))[0]
EYE_IN = np.array([97.0, 58.0, 150.0])


def wall_to_view() -> np.ndarray:
    """3 x 3 map from wall inches (x right, y up, on z = 0) to undistorted view (x right, y down)."""
    flip = np.diag([1.0, -1.0, -1.0])
    rotation = TURN @ flip
    shift = -rotation @ EYE_IN
    return np.column_stack([rotation[:, 0], rotation[:, 1], shift])


def by_opencv(points_in: np.ndarray) -> np.ndarray:
    """Where OpenCV's own camera model puts wall points in the photo."""
    rotation = TURN @ np.diag([1.0, -1.0, -1.0])
    camera = np.array([[FOCAL_PX, 0, PRINCIPAL_PX[0]], [0, FOCAL_PX, PRINCIPAL_PX[1]], [0, 0, 1]])
    deep = np.column_stack([points_in, np.zeros(len(points_in))])
    projected, _ = cv2.projectPoints(
        deep, cv2.Rodrigues(rotation)[0], -rotation @ EYE_IN, camera, np.array([K1, K2, 0.0, 0.0, 0.0])
    )
    return projected.reshape(-1, 2)


def plane() -> WallPlane:
    """The same camera as the project's own map."""
    inverse = np.linalg.inv(wall_to_view())
    return WallPlane(FOCAL_PX, PRINCIPAL_PX, K1, K2, tuple(tuple(float(v) for v in row) for row in inverse))


def stud(
    centre_in: float, *, sure: bool = True, kind: str = "full", reach: tuple[float, float] = (1.5, 95.6)
):
    """A stud of 1 1/2 in at `centre_in`, its line in the photo where the camera puts it."""
    line = plane().to_photo([(centre_in, reach[0]), (centre_in, reach[1])])
    front = tuple((float(x), float(y)) for x, y in line)
    return Member(centre_in, 0.06, 1.5, 0.0, 1, kind, sure, front, reach[0], reach[1])


def reading(
    centres_in: tuple[float, ...] = (0.75, 16.25, 32.25, 48.25, 64.25, 80.25, 112.25, 128.25, 144.25, 193.25),
    *,
    length_in: float = 194.0,
    height_in: float = 97.125,
    openings: tuple[Opening, ...] = (),
) -> Reading:
    """A reading of a wall 16 ft 2 in long whose studs do not start from the left corner."""
    corners = plane().to_photo([(0, height_in), (length_in, height_in), (length_in, 0), (0, 0)])
    return Reading(
        width_px=4000,
        height_px=3000,
        reference=Reference.on_centre(16.0),
        wall=Wall(length_in, 0.2, height_in, 0.3, tuple((float(x), float(y)) for x, y in corners)),
        plane=plane(),
        members=tuple(stud(centre) for centre in centres_in),
        openings=openings,
        warnings=(),
    )
