"""Columns where a member may begin or end: what gradients show, what the shares of front face show, what the
column network says."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.columns import ColumnShares

LEAST_EDGE = 0.10  # share of height of a candidate edge
# What the column network says of an edge counts as this share of the height, less than a gradient over all of
# it: WHERE is the gradients' word. It is believed within JUDGED_REACH of a face; JUDGED_APART from every
# gradient its own peaks are edges too.
JUDGED_EDGE, JUDGED_PEAK, JUDGED_REACH, JUDGED_APART = 0.5, 0.3, 0.15, 0.12


def candidate_edges(
    share: NDArray[np.float64], front: NDArray[np.float64], width_px: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Columns where a member may begin or end, and the share of height of each edge."""
    col, strength = _peaks(share, LEAST_EDGE)
    # Half-way crossings of the front share are candidates too, for edges no gradient shows.
    reach = max(2, round(0.8 * width_px))
    top = running_max(front, reach)
    low = 0.5 * top
    above = front > np.maximum(low, 0.15)
    cross = np.flatnonzero(above[1:] != above[:-1])
    t = np.clip((low[cross] - front[cross]) / _away(front[cross + 1] - front[cross]), 0, 1)
    extra = cross + t
    if len(col):
        far = np.abs(extra[:, None] - col[None, :]).min(1) > max(1.0, 0.12 * width_px)
        extra = extra[far]
    cols = np.concatenate([col, extra])
    weights = np.concatenate([strength, np.zeros(len(extra))])
    # One face's width beside each of these, for a face whose other edge nothing shows: a side face of
    # the same colour in the same light.
    supposed = np.concatenate([cols - width_px, cols + width_px])
    if len(cols):
        far = np.abs(supposed[:, None] - cols[None, :]).min(1) > 0.2 * width_px
        supposed = supposed[far & (supposed > 0) & (supposed < len(front) - 1)]
        cols = np.concatenate([cols, supposed])
        weights = np.concatenate([weights, np.zeros(len(supposed))])
    order = np.argsort(cols)
    return cols[order], weights[order]


def judged_edges(
    cols: NDArray[np.float64], weight: NDArray[np.float64], judged: ColumnShares, width_px: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """The candidate edges and, where none is near, the column network's own.

    Returns their columns, the share of height of each, and how much each counts as a face's left edge and
    as a right one.
    """
    extra = np.concatenate([_peaks(share, JUDGED_PEAK)[0] for share in (judged.left, judged.right)])
    if len(cols) and len(extra):
        extra = extra[np.abs(extra[:, None] - cols[None, :]).min(1) > max(1.0, JUDGED_APART * width_px)]
    cols = np.concatenate([cols, extra])
    weight = np.concatenate([weight, np.zeros(len(extra))])
    order = np.argsort(cols)
    cols, weight = cols[order], weight[order]
    reach = max(1, round(JUDGED_REACH * width_px))
    at = np.arange(len(judged.left))
    starts, ends = (
        np.maximum(weight, JUDGED_EDGE * np.interp(cols, at, running_max(one, reach)))
        for one in (judged.left, judged.right)
    )
    return cols, weight, starts, ends


def _peaks(share: NDArray[np.float64], least: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where a share (W,) peaks above `least`, to a part of a column (parabola), and its values there."""
    peak = (share >= np.roll(share, 1)) & (share > np.roll(share, -1)) & (share > least)
    peak[:1] = peak[-1:] = False
    j = np.flatnonzero(peak)
    a, m, c = share[j - 1], share[j], share[j + 1]
    return j + 0.5 * (a - c) / np.minimum(a - 2 * m + c, -1e-9), m


def running_max(values: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """The highest of `values` (W,) within `reach` columns of each."""
    padded = np.pad(values, reach, mode="edge")
    view = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    return view.max(1)


def _away(d: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(np.abs(d) < 1e-9, 1e-9, d)
