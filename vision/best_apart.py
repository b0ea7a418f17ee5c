"""The stretches with the largest total score of which no two stand in each other's way."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# Tuned on the tuning scenes, in the units of the stretches' scores. Two members that do not touch show
# something else between them; this much front face there costs PAIR_COST.
GAP_FRONT_FROM, GAP_FRONT_TO, PAIR_COST = 0.35, 0.65, 4.0
# Share of its own side face a stretch must show, and what it pays for standing, with none, where only its
# neighbour's can be.
ENOUGH_SIDE, IN_FOOTPRINT = 0.5, 5.0
# Share of a stretch that must lie where its outer neighbour's side face shows, to be taken for that face.
COVERED_FROM, COVERED_TO = 0.6, 0.95


class Integral:
    """Sum of a per-column value between two column positions (columns are one wide)."""

    def __init__(self, values: NDArray[np.float64]) -> None:
        self._table = np.concatenate([[0.0], np.cumsum(values)])
        self._at = np.arange(len(values) + 1) - 0.5

    def __call__(self, a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.interp(b, self._at, self._table) - np.interp(a, self._at, self._table)


def _covered(share: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.clip((share - COVERED_FROM) / (COVERED_TO - COVERED_FROM), 0, 1)


def best_apart(
    left: NDArray[np.float64],
    right: NDArray[np.float64],
    score: NDArray[np.float64],
    gap: float,
    foot: float,
    shows: NDArray[np.float64],
    beside: NDArray[np.float64],
    between: tuple[Integral, float] | None = None,
) -> NDArray[np.int64]:
    """Indices, left to right, of the stretches with the largest total score that keep `gap` apart.

    A stretch lying where its outer neighbour must show its side face, yet showing none of its own,
    pays IN_FOOTPRINT: it is that side face. `between` gives the front face seen between two stretches and
    how near they must be to pay PAIR_COST for it. Chain of best predecessors, O(n²).
    """
    order = np.argsort(left, kind="stable")
    lo, hi = left[order], right[order]
    s, show, own = score[order], shows[order], beside[order]
    middle = 0.5 * (lo + hi)
    doubt = IN_FOOTPRINT * np.clip((ENOUGH_SIDE - own) / ENOUGH_SIDE, 0, 1)
    n = len(order)
    best = np.zeros(n)
    before = np.full(n, -1)
    for k in range(n):
        best[k] = s[k]
        space = lo[k] - hi[:k]
        can = space >= gap
        if not can.any():
            continue
        # Right of the foot the stretch on the right is the outer one, left of it the one on the left.
        inner_left = (middle[k] > foot) & (space < 0.9 * show[k]) & (middle[:k] > foot)
        inner_right = (middle[:k] < foot) & (space < 0.9 * show[:k]) & (middle[k] < foot)
        # A side face lies wholly where it must show; a member that stands there reaches beyond.
        over_left = (hi[:k] - (lo[k] - show[k])) / (hi[:k] - lo[:k])
        over_right = (hi[:k] + show[:k] - lo[k]) / (hi[k] - lo[k])
        total = best[:k] - np.where(inner_left, doubt[:k] * _covered(over_left), 0)
        total -= np.where(inner_right, doubt[k] * _covered(over_right), 0)
        if between is not None:
            front, near = between
            close = np.flatnonzero(can & (space < near))
            share = front(hi[close], np.full(len(close), lo[k])) / space[close]
            total[close] -= PAIR_COST * np.clip(
                (share - GAP_FRONT_FROM) / (GAP_FRONT_TO - GAP_FRONT_FROM), 0, 1
            )
        total = np.where(can, total, -np.inf)
        j = int(np.argmax(total))
        if total[j] > 0:
            best[k] += total[j]
            before[k] = j
    chosen = []
    k = int(np.argmax(best)) if n else -1
    while k >= 0:
        chosen.append(order[k])
        k = int(before[k])
    return np.array(chosen[::-1], dtype=np.int64)
