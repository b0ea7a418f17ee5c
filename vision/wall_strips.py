"""Are two photos' studs the same ones? Knots, grain and stamps on their front faces, compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.wall_plane import WallPlane

PX_PER_IN = 5.0
HALF_FACE_IN = 0.6  # of 3/4: clear of the edges, which all studs have
SLIP_X_IN, SLIP_Y_IN = 0.3, 1.0  # how far the two planes may be off against each other
PLATES_IN = 4.0  # left out at top and bottom: all studs meet the plates alike
PATTERN_IN = 3.0  # coarser than this is light and shadow, not the face's own pattern


LEAST_FOR_COMMON = 3


@dataclass(frozen=True)
class Faces:
    """The fine pattern of every member's front face in two overlapping photos.

    Attributes
    ----------
    left : tuple of (H, W) float32 arrays or None
        One per member of the left photo; None where the photo does not show it whole.
    right : the same for the right photo, wider and higher by the slip that is allowed.
    """

    left: tuple[NDArray[np.float32] | None, ...]
    right: tuple[NDArray[np.float32] | None, ...]


def faces_of(
    rgb: tuple[NDArray[np.uint8], NDArray[np.uint8]],
    planes: tuple[WallPlane, WallPlane],
    centres_in: tuple[Sequence[float], Sequence[float]],
    height_in: float,
) -> Faces:
    """Look at every face of two photos.

    Parameters
    ----------
    rgb : two (H, W, 3) uint8 arrays
    planes : two WallPlane
        Each photo's pixels to its own inches.
    centres_in : two sequences of float
        Middles of the members of the left and of the right photo, each in that photo's inches.
    height_in : float
        Of the wall.
    """
    low, high = PLATES_IN, height_in - PLATES_IN
    left = [_face(rgb[0], planes[0], x, HALF_FACE_IN, low, high) for x in centres_in[0]]
    wide = HALF_FACE_IN + SLIP_X_IN
    right = [_face(rgb[1], planes[1], x, wide, low - SLIP_Y_IN, high + SLIP_Y_IN) for x in centres_in[1]]
    return Faces(_without_common(left), _without_common(right))


def likeness(faces: Faces, pairs: Sequence[tuple[int, int]]) -> float:
    """Mean normalised correlation (-1..1) of the faces taken for the same, at the best common slip."""
    found = []
    for p, q in pairs:
        first, second = faces.left[p], faces.right[q]
        if first is None or second is None or first.std() < 1e-3 or second.std() < 1e-3:
            continue
        found.append(cv2.matchTemplate(second, first, cv2.TM_CCOEFF_NORMED))
    # One slip for all: the two planes are off by the same amount everywhere.
    return float(np.mean(found, axis=0).max()) if found else 0.0


def _without_common(faces: list[NDArray[np.float32] | None]) -> tuple[NDArray[np.float32] | None, ...]:
    """The faces less what all of them show at one height: a row of blocks, a rail, a beam of light."""
    seen = [f for f in faces if f is not None]
    if len(seen) < LEAST_FOR_COMMON:
        return tuple(faces)
    common = np.median(seen, axis=0).astype(np.float32)
    return tuple(None if f is None else f - common for f in faces)


def _face(
    rgb: NDArray[np.uint8],
    plane: WallPlane,
    centre_in: float,
    half_in: float,
    low_in: float,
    high_in: float,
) -> NDArray[np.float32] | None:
    """A member's front face seen straight on, its coarse light taken out; None where the photo ends."""
    nx, ny = round(2 * half_in * PX_PER_IN) + 1, round((high_in - low_in) * PX_PER_IN) + 1
    if ny < 20:
        return None
    x = centre_in + np.linspace(-half_in, half_in, nx)
    y = np.linspace(high_in, low_in, ny)
    gx, gy = np.meshgrid(x, y)
    at = plane.to_photo(np.column_stack([gx.ravel(), gy.ravel()])).reshape(ny, nx, 2).astype(np.float32)
    h, w = rgb.shape[:2]
    inside = (at[..., 0] > 0) & (at[..., 0] < w - 1) & (at[..., 1] > 0) & (at[..., 1] < h - 1)
    if inside.mean() < 0.9:
        return None
    grey = cv2.cvtColor(
        cv2.remap(rgb, at[..., 0], at[..., 1], cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE),
        cv2.COLOR_RGB2GRAY,
    ).astype(np.float32)
    fine = cv2.GaussianBlur(grey, (0, 0), 0.8)
    light = cv2.GaussianBlur(grey, (0, 0), sigmaX=1e3, sigmaY=PATTERN_IN * PX_PER_IN)
    spread = np.sqrt(
        cv2.GaussianBlur((fine - light) ** 2, (0, 0), sigmaX=1e3, sigmaY=2 * PATTERN_IN * PX_PER_IN)
    )
    return np.asarray((fine - light) / (spread + 2.0), dtype=np.float32)
