"""Lanes: the best way to cut one strip of a sheet, for given values of the pieces.

A lane is a sheet's length (or a ripped strip of it) with one factory end at each end.  A
piece may use a factory end or not; at most two pieces of a lane get one.  The best filling
is a knapsack over whole thirty-seconds (Gilmore and Gomory, 1963: the pricing problem of
the cutting-stock linear program), solved for all lengths of the lane at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Lane", "fill_lane"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
EPS = 1e-9


@dataclass(frozen=True, slots=True)
class Lane:
    """Best fillings of a lane of every length up to `capacity`.

    Attributes
    ----------
    items : ndarray, shape (N,)
        Numbers of the pieces that may lie in this lane, the shortest first.
    length : ndarray, shape (N,)
        Their lengths, thirty-seconds of an inch, rising.
    plain, factory : ndarray, shape (N,)
        Value of a piece without and with a factory end at a seam.
    best : tuple of three ndarray, shape (capacity + 1,)
        Value of the best filling with at most 0, 1, 2 factory ends.
    """

    items: Ints
    length: Ints
    plain: Floats
    factory: Floats
    best: tuple[Floats, Floats, Floats]

    def contents(
        self, capacity: int, ends: int, owner: Ints, taken: set[int] | None = None
    ) -> list[tuple[int, int]]:
        """Pieces of the best filling as (number, factory ends used).

        Among equally good pieces one of a stretch of wall not yet in `taken` is chosen
        (`owner` gives the stretch of each piece), because a stretch needs a piece once.
        """
        used = set() if taken is None else taken
        found: list[tuple[int, int]] = []
        while True:
            goal = self.best[ends][capacity]
            if goal <= EPS:
                return found
            if ends and self.best[ends - 1][capacity] >= goal - EPS:
                ends -= 1
                continue
            fits = int(np.searchsorted(self.length, capacity, "right"))
            below = self.best[ends - 1] if ends else self.best[0]
            value = self.factory if ends else self.plain
            reach = value[:fits] + below[capacity - self.length[:fits]]
            reached = np.flatnonzero(reach >= goal - EPS).tolist()
            if not reached:
                return found
            owners = owner[self.items]
            pick = next((n for n in reached if int(owners[n]) not in used), reached[0])
            used.add(int(owner[self.items[pick]]))
            found.append((int(self.items[pick]), 1 if ends else 0))
            capacity -= int(self.length[pick])
            ends = max(ends - 1, 0)


def fill_lane(items: Ints, length: Ints, plain: Floats, factory: Floats, capacity: int) -> Lane:
    """Solve a lane for every length up to `capacity`; see `Lane` for the arguments."""
    order = np.argsort(length, kind="stable")
    items, length, plain, factory = items[order], length[order], plain[order], factory[order]
    base = np.zeros(capacity + 1)
    short = _frontier(length, plain, capacity)
    changed = bool(short)
    while changed:
        before = base.copy()
        for size, value in short:
            np.maximum(base[size:], before[:-size] + value, out=base[size:])
        changed = bool((base > before + EPS).any())
    ends = _frontier(length, factory, capacity)
    levels = [base]
    for _ in range(2):
        below = levels[-1]
        level = below.copy()
        for size, value in ends:
            np.maximum(level[size:], below[:-size] + value, out=level[size:])
        levels.append(level)
    return Lane(items, length, plain, factory, (levels[0], levels[1], levels[2]))


def _frontier(length: Ints, value: Floats, capacity: int) -> list[tuple[int, float]]:
    """Pieces that no shorter one beats: (length, value), both rising."""
    keep = np.flatnonzero((value > EPS) & (length <= capacity) & (length > 0))
    order = keep[np.lexsort((-value[keep], length[keep]))]
    best = np.maximum.accumulate(value[order]) if len(order) else value[order]
    rises = np.flatnonzero(np.r_[True, best[1:] > best[:-1] + EPS]) if len(order) else order
    return [(int(length[n]), float(value[n])) for n in order[rises]]
