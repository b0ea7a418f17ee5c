"""Kinds of pieces: what the relaxation counts instead of single pieces, and what each is worth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout.lanes import Floats, Ints
from layout.patterns import Group, Pattern

__all__ = ["KindValues", "Kinds", "values_of"]

MOST_KINDS = 3000
"""Lengths are rounded down, for the bound only, until no more kinds than this are left."""


@dataclass(frozen=True)
class KindValues:
    """What pieces are worth: arrays of shape (K,), one entry for each kind of a group.

    `plain`, `factory` and `whole` are with no, one and two factory ends at seams; `whole` is
    minus infinity for kinds that no board is just as long as.
    """

    length: Ints
    height: Ints
    tapers: Ints
    plain: Floats
    factory: Floats
    whole: Floats


class Kinds:
    """Kinds of pieces of one group, and the columns found for them."""

    def __init__(self, group: Group, first_row: int) -> None:
        self.group = group
        free = np.flatnonzero(group.forced == 0)
        sizes = [group.sizes(board) for board in range(len(group.boards))]
        # Pieces as long as some board are never rounded, so that they still fill a lane.
        as_long = np.isin(group.length, [run for run, _ in sizes])
        grain = 1
        while True:
            rounded = np.where(as_long[free], group.length[free], group.length[free] // grain * grain)
            keys = np.stack([group.height[free], group.tapers[free], rounded], axis=1)
            kinds, inverse = np.unique(keys.reshape(-1, 3), axis=0, return_inverse=True)
            if len(kinds) <= MOST_KINDS or grain > group.length[free].max():
                break
            grain *= 2
        self.count = len(kinds)
        self.kind_of = np.full(len(group.length), -1, dtype=np.int64)
        self.kind_of[free] = inverse.reshape(-1)
        most = max(room for _, room in sizes) - group.height[free].min(initial=0)
        shares = as_long & (group.seams > 1) & (group.height <= most) & (group.tapers <= 1)
        self.fills = shares & (group.forced == 0)
        """Pieces that fill a lane with room for another beside it.  Those that fill a sheet have a
        column of their own, and once more here they would only make the rounding slower."""
        self.whole = np.unique(self.kind_of[self.fills])
        """Kinds that are wanted with two factory ends."""
        every = np.arange(self.count)
        self.rows = first_row + np.stack([2 * every, 2 * every + 1, np.full(self.count, -1)], axis=1)
        """Row of each kind with no, one and two factory ends (-1 where it is never wanted so)."""
        self.rows[self.whole, 2] = first_row + 2 * self.count + np.arange(len(self.whole))
        self.row_count = 2 * self.count + len(self.whole)
        none = np.zeros(self.count, dtype=np.int64)
        self.as_group = Group(
            group.number,
            group.boards,
            group.upright,
            group.cut_charge,
            np.maximum(kinds[:, 2], 1),
            kinds[:, 0],
            none + 1,
            kinds[:, 1],
            np.arange(self.count),
            none,
            none,
            none,
        )
        self.patterns: list[Pattern] = []
        self.sent = 0
        self._seen: set[Pattern] = set()
        rate = min(b.price / (run * room) for b, (run, room) in zip(group.boards, sizes, strict=True))
        self.by_area = rate * kinds[:, 2] * kinds[:, 0]

    def values(self, of_rows: Floats) -> tuple[Floats, Floats, Floats]:
        """Values of the program's rows as those of the kinds with no, one and two factory ends."""
        whole = np.full(self.count, -np.inf)
        whole[self.whole] = of_rows[self.rows[self.whole, 2]]
        return of_rows[self.rows[:, 0]], of_rows[self.rows[:, 1]], whole

    def add(self, patterns: list[Pattern]) -> int:
        fresh = [pattern for pattern in patterns if pattern not in self._seen]
        self._seen.update(fresh)
        self.patterns += fresh
        return len(fresh)


def values_of(group: Group, known: KindValues) -> tuple[Floats, Floats, Floats]:
    """Worth (with no, one, two factory ends) of a group's pieces by the kinds of another job.

    Each piece is worth as much as the best kind that can be cut from it.  So no sheet is
    worth more than its price, if that holds for the kinds.
    """
    plain = np.zeros(len(group.length))
    factory = np.zeros(len(group.length))
    shapes = np.unique(np.stack([group.height, group.tapers], axis=1), axis=0)
    order = np.argsort(known.length, kind="stable")
    for height, tapers in shapes:
        mine = np.flatnonzero((group.height == height) & (group.tapers == tapers))
        use = order[(known.height[order] <= height) & (known.tapers[order] <= tapers)]
        if not len(use):
            continue
        place = np.searchsorted(known.length[use], group.length[mine], side="right")
        for store, values in ((plain, known.plain), (factory, known.factory)):
            best = np.r_[0.0, np.maximum.accumulate(np.maximum(values[use], 0.0))]
            store[mine] = best[place]
    factory = np.maximum(plain, factory)
    whole = factory.copy()
    for kind in np.flatnonzero(known.whole > 0.0):
        mine = np.flatnonzero(
            (group.length == known.length[kind])
            & (group.height >= known.height[kind])
            & (group.tapers >= known.tapers[kind])
        )
        whole[mine] = np.maximum(whole[mine], known.whole[kind])
    return plain, factory, whole
