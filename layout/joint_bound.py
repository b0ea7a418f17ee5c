"""One proved bound for a job that was solved in clusters, and one for a job that was not.

Values of pieces under which no sheet is worth more than its price prove a bound for any
mixture of surfaces: the least cost of all surfaces when every piece costs its value.  Every
cluster's relaxation gives such values, and so does any average of them, because the sum
of values on a sheet is linear in them.  The average that proves most is sought by cutting
planes (Kelley 1960) on the weights.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array, csc_array, hstack, vstack

from layout.lanes import Floats
from layout.linear import GrowingProgram
from layout.master import Master
from layout.patterns import Group
from layout.piece_kinds import values_of
from layout.relaxation import Relaxed
from layout.rows import SurfaceRows
from layout.stock import steps_of

__all__ = ["area_bound", "joint_bound"]

MOST_ROUNDS = 30
CLOSE = 2e-4
"""Relative distance of the best bound to what any weights could prove at which the search ends."""


def area_bound(rows: SurfaceRows) -> float:
    """What the boarded area costs at the cheapest price per area: proved, and quick.

    Gaps at the ends that need no board are left out.
    """
    rate = min(b.price / math.prod(steps_of(b)) for b in rows.boards)
    area = 0
    for segment in rows.segments:
        stretch = sum((slab.end - slab.start) * slab.boarded for slab in segment.slabs)
        most = max((slab.boarded for slab in segment.slabs), default=0)
        area += max(0, stretch - (segment.gap_start + segment.gap_end) * most)
    return rate * area


@dataclass
class _Cluster:
    """Paths through a cluster's surfaces, and what its pieces are worth by every cluster."""

    master: Master
    plain: list[Floats]
    factory: list[Floats]
    whole: list[Floats]
    fixed: Floats
    alone: Floats
    matrix: csc_array
    low: Floats
    high: Floats

    def least(self, weights: Floats) -> tuple[float, Floats]:
        """Least cost at averaged values, and its slope in every weight."""
        plain = sum(w * v for w, v in zip(weights, self.plain, strict=True))
        factory = sum(w * v for w, v in zip(weights, self.factory, strict=True))
        whole = sum(w * v for w, v in zip(weights, self.whole, strict=True))
        cheapest = np.minimum(np.minimum(plain, factory), whole)
        costs = np.minimum(self.alone, cheapest + self.fixed)
        # Pairs of seams that are let go (`layout.clashes`) cost nothing.
        free = self.matrix.shape[1] - len(costs)
        found = GrowingProgram(np.append(costs, np.zeros(free)), self.matrix, self.low, self.high).solve()
        laid = found.x[: len(costs)]
        chosen_alone = self.alone <= costs + 1e-12
        slopes = []
        for one, two, three in zip(self.plain, self.factory, self.whole, strict=True):
            by_value = np.where(whole <= cheapest, three, np.where(plain <= factory, one, two)) + self.fixed
            slopes.append(float(np.where(chosen_alone, self.alone, by_value) @ laid))
        return found.value, np.array(slopes)


def joint_bound(masters: list[Master], relaxed: list[Relaxed]) -> float:
    """Bound for all surfaces of all masters together."""
    clusters = [_cluster(master, relaxed) for master in masters]
    count = len(relaxed)
    best = 0.0
    centre = np.full(count, 1.0 / count)
    tried = [centre, *np.eye(count)]
    cuts: list[Floats] = []
    for _ in range(MOST_ROUNDS + count):
        if tried:
            weights = tried.pop()
        else:
            # The most that any weights could prove, as far as the cuts know.
            found = linprog(
                np.append(np.zeros(count), -1.0),
                A_ub=np.column_stack([-np.array(cuts), np.ones(len(cuts))]),
                b_ub=np.zeros(len(cuts)),
                A_eq=[np.append(np.ones(count), 0.0)],
                b_eq=[1.0],
                bounds=[(0.0, 1.0)] * count + [(0.0, None)],
            )
            if found.x is None or -found.fun - best <= CLOSE * best:
                break
            weights = np.clip(found.x[:-1], 0.0, 1.0)
            weights = 0.5 * weights / weights.sum() + 0.5 * centre
        values = [cluster.least(weights) for cluster in clusters]
        total = sum(value for value, _ in values)
        cuts.append(np.sum([slope for _, slope in values], axis=0))
        if total > best:
            best, centre = total, weights
    return best


def _cluster(master: Master, relaxed: list[Relaxed]) -> _Cluster:
    """Every piece of a master, with its value by each relaxation (infinite where it has none)."""
    plain: list[list[Floats]] = [[] for _ in relaxed]
    factory: list[list[Floats]] = [[] for _ in relaxed]
    whole: list[list[Floats]] = [[] for _ in relaxed]
    fixed: list[Floats] = []
    alone: list[Floats] = []
    for number, group in enumerate(master.groups):
        runs = [group.sizes(board)[0] for board in range(len(group.boards))]
        for at, one in enumerate(relaxed):
            values, with_end, filled = _values(group, one)
            plain[at].append(values + group.cut_charge * group.seams)
            ends = with_end + group.cut_charge * (group.seams - 1)
            factory[at].append(np.where(group.seams > 0, ends, plain[at][-1]))
            as_long = (group.seams > 1) & np.isin(group.length, runs)
            whole[at].append(np.where(as_long, filled, factory[at][-1]))
        fixed.append(master.seam_price[number])
        alone.append(_alone_costs(master, number))
        # A piece of a forced length only comes from a board of its own.
        for store in (*plain, *factory, *whole):
            store[-1] = np.where(group.forced > 0, 1e12, store[-1])
    tail, head = np.concatenate(master.tail), np.concatenate(master.head)
    column = np.arange(len(tail))
    inner = head >= 0
    shape = (master.row_count, len(tail))
    arrive = coo_array((np.ones(int(inner.sum())), (head[inner], column[inner])), shape=shape)
    leave = coo_array((np.ones(len(tail)), (tail, column)), shape=shape)
    clash = master.clash @ arrive.tocsc()
    count = clash.shape[0]
    return _Cluster(
        master,
        [np.concatenate(part) for part in plain],
        [np.concatenate(part) for part in factory],
        [np.concatenate(part) for part in whole],
        np.concatenate(fixed),
        np.concatenate(alone),
        csc_array(hstack([vstack([leave - arrive, clash], format="csc"), master.eases()], format="csc")),
        np.concatenate([master.starts, np.full(count, -np.inf)]),
        np.concatenate([master.starts, master.clashes.limit]),
    )


def _values(group: Group, relaxed: Relaxed) -> tuple[Floats, Floats, Floats]:
    """Values of a group's pieces by a relaxation of other surfaces; nothing where it knows none."""
    program = relaxed.program
    assert program is not None  # every relaxation carries its program
    for kinds, known in zip(program.kinds, relaxed.kind_values, strict=True):
        if (kinds.group.boards, kinds.group.upright) == (group.boards, group.upright):
            return values_of(group, known)
    nothing = np.zeros(len(group.length))
    return nothing, nothing, nothing


def _alone_costs(master: Master, number: int) -> Floats:
    """What each piece costs on a board of its own, with its seam, where that is a column."""
    group = master.groups[number]
    costs = np.full(len(group.length), np.inf)
    for at, pattern in enumerate(master.columns):
        cut = pattern.pieces()
        if pattern.group == number and len(cut) == 1 and (cut[0][1] == 2 or group.forced[cut[0][0]]):
            costs[cut[0][0]] = min(costs[cut[0][0]], master.costs[at])
    return np.minimum(costs, 1e12)
