"""The optimum of a job: off-cuts of one surface serve another, with a proved bound.

A job is solved whole while it is small enough: the relaxation of `layout.relaxation` gives
the bound, `layout.rounding` a plan near it.  A wall or two is then proved exactly by listing
every sheet that could be part of a better plan.  A large job is cut into clusters of
neighbouring surfaces, so that the time grows with the number of surfaces;
`layout.joint_bound` proves one bound for all of them together.

Everything stops by work done (rounds, nodes, columns), never by a clock unless the caller
asks for one, so that the same job always gets the same plan.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from layout.assemble import UsedSheet
from layout.clusters import clusters_for, clusters_of
from layout.joint_bound import area_bound, joint_bound
from layout.master import Master, build_master, tighten
from layout.merging import merged
from layout.on_sheets import LaidLane, LaidPiece, laid, sheet_cost
from layout.patterns import Group, Pattern
from layout.relaxation import Relaxed, relax
from layout.rounding import rounded
from layout.rows import SurfaceRows
from layout.sheet_count import counted

__all__ = ["GOOD_GAP", "Found", "cost_of", "solve_job"]

GOOD_GAP = 0.004
"""Relative gap at which a plan is left as it is, unless another is asked for."""
SMALL_SEGMENTS = 8
"""A wall or two, for which the optimum is proved."""
REAL_SEGMENTS = 40
"""Segments up to which a plan that roundings leave too dear is sought among real sheets."""
ROUNDINGS = ((0.03, True, 0, 1_000_000), (0.15, True, REAL_SEGMENTS + 1, 60))
"""Roundings tried until one is good enough: columns within this part of a board's price, whether
whole pieces are kept, and from how many segments up to how many (a wider look takes much
longer, and up to `REAL_SEGMENTS` real sheets gave plans as cheap without it)."""
LARGE_SEGMENTS = 120
LARGE_GAP = 0.007
"""From so many segments on, a first rounding looks at columns that cost no more than they are worth,
and is good enough within this gap: the root of the wider one can take a minute and a half."""
REAL_STEPS = 2
"""How many of `STEPS` are gone then, where no proof was asked for."""
SMALL_COLUMNS = 2_500
STEPS = ((0.05, False), (0.05, True), (0.3, False), (1.0, False), (3.0, False))
"""Columns listed up to which reduced cost (in dollars of a board that costs 32), and whether
the bound is tightened before."""
MOST_WORK = 300_000
"""Nodes by columns of all choices among real sheets for one proof: a wall 33 ft long and 12 1/2 ft
high of 8-ft boards at the lowest price took more than 8 minutes without it, 55 s with it."""
QUICK_WORK = 150_000
ROOT_NODES = 15
"""Work where the lowest price is asked for: many plans cost the same there, and a proof among them took
up to a minute and a half.  The root of a choice is then counted as so many nodes (measured: 1 to
2 ms a column, as 15 nodes take)."""
FEW_MORE = 1.25
"""A choice that found nothing better is not made again with less than a quarter more columns."""
MOST_SPANS = 25_000
"""Pieces to choose from above which a surface keeps its first plan, unproved (a stud every few
inches for hundreds of feet: not framing that anybody boards)."""
MOST_COLUMNS = 12_000
TIGHTEN_ROUNDS = 25


@dataclass(frozen=True)
class Found:
    """Sheets of the best plan found, its cost with all charges, and the proved bound."""

    sheets: tuple[UsedSheet, ...]
    cost: float
    bound: float
    stopped: bool


def solve_job(
    all_rows: tuple[SurfaceRows, ...],
    own: tuple[tuple[UsedSheet, ...], ...],
    own_costs: tuple[float, ...],
    cut_charge: float,
    opposite: tuple[tuple[int, int], ...] = (),
    opposite_stagger: int = 0,
    time_limit_s: float | None = None,
    progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
    share: bool = True,
    gap: float = GOOD_GAP,
    start: tuple[UsedSheet, ...] = (),
    quick: bool = False,
) -> Found:
    """Choose seams and sheets of all surfaces together.

    Parameters
    ----------
    own, own_costs : tuples, one entry for each surface
        A first plan of each surface with every piece from a sheet of its own.
    opposite : tuple of (int, int)
        Surfaces that are the two faces of one partition.
    time_limit_s : float or None
        Seconds after which the best so far is returned; None ends by work done alone.
    share : bool
        False to keep every surface's off-cuts to itself; the bound is then one for plans
        that do so.
    gap : float
        Relative gap between cost and bound that is good enough; 0 to prove the optimum.
    start : tuple of UsedSheet
        A plan of all surfaces to begin with; used where the job is solved whole.
    quick : bool
        Spend less on a proof.
    """
    if not any(rows.segments for rows in all_rows):
        return Found((), 0.0, 0.0, False)
    clock = _Clock(time_limit_s, stop)
    parts = _Parts(all_rows, own, own_costs, cut_charge, opposite, opposite_stagger, gap, clock)
    clusters = clusters_for(all_rows, opposite) if share else clusters_of(all_rows, opposite, 0)
    if start and len(clusters) == 1:
        parts = replace(parts, start=start)
    parts = replace(parts, quick=quick and gap >= GOOD_GAP)
    found: list[_PartFound] = []
    for number, cluster in enumerate(clusters):
        found.append(parts.solve(cluster, _step_of(progress, number, len(clusters))))
    sheets = tuple(sheet for part in found for sheet in part.sheets)
    cost = sum(part.cost for part in found)
    if share and len(found) > 1:
        # Left-overs of one cluster may serve another.
        sheets, saved = merged(all_rows, sheets, cut_charge, clock.over)
        cost -= saved
        bound = sum(area_bound(rows) for rows in all_rows)
        solved = [(p.master, p.relaxed) for p in found if p.master is not None and p.relaxed is not None]
        if len(solved) == len(found) and not clock.asked_to_stop():
            bound = max(bound, joint_bound([m for m, _ in solved], [r for _, r in solved]))
    else:
        bound = sum(part.bound for part in found)
    if progress is not None:
        progress(1.0)
    return Found(sheets, cost, bound, clock.over())


def _step_of(progress: Callable[[float], None] | None, number: int, count: int) -> Callable[[float], None]:
    """Progress of one cluster as progress of the job; the last part is left to the bound."""

    def told(done: float) -> None:
        if progress is not None:
            progress((number + done) / (count + 0.2))

    return told


class _Clock:
    """When to end: the user's wish, or a time where one was given."""

    def __init__(self, time_limit_s: float | None, stop: Callable[[], bool] | None) -> None:
        self.deadline = np.inf if time_limit_s is None else time.monotonic() + time_limit_s
        self.stop = stop

    def left(self) -> float | None:
        return None if self.deadline == np.inf else max(0.0, self.deadline - time.monotonic())

    def asked_to_stop(self) -> bool:
        return self.stop is not None and self.stop()

    def over(self) -> bool:
        return self.left() == 0.0 or self.asked_to_stop()


@dataclass(frozen=True)
class _PartFound:
    """Best plan of some surfaces, its bound by themselves, and what proved it."""

    sheets: tuple[UsedSheet, ...]
    cost: float
    bound: float
    master: Master | None = None
    relaxed: Relaxed | None = None


@dataclass(frozen=True)
class _Parts:
    """Solves clusters of surfaces."""

    all_rows: tuple[SurfaceRows, ...]
    own: tuple[tuple[UsedSheet, ...], ...]
    own_costs: tuple[float, ...]
    cut_charge: float
    opposite: tuple[tuple[int, int], ...]
    opposite_stagger: int
    gap: float
    clock: _Clock
    start: tuple[UsedSheet, ...] = ()
    quick: bool = False

    def solve(self, cluster: list[int], progress: Callable[[float], None]) -> _PartFound:
        """Best plan found for the surfaces of a cluster."""
        rows = tuple(self.all_rows[s] for s in cluster)
        first = _PartFound(
            tuple(sheet for s in cluster for sheet in self.own[s]),
            sum(self.own_costs[s] for s in cluster),
            sum(area_bound(part) for part in rows),
        )
        if self.start and (cost := cost_of(self.all_rows, self.start, self.cut_charge)) < first.cost:
            first = replace(first, sheets=self.start, cost=cost)
        segments = sum(len(part.segments) for part in rows)
        if segments <= REAL_SEGMENTS:
            # A better plan to start from makes the proof shorter.
            first = self._merged(first)
        spans = sum(len(segment.spans) for part in rows for segment in part.segments)
        if not segments or self.clock.over():
            return first
        if spans > MOST_SPANS:
            return self._apart(cluster, first)
        pairs = tuple((cluster.index(a), cluster.index(b)) for a, b in self.opposite if a in cluster)
        master = build_master(rows, self.cut_charge, pairs, self.opposite_stagger)
        small = segments <= SMALL_SEGMENTS
        relaxed = relax(
            master, self.clock.deadline, 2e-3 if len(cluster) == 1 else 1e-4, self.clock.over, progress
        )
        bound = max(first.bound, relaxed.bound)
        best: list[int] | None = None
        cost = first.cost
        large = segments > LARGE_SEGMENTS and self.gap >= GOOD_GAP
        enough = max(self.gap, LARGE_GAP) if large else self.gap
        roundings = ((0.0, True, 0, segments), *ROUNDINGS) if large else ROUNDINGS
        for slack, keep, above, most in roundings:
            need = cost - bound
            good = small or need <= max(enough * cost, 1e-6)
            if not above <= segments <= most or good or self.clock.asked_to_stop():
                break
            patterns = rounded(master, relaxed, self.gap / 2, slack, keep, self.clock.left())
            found = None if patterns is None else _entered(master, patterns)
            if found is not None and found[1] < cost - 1e-9:
                best, cost = found
        progress(0.9)
        solver = master
        if small and cost - bound > max(self.gap * cost, 1e-6):
            faces = (pairs, self.opposite_stagger)
            whole = counted(rows, self.cut_charge, *faces, relaxed, self.clock.deadline, self.clock.over)
            if whole is not None:
                # Where whole sheets leave a small gap, few columns are within it and soon looked through.
                bound = max(bound, whole[1].bound)
                best, cost, bound = _proved(*whole, cost, bound, self.clock, 0.0, STEPS[:1], self.quick)
                solver = whole[0]
        real = segments <= REAL_SEGMENTS and not self.clock.over()
        if small or self.gap < GOOD_GAP or real:
            steps = STEPS if small or self.gap < GOOD_GAP else STEPS[:REAL_STEPS]
            chosen, cost, bound = _proved(
                master, relaxed, cost, bound, self.clock, self.gap, steps, self.quick
            )
            best, solver = (best, solver) if chosen is None else (chosen, master)
        if best is None:
            return self._merged(_PartFound(first.sheets, first.cost, bound, master, relaxed))
        sheets = tuple(_placed(self.all_rows, solver, number, tuple(cluster)) for number in best)
        return self._merged(_PartFound(sheets, cost, bound, master, relaxed))

    def _merged(self, found: _PartFound) -> _PartFound:
        """The same seams from fewer or cheaper sheets, where there is anything to gain."""
        if found.cost - found.bound <= 1e-6 * found.cost:
            return found
        sheets, saved = merged(self.all_rows, found.sheets, self.cut_charge, self.clock.over)
        return replace(found, sheets=sheets, cost=found.cost - saved) if saved else found

    def _apart(self, cluster: list[int], first: _PartFound) -> _PartFound:
        """Surfaces of which one has too many pieces to choose from: the others by themselves."""
        if len(cluster) == 1:
            return first
        # Faces of a partition keep the seams of their first plans, which stand apart.
        tied = {s for pair in self.opposite for s in pair}
        parts = [
            self.solve([s], _step_of(None, 0, 1))
            if s not in tied
            else _PartFound(self.own[s], self.own_costs[s], area_bound(self.all_rows[s]))
            for s in cluster
        ]
        sheets = tuple(sheet for part in parts for sheet in part.sheets)
        return _PartFound(sheets, sum(part.cost for part in parts), first.bound)


def cost_of(all_rows: tuple[SurfaceRows, ...], sheets: tuple[UsedSheet, ...], cut_charge: float) -> float:
    """What sheets with their pieces cost, seams and cut ends counted."""
    cost = 0.0
    for sheet in sheets:
        cost += sheet_cost(sheet, all_rows[sheet.placements[0].surface].upright, cut_charge)
        for placed in sheet.placements:
            cost += all_rows[placed.surface].segments[placed.segment].stations[placed.span.last].price
    return cost


def _entered(master: Master, patterns: list[Pattern]) -> tuple[list[int], float]:
    """Numbers of patterns as columns of the master, and their cost."""
    numbers = [master.number(pattern) for pattern in patterns]
    return numbers, float(sum(master.costs[number] for number in numbers))


def _proved(
    master: Master,
    relaxed: Relaxed,
    upper: float,
    bound: float,
    clock: _Clock,
    gap: float,
    steps: tuple[tuple[float, bool], ...],
    quick: bool = False,
) -> tuple[list[int] | None, float, float]:
    """Whole choice of columns, its cost, and a bound: more columns until the gap is closed."""
    best: list[int] | None = None
    cost, work = upper, QUICK_WORK if quick else MOST_WORK
    root = ROOT_NODES if quick else 0
    looked_at = 0
    if cost - bound <= max(gap * cost, 1e-6):
        return best, cost, bound
    master.duals, master.clash_duals = relaxed.duals, relaxed.clash_duals
    master.price(20, 1.0, real=True)
    dearest = max(board.price for group in master.groups for board in group.boards)
    scale = max(dearest + master.spared, 1e-6) / 32.0
    # For a wall or two, every pattern within the gap is listed at once and the optimum proved.
    small = int(master.starts.sum()) <= SMALL_SEGMENTS
    if small:
        # A choice among the columns at hand is near the best one, so that few are listed below.
        found, reached, _, spent, looked_at = master.choose(cost + 1e-6, clock.left(), 0.0, work)
        work -= spent + root * looked_at
        if found is not None and reached < cost + 1e-6:
            best, cost = found, min(cost, reached)
    steps = ((np.inf, False), *steps) if small else steps
    for slack, tighter in steps:
        if tighter:
            bound = tighten(master, bound, clock.deadline, MOST_COLUMNS // 4, rounds=TIGHTEN_ROUNDS)
        need = cost - bound
        if need <= max(gap * cost, 1e-6):
            break
        most = SMALL_COLUMNS if slack == np.inf else MOST_COLUMNS
        # Reduced costs count from what the duals prove, which may be less than the bound.
        reach = cost + 1e-6 - master.dual_value()
        _, _, complete = master.price_all(min(slack * scale, reach), most)
        if slack == np.inf and not complete:
            continue
        # Columns of pieces alone are all there, so with every pattern within the gap
        # listed the integer program is exact.
        exact = complete and slack * scale >= reach
        last = slack == steps[-1][0]
        if quick and not (exact or last) and len(master.near(cost + 1e-6)) < FEW_MORE * looked_at:
            continue
        found, reached, proved, spent, looked_at = master.choose(
            cost + 1e-6, clock.left(), 0.0 if exact else gap / 2, work
        )
        work -= spent + root * looked_at
        if found is not None and reached < cost + 1e-6:
            best, cost = found, min(cost, reached)
        if exact:
            bound = max(bound, min(proved, cost))
            break
        if clock.over() or work <= 0:
            break
    return best, cost, bound


def _placed(
    all_rows: tuple[SurfaceRows, ...], master: Master, column: int, batch: tuple[int, ...]
) -> UsedSheet:
    """A column as a sheet with its pieces laid on it; a cheaper board that is long enough is taken."""
    pattern = master.columns[column]
    group = master.groups[pattern.group]
    lanes = []
    for cut in pattern.lanes:
        found = [(*master.pieces[pattern.group][piece], ends) for piece, ends in cut.pieces]
        pieces = tuple(
            LaidPiece(batch[surface], segment, span, ends) for surface, segment, span, ends in found
        )
        lanes.append(LaidLane(cut.slot, cut.size, pieces))
    boards = all_rows[lanes[0].pieces[0].surface].boards
    return laid(boards[_cheapest(group, pattern)], group.upright, lanes)


def _cheapest(group: Group, pattern: Pattern) -> int:
    """Number of the cheapest board that holds a pattern."""
    if group.upright or any(use == 2 or group.forced[piece] for piece, use in pattern.pieces()):
        return pattern.board
    used = max(sum(int(group.length[p]) for p, _ in cut.pieces) for cut in pattern.lanes)
    fits = [
        n
        for n in range(len(group.boards))
        if group.sizes(n)[0] >= used and group.boards[n].price <= group.boards[pattern.board].price
    ]
    return min(fits, key=lambda n: (group.boards[n].price, n)) if fits else pattern.board
