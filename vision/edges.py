"""Near-vertical edges of the rectified wall: how much of the height each one runs, and where exactly.

What tells a member's edge from texture is not how strong it is but over how much of the wall's
height it runs, so each band of rows votes once, for the places where its own gradient stands out
from its neighbourhood. Exact positions come from the photo at full size.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.rectify import pick_beside
from vision.scale import weighted_line

BANDS = 48
# Slopes tried, as sideways run over the wall's full height (1 in over 96 in is 0.0104).
SLOPES = np.linspace(-0.012, 0.012, 9)
CHROMA_GAIN = 1.3  # colour edges weigh a little more than brightness edges (feasibility study, §3.7)


@dataclass(frozen=True)
class EdgeBands:
    """Evidence of vertical edges per band of rows.

    Attributes
    ----------
    votes : (BANDS, width) array
        0..1: a gradient that stands out here, in this band.
    light : (BANDS, width) array
        Signed lightness gradient, positive when it gets lighter to the right.
    colour : (BANDS, width, 3) array
        Mean Lab colour.
    seen : (BANDS, width) bool array
        False where the photo does not show the wall.
    row : (BANDS,) array
        Middle row of each band.
    """

    votes: NDArray[np.float32]
    light: NDArray[np.float32]
    colour: NDArray[np.float32]
    seen: NDArray[np.bool_]
    row: NDArray[np.float64]


def band_mean(picture: NDArray, first: float, last: float, axis: int = 0) -> NDArray[np.float32]:
    """Average rows of (H, W[, C]) into BANDS bands between two rows; columns where `axis` is 1.

    Either way the bands are the rows of what is returned.
    """
    a = int(np.clip(round(first), 0, picture.shape[axis] - 1))
    b = int(np.clip(round(last), a + 1, picture.shape[axis]))
    part = picture[a:b] if axis == 0 else picture[:, a:b]
    size = (part.shape[1], BANDS) if axis == 0 else (BANDS, part.shape[0])
    mean = cv2.resize(np.asarray(part, np.float32), size, interpolation=cv2.INTER_AREA)
    return np.asarray(mean if axis == 0 else np.swapaxes(mean, 0, 1), np.float32)


def lab_of(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """CIELAB of an (H, W, 3) picture."""
    return np.asarray(cv2.cvtColor(rgb * np.float32(1 / 255), cv2.COLOR_RGB2Lab), np.float32)


def edge_votes(
    lab: NDArray[np.float32],
    seen: NDArray[np.bool_],
    first: float,
    last: float,
    blur_px: float,
    axis: int = 0,
) -> EdgeBands:
    """Band by band, where the rectified picture `lab` (H, W, 3) has an edge that stands out.

    Bands are of rows between two rows, and edges run down; where `axis` is 1, of columns and edges run
    across. `blur_px` is the gradient's smoothing; a quarter of the face's width keeps both its edges apart.
    """
    colour = np.ascontiguousarray(band_mean(lab, first, last, axis))
    ok = np.ascontiguousarray(band_mean(seen, first, last, axis)) > 0.99
    smooth = np.stack([cv2.GaussianBlur(colour[..., c], (0, 0), blur_px, sigmaY=1e-3) for c in range(3)], -1)
    grad = np.zeros_like(smooth)
    grad[:, 1:-1] = 0.5 * (smooth[:, 2:] - smooth[:, :-2])
    strength = np.sqrt(grad[..., 0] ** 2 + CHROMA_GAIN**2 * (grad[..., 1] ** 2 + grad[..., 2] ** 2))
    margin = cv2.erode(ok.astype(np.uint8), np.ones((1, 2 * int(3 * blur_px) + 1), np.uint8)) > 0
    strength[~margin] = 0
    # Judge against what is around it: the local mean over about eight faces' width.
    width = max(9, 2 * int(16 * blur_px) + 1)
    around = cv2.blur(strength, (width, 1))
    peak = (strength >= np.roll(strength, 1, 1)) & (strength > np.roll(strength, -1, 1))
    ratio = strength / (around + 0.15)
    votes = np.where(peak, np.clip((ratio - 0.8) / 1.4, 0, 1), 0).astype(np.float32)
    votes = cv2.dilate(votes, np.ones((1, 3), np.uint8))
    step = (last - first) / BANDS
    row: NDArray[np.float64] = first + (np.arange(BANDS, dtype=np.float64) + 0.5) * step
    return EdgeBands(votes, grad[..., 0].astype(np.float32), colour, ok, row)


def sheared_mean(
    bands: NDArray[np.float32], seen: NDArray[np.bool_], height_px: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Share of the seen bands that agree along the best of SLOPES through each column.

    Returns the share (W,) and the slope index's slope (W,), both at mid-height.
    """
    n, w = bands.shape
    t = (np.arange(n) + 0.5) / n - 0.5
    shifts = np.rint(SLOPES[:, None] * height_px * t).astype(int)
    reach = int(np.abs(shifts).max())
    beside = ((0, 0), (reach, reach))
    value = np.pad(np.where(seen, bands, 0), beside, mode="edge")
    known = np.pad(seen.astype(value.dtype), beside, mode="edge")
    best = np.zeros(w)
    slope = np.zeros(w)
    for s, shift in zip(SLOPES, shifts, strict=True):
        total, n_seen = np.zeros((2, w), value.dtype)
        for band, first in enumerate(reach + shift):
            total += value[band, first : first + w]
            n_seen += known[band, first : first + w]
        share = np.where(n_seen > 0.15 * n, total / np.maximum(n_seen, 1), 0) * (1 - 6 * abs(s))
        better = share > best
        best[better] = share[better]
        slope[better] = s
    return best, slope


@dataclass(frozen=True)
class EdgeLine:
    """One edge measured in the photo, in rectified units.

    Attributes
    ----------
    x_mid, slope : float
        X at the middle of the sampled height, and dX per unit of Y (downward).
    sigma : float
        Formal standard deviation of `x_mid`.
    share : float
        Share of the sampled bands that have the edge within the inlier distance.
    """

    x_mid: float
    slope: float
    sigma: float
    share: float


def measure_edge(
    grey: NDArray[np.float32],
    view: ViewDirections,
    x_mid: float,
    slope: float,
    y_top: float,
    y_bottom: float,
    reach: float,
    bands: int = BANDS,
) -> EdgeLine | None:
    """Fit an edge's line in the photo itself near (x_mid, slope), all in rectified units.

    Parameters
    ----------
    grey : (H, W) float32 array
        The full-size grey photo.
    reach : float
        Half-width of the search, rectified units.

    Returns
    -------
    EdgeLine or None
        None when fewer than six bands show an edge near the line.
    """
    per_band = 4
    step = 0.5 / view.focal_px
    half = max(5, int(np.ceil(reach / step)) + 4)
    y = y_top + (np.arange(bands * per_band) + 0.5) * (y_bottom - y_top) / (bands * per_band)
    y_mid = 0.5 * (y_top + y_bottom)
    offsets: NDArray[np.float64] = np.arange(-half, half + 1, dtype=np.float64) * step
    patch, inside = pick_beside(grey, view, x_mid + slope * (y - y_mid), y, offsets)
    rows = patch.reshape(bands, per_band, -1).mean(1)
    ok_band = inside.reshape(bands, per_band).all(1)
    sigma = float(np.clip(0.15 * reach / step, 1.2, 3.0))
    rows = cv2.GaussianBlur(rows, (0, 0), sigma, sigmaY=1e-3)
    grad = np.zeros_like(rows)
    grad[:, 1:-1] = 0.5 * (rows[:, 2:] - rows[:, :-2])
    yb = y.reshape(bands, per_band).mean(1)
    line_off, line_slope = 0.0, 0.0
    best: EdgeLine | None = None
    # The commoner sign of the gradient along the line is the edge's own.
    near = np.abs(offsets) <= max(reach * 0.5, 2 * step)
    pull = grad[:, near][ok_band]
    if len(pull) < 6:
        return None
    strongest = np.take_along_axis(pull, np.abs(pull).argmax(1)[:, None], 1)[:, 0]
    sign = 1.0 if np.median(strongest) >= 0 else -1.0
    signed = np.maximum(grad * sign, 0)
    for window, inlier in ((reach, 0.45 * reach), (0.6 * reach, 0.3 * reach), (0.4 * reach, 0.2 * reach)):
        centre = line_off + line_slope * (yb - y_mid)
        d = offsets[None, :] - centre[:, None]
        weight = np.where(np.abs(d) <= max(window, 2 * step), signed * np.exp(-0.5 * (d / window) ** 2), 0)
        k = weight.argmax(1)
        m = signed[np.arange(bands), k]
        good = ok_band & (m > 0.35 * np.median(m[ok_band])) & (m > 0.2) & (k > 0) & (k < len(offsets) - 1)
        if good.sum() < 6:
            return best
        kk = k[good]
        g = np.flatnonzero(good)
        left, mid, right = signed[g, kk - 1], signed[g, kk], signed[g, kk + 1]
        sub = np.clip(0.5 * (left - right) / np.minimum(left - 2 * mid + right, -1e-9), -0.5, 0.5)
        x = offsets[kk] + sub * step
        yy = yb[good] - y_mid
        line_off, line_slope = float(np.median(x)), 0.0
        for _ in range(6):
            r = x - line_off - line_slope * yy
            q = 1.0 / (1.0 + (r / max(inlier, 0.5 * step)) ** 2) ** 2
            line_slope, line_off = weighted_line(yy, x, q)
        r = x - line_off - line_slope * yy
        inl = np.abs(r) < max(inlier, step)
        if inl.sum() < 6:
            return best
        sd = float(np.sqrt(np.mean(r[inl] ** 2)) + 0.1 * step)
        best = EdgeLine(
            x_mid + line_off,
            slope + line_slope,
            sd / np.sqrt(inl.sum()) * 2.0,
            float(inl.sum() / max(1, ok_band.sum())),
        )
    return best
