"""The assignment behind the stacks: which lot goes to which heap, solved exactly by `scipy`'s HiGHS.

A heap is one place for a stack: the n-th from the left in a free stretch of wall, lying flat or
standing on edge.  In words: every lot goes to one heap or stays without a place, which costs far
more than any walk; the heaps of a stretch fit beside one another; a heap holds no more than may
stand there; a lot that is wanted later and is shorter does not lie behind one wanted earlier.

The cost of a lot at a heap is its count times how far it is carried when it hangs: nothing within
its room, more from another one, a little more at a wall that is boarded early (the stack would have
to move), twice for ceiling boards, which are wanted first and lifted highest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from layout.stack_types import Lot, PlaceWall, Site
from layout.weights import design_weight_psf

__all__ = ["HEAP_GAP_IN", "Heap", "assign", "heaps_of", "may_lie_together"]

HEAP_GAP_IN = 12.0
"""Between two stacks of a stretch: room for a hand and for the sign (common practice, no source)."""
MOST_HEAPS_PER_STRETCH = 3
TIME_LIMIT_S = 4.0

# Costs, per board carried; only their order matters.  An early wall's heap has to be moved once, a
# board from another room is carried through a doorway, a board on edge can topple (GA-801 asks for
# flat stacks).
OTHER_ROOM = 10.0
EARLY_WALL = 1.0
ON_EDGE = 0.5
CEILING_FACTOR = 2.0
HEAP_COST = 4.0
NO_PLACE = 10_000.0


@dataclass(frozen=True, slots=True)
class Heap:
    """A place for one stack, before it is known what goes there."""

    wall: PlaceWall
    stretch: tuple[float, float]
    number: int
    standing: str


def heaps_of(
    walls: tuple[PlaceWall, ...],
    stretches: dict[str, tuple[tuple[float, float], ...]],
    lots: tuple[Lot, ...],
    site: Site,
) -> tuple[Heap, ...]:
    """All places a stack could have: by stretch, number from the left, and standing."""
    if not lots:
        return ()
    shortest = min(lot.length_in for lot in lots)
    widest = max(lot.width_in for lot in lots)
    found = []
    for wall in walls:
        roomy = wall.depth_in is not None and wall.depth_in >= widest + site.walkway_in
        standings = (("flat",) if roomy and site.standing != "edge" else ()) + (
            ("edge",) if site.standing != "flat" else ()
        )
        for stretch in stretches.get(wall.id, ()):
            length_in = stretch[1] - stretch[0]
            fit = int((length_in + HEAP_GAP_IN) // (shortest + HEAP_GAP_IN))
            for number in range(min(fit, MOST_HEAPS_PER_STRETCH)):
                found += [Heap(wall, stretch, number, standing) for standing in standings]
    return tuple(found)


def may_lie_together(first: Lot, second: Lot) -> bool:
    """Whether two lots may share a stack: what is taken first must not be the bigger one.

    A board that is longer or wider than those under it sags over their ends.
    """
    if first.ceiling == second.ceiling:
        return True
    early, late = (first, second) if first.ceiling else (second, first)
    return early.length_in <= late.length_in + 1.0 and early.width_in <= late.width_in + 1.0


def capacity(site: Site, standing: str) -> tuple[Callable[[Lot], float], float]:
    """What a heap may hold: how much of it a lot takes up, and how much there is."""
    most = site.most_on_edge if standing == "edge" else site.most_flat
    if site.floor == "slab":
        return (lambda lot: lot.count / most), 1.0

    def share(lot: Lot) -> float:
        by_load = lot.count * design_weight_psf(lot.thickness_in) / site.live_load_psf
        return max(by_load, lot.count / most)

    return share, 1.0


def carrying_cost(lot: Lot, heap: Heap, last_hung: int) -> float:
    """How bad it is to put a lot there."""
    early = EARLY_WALL * (1.0 - heap.wall.hung / last_hung) if last_hung else 0.0
    walk = (OTHER_ROOM if heap.wall.room != lot.room else 0.0) + early
    factor = CEILING_FACTOR if lot.ceiling else 1.0
    return lot.count * (factor * walk + (ON_EDGE if heap.standing == "edge" else 0.0))


def assign(lots: tuple[Lot, ...], heaps: tuple[Heap, ...], site: Site) -> tuple[tuple[int | None, ...], bool]:
    """For each lot the index of its heap, or None; and whether that is proved the best."""
    n_lots, n_heaps = len(lots), len(heaps)
    if not lots or not heaps:
        return (None,) * n_lots, True
    last = max(heap.wall.hung for heap in heaps)
    lot_at = [[lot * n_heaps + heap for heap in range(n_heaps)] for lot in range(n_lots)]
    opened = [n_lots * n_heaps + heap for heap in range(n_heaps)]
    length = [n_lots * n_heaps + n_heaps + heap for heap in range(n_heaps)]
    missing = [n_lots * n_heaps + 2 * n_heaps + lot for lot in range(n_lots)]
    size = missing[-1] + 1
    cost = np.zeros(size)
    upper = np.ones(size)
    for lot in range(n_lots):
        cost[missing[lot]] = NO_PLACE * lots[lot].count
        for heap in range(n_heaps):
            cost[lot_at[lot][heap]] = carrying_cost(lots[lot], heaps[heap], last)
            if lots[lot].length_in > heaps[heap].stretch[1] - heaps[heap].stretch[0] + 1e-6:
                upper[lot_at[lot][heap]] = 0.0
    for heap in range(n_heaps):
        cost[opened[heap]] = HEAP_COST
        upper[length[heap]] = heaps[heap].stretch[1] - heaps[heap].stretch[0]
    rows = _Rows(size)
    for lot in range(n_lots):
        # every lot goes to one heap, or stays without a place
        rows.add([(at, 1.0) for at in lot_at[lot]] + [(missing[lot], 1.0)], 1.0, 1.0)
    for heap in range(n_heaps):
        share, most = capacity(site, heaps[heap].standing)
        # a heap holds no more than may stand there, and nothing while it is not opened
        rows.add(
            [(lot_at[lot][heap], share(lots[lot])) for lot in range(n_lots)] + [(opened[heap], -most)],
            -np.inf,
            1e-9,
        )
        for lot in range(n_lots):
            # a heap is as long as the longest lot in it
            rows.add([(lot_at[lot][heap], lots[lot].length_in), (length[heap], -1.0)], -np.inf, 0.0)
        for one in range(n_lots):
            for other in range(one):
                # no long board in front of a shorter one that is wanted later
                if not may_lie_together(lots[one], lots[other]):
                    rows.add([(lot_at[one][heap], 1.0), (lot_at[other][heap], 1.0)], -np.inf, 1.0)
    for members in _by_stretch(heaps).values():
        stretch = heaps[members[0]].stretch
        # the heaps of a stretch fit beside one another, with a gap between two
        rows.add(
            [(length[h], 1.0) for h in members] + [(opened[h], HEAP_GAP_IN) for h in members],
            -np.inf,
            stretch[1] - stretch[0] + HEAP_GAP_IN,
        )
        by_number: dict[int, list[int]] = {}
        for h in members:
            by_number.setdefault(heaps[h].number, []).append(h)
        for number, twins in by_number.items():
            # one standing for a heap; the n-th is opened only after the one before (symmetry)
            rows.add([(opened[h], 1.0) for h in twins], -np.inf, 1.0)
            if number:
                before = [(opened[h], -1.0) for h in by_number[number - 1]]
                rows.add([(opened[h], 1.0) for h in twins] + before, -np.inf, 0.0)
    whole = np.ones(size)
    whole[length] = 0.0
    answer = milp(
        cost,
        constraints=rows.constraint(),
        bounds=Bounds(np.zeros(size), upper),
        integrality=whole,
        options={"time_limit": TIME_LIMIT_S, "mip_rel_gap": 1e-4},
    )
    if answer.x is None:
        return (None,) * n_lots, False
    chosen = tuple(
        next((heap for heap in range(n_heaps) if answer.x[lot_at[lot][heap]] > 0.5), None)
        for lot in range(n_lots)
    )
    return chosen, answer.status == 0


def _by_stretch(heaps: tuple[Heap, ...]) -> dict[tuple[str, float], list[int]]:
    groups: dict[tuple[str, float], list[int]] = {}
    for index, heap in enumerate(heaps):
        groups.setdefault((heap.wall.id, heap.stretch[0]), []).append(index)
    return groups


class _Rows:
    """Rows of constraints, gathered one by one."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._row: list[int] = []
        self._column: list[int] = []
        self._value: list[float] = []
        self._low: list[float] = []
        self._high: list[float] = []

    def add(self, terms: list[tuple[int, float]], low: float, high: float) -> None:
        for column, value in terms:
            self._row.append(len(self._low))
            self._column.append(column)
            self._value.append(value)
        self._low.append(low)
        self._high.append(high)

    def constraint(self) -> LinearConstraint:
        matrix = coo_array((self._value, (self._row, self._column)), shape=(len(self._low), self._size))
        return LinearConstraint(matrix.tocsr(), self._low, self._high)
