"""Which way the camera looked at the wall: the wall's horizontal, plumb and depth directions.

The camera frame is x right, y down, z forward, in units of the focal length. A line of the photo
and the camera's centre span a plane; its unit normal m is at right angles to the line's true
direction d, so m·d = 0 (Hartley & Zisserman 2004, §8.6). The plumb direction is searched by votes
on a grid, refined by reweighted least squares; then the wall's horizontal on the circle at right
angles to it. Lens distortion is chosen as the value under which the votes are sharpest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.wall_plane import undistort

# How far a photo of a wall may be from straight-on before other walls' lines take over, degrees.
MOST_PITCH_DEG, MOST_ROLL_DEG, MOST_YAW_DEG = 20.0, 8.0, 40.0
# A vote counts fully inside this angle (0.35 degrees is about 5 px over a 800 px segment).
VOTE_SIGMA_DEG = 0.35
FINE_SIGMA_DEG = 0.15
K1_TRIALS = (-0.10, -0.06, -0.03, 0.0, 0.03, 0.06)


@dataclass(frozen=True)
class ViewDirections:
    """Orientation of the wall in the camera frame.

    Attributes
    ----------
    rotation : (3, 3) array
        Rows: along the wall to the right, down, into the wall.
    focal_px, k1 : float
        Focal length and first radial term these directions go with.
    principal_px : (x, y)
    vertical_votes, horizontal_votes : float
        Segment length (in units of the focal length) agreeing with each direction.
    """

    rotation: NDArray[np.float64]
    focal_px: float
    k1: float
    principal_px: tuple[float, float]
    vertical_votes: float
    horizontal_votes: float

    @property
    def yaw_deg(self) -> float:
        """Angle between the line of sight and the wall's normal, about the plumb line."""
        n = self.rotation[2]
        return float(np.degrees(np.arctan2(n[0], n[2])))

    @property
    def pitch_deg(self) -> float:
        """Camera tilt up (+) or down (-) seen from the wall's normal."""
        n = self.rotation[2]
        return float(np.degrees(np.arcsin(np.clip(n[1], -1, 1))))


def plane_normals(
    segments_px: NDArray[np.float64], focal_px: float, principal_px: tuple[float, float], k1: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Unit normals (N, 3) of the planes through segments (N, 4), and segment lengths (N,) in focal units."""
    c = np.asarray(principal_px)
    a = undistort((segments_px[:, :2] - c) / focal_px, k1, 0.0)
    b = undistort((segments_px[:, 2:] - c) / focal_px, k1, 0.0)
    ones = np.ones((len(a), 1))
    m = np.cross(np.hstack([a, ones]), np.hstack([b, ones]))
    norm = np.linalg.norm(m, axis=1, keepdims=True)
    return m / np.maximum(norm, 1e-12), np.hypot(*(b - a).T)


def find_directions(
    segments_px: NDArray[np.float64],
    weights: NDArray[np.float64],
    focal_px: float,
    principal_px: tuple[float, float],
    start: ViewDirections | None = None,
    k1_trials: tuple[float, ...] = K1_TRIALS,
) -> ViewDirections | None:
    """Find the wall's directions from line segments.

    Parameters
    ----------
    segments_px : (N, 4) array
        Segments, photo pixels.
    weights : (N,) array
        How much each segment is trusted (0 drops it), multiplied by its length here.
    focal_px, principal_px
        The lens.
    start : ViewDirections, optional
        When given, only directions within 4 degrees of it are searched (four tapped corners).

    Returns
    -------
    ViewDirections or None
        None when fewer than three segments agree on a plumb direction.
    """
    if len(segments_px) < 4:
        return None
    best: tuple[float, ViewDirections] | None = None
    trials = k1_trials if start is None else tuple(sorted({*k1_trials, start.k1}))
    for k1 in trials:
        m, length = plane_normals(segments_px, focal_px, principal_px, k1)
        w = length * weights
        dx, dy = np.abs((segments_px[:, 2:] - segments_px[:, :2]).T)
        steep, flat = dy > 1.5 * dx, dx > 1.5 * dy
        plumb = _vote_plumb(m[steep], w[steep]) if start is None else start.rotation[1]
        v = _refine(m[steep], w[steep], plumb, None, start is None)
        if v is None:
            continue
        h0 = start.rotation[0] if start is not None else None
        level = _vote_horizontal(m[flat], w[flat], v, h0)
        h = _refine(m[flat], w[flat], level, v, start is None)
        if h is None:
            continue
        n = np.cross(h, v)
        score_v = _votes(m[steep], w[steep], v)
        score_h = _votes(m[flat], w[flat], h)
        score = score_v + score_h
        view = ViewDirections(np.vstack([h, v, n]), focal_px, k1, principal_px, score_v, score_h)
        # A small preference for no distortion settles ties among few lines.
        score *= 1.0 - 0.5 * abs(k1)
        if best is None or score > best[0]:
            best = (score, view)
    return best[1] if best else None


def _votes(m: NDArray[np.float64], w: NDArray[np.float64], d: NDArray[np.float64]) -> float:
    return float(np.sum(w * np.exp(-0.5 * ((m @ d) / np.radians(FINE_SIGMA_DEG)) ** 2)))


def _score(
    d: NDArray[np.float64], m: NDArray[np.float64], w: NDArray[np.float64], sigma_deg: float
) -> NDArray[np.float32]:
    """Votes for each of the directions `d` (K, 3); single precision is enough to search by."""
    off = (d.astype(np.float32) @ m.T.astype(np.float32)) / np.float32(np.radians(sigma_deg))
    return np.asarray(np.exp(-0.5 * off * off) @ w.astype(np.float32))


def _vote_plumb(m: NDArray[np.float64], w: NDArray[np.float64]) -> NDArray[np.float64]:
    best_d, best = np.array([0.0, 1.0, 0.0]), -1.0
    centre_pitch, centre_roll = 0.0, 0.0
    for span_p, span_r, step, sigma in (
        (MOST_PITCH_DEG, MOST_ROLL_DEG, 0.8, 0.6),
        (0.8, 0.8, 0.2, VOTE_SIGMA_DEG),
    ):
        pitch = np.radians(centre_pitch + np.arange(-span_p, span_p + 1e-9, step))
        roll = np.radians(centre_roll + np.arange(-span_r, span_r + 1e-9, step))
        p, r = np.meshgrid(pitch, roll, indexing="ij")
        d = np.stack([np.sin(r) * np.cos(p), np.cos(r) * np.cos(p), np.sin(p)], -1).reshape(-1, 3)
        score = _score(d, m, w, sigma)
        i = int(np.argmax(score))
        centre_pitch, centre_roll = float(np.degrees(p.flat[i])), float(np.degrees(r.flat[i]))
        best_d, best = d[i], float(score[i])
    return best_d if best > 0 else np.array([0.0, 1.0, 0.0])


def _vote_horizontal(
    m: NDArray[np.float64], w: NDArray[np.float64], v: NDArray[np.float64], h0: NDArray[np.float64] | None
) -> NDArray[np.float64]:
    e1 = np.cross(v, [0.0, 0.0, 1.0])
    e1 /= np.linalg.norm(e1)
    if e1[0] < 0:
        e1 = -e1
    e2 = np.cross(e1, v)
    centre, span = 0.0, MOST_YAW_DEG
    if h0 is not None:
        centre, span = float(np.degrees(np.arctan2(h0 @ e2, h0 @ e1))), 4.0
    for step, sigma, reach in ((0.5, VOTE_SIGMA_DEG, span), (0.1, VOTE_SIGMA_DEG, 0.6)):
        yaw = np.radians(centre + np.arange(-reach, reach + 1e-9, step))
        d = np.cos(yaw)[:, None] * e1 + np.sin(yaw)[:, None] * e2
        score = _score(d, m, w, sigma)
        # Straight-on is likelier than oblique: half the votes at the far end of the range.
        score = score * np.exp(-0.5 * (np.degrees(yaw) / 35.0) ** 2) if h0 is None else score
        centre = float(np.degrees(yaw[int(np.argmax(score))]))
    y = np.radians(centre)
    return np.cos(y) * e1 + np.sin(y) * e2


def _refine(
    m: NDArray[np.float64],
    w: NDArray[np.float64],
    d: NDArray[np.float64] | None,
    at_right_angles_to: NDArray[np.float64] | None,
    free: bool,
) -> NDArray[np.float64] | None:
    """Reweighted least squares for min Σ w (m·d)², |d| = 1, optionally d ⟂ a given direction."""
    if d is None or len(m) < 2:
        return d if not free and d is not None else None
    basis = np.linalg.svd(at_right_angles_to[None, :])[2][1:] if at_right_angles_to is not None else np.eye(3)
    mb = m @ basis.T
    current = d
    for sigma in np.radians((0.5, 0.3, 0.2, 0.15, 0.15)):
        q = w / (1.0 + ((m @ current) / sigma) ** 2) ** 2
        if np.count_nonzero(np.abs(m @ current) < 2 * sigma) < 2:
            break
        a = (mb * q[:, None]).T @ mb
        new = np.linalg.eigh(a)[1][:, 0] @ basis
        if new @ current < 0:
            new = -new
        if new @ d < np.cos(np.radians(5.0)):
            break
        current = new
    return current / np.linalg.norm(current)
