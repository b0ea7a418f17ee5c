"""Near-vertical edges followed down a picture, band of rows by band of rows, to a fraction of a pixel."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

POINTS_PER_TRACE = 14  # more would let one long edge outweigh the priors (feasibility study, §6)
SHORTEST_TRACE_BANDS = 9
LINK_REACH = 1.2  # columns that a trace may stray from where it is foreseen
MISSED_BANDS = 2  # that a trace may skip
STRAY_PX, LEAST_LEFT = 0.3, 6  # off a trace's curve: dropped, while so many points are left
MOST_TRACES = 60


def trace_edges(
    picture: NDArray[np.float32], band: int
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Follow near-vertical edges.

    Parameters
    ----------
    picture : (H, W) float32 array
        Grey; negative where nothing is seen.
    band : int
        Rows to a band: enough to silence noise, few enough for curves.

    Returns
    -------
    list of (columns, rows)
        At most MOST_TRACES, longest first, each thinned to POINTS_PER_TRACE points.
    """
    rows, cols = picture.shape
    bands = rows // band
    if bands < SHORTEST_TRACE_BANDS or cols < 16:
        return []
    cut = picture[: bands * band].reshape(bands, band, cols)
    seen: NDArray[np.bool_] = cut.min(axis=1) >= 0
    smooth = cv2.GaussianBlur(cut.mean(axis=1), (0, 0), sigmaX=1.2, sigmaY=0.01)
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
    at_band, j = np.nonzero(peak)
    left, top, right = mag[at_band, j - 1], mag[at_band, j], mag[at_band, j + 1]
    x = j + 0.5 * (left - right) / np.minimum(left - 2 * top + right, -1e-6)
    trace = _linked(at_band, x, grad[at_band, j] > 0, bands)
    long = np.bincount(trace, minlength=len(x))[trace] >= SHORTEST_TRACE_BANDS
    order = np.flatnonzero(long)[np.argsort(trace[long], kind="stable")]
    row = at_band[order].astype(np.float64) * band + (band - 1) / 2
    return _thinned(*_without_strays(row, x[order], trace[order]))


def _linked(
    band: NDArray[np.int64], x: NDArray[np.float64], rising: NDArray[np.bool_], bands: int
) -> NDArray[np.int64]:
    """Number of the trace that each peak belongs to; peaks are ordered by band, then by column.

    Each open trace foresees its next column from its last four points and takes the nearest free peak
    of its own sign within LINK_REACH.
    """
    trace = np.arange(len(x))
    before = trace.copy()  # the peak of the same trace one link back; its first leads to itself
    length = np.ones(len(x), np.int64)
    slope = np.zeros(len(x))
    led_on = np.zeros(len(x), bool)
    starts = np.searchsorted(band, np.arange(bands + 1))
    last = np.zeros(0, np.int64)  # of every open trace
    for b in range(bands):
        here = np.arange(starts[b], starts[b + 1])
        last = last[band[last] >= b - 1 - MISSED_BANDS]
        if len(last) and len(here):
            guess = x[last] + slope[last] * (b - band[last])
            after = np.searchsorted(x[here], guess)
            # The two peaks on either side, and one farther each way where the sign differs.
            tries = here[np.clip(after[:, None] + np.array([-2, -1, 0, 1]), 0, len(here) - 1)]
            off = np.abs(x[tries] - guess[:, None])
            off[rising[tries] != rising[last][:, None]] = np.inf
            which = np.argmin(off, axis=1)
            each = np.arange(len(last))
            best, far = tries[each, which], off[each, which]
            order = np.flatnonzero(far < LINK_REACH)
            order = order[np.argsort(-far[order], kind="stable")]
            before[best[order]] = last[order]  # the nearest trace comes last and gets the peak
            won = here[before[here] != here]
            led = before[won]
            led_on[led] = True
            trace[won], length[won] = trace[led], length[led] + 1
            back = before[before[led]]
            run = np.maximum(1, b - band[back])
            slope[won] = np.where(length[won] > 3, (x[won] - x[back]) / run, 0.0)
            last = last[~led_on[last]]
        last = np.concatenate([last, here])
    return trace


def _without_strays(
    row: NDArray[np.float64], x: NDArray[np.float64], trace: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Drop, twice, the points off a curve of second order through their trace; traces stand one by one."""
    for _ in range(2):
        if not len(x):
            break
        starts = np.flatnonzero(np.diff(trace, prepend=-1))
        count = np.diff(np.append(starts, len(x)))
        of = np.repeat(np.arange(len(starts)), count)
        first, last = row[starts], row[starts + count - 1]
        u = (row - (0.5 * (first + last))[of]) / np.maximum(1.0, 0.5 * (last - first))[of]
        v = np.stack([np.ones_like(u), u, u * u])
        normal = np.add.reduceat(v[:, None] * v[None], starts, axis=2).transpose(2, 0, 1)
        right = np.add.reduceat(v * x, starts, axis=1).T
        curve = np.linalg.solve(normal, right[..., None])[..., 0]
        off = np.abs(x - np.einsum("nk,kn->n", curve[of], v))
        ranked = off[np.lexsort((off, of))]
        median = 0.5 * (ranked[starts + (count - 1) // 2] + ranked[starts + count // 2])
        keep = off < np.maximum(STRAY_PX, 3 * median)[of]
        keep |= (np.add.reduceat(keep, starts, dtype=np.int64) < LEAST_LEFT)[of]
        row, x, trace = row[keep], x[keep], trace[keep]
    return row, x, trace


def _thinned(
    row: NDArray[np.float64], x: NDArray[np.float64], trace: NDArray[np.int64]
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    starts = np.flatnonzero(np.diff(trace, prepend=-1))
    count = np.diff(np.append(starts, len(x)))
    longest = np.argsort(-np.minimum(count, POINTS_PER_TRACE), kind="stable")[:MOST_TRACES]
    out = []
    for k in longest:
        n = min(int(count[k]), POINTS_PER_TRACE)
        pick = starts[k] + np.linspace(0, count[k] - 1, n).round().astype(np.int64)
        out.append((x[pick], row[pick]))
    return out
