"""The pinhole camera with two-term radial distortion that the truth is stated with.

A point ``X`` (wall inches) goes to ``q = R X + t`` (x right, y down, z into the picture),
``n = (q_x / q_z, q_y / q_z)``, ``d = n (1 + k1 r^2 + k2 r^4)`` with ``r = |n|``, and lands at
``(f d_x + cx, f d_y + cy)`` pixels of the upright photo, where (0, 0) is the centre of the
top-left pixel. This is the radial part of the model of Brown (1966), *Decentering distortion
of lenses*, as OpenCV's ``projectPoints`` has it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FULL_FRAME_DIAGONAL_MM = 43.2666  # 36 x 24 mm


@dataclass(frozen=True)
class Camera:
    """A camera; ``rotation`` holds the rows right, down, forward in wall coordinates."""

    width_px: int
    height_px: int
    f_px: float
    cx_px: float
    cy_px: float
    k1: float
    k2: float
    position_in: tuple[float, float, float]
    rotation: tuple[tuple[float, float, float], ...]
    f35_mm: float

    @property
    def translation_in(self) -> NDArray[np.float64]:
        """``t`` of ``q = R X + t``."""
        return -np.asarray(self.rotation) @ np.asarray(self.position_in)

    def normalised(self, points_in: ArrayLike) -> NDArray[np.float64]:
        """(N, 3) wall points to (N, 2) undistorted normalised coordinates."""
        q = np.asarray(points_in, float) @ np.asarray(self.rotation).T + self.translation_in
        return q[:, :2] / q[:, 2:3]

    def project(self, points_in: ArrayLike) -> NDArray[np.float64]:
        """(N, 3) wall points to (N, 2) photo pixels, distortion included."""
        n = self.normalised(points_in)
        r2 = np.sum(n**2, axis=1, keepdims=True)
        d = n * (1 + self.k1 * r2 + self.k2 * r2**2)
        return self.f_px * d + np.array([self.cx_px, self.cy_px])

    def undistorted(self, photo_px: ArrayLike) -> NDArray[np.float64]:
        """(N, 2) photo pixels to (N, 2) undistorted normalised coordinates."""
        d = (np.asarray(photo_px, float) - np.array([self.cx_px, self.cy_px])) / self.f_px
        n = d.copy()
        for _ in range(30):  # fixed point; converges fast for |k| well under 1
            r2 = np.sum(n**2, axis=1, keepdims=True)
            n = d / (1 + self.k1 * r2 + self.k2 * r2**2)
        return n

    def wall_to_undistorted_px(self) -> NDArray[np.float64]:
        """3 x 3 homography from (x, y) of the wall plane to undistorted pixels."""
        r = np.asarray(self.rotation)
        k = np.array([[self.f_px, 0, self.cx_px], [0, self.f_px, self.cy_px], [0, 0, 1.0]])
        h = k @ np.column_stack([r[:, 0], r[:, 1], self.translation_in])
        return h / h[2, 2]

    def wall_xy(self, photo_px: ArrayLike) -> NDArray[np.float64]:
        """(N, 2) photo pixels to (x, y) inches on the wall plane z = 0."""
        n = self.undistorted(photo_px)
        r = np.asarray(self.rotation)
        h = np.linalg.inv(np.column_stack([r[:, 0], r[:, 1], self.translation_in]))
        q = np.column_stack([n, np.ones(len(n))]) @ h.T
        return q[:, :2] / q[:, 2:3]


def aimed(yaw_deg: float, pitch_deg: float, roll_deg: float) -> NDArray[np.float64]:
    """Rotation of a camera that looks into the wall (-z), turned to the right by yaw, up by
    pitch, and rolled clockwise by roll."""
    base = np.array([[1.0, 0, 0], [0, -1.0, 0], [0, 0, -1.0]])
    a, b, c = np.radians([yaw_deg, pitch_deg, roll_deg])
    yaw = np.array([[np.cos(a), 0, -np.sin(a)], [0, 1, 0], [np.sin(a), 0, np.cos(a)]])
    pitch = np.array([[1, 0, 0], [0, np.cos(b), np.sin(b)], [0, -np.sin(b), np.cos(b)]])
    roll = np.array([[np.cos(c), np.sin(c), 0], [-np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return roll @ pitch @ yaw @ base


def focal_px(f35_mm: float, width_px: int, height_px: int) -> float:
    """35-mm-equivalent focal length to pixels, by the diagonal (CIPA DCG-001's definition)."""
    return f35_mm * float(np.hypot(width_px, height_px)) / FULL_FRAME_DIAGONAL_MM
