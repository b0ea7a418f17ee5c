"""Which stretches of the wall are front faces of members: one best selection over all stretches.

Along the wall every column has a share of front face (what the picture looks like) and every
candidate edge a share of height (where the picture changes). A member is a stretch between two
edges, about one face wide or a small multiple of it. The selection that scores best as a whole, no
two overlapping, is found by dynamic programming (weighted interval scheduling), so that a strong
neighbour cannot be read twice and a side face cannot be read beside its own front face.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# All scores in nats-like units; tuned on the tuning scenes, see tests/benchmarks/reading.py.
FRONT_GAIN, FRONT_EVEN = 5.0, 0.38
SPILL_GAIN = 2.0
EDGE_GAIN = 1.0
WIDTH_SIGMA, WIDTH_CAP = 0.14, 4.0
MEMBER_COST = 1.6
PLY_COST = 0.8
MOST_PLIES = 4
LEAST_SCORE = 0.15


@dataclass(frozen=True)
class Stretch:
    """One chosen stretch, in columns of the rectified picture.

    Attributes
    ----------
    left, right : float
        Edges, columns at mid-height.
    plies : int
        Faces side by side that best explain the width.
    front : float
        Mean share of front face inside, 0..1.
    edge_left, edge_right : float
        Share of height over which each edge is seen, 0..1.
    score : float
        Its part of the selection's score; more is surer.
    slope : float
        Sideways run over the full height, as a share of the height.
    """

    left: float
    right: float
    plies: int
    front: float
    edge_left: float
    edge_right: float
    score: float
    slope: float

    @property
    def centre(self) -> float:
        """Middle column."""
        return 0.5 * (self.left + self.right)

    @property
    def width(self) -> float:
        """Width in columns."""
        return self.right - self.left


def face_width_px(front: NDArray[np.float64]) -> float | None:
    """Typical width, in columns, of the stretches where the share of front face `front` (W,) is high."""
    level = 0.5 * max(0.3, float(np.quantile(front, 0.97)))
    high = front > level
    edges = np.flatnonzero(np.diff(np.concatenate([[0], high.astype(int), [0]])))
    widths = (edges[1::2] - edges[::2]).astype(float)
    widths = widths[widths >= 2]
    if len(widths) < 2:
        return None
    # Doubled members make wide stretches: the lower half of the widths are single faces.
    return float(np.median(np.sort(widths)[: max(2, (len(widths) * 2 + 2) // 3)]))


def candidate_edges(
    share: NDArray[np.float64], front: NDArray[np.float64], width_px: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Columns where a member may begin or end, and the share of height of each edge."""
    peak = (share >= np.roll(share, 1)) & (share > np.roll(share, -1)) & (share > 0.10)
    peak[:1] = peak[-1:] = False
    j = np.flatnonzero(peak)
    a, m, c = share[j - 1], share[j], share[(j + 1) % len(share)]
    col = j + 0.5 * (a - c) / np.minimum(a - 2 * m + c, -1e-9)
    strength = share[j]
    # Half-way crossings of the front share are candidates too, for edges no gradient shows.
    reach = max(2, round(0.8 * width_px))
    top = _running_max(front, reach)
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
    order = np.argsort(cols)
    return cols[order], weights[order]


def select_members(
    front: NDArray[np.float64],
    share: NDArray[np.float64],
    slope: NDArray[np.float64],
    width_px: float,
    prior: NDArray[np.float64] | None = None,
    width_sigma: float = WIDTH_SIGMA,
) -> list[Stretch]:
    """Choose the members of the wall.

    Parameters
    ----------
    front : (W,) array
        Share of front face per column, 0..1.
    share, slope : (W,) arrays
        Share of height of the best edge through each column, and its slope.
    width_px : float
        Expected width of one face, columns.
    prior : (W,) array, optional
        Added to a member's score at its centre (standard spacing, soft).
    width_sigma : float
        How far one face's width strays from `width_px`, relative.

    Returns
    -------
    list of Stretch, left to right
    """
    n = len(front)
    cols, weight = candidate_edges(share, front, width_px)
    if len(cols) < 2:
        return []
    area = np.concatenate([[0.0], np.cumsum(front - FRONT_EVEN)])
    total = np.concatenate([[0.0], np.cumsum(front)])
    spill = np.concatenate([[0.0], np.cumsum(np.maximum(front - FRONT_EVEN, 0))])
    grid = np.arange(n + 1, dtype=float) - 0.5

    def integral(table: NDArray[np.float64], a: float, b: float) -> float:
        return float(np.interp(b, grid, table) - np.interp(a, grid, table))

    options: list[tuple[float, float, Stretch]] = []
    for i, left in enumerate(cols):
        last = np.searchsorted(cols, left + (MOST_PLIES + 0.5) * width_px)
        for j in range(i + 1, int(last)):
            right = cols[j]
            ratio = (right - left) / width_px
            if ratio < 0.55:
                continue
            plies = max(1, round(ratio))
            inside = integral(area, left, right) / width_px
            if inside <= 0:
                continue
            off = (ratio / plies - 1) / (
                width_sigma if plies == 1 else 0.8 * width_sigma / np.sqrt(plies) + 0.04
            )
            margin = 0.4 * width_px
            lost = (integral(spill, left - margin, left) + integral(spill, right, right + margin)) / width_px
            score = (
                FRONT_GAIN * min(inside, plies * (1 - FRONT_EVEN))
                - SPILL_GAIN * lost
                + EDGE_GAIN * (min(1.0, 1.5 * weight[i]) + min(1.0, 1.5 * weight[j]))
                - min(WIDTH_CAP, 0.5 * off * off)
                - MEMBER_COST
                - PLY_COST * (plies - 1)
            )
            centre = 0.5 * (left + right)
            if prior is not None:
                score += float(np.interp(centre, np.arange(n), prior))
            if score < LEAST_SCORE:
                continue
            k = int(np.clip(round(centre), 0, n - 1))
            options.append(
                (
                    left,
                    right,
                    Stretch(
                        float(left),
                        float(right),
                        plies,
                        integral(total, left, right) / max(right - left, 1e-9),
                        float(weight[i]),
                        float(weight[j]),
                        score,
                        float(slope[k]),
                    ),
                )
            )
    if not options:
        return []
    options.sort(key=lambda o: o[1])
    ends = np.array([o[1] for o in options])
    best = np.zeros(len(options) + 1)
    take = np.zeros(len(options), bool)
    before = np.zeros(len(options), int)
    # A hair of overlap is measurement, not a second member.
    slack = 0.1 * width_px
    for k, (left, _right, stretch) in enumerate(options):
        before[k] = int(np.searchsorted(ends[:k], left + slack, side="right"))
        with_it = stretch.score + best[before[k]]
        take[k] = with_it > best[k]
        best[k + 1] = max(best[k], with_it)
    chosen: list[Stretch] = []
    k = len(options)
    while k > 0:
        if take[k - 1]:
            chosen.append(options[k - 1][2])
            k = before[k - 1]
        else:
            k -= 1
    return chosen[::-1]


def _running_max(values: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    padded = np.pad(values, reach, mode="edge")
    view = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    return view.max(1)


def _away(d: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(np.abs(d) < 1e-9, 1e-9, d)
