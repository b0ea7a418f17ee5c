"""The wall seen straight on: a picture of the plane of the front faces, and the way back to the photo.

Rectified coordinates X, Y are in units of the camera's distance to the wall, (0, 0) at the foot of
the perpendicular from the camera: X = (h·r)/(n·r), Y = (v·r)/(n·r) for a ray r, with h along the
wall, v down and n into it. A rectified picture samples a rectangle of that plane.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.wall_plane import distort, undistort

# The sampling map is exact on a lattice this many rectified pixels apart and bilinear between.
LATTICE_PX = 8

Length = TypeVar("Length", float, NDArray[Any])


def _rays(view: ViewDirections, points_px: NDArray[np.float64]) -> NDArray[np.float64]:
    u = undistort((points_px - np.asarray(view.principal_px)) / view.focal_px, view.k1, 0.0)
    return np.asarray(np.column_stack([u, np.ones(len(u))]) @ view.rotation.T)


def faces_camera(view: ViewDirections, points_px: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which photo points (N, 2) can show the wall's plane: above its horizon they look past it."""
    return np.asarray(_rays(view, points_px)[:, 2] > 0)


def to_rect(view: ViewDirections, points_px: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rectified X, Y (N, 2) of photo points (N, 2)."""
    r = _rays(view, points_px)
    with np.errstate(divide="ignore", invalid="ignore"):
        return r[:, :2] / r[:, 2:]


def to_photo(view: ViewDirections, points_rect: NDArray[np.float64]) -> NDArray[np.float64]:
    """Photo points (N, 2) of rectified X, Y (N, 2)."""
    r = np.column_stack([points_rect, np.ones(len(points_rect))]) @ view.rotation
    with np.errstate(divide="ignore", invalid="ignore"):
        u = r[:, :2] / r[:, 2:]
    return distort(u, view.k1, 0.0) * view.focal_px + np.asarray(view.principal_px)


@dataclass(frozen=True)
class RectGrid:
    """Where a rectified picture's pixels lie: column j is X = left + j·step, row i is Y = top + i·step_y."""

    left: float
    top: float
    step: float
    step_y: float
    width: int
    height: int

    def column(self, x: Length) -> Length:
        """Column (float) of rectified X."""
        return (x - self.left) / self.step

    def row(self, y: Length) -> Length:
        """Row (float) of rectified Y."""
        return (y - self.top) / self.step_y

    def x(self, column: Length) -> Length:
        """Rectified X of a column (float)."""
        return self.left + column * self.step

    def y(self, row: Length) -> Length:
        """Rectified Y of a row (float)."""
        return self.top + row * self.step_y


def grid_over(
    left: float, top: float, right: float, bottom: float, step: float, step_y: float | None = None
) -> RectGrid:
    """A grid whose first and last pixels cover the given rectified rectangle."""
    sy = step if step_y is None else step_y
    return RectGrid(
        left, top, step, sy, max(2, round((right - left) / step) + 1), max(2, round((bottom - top) / sy) + 1)
    )


def sampling_map(view: ViewDirections, grid: RectGrid, scale: float = 1.0) -> NDArray[np.float32]:
    """Photo x and y (height, width, 2) of every pixel of `grid`.

    `scale` is the size of the copy to be sampled relative to the photo (half-pixel rule applied).
    """
    nx, ny = grid.width // LATTICE_PX + 2, grid.height // LATTICE_PX + 2
    gx, gy = np.meshgrid(grid.x(np.arange(nx) * LATTICE_PX), grid.y(np.arange(ny) * LATTICE_PX))
    p = to_photo(view, np.column_stack([gx.ravel(), gy.ravel()]))
    p = np.nan_to_num((p + 0.5) * scale - 0.5, nan=-1e6, posinf=1e6, neginf=-1e6)
    return spread_lattice(np.clip(p, -1e6, 1e6).reshape(ny, nx, 2), grid.width, grid.height)


def spread_lattice(lattice: NDArray[Any], width: int, height: int) -> NDArray[np.float32]:
    """A map (height, width, 2) from its values at every LATTICE_PX-th row and column, bilinear between."""
    finer = np.array([[1.0 / LATTICE_PX, 0.0, 0.0], [0.0, 1.0 / LATTICE_PX, 0.0]])
    return np.asarray(
        cv2.warpAffine(
            lattice.astype(np.float32),
            finer,
            (width, height),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        ),
        np.float32,
    )


def sample(
    image: NDArray, view: ViewDirections, grid: RectGrid, scale: float = 1.0, outside: float = 0.0
) -> NDArray:
    """The rectified picture of `image` on `grid`; pixels outside the photo get `outside`."""
    return pick(image, sampling_map(view, grid, scale), outside)


def pick(image: NDArray, at: NDArray[np.float32], outside: float = 0.0) -> NDArray:
    """`image` at the points `at` (height, width, 2); points outside it get `outside`."""
    border = (outside,) * 4
    return cv2.remap(image, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=border)


def pick_beside(
    image: NDArray,
    view: ViewDirections,
    line: NDArray[np.float64],
    y: NDArray[np.float64],
    offsets: NDArray[np.float64],
) -> tuple[NDArray, NDArray[np.bool_]]:
    """Level strips of the photo `image` beside points of upright lines.

    Parameters
    ----------
    line, y : arrays of one shape
        X and Y of the points, rectified units.
    offsets : (K,) array
        X of a strip's columns from its point, ascending.

    Returns
    -------
    strips : (N, K[, channels]) array
        One row per point, in order.
    inside : (N,) bool array
        Which rows lie wholly in the photo.
    """
    a, b = (to_photo(view, np.column_stack([(line + at).ravel(), y.ravel()])) for at in offsets[[0, -1]])
    t = (offsets - offsets[0]) / (offsets[-1] - offsets[0])
    mx = (a[:, :1] + (b[:, :1] - a[:, :1]) * t).astype(np.float32)
    my = (a[:, 1:] + (b[:, 1:] - a[:, 1:]) * t).astype(np.float32)
    h, w = image.shape[:2]
    inside = ((mx > 0) & (mx < w - 1) & (my > 0) & (my < h - 1)).all(1)
    return cv2.remap(image, mx, my, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), inside


def within(at: NDArray[np.float32], height: int, width: int) -> NDArray[np.bool_]:
    """Which points `at` (..., 2) lie on a picture of this size."""
    x, y = at[..., 0], at[..., 1]
    slack = np.float32(0.02)
    low, right, below = -slack, width - 1 + slack, height - 1 + slack
    return np.asarray((x > low) & (x < right) & (y > low) & (y < below))


def photo_extent(
    view: ViewDirections, width_px: int, height_px: int, reach: float = 2.5
) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of what the photo shows of the plane, at most `reach` from the foot."""
    t = np.linspace(0, 1, 33)
    w, h = width_px - 1.0, height_px - 1.0
    border = np.vstack(
        [
            np.column_stack([t * w, 0 * t]),
            np.column_stack([t * w, 0 * t + h]),
            np.column_stack([0 * t, t * h]),
            np.column_stack([0 * t + w, t * h]),
        ]
    )
    u = undistort((border - np.asarray(view.principal_px)) / view.focal_px, view.k1, 0.0)
    r = np.column_stack([u, np.ones(len(u))]) @ view.rotation.T
    ahead = r[:, 2] > 0.15 * np.linalg.norm(r, axis=1)
    if ahead.sum() < 8:
        return -1.0, -0.75, 1.0, 0.75
    p = np.clip(r[ahead, :2] / r[ahead, 2:], -reach, reach)
    return float(p[:, 0].min()), float(p[:, 1].min()), float(p[:, 0].max()), float(p[:, 1].max())
