"""Photo pixels to wall inches and back: lens distortion, then the plane of the front faces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class WallPlane:
    """The map between the photo and the plane of the front faces.

    A photo point p is first made free of lens distortion,
    ``u = undistort((p - principal) / focal)`` with ``p_d = u (1 + k1 r² + k2 r⁴)`` (Brown 1971,
    r = |u|), then sent to the wall by a plane-to-plane homography (Hartley & Zisserman 2004, §2.3).

    Attributes
    ----------
    focal_px : float
        Focal length in pixels.
    principal_px : (x, y)
        Principal point, photo pixels.
    k1, k2 : float
        Radial distortion, r in units of the focal length.
    wall_from_view : 3 x 3 nested tuple
        Homography from undistorted (u, v, 1) to wall inches (x, y, 1).
    """

    focal_px: float
    principal_px: tuple[float, float]
    k1: float
    k2: float
    wall_from_view: tuple[tuple[float, float, float], ...]

    def to_wall(self, points_px: ArrayLike) -> NDArray[np.float64]:
        """Wall inches of photo points, shape (N, 2) in, (N, 2) out; one point (2,) gives (2,)."""
        pts = np.asarray(points_px, dtype=np.float64)
        flat = pts.reshape(-1, 2)
        u = undistort((flat - self.principal_px) / self.focal_px, self.k1, self.k2)
        w = apply_homography(np.asarray(self.wall_from_view), u)
        return w.reshape(pts.shape)

    def to_photo(self, points_in: ArrayLike) -> NDArray[np.float64]:
        """Photo pixels of wall points in inches, shape (N, 2) in, (N, 2) out; (2,) gives (2,)."""
        pts = np.asarray(points_in, dtype=np.float64)
        flat = pts.reshape(-1, 2)
        view_from_wall = np.linalg.inv(np.asarray(self.wall_from_view))
        u = apply_homography(view_from_wall, flat)
        d = distort(u, self.k1, self.k2) * self.focal_px + self.principal_px
        return d.reshape(pts.shape)

    @property
    def distance_in(self) -> float:
        """The camera's distance to the plane, inches.

        With R the view's rotation, ``wall_from_view`` is ``[[s, 0, x], [0, -s, y], [0, 0, 1]] R``, s the
        distance: what its first row has beside its last one is s long (rows of R are orthonormal).
        """
        h = np.asarray(self.wall_from_view)
        n = h[2] / np.linalg.norm(h[2])
        return float(np.linalg.norm(h[0] - (h[0] @ n) * n) / np.linalg.norm(h[2]))

    def moved(self, factor: float, offset_in: float = 0.0) -> WallPlane:
        """The same plane with every length multiplied by `factor` (a better reference came in), and all of it
        `offset_in` farther from the wall's left end."""
        h = np.array([[factor, 0, offset_in], [0, factor, 0], [0, 0, 1.0]]) @ np.asarray(self.wall_from_view)
        rows = tuple((float(r[0]), float(r[1]), float(r[2])) for r in h)
        return WallPlane(self.focal_px, self.principal_px, self.k1, self.k2, rows)


def distort(u: NDArray[np.float64], k1: float, k2: float) -> NDArray[np.float64]:
    """Apply radial distortion ``u (1 + k1 r² + k2 r⁴)`` to points (N, 2) in units of the focal length."""
    r2 = np.sum(u * u, axis=-1, keepdims=True)
    return u * (1.0 + r2 * (k1 + k2 * r2))


def undistort(d: NDArray[np.float64], k1: float, k2: float) -> NDArray[np.float64]:
    """Undo `distort` by fixed-point iteration (ten rounds; error below 1e-9 for phone lenses)."""
    if k1 == 0.0 and k2 == 0.0:
        return d.copy()
    d2 = np.einsum("...i,...i->...", d, d)
    part = np.ones_like(d2)  # u = part * d
    for _ in range(10):
        r2 = d2 * part * part
        part = 1.0 / (1.0 + r2 * (k1 + k2 * r2))
    return np.asarray(d * part[..., None])


def apply_homography(h: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Send points (N, 2) through the 3 x 3 homography `h`; points at infinity give infinities."""
    p = np.column_stack([points, np.ones(len(points))]) @ h.T
    with np.errstate(divide="ignore", invalid="ignore"):
        return p[:, :2] / p[:, 2:]
