"""Fine adjustment of view, focal length and lens distortion from long traced edges.

Every edge parallel to the wall's plumb line has one X, every edge parallel to its horizontal one
Y, at whatever depth it lies. The spread of X (of Y) along each traced edge is driven down by
non-linear least squares over the rotation, log focal length and k1, with a prior on the last two
(the residual is multiplied by the focal length: it stays in pixels, or the focal length runs away).
Where that fits the lines plainly better, all plumb edges may lean alike from square to the level ones.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import OptimizeResult, least_squares

from vision.directions import ViewDirections
from vision.rectify import grid_over, photo_extent, sample, to_photo
from vision.tracing import trace_edges
from vision.wall_plane import undistort
from vision.what import WhatMaps

# Plumb and level edges are traced on pictures of these sizes, in bands of so many rows (columns): long
# enough to silence noise, short for curves. Level edges are fewer and cut up by the studs, and the wall's
# direction hangs on them, so they are traced finer the second time, under the better view. (Finer in both
# rounds the direction was no better on 72 tuning scenes: 0.053 degrees in the median against 0.045.)
PLUMB_LONG_SIDE_PX, BAND_PLUMB_PX = 1100, 10
LEVEL_LONG_SIDE_PX, BAND_LEVEL_PX = (1100, 2000), 12
EDGE_SIGMA_PX = 1.0  # points of one trace err together, so each counts for less than its own noise
FOCAL_SIGMA_EXIF = 0.015
FOCAL_SIGMA_GUESS = 0.08
K1_SIGMA = 0.03
# A plumb edge this share of the wall's height long counts fully, a short one by the square of its length:
# what stands before a wall has many short edges, often all tilted alike (pallets, panelled doors).
PLUMB_WHOLE, PLUMB_LEAST = 0.5, 0.1
# Weight of an edge that runs along no member, plumb and level: floor boards and joists are level too.
OFF_MEMBER_PLUMB, OFF_MEMBER_LEVEL = 0.15, 0.4
MOST_TURNS = 3  # of fitting and leaving out what does not agree
# Studs may stand plumb on plates that follow a sloping floor, or the frame be racked: all then lean alike
# from square to the plates (a phone that turns while its sensor is read does the same). Sigma by judgement
# (1/4 in in 10 ft), no source; a fit with more than the last has another plane's level edges. A lean is
# believed that saves so much of the fit's cost: of 59 tuning walls with a tape, sheared by 0.4 % to either
# side, 53 and 53 need no edit then (41 and 40 without it); as they are 57 (58).
# More, up to 1 3/8 in over 8 ft, is believed where it saves far more: of 100 tuning walls with a tape or
# level, sheared by 1 % to either side, 79 and 74 need no edit then, 344 of 359 and 337 of 362 studs called
# sure are right (33 and 32, 213 of 309 and 242 of 340 without it).
LEAN_SIGMA, MOST_LEAN = 0.002, 0.03
LEAST_SAVED, LEAST_LEAN = 4.0, 0.0015
LEANS_BELIEVED = ((0.0065, 0.05), (0.014, 0.3))  # up to, and the least share saved
MOST_LOG_FOCAL, MOST_K1 = 0.35, 0.12  # beyond these a fit has run away


@dataclass(frozen=True)
class Traces:
    """Traced edges: photo points (N, 2), which trace each belongs to (N,), the traces' kind and weight."""

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
    maps: WhatMaps | None = None,
) -> Adjusted:
    """Adjust `view` on the grey working copy of the photo (`scale` = copy size / photo size).

    `maps`, of the same copy, say where this wall's members are: their edges weigh more.
    """
    adjusted = Adjusted(view, np.inf, np.inf, 0, 0)
    near = None if maps is None else _near_members(maps)
    for level_long_side_px in LEVEL_LONG_SIDE_PX:
        traces = _trace_both(grey, scale, adjusted.view, region_rect, level_long_side_px)
        if len(traces.vertical) < 3:
            break
        if near is not None:
            traces = _on_members(traces, *near, scale)
        adjusted = _fit(traces, adjusted.view, focal_known, view, scale)
    return adjusted


def _trace_both(
    grey: NDArray[np.uint8],
    scale: float,
    view: ViewDirections,
    region: tuple[float, float, float, float] | None,
    level_long_side_px: int,
) -> Traces:
    height_px, width_px = grey.shape
    left, top, right, bottom = region or photo_extent(
        view, round(width_px / scale), round(height_px / scale), reach=1.6
    )
    fine = grey.astype(np.float32)
    points, lengths, kinds, weights = [], [], [], []
    for vertical in (True, False):
        long_side = PLUMB_LONG_SIDE_PX if vertical else level_long_side_px
        step = max(1.0 / (view.focal_px * scale), (right - left) / long_side, (bottom - top) / long_side)
        grid = grid_over(left, top, right, bottom, step)
        # -1 marks what the photo does not show.
        rect = sample(fine, view, grid, scale, outside=-1.0)
        picture = rect if vertical else np.ascontiguousarray(rect.T)
        for across, along in trace_edges(picture, BAND_PLUMB_PX if vertical else BAND_LEVEL_PX):
            x, y = (across, along) if vertical else (along, across)
            points.append(np.column_stack([grid.x(x), grid.y(y)]))
            lengths.append(len(x))
            kinds.append(vertical)
            share = float(np.ptp(along)) / len(picture)
            weights.append(np.clip((share / PLUMB_WHOLE) ** 2, PLUMB_LEAST, 1.0) if vertical else 1.0)
    if not points:
        return Traces(np.zeros((0, 2)), np.zeros(0, np.int64), np.zeros(0, bool), np.zeros(0))
    ids = np.repeat(np.arange(len(lengths)), lengths)
    return Traces(to_photo(view, np.vstack(points)), ids, np.array(kinds), np.array(weights))


def _near_members(maps: WhatMaps) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Share of upright member, and of what runs across, within two pixels of each pixel."""
    around = np.ones((5, 5), np.uint8)
    upright = cv2.dilate(np.maximum(maps.front, maps.side), around)
    return np.asarray(upright, np.float32), np.asarray(cv2.dilate(maps.across, around), np.float32)


def _on_members(
    traces: Traces, upright: NDArray[np.float32], level: NDArray[np.float32], scale: float
) -> Traces:
    """Weigh each trace by how much of it runs along a member of this wall."""
    at = np.rint((traces.points_px + 0.5) * scale - 0.5).astype(int)
    h, w = upright.shape
    spot = np.clip(at[:, 1], 0, h - 1), np.clip(at[:, 0], 0, w - 1)
    on = np.where(traces.vertical[traces.trace], upright[spot], level[spot])
    n = len(traces.vertical)
    share = np.bincount(traces.trace, on, n) / np.maximum(np.bincount(traces.trace, minlength=n), 1)
    least = np.where(traces.vertical, OFF_MEMBER_PLUMB, OFF_MEMBER_LEVEL)
    return replace(traces, weight=traces.weight * (least + (1 - least) * np.clip(share, 0, 1)))


def _moved(view: ViewDirections, p: NDArray[np.float64]) -> ViewDirections:
    return ViewDirections(
        np.asarray(cv2.Rodrigues(p[:3].reshape(3, 1))[0]) @ view.rotation,
        view.focal_px * float(np.exp(p[3])),
        view.k1 + float(p[4]),
        view.principal_px,
        view.vertical_votes,
        view.horizontal_votes,
    )


def _spread(
    traces: Traces, view: ViewDirections, p: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far every point's X (Y) is from the mean of its trace under a moved view, and its derivatives.

    Parameters
    ----------
    traces : Traces
    view : ViewDirections
    p : (5,) or (6,) array
        Turn (rotation vector), change of log focal length, change of k1; how far the plumb edges lean from
        square to the level ones, where they may.

    Returns
    -------
    (N,) array, photo pixels, and its (N, 6) Jacobian

    Notes
    -----
    With u the undistorted point, (1 + k1 r²) u = d and d in units of the focal length, du/dk1 is
    -u r² / (1 + 3 k1 r²) and du/dlog f is -d / (1 + 3 k1 r²), both along u.
    """
    focal, k1 = view.focal_px * float(np.exp(p[3])), view.k1 + float(p[4])
    turn, turn_by = cv2.Rodrigues(p[:3].reshape(3, 1))
    d = (traces.points_px - np.asarray(view.principal_px)) / focal
    u = undistort(d, k1, 0.0)
    r2 = (u * u).sum(1, keepdims=True)
    steep = 1.0 / (1.0 + 3.0 * k1 * r2)
    ray = np.column_stack([u, np.ones(len(u))]) @ view.rotation.T
    rows = np.where(traces.vertical, 0, 1)[traces.trace]
    lean = _lean(p)

    def along(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        """The X, square to the lean, or the Y, whichever the trace holds constant, of each vector."""
        return np.asarray(np.where(rows == 0, vectors[:, 0] - lean * vectors[:, 1], vectors[:, 1]))

    seen = ray @ turn.T
    value = along(seen) / seen[:, 2]
    lens = view.rotation[:, :2].T @ turn.T
    moves = [ray @ d_turn.reshape(3, 3).T for d_turn in turn_by]
    moves += [(-d * steep) @ lens, (-u * r2 * steep) @ lens]
    slopes = [(along(m) - value * m[:, 2]) / seen[:, 2] for m in moves]
    slopes.append(np.where(rows == 0, -seen[:, 1] / seen[:, 2], 0.0))
    both = np.column_stack([value, *slopes])
    starts = np.flatnonzero(np.diff(traces.trace, prepend=-1))
    count = np.diff(np.append(starts, len(both)))
    mean = np.add.reduceat(both, starts) / count[:, None]
    both = (both - np.repeat(mean, count, axis=0)) * focal
    both[:, 4] += both[:, 0]  # the spread itself grows with the focal length
    return both[:, 0], both[:, 1:]


def _lean(p: NDArray[np.float64]) -> float:
    return float(p[5]) if len(p) > 5 else 0.0


def _plainly_lean(square: float, leaning: float, lean: float) -> bool:
    """Whether what a lean of all plumb edges saves of the square fit's cost is more than chance."""
    saved = square - leaning
    plain = any(abs(lean) < most and saved > share * square for most, share in LEANS_BELIEVED)
    return plain and saved > LEAST_SAVED and abs(lean) > LEAST_LEAN


def _weighted_median(values: NDArray[np.float64], weights: NDArray[np.float64]) -> float:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, 0.5 * total[-1])])


def _solved(
    kept: Traces,
    share: NDArray[np.float64],
    view: ViewDirections,
    log_f0: float,
    f_sigma: float,
    start: NDArray[np.float64],
) -> OptimizeResult:
    """The best change of the view for these traces; `start` (5,) or, where the plumb edges may lean, (6,)."""
    n = len(start)
    low = np.array([-0.2] * 3 + [-MOST_LOG_FOCAL - log_f0, -MOST_K1 - view.k1, -MOST_LEAN])[:n]
    high = np.array([0.2] * 3 + [MOST_LOG_FOCAL - log_f0, MOST_K1 - view.k1, MOST_LEAN])[:n]
    sigmas = np.array([f_sigma, K1_SIGMA, LEAN_SIGMA])[: n - 3]
    at_rest = np.array([log_f0, view.k1, 0.0])[: n - 3]

    # The solver asks for the derivatives where it last asked for the residuals.
    @lru_cache(maxsize=1)
    def spread(q: tuple[float, ...]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        return _spread(kept, view, np.array(q))

    def residual(q: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate([spread(tuple(q))[0] * share, (at_rest + q[3:]) / sigmas])

    def jacobian(q: NDArray[np.float64]) -> NDArray[np.float64]:
        priors = np.diag(np.concatenate([np.zeros(3), 1.0 / sigmas]))[3:]
        return np.vstack([spread(tuple(q))[1][:, :n] * share[:, None], priors])

    return least_squares(
        residual,
        np.clip(start, low + 1e-6, high - 1e-6),
        jacobian,
        bounds=(low, high),
        loss="soft_l1",
        max_nfev=25,
        x_scale=([0.01] * 3 + [0.02, 0.02, 0.005])[:n],
    )


def _fit(
    traces: Traces, view: ViewDirections, focal_known: bool, prior: ViewDirections, scale: float
) -> Adjusted:
    keep = np.ones(len(traces.vertical), bool)
    f_sigma = FOCAL_SIGMA_EXIF if focal_known else FOCAL_SIGMA_GUESS
    log_f0 = float(np.log(view.focal_px / prior.focal_px))
    p = np.zeros(5)
    result = None
    rms_all = np.zeros(len(keep))
    settled = False
    for turn in range(MOST_TURNS + 1):
        # What agrees with the weighty edges is known in the end: all of it settles the view alike.
        last = settled or turn == MOST_TURNS
        weight = np.ones_like(traces.weight) if last else traces.weight
        use = keep[traces.trace]
        kept = Traces(traces.points_px[use], traces.trace[use], traces.vertical, traces.weight)
        share = np.sqrt(weight)[kept.trace] * scale / EDGE_SIGMA_PX
        result = _solved(kept, share, view, log_f0, f_sigma, p[:5])
        # Asked each time: a square fit leaves out the edges that say otherwise, and then suits the rest.
        leaning = _solved(kept, share, view, log_f0, f_sigma, np.append(result.x, _lean(p)))
        if _plainly_lean(result.cost, leaning.cost, _lean(leaning.x)):
            result = leaning
        p = result.x
        r2 = (_spread(kept, view, p)[0] * scale) ** 2
        count = np.bincount(kept.trace, minlength=len(keep))
        rms = np.sqrt(np.bincount(kept.trace, r2, minlength=len(keep)) / np.maximum(count, 1))
        rms_all = np.where(keep, rms, rms_all)
        if last:
            break
        limit = max(0.45, 2.5 * _weighted_median(rms[keep], weight[keep]))
        new = keep & (rms <= limit)
        settled = bool(new.sum() < 3 or (new == keep).all())
        if not settled:
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
