"""Fine adjustment of view, focal length and lens distortion from long traced edges.

Every edge parallel to the wall's plumb line has one X, every edge parallel to its horizontal one
Y, at whatever depth it lies. The spread of X (of Y) along each traced edge is driven down by
non-linear least squares over the rotation, log focal length and k1, with a prior on the last two
(the residual is multiplied by the focal length: it stays in pixels, or the focal length runs away).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from vision.directions import ViewDirections
from vision.rectify import grid_over, photo_extent, sample, to_photo, to_rect

# Plumb and level edges are traced on pictures of these sizes, in bands of so many rows (columns): long
# enough to silence noise, short for curves. Level edges are fewer and cut up by the studs, and the wall's
# direction hangs on them, so they are traced finer.
PLUMB_LONG_SIDE_PX, BAND_PLUMB_PX = 1100, 10
LEVEL_LONG_SIDE_PX, BAND_LEVEL_PX = 2000, 12
POINTS_PER_TRACE = 14  # more would let one long edge outweigh the priors (feasibility study, §6)
EDGE_SIGMA_PX = 1.0  # points of one trace err together, so each counts for less than its own noise
FOCAL_SIGMA_EXIF = 0.015
FOCAL_SIGMA_GUESS = 0.08
K1_SIGMA = 0.03
MOST_LOG_FOCAL, MOST_K1 = 0.35, 0.12  # beyond these a fit has run away
ROUNDS = 2  # traced and fitted anew under the better view
SHORTEST_TRACE_BANDS = 9
LINK_REACH = 1.2  # columns that a trace may stray from where it is foreseen
MOST_TRACES = 120


@dataclass(frozen=True)
class Traces:
    """Traced edges: photo points (N, 2), which trace each belongs to (N,), and the traces' kind."""

    points_px: NDArray[np.float64]
    trace: NDArray[np.int64]
    vertical: NDArray[np.bool_]  # one per trace
    weight: NDArray[np.float64]  # one per trace


@dataclass(frozen=True)
class Adjusted:
    """An adjusted view with its leftover error and formal doubt.

    Attributes
    ----------
    rms_px : float
        Root mean square of what remains, working pixels.
    yaw_sigma_deg : float
        Formal sigma of the wall direction about the plumb line.
    verticals, horizontals : int
        Traces kept.
    """

    view: ViewDirections
    rms_px: float
    yaw_sigma_deg: float
    verticals: int
    horizontals: int


def adjust_view(
    grey: NDArray[np.uint8],
    scale: float,
    view: ViewDirections,
    focal_known: bool,
    region_rect: tuple[float, float, float, float] | None = None,
) -> Adjusted:
    """Adjust `view` on the grey working copy of the photo (`scale` = copy size / photo size)."""
    adjusted = Adjusted(view, np.inf, np.inf, 0, 0)
    for _ in range(ROUNDS):
        traces = _trace_both(grey, scale, adjusted.view, region_rect)
        if len(traces.vertical) < 3:
            break
        adjusted = _fit(traces, adjusted.view, focal_known, view, scale)
    return adjusted


def _trace_both(
    grey: NDArray[np.uint8],
    scale: float,
    view: ViewDirections,
    region: tuple[float, float, float, float] | None,
) -> Traces:
    height_px, width_px = grey.shape
    left, top, right, bottom = region or photo_extent(
        view, round(width_px / scale), round(height_px / scale), reach=1.6
    )
    points, ids, kinds, weights = [], [], [], []
    count = 0
    for vertical in (True, False):
        long_side = PLUMB_LONG_SIDE_PX if vertical else LEVEL_LONG_SIDE_PX
        step = max(1.0 / (view.focal_px * scale), (right - left) / long_side, (bottom - top) / long_side)
        grid = grid_over(left, top, right, bottom, step)
        # -1 marks what the photo does not show.
        rect = sample(grey.astype(np.float32), view, grid, scale, outside=-1.0)
        picture = rect if vertical else np.ascontiguousarray(rect.T)
        for across, along in _trace_edges(picture, BAND_PLUMB_PX if vertical else BAND_LEVEL_PX):
            x, y = (across, along) if vertical else (along, across)
            pts = to_photo(view, np.column_stack([grid.x(x), grid.y(y)]))
            points.append(pts)
            ids.append(np.full(len(pts), count))
            kinds.append(vertical)
            weights.append(len(pts))
            count += 1
    if not points:
        return Traces(np.zeros((0, 2)), np.zeros(0, np.int64), np.zeros(0, bool), np.zeros(0))
    return Traces(np.vstack(points), np.concatenate(ids), np.array(kinds), np.array(weights, float))


def _trace_edges(
    picture: NDArray[np.float32], band: int
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Follow near-vertical edges through bands of `band` rows: list of (column, row) arrays."""
    rows, cols = picture.shape
    bands = rows // band
    if bands < SHORTEST_TRACE_BANDS or cols < 16:
        return []
    cut = picture[: bands * band].reshape(bands, band, cols)
    seen: NDArray[np.bool_] = np.asarray((cut >= 0).all(axis=1))
    mean = cut.mean(axis=1)
    smooth = cv2.GaussianBlur(mean, (0, 0), sigmaX=1.2, sigmaY=0.01)
    grad = np.zeros_like(smooth)
    grad[:, 1:-1] = 0.5 * (smooth[:, 2:] - smooth[:, :-2])
    ok = seen.copy()
    ok[:, 4:-4] &= seen[:, :-8] & seen[:, 8:]
    ok[:, :4] = ok[:, -4:] = False
    grad[~ok] = 0.0
    mag = np.abs(grad)
    floor = 1.0 + 0.5 * np.median(mag[ok]) if ok.any() else 1.0
    peak = (mag > floor) & (mag >= np.roll(mag, 1, axis=1)) & (mag > np.roll(mag, -1, axis=1))
    peak[:, :2] = peak[:, -2:] = False
    out = [_as_trace(row, x, band) for row, x in _linked(mag, peak, np.sign(grad))]
    out.sort(key=lambda t: -len(t[0]))
    return out[: MOST_TRACES // 2]


def _linked(
    mag: NDArray[np.float32], peak: NDArray[np.bool_], sign: NDArray[np.float32]
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Link peaks from band to band into traces: list of (band, column) arrays.

    Each open trace foresees its next column from its last four points and takes the nearest free peak
    of its own sign within LINK_REACH; it may miss two bands.
    """
    # One row per open trace: its number, its sign, and its last four (band, column), newest first.
    number = np.zeros(0, np.int64)
    signs = np.zeros(0)
    at_band, at_column = np.zeros((0, 4)), np.zeros((0, 4))
    lengths = np.zeros(0, np.int64)
    found: list[tuple[NDArray[np.int64], int, NDArray[np.float64]]] = []
    started = 0
    for b in range(len(mag)):
        js = np.flatnonzero(peak[b])
        left, top, right = mag[b, js - 1], mag[b, js], mag[b, js + 1]
        x = js + 0.5 * (left - right) / np.minimum(left - 2 * top + right, -1e-6)
        kind = sign[b, js]
        free = np.ones(len(js), bool)
        if len(number) and len(js):
            span = np.maximum(1.0, at_band[:, 0] - at_band[:, 3])
            slope = np.where(lengths >= 4, (at_column[:, 0] - at_column[:, 3]) / span, 0.0)
            guess = at_column[:, 0] + slope * (b - at_band[:, 0])
            after = np.searchsorted(x, guess)
            # The two peaks on either side, and one farther each way where the sign differs.
            tries = np.clip(after[:, None] + np.array([-2, -1, 0, 1]), 0, len(js) - 1)
            off = np.where(kind[tries] == signs[:, None], np.abs(x[tries] - guess[:, None]), np.inf)
            which = np.argmin(off, axis=1)
            best = tries[np.arange(len(number)), which]
            far = off[np.arange(len(number)), which]
            order = np.argsort(far, kind="stable")
            order = order[far[order] < LINK_REACH]
            _, first = np.unique(best[order], return_index=True)  # the nearest trace gets the peak
            won = order[first]
            k = best[won]
            at_band[won, 1:], at_column[won, 1:] = at_band[won, :-1], at_column[won, :-1]
            at_band[won, 0], at_column[won, 0] = b, x[k]
            lengths[won] += 1
            free[k] = False
            found.append((number[won], b, x[k]))
        fresh = np.flatnonzero(free)
        new = started + np.arange(len(fresh))
        started += len(fresh)
        found.append((new, b, x[fresh]))
        alive = b - at_band[:, 0] <= 2
        number = np.concatenate([number[alive], new])
        signs = np.concatenate([signs[alive], kind[fresh]])
        lengths = np.concatenate([lengths[alive], np.ones(len(fresh), np.int64)])
        at_band = np.vstack([at_band[alive], np.full((len(fresh), 4), float(b))])
        at_column = np.vstack([at_column[alive], np.repeat(x[fresh, None], 4, axis=1)])
    ids = np.concatenate([f[0] for f in found])
    bands = np.concatenate([np.full(len(f[0]), float(f[1])) for f in found])
    columns = np.concatenate([f[2] for f in found])
    order = np.argsort(ids, kind="stable")
    ids, bands, columns = ids[order], bands[order], columns[order]
    cuts = np.flatnonzero(np.diff(ids)) + 1
    return [
        (r, c)
        for r, c in zip(np.split(bands, cuts), np.split(columns, cuts), strict=True)
        if len(r) >= SHORTEST_TRACE_BANDS
    ]


def _as_trace(
    bands: NDArray[np.float64], x: NDArray[np.float64], band: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    row = bands * band + (band - 1) / 2
    if len(x) >= 8:  # a curve of second order drops the stray points
        for _ in range(2):
            u = (row - 0.5 * (row[0] + row[-1])) / max(1.0, 0.5 * (row[-1] - row[0]))
            v = np.stack([np.ones_like(u), u, u * u])
            r = np.abs(x - np.linalg.solve(v @ v.T, v @ x) @ v)
            keep = r < max(0.3, 3 * np.median(r))
            if keep.sum() < 6:
                break
            row, x = row[keep], x[keep]
    if len(x) > POINTS_PER_TRACE:
        pick = np.linspace(0, len(x) - 1, POINTS_PER_TRACE).round().astype(int)
        row, x = row[pick], x[pick]
    return x, row


def _rotation(w: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(cv2.Rodrigues(np.asarray(w, float).reshape(3, 1))[0])


def _moved(view: ViewDirections, p: NDArray[np.float64]) -> ViewDirections:
    return ViewDirections(
        _rotation(p[:3]) @ view.rotation,
        view.focal_px * float(np.exp(p[3])),
        view.k1 + float(p[4]),
        view.principal_px,
        view.vertical_votes,
        view.horizontal_votes,
    )


def _fit(
    traces: Traces, view: ViewDirections, focal_known: bool, prior: ViewDirections, scale: float
) -> Adjusted:
    keep = np.ones(len(traces.vertical), bool)
    f_sigma = FOCAL_SIGMA_EXIF if focal_known else FOCAL_SIGMA_GUESS
    log_f0 = np.log(view.focal_px / prior.focal_px)
    p = np.zeros(5)
    result = None
    rms_all = np.zeros(len(keep))
    for _ in range(3):
        use = keep[traces.trace]
        pts, ids = traces.points_px[use], traces.trace[use]
        vert = traces.vertical[ids]
        counts = np.bincount(ids, minlength=len(keep)).astype(float)

        def spread(
            q: NDArray[np.float64],
            pts: NDArray[np.float64] = pts,
            ids: NDArray[np.int64] = ids,
            vert: NDArray[np.bool_] = vert,
            counts: NDArray[np.float64] = counts,
        ) -> NDArray[np.float64]:
            v = _moved(view, q)
            r = to_rect(v, pts)
            value = np.where(vert, r[:, 0], r[:, 1])
            mean = np.bincount(ids, value, minlength=len(counts)) / np.maximum(counts, 1)
            return (value - mean[ids]) * v.focal_px * scale

        def residual(
            q: NDArray[np.float64],
            spread: Callable[[NDArray[np.float64]], NDArray[np.float64]] = spread,
        ) -> NDArray[np.float64]:
            priors = [(log_f0 + q[3]) / f_sigma, (view.k1 + q[4]) / K1_SIGMA]
            return np.concatenate([spread(q) / EDGE_SIGMA_PX, priors])

        low = np.array([-0.2] * 3 + [-MOST_LOG_FOCAL - log_f0, -MOST_K1 - view.k1])
        high = np.array([0.2] * 3 + [MOST_LOG_FOCAL - log_f0, MOST_K1 - view.k1])
        result = least_squares(
            residual,
            np.clip(p, low + 1e-6, high - 1e-6),
            bounds=(low, high),
            loss="soft_l1",
            max_nfev=25,
            x_scale=[0.01] * 3 + [0.02, 0.02],
        )
        p = result.x
        r2 = spread(p) ** 2
        rms = np.sqrt(np.bincount(ids, r2, minlength=len(keep)) / np.maximum(counts, 1))
        rms_all = np.where(keep, rms, rms_all)
        limit = max(0.45, 2.5 * float(np.median(rms[keep])))
        new = keep & (rms <= limit)
        if new.sum() < 3 or (new == keep).all():
            break
        keep = new
    assert result is not None
    jac = result.jac
    cov = np.linalg.pinv(jac.T @ jac)
    plumb = view.rotation[1]
    yaw_sigma = float(np.degrees(np.sqrt(max(0.0, plumb @ cov[:3, :3] @ plumb))))
    rms_px = float(np.sqrt(np.mean(rms_all[keep] ** 2))) if keep.any() else np.inf
    return Adjusted(
        _moved(view, p),
        rms_px,
        yaw_sigma,
        int((keep & traces.vertical).sum()),
        int((keep & ~traces.vertical).sum()),
    )
