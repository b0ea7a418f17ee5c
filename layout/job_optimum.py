"""The optimum of a job: off-cuts of one surface serve another, with a proved bound.

Small jobs are solved whole.  Large ones are cut into batches of neighbouring surfaces, each
solved by itself, so that the time grows with the number of surfaces; one proof covers them
all, because piece values under which no sheet of any mixture of batches is worth more than
its price prove a bound for the whole job.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from layout.assemble import Placement, UsedSheet
from layout.lanes import Floats
from layout.master import Master, build_master, tighten
from layout.patterns import Group, Pattern
from layout.relaxation import KindValues, Relaxed, bound_at, relax, values_of
from layout.rows import SurfaceRows

__all__ = ["Found", "solve_job"]

BATCH_SEGMENTS = 46
"""Segments solved together.  Larger batches share more off-cuts and take longer."""
GROUP_SEGMENTS = 60
"""Batches larger than this are solved in groups of a third of their size first."""
GOOD_GAP = 0.003
"""Relative gap at which a batch is left as it is, unless another is asked for."""
SMALL_SEGMENTS = 8
SMALL_COLUMNS = 2_500
STEPS = ((0.05, False), (0.05, True), (0.3, False), (1.0, False), (3.0, False))
"""Columns listed up to which reduced cost, and whether the bound is tightened before."""
MIP_SECONDS = 4.0
SAMPLE_SEGMENTS = 240
"""Segments from which the piece values of a large job are taken."""
MOST_SPANS = 25_000
"""Pieces to choose from above which a surface keeps its first plan, unproved (a stud every few
inches for hundreds of feet: not framing that anybody boards)."""
MOST_COLUMNS = 12_000


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
) -> Found:
    """Choose seams and sheets of all surfaces together.

    Parameters
    ----------
    own, own_costs : tuples, one entry for each surface
        A first plan of each surface with every piece from a sheet of its own.
    opposite : tuple of (int, int)
        Surfaces that are the two faces of one partition.
    share : bool
        False to keep every surface's off-cuts to itself (each surface a batch).
    gap : float
        Relative gap between cost and bound that is good enough; 0 to prove the optimum.
    """
    if not any(rows.segments for rows in all_rows):
        return Found((), 0.0, 0.0, False)
    started = time.monotonic()
    limit = time_limit_s if time_limit_s is not None else 10.0 + 0.5 * len(all_rows)
    clock = _Clock(started + limit, stop)
    parts = _Parts(all_rows, own, own_costs, cut_charge, opposite, opposite_stagger, gap, clock)
    batches = _batches(all_rows, opposite, BATCH_SEGMENTS if share else 0)
    masters: list[Master] = []
    sheets: list[UsedSheet] = []
    cost, bound = 0.0, 0.0
    for number, batch in enumerate(batches):
        end = time.monotonic() + clock.left() / (len(batches) - number)
        found = parts.solve(batch, min(end, clock.deadline))
        sheets += found.sheets
        cost += found.cost
        bound += found.bound
        if found.master is not None:
            masters.append(found.master)
        if progress is not None:
            progress((number + 1) / len(batches))
    stopped = clock.over()
    if len(batches) > 1:
        # The bound is worth a little more time than was asked for, but not after a stop.
        enough = share and len(masters) == len(batches) and not clock.asked_to_stop()
        late = time.monotonic() + 0.5 * limit
        bound = _joint_bound(all_rows, masters, cut_charge, late) if enough else 0.0
    return Found(tuple(sheets), cost, min(bound, cost), stopped)


class _Clock:
    """When to end: a time, or the user's wish."""

    def __init__(self, deadline: float, stop: Callable[[], bool] | None) -> None:
        self.deadline = deadline
        self.stop = stop

    def left(self) -> float:
        return max(0.0, self.deadline - time.monotonic())

    def asked_to_stop(self) -> bool:
        return self.stop is not None and self.stop()

    def over(self) -> bool:
        return self.left() <= 0.0 or self.asked_to_stop()


@dataclass(frozen=True)
class _PartFound:
    """Best plan of some surfaces, its bound, and the program that proved it."""

    sheets: tuple[UsedSheet, ...]
    cost: float
    bound: float
    master: Master | None


@dataclass(frozen=True)
class _Parts:
    """Solves surfaces together, after having solved smaller groups of them.

    A group starts from its smaller groups' plans, so that sharing never costs more than
    not sharing, whatever the time allows.
    """

    all_rows: tuple[SurfaceRows, ...]
    own: tuple[tuple[UsedSheet, ...], ...]
    own_costs: tuple[float, ...]
    cut_charge: float
    opposite: tuple[tuple[int, int], ...]
    opposite_stagger: int
    gap: float
    clock: _Clock

    def solve(self, batch: list[int], deadline: float) -> _PartFound:
        """Best plan found for the surfaces of a batch by `time.monotonic()` of `deadline`."""
        first = _PartFound(
            tuple(sheet for s in batch for sheet in self.own[s]),
            sum(self.own_costs[s] for s in batch),
            0.0,
            None,
        )
        rows = tuple(self.all_rows[s] for s in batch)
        segments = sum(len(part.segments) for part in rows)
        spans = sum(len(segment.spans) for part in rows for segment in part.segments)
        if not segments or spans > MOST_SPANS or self.clock.over():
            return first
        smaller = self._smaller(batch, segments)
        if len(smaller) > 1:
            early = time.monotonic() + 0.4 * max(0.0, deadline - time.monotonic())
            parts = []
            for number, part in enumerate(smaller):
                end = time.monotonic() + max(0.0, early - time.monotonic()) / (len(smaller) - number)
                # A surface takes a few hundredths of a second: it is never cut short.
                parts.append(self.solve(part, max(end, time.monotonic() + 1.0)))
            first = _PartFound(
                tuple(sheet for part in parts for sheet in part.sheets),
                sum(part.cost for part in parts),
                0.0,
                None,
            )
            if self.clock.asked_to_stop():
                return first
        pairs = tuple((batch.index(a), batch.index(b)) for a, b in self.opposite if a in batch)
        master = build_master(rows, self.cut_charge, pairs, self.opposite_stagger)
        stop = self.clock.stop
        relaxed = relax(master, deadline, gap=1e-4 if len(batch) > 1 else 2e-3, stop=stop)
        chosen, reached, proved = _choose(master, relaxed, first.cost, deadline, stop, self.gap)
        if chosen is None:
            return _PartFound(first.sheets, first.cost, min(proved, first.cost), master)
        sheets = tuple(_placed(master, number, tuple(batch)) for number in chosen)
        return _PartFound(sheets, reached, min(proved, reached), master)

    def _smaller(self, batch: list[int], segments: int) -> list[list[int]]:
        """The batch in groups of a third of its size, or single surfaces; faces together."""
        here = tuple((batch.index(a), batch.index(b)) for a, b in self.opposite if a in batch)
        most = segments / 3 if segments > GROUP_SEGMENTS else 0
        rows = tuple(self.all_rows[s] for s in batch)
        return [[batch[n] for n in part] for part in _batches(rows, here, most)]


def _choose(
    master: Master,
    relaxed: Relaxed,
    upper: float,
    deadline: float,
    stop: Callable[[], bool] | None,
    gap: float,
) -> tuple[list[int] | None, float, float]:
    """Whole choice of columns, its cost, and a bound: more columns until the gap is closed."""
    master.duals, master.clash_duals = relaxed.duals, relaxed.clash_duals
    master.price(20, 1.0, real=True)
    bound = relaxed.bound
    best: list[int] | None = None
    cost = upper
    # For a wall or two, every pattern within the gap is listed at once and the optimum proved.
    small = int(master.starts.sum()) <= SMALL_SEGMENTS
    for slack, tighter in ((np.inf, False), *STEPS) if small else STEPS:
        if tighter:
            bound = tighten(master, bound, min(deadline, time.monotonic() + 3.0), MOST_COLUMNS // 4)
        need = cost - bound
        if need <= max(gap * cost, 1e-6):
            break
        most = SMALL_COLUMNS if slack == np.inf else MOST_COLUMNS
        _, _, complete = master.price_all(min(slack, need + 1e-6), most)
        if slack == np.inf and not complete:
            continue
        left = deadline - time.monotonic()
        # Columns of pieces alone are all there, so with every pattern within the gap
        # listed the integer program is exact.
        exact = complete and slack >= need
        found, reached, proved = master.choose(
            cost + 1e-6, min(max(left / 2, 0.2), MIP_SECONDS), 0.0 if exact else gap / 2
        )
        if found is not None and reached < cost + 1e-6:
            best, cost = found, min(cost, reached)
        if exact:
            bound = max(bound, min(proved, cost))
            break
        if left <= 0 or (stop is not None and stop()):
            break
    return best, cost, min(bound, cost)


def _batches(
    all_rows: tuple[SurfaceRows, ...], opposite: tuple[tuple[int, int], ...], most: float
) -> list[list[int]]:
    """Surfaces in their order, cut into batches; the faces of a partition stay together."""
    leader = list(range(len(all_rows)))

    def find(surface: int) -> int:
        while leader[surface] != surface:
            surface = leader[surface]
        return surface

    for one, two in opposite:
        a, b = sorted((find(one), find(two)))
        leader[b] = a
    families: dict[int, list[int]] = {}
    for surface in range(len(all_rows)):
        families.setdefault(find(surface), []).append(surface)
    sizes = {k: sum(len(all_rows[s].segments) for s in f) for k, f in families.items()}
    count = max(1, round(sum(sizes.values()) / most)) if most else len(families)
    aim = sum(sizes.values()) / count if most else 0
    batches: list[list[int]] = [[]]
    size = 0
    for key, family in families.items():
        if batches[-1] and (not most or size + sizes[key] / 2 > aim):
            batches.append([])
            size = 0
        batches[-1] += family
        size += sizes[key]
    return batches


def _joint_bound(
    all_rows: tuple[SurfaceRows, ...], masters: list[Master], cut_charge: float, deadline: float
) -> float:
    """Bound of all batches together, at one set of piece values for all of them.

    The values come from a sample of the surfaces, evenly spread.  No sheet is worth more
    than its price at them, whatever pieces of whatever surface are mixed on it, so the
    least cost of all surfaces at these values bounds every plan.
    """
    segments = sum(len(rows.segments) for rows in all_rows)
    step = max(1, -(-segments // SAMPLE_SEGMENTS))
    sample = build_master(all_rows[::step], cut_charge)
    relaxed = relax(sample, deadline, gap=5e-4)
    known = {
        (group.boards, group.upright): kinds
        for group, kinds in zip(sample.groups, relaxed.kind_values, strict=True)
    }
    best = 0.0
    for shares in (None, _area_share, _half_share, _quarter_share):
        total = 0.0
        for master in masters:
            values = []
            for group in master.groups:
                kinds = known.get((group.boards, group.upright))
                none = np.zeros(len(group.length))
                if kinds is None:
                    values.append((none, none))
                elif shares is None or group.upright:
                    values.append(values_of(group, kinds))
                else:
                    values.append(_by_share(group, kinds, shares))
            total += bound_at(master, values)
        best = max(best, total)
    return best


def _area_share(part: Floats) -> Floats:
    """Share of a sheet's value for a part of its width: the part itself."""
    return part


def _half_share(part: Floats) -> Floats:
    """All of it for more than half the width, because two such strips never share a sheet."""
    return np.where(part > 0.5, 1.0, np.where(part < 0.5, 0.0, 0.5))


def _quarter_share(part: Floats) -> Floats:
    """All of it for three quarters or more, none for a quarter or less, else the part itself."""
    return np.where(part >= 0.75, 1.0, np.where(part <= 0.25, 0.0, part))


def _by_share(group: Group, kinds: KindValues, shares: Callable[[Floats], Floats]) -> tuple[Floats, Floats]:
    """Worth of pieces from the full-width kinds alone and the share of the width they take.

    A share function that never adds up to more than one where the parts do not (a dual
    feasible function; Fekete and Schepers 2001) keeps every ripped sheet within its price.
    """
    full = kinds.height == kinds.height.max()
    taken = KindValues(
        kinds.length[full],
        np.zeros(int(full.sum()), dtype=np.int64),
        np.zeros(int(full.sum()), dtype=np.int64),
        kinds.plain[full],
        kinds.factory[full],
    )
    share = shares(group.height / group.sizes(0)[1])
    plain, factory = values_of(group, taken)
    return plain * share, factory * share


def _placed(master: Master, column: int, batch: tuple[int, ...]) -> UsedSheet:
    """A column as a sheet with its pieces laid on it.

    A piece with a factory end lies at an end of its lane, the rest follow the first one;
    what is left lies before the last.  A cheaper board that is long enough is taken.
    """
    pattern = master.columns[column]
    group = master.groups[pattern.group]
    board = _cheapest(group, pattern)
    run, room = group.sizes(board)
    placements: list[Placement] = []
    for cut in pattern.lanes:
        low = _lane_place(cut.slot, cut.size)
        at = 0
        ends = 0
        for piece, use in sorted(cut.pieces, key=lambda p: -p[1]):
            surface, segment, span = master.pieces[pattern.group][piece]
            length, height = int(group.length[piece]), int(group.height[piece])
            if use == 1 and ends == 1:
                start, end = run - length, run
            else:
                start, end = at, at + length
                at = end
            ends += use
            side = (room - height, room) if cut.slot == 1 else (low, low + height)
            along, across = (side, (start, end)) if group.upright else ((start, end), side)
            placements.append(Placement(batch[surface], segment, span, *along, *across))
    return UsedSheet(group.boards[board], tuple(placements))


def _lane_place(slot: int, size: int) -> int:
    """Lower edge of a lane: the first at one edge, the second at the other, others between."""
    return 0 if slot < 2 else (slot - 1) * size


def _cheapest(group: Group, pattern: Pattern) -> int:
    """Number of the cheapest board that holds a pattern."""
    if group.upright or any(use == 2 for _, use in pattern.pieces()):
        return pattern.board
    used = max(sum(int(group.length[p]) for p, _ in cut.pieces) for cut in pattern.lanes)
    fits = [
        n
        for n in range(len(group.boards))
        if group.sizes(n)[0] >= used and group.boards[n].price <= group.boards[pattern.board].price
    ]
    return min(fits, key=lambda n: (group.boards[n].price, n)) if fits else pattern.board
