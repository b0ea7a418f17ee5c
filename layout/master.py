"""Master: seams and cutting solved together by column generation.

A plan is a path through the stations of every segment (see `layout.rows`).  A column of
the linear program is one bought sheet with the pieces cut from it; each piece carries its
path from one station to another.  Rows of the program:

- at the start of a segment one piece leaves; at every station as many leave as arrive;
- of seams that are too close to each other (neighbouring courses, the two faces of a
  partition) at most one is used; where a surface cannot keep that everywhere, columns of
  their own let single pairs go, and one row counts how many.

`layout.relaxation` proves a lower bound and finds what every station is worth in it (its
dual).  At those values only columns that cost little more than they are worth can be part
of a plan near the bound, so these are listed, and the integer program over them gives the
plan (flow formulation after Valerio de Carvalho 1999).  When every column within the gap
was listed, the integer program proves its plan optimal.  It is solved by scipy's HiGHS.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csc_array, hstack, vstack

from layout.clashes import Clashes, clash_sets
from layout.lanes import Floats
from layout.linear import GrowingProgram
from layout.patterns import Group, Pattern, best_patterns, single_patterns
from layout.real_patterns import all_patterns, is_real
from layout.rows import Span, SurfaceRows
from layout.stock import Board

__all__ = ["Master", "build_master", "tighten"]

LEAST_NODES = 20
"""Nodes that a choice among many columns still gets."""


@dataclass
class Master:
    """The linear program of some surfaces and the columns found so far.

    `pieces[group]` lists (surface, segment, span) of every piece of a group; `tail` and
    `head` are the rows that a piece leaves and enters (-1 at the end of a segment).  `costs`
    are those of the columns in the user's money.  Where it is known that every plan has
    `least` sheets, `spared` is taken off the price of every board of `groups`, and counted
    `least` times in what is proved (`layout.sheet_count`).
    """

    groups: list[Group]
    pieces: list[list[tuple[int, int, Span]]]
    tail: list[np.ndarray]
    head: list[np.ndarray]
    seam_price: list[Floats]
    starts: np.ndarray
    row_count: int
    clashes: Clashes
    spared: float = 0.0
    least: int = 0
    columns: list[Pattern] = field(default_factory=list)
    costs: list[float] = field(default_factory=list)
    _seen: set[Pattern] = field(default_factory=set)
    _entries: list[tuple[list[int], list[float]]] = field(default_factory=list)
    duals: Floats = field(default_factory=lambda: np.zeros(0))
    clash_duals: Floats = field(default_factory=lambda: np.zeros(0))

    @property
    def clash(self) -> csc_array:
        """Rows of seams that exclude each other, a column for every row of a station."""
        return self.clashes.seams

    def add(self, pattern: Pattern) -> bool:
        """Add a column unless it is there already."""
        if pattern in self._seen:
            return False
        self._seen.add(pattern)
        group = self.groups[pattern.group]
        cost = group.boards[pattern.board].price + self.spared
        entries: dict[int, float] = {}
        for piece, ends in pattern.pieces():
            tail, head = int(self.tail[pattern.group][piece]), int(self.head[pattern.group][piece])
            entries[tail] = entries.get(tail, 0.0) + 1.0
            if head >= 0:
                entries[head] = entries.get(head, 0.0) - 1.0
            cost += float(self.seam_price[pattern.group][piece])
            cost += group.cut_charge * (int(group.seams[piece]) - ends)
        self.columns.append(pattern)
        self.costs.append(cost)
        self._entries.append((list(entries), list(entries.values())))
        return True

    def number(self, pattern: Pattern) -> int:
        """Number of a column, which is added where it is new."""
        return self.columns.index(pattern) if not self.add(pattern) else len(self.columns) - 1

    def matrices(self, which: np.ndarray) -> tuple[csc_array, csc_array]:
        """Flow rows and clash rows of the chosen columns."""
        rows: list[int] = []
        values: list[float] = []
        starts = [0]
        for number in which:
            index, value = self._entries[number]
            rows += index
            values += value
            starts.append(len(rows))
        shape = (self.row_count, len(which))
        flow = csc_array((np.array(values), np.array(rows), np.array(starts)), shape=shape)
        # A seam at a station is used as often as pieces arrive there.
        arrive = self._arrivals(which)
        return flow, csc_array(self.clash @ arrive)

    def _arrivals(self, which: np.ndarray) -> csc_array:
        rows: list[int] = []
        starts = [0]
        for number in which:
            pattern = self.columns[number]
            heads = self.head[pattern.group]
            rows += [int(heads[p]) for p, _ in pattern.pieces() if heads[p] >= 0]
            starts.append(len(rows))
        data = np.ones(len(rows))
        found = csc_array(
            (data, np.array(rows, dtype=np.int64), np.array(starts)),
            shape=(self.row_count, len(which)),
        )
        found.sum_duplicates()
        return found

    def worth(self, group: int) -> Floats:
        """Value of every piece of a group at the present duals, all its seam ends factory."""
        station = np.append(self.duals, 0.0)
        pressed = np.append(
            self.clash.T @ self.clash_duals if len(self.clash_duals) else np.zeros(self.row_count), 0.0
        )
        tail, head = self.tail[group], self.head[group]
        return station[tail] - station[head] + pressed[head] - self.seam_price[group]

    def price(self, per_owner: int = 2, slack: float = 0.0, real: bool = False) -> int:
        """Add, for every stretch of wall, its best columns of a reduced cost up to `slack`.

        With `real`, columns that hold some piece of wall twice are left out.
        """
        added = 0
        for number, group in enumerate(self.groups):
            plain, factory, whole = group.by_ends(self.worth(number))
            patterns, _ = best_patterns(group, plain, factory, per_owner, slack, whole=whole)
            if real:
                patterns = [pattern for pattern in patterns if is_real(group, pattern)]
            added += sum(self.add(pattern) for pattern in patterns)
        return added

    def price_all(self, slack: float, most: int) -> tuple[int, float, bool]:
        """Add every column of a reduced cost up to `slack`; how many, the ratio, all found."""
        added, ratio, complete = 0, 1.0, True
        for number, group in enumerate(self.groups):
            patterns, found, whole = all_patterns(group, self.worth(number), slack, most)
            ratio, complete = max(ratio, found), complete and whole
            added += sum(self.add(pattern) for pattern in patterns)
        return added, ratio, complete

    def dual_value(self, ratio: float = 1.0) -> float:
        """What the present duals prove once no pattern is worth more than `ratio` times its sheet."""
        value = float(self.duals @ self.starts + self.clash_duals @ self.clashes.limit)
        return value / ratio + self.least * self.spared

    def eases(self) -> csc_array:
        """Columns that let single pairs of seams be too close, over all rows."""
        count = self.clashes.eases.shape[1]
        return csc_array(vstack([csc_array((self.row_count, count)), self.clashes.eases], format="csc"))

    def choose(
        self, cutoff: float, time_limit_s: float | None, gap: float, most_work: int
    ) -> tuple[list[int] | None, float, float, int, int]:
        """Best whole choice among the columns that can be part of one below `cutoff`.

        Returns the numbers of the columns (None when nothing was found), their cost, a proved
        bound for every choice of these columns, the work (nodes by columns), and how many
        columns were looked at.
        """
        which = self.near(cutoff)
        if len(which) == 0:
            return None, np.inf, cutoff, 0, 0
        flow, clash = self.matrices(which)
        eases = self.eases()
        free = eases.shape[1]
        if free:
            flow = csc_array(hstack([flow, eases[: self.row_count]], format="csc"))
            clash = csc_array(hstack([clash, eases[self.row_count :]], format="csc"))
        rules = [LinearConstraint(flow, self.starts, self.starts)]
        if clash.shape[0]:
            rules.append(LinearConstraint(clash, -np.inf, self.clashes.limit))
        if self.least:
            sheets = np.append(np.ones(len(which)), np.zeros(free))
            rules.append(LinearConstraint(sheets[np.newaxis, :], self.least, np.inf))
        nodes = max(LEAST_NODES, most_work // len(which))
        options: dict[str, float] = {"mip_rel_gap": gap, "node_limit": nodes}
        if time_limit_s is not None:
            options["time_limit"] = max(time_limit_s, 0.01)
        found = milp(
            np.append(np.array(self.costs)[which], np.zeros(free)),
            integrality=np.append(np.ones(len(which)), np.zeros(free)),
            bounds=Bounds(0, 1),
            constraints=rules,
            options=options,
        )
        infeasible = found.status == 2
        proved = cutoff if infeasible else float(found.mip_dual_bound or 0.0)
        work = int(found.mip_node_count or 0) * len(which)
        if found.x is None:
            return None, np.inf, proved, work, len(which)
        chosen = [int(which[n]) for n in np.flatnonzero(found.x[: len(which)] > 0.5)]
        return chosen, float(sum(self.costs[n] for n in chosen)), proved, work, len(which)

    def near(self, cutoff: float) -> np.ndarray:
        """Columns that can be part of a plan below `cutoff`: their reduced cost is within the gap."""
        room = cutoff - self.dual_value()
        return np.flatnonzero((self.reduced_costs() <= room + 1e-6) & self.distinct())

    def reduced_costs(self) -> Floats:
        """What each column costs above its worth at the present duals."""
        worths = [self.worth(number) for number in range(len(self.groups))]
        found = np.empty(len(self.columns))
        for number, pattern in enumerate(self.columns):
            group = self.groups[pattern.group]
            value = group.boards[pattern.board].price
            for piece, ends in pattern.pieces():
                value -= worths[pattern.group][piece]
                value += group.cut_charge * (int(group.seams[piece]) - ends)
            found[number] = value
        return found

    def distinct(self) -> np.ndarray:
        """Columns that could be part of a plan."""
        return np.array([is_real(self.groups[p.group], p) for p in self.columns], dtype=bool)


def build_master(
    all_rows: tuple[SurfaceRows, ...],
    cut_charge: float,
    opposite: tuple[tuple[int, int], ...] = (),
    opposite_stagger: int = 0,
    spared: float = 0.0,
    least: int = 0,
) -> Master:
    """The master program of some surfaces with every piece on a sheet of its own.

    Parameters
    ----------
    opposite : tuple of (int, int)
        Pairs of surfaces that are the two faces of one partition.
    opposite_stagger : int
        Least distance between their seams, thirty-seconds of an inch.
    spared : float
        Taken off every board's price, which is no less.
    least : int
        How many sheets every plan has at least.
    """
    node: dict[tuple[int, int, int], int] = {}
    starts: list[float] = []
    for surface, rows in enumerate(all_rows):
        for segment, stretch in enumerate(rows.segments):
            for station in range(len(stretch.stations) - 1):
                node[surface, segment, station] = len(starts)
                starts.append(1.0 if station == 0 else 0.0)
    keys: dict[tuple[tuple[Board, ...], bool], list[tuple[int, int, Span]]] = {}
    for surface, rows in enumerate(all_rows):
        bucket = keys.setdefault((rows.boards, rows.upright), [])
        bucket += [(surface, n, span) for n, seg in enumerate(rows.segments) for span in seg.spans]
    master = Master(
        [],
        [],
        [],
        [],
        [],
        np.array(starts),
        len(starts),
        clash_sets(all_rows, node, opposite, opposite_stagger),
        spared,
        least,
    )
    owners = {(s, g): n for n, (s, g, st) in enumerate(k for k in node if k[2] == 0)}
    for number, ((boards, upright), bucket) in enumerate(keys.items()):
        rows_at = [all_rows[surface].segments[segment] for surface, segment, _ in bucket]
        spans = [span for _, _, span in bucket]
        group = Group(
            number,
            tuple(replace(board, price=board.price - spared) for board in boards),
            upright,
            cut_charge,
            np.array([s.length for s in spans], dtype=np.int64),
            np.array([s.height for s in spans], dtype=np.int64),
            np.array([s.seams for s in spans], dtype=np.int64),
            np.array([s.tapers for s in spans], dtype=np.int64),
            np.array([owners[s, g] for s, g, _ in bucket], dtype=np.int64),
            np.array([seg.forced_length for seg in rows_at], dtype=np.int64),
            np.array([s.first for s in spans], dtype=np.int64),
            np.array([s.last for s in spans], dtype=np.int64),
        )
        master.groups.append(group)
        master.pieces.append(bucket)
        master.tail.append(np.array([node[s, g, p.first] for s, g, p in bucket], dtype=np.int64))
        master.head.append(np.array([node.get((s, g, p.last), -1) for s, g, p in bucket], dtype=np.int64))
        master.seam_price.append(
            np.array([seg.stations[p.last].price for seg, p in zip(rows_at, spans, strict=True)])
        )
        for _, pattern in single_patterns(group):
            master.add(pattern)
    return master


def tighten(
    master: Master, bound: float, deadline: float, most: int, gap: float = 5e-4, rounds: int = 25
) -> float:
    """Raise the bound by counting no piece of wall twice on one sheet.

    The relaxation that a master's duals come from lets a sheet hold one piece several
    times, which is cheap where pieces are short.  Here the columns are real sheets only
    (`layout.real_patterns.all_patterns`).  Leaves the best duals in `master`; returns the bound.
    """
    inner = (master.duals, master.clash_duals)
    limit = master.clashes.limit
    low = np.concatenate([master.starts, np.full(len(limit), -np.inf)])
    high = np.concatenate([master.starts, limit])
    which = np.flatnonzero(master.distinct())
    program: GrowingProgram | None = None
    for _ in range(rounds):
        matrix = csc_array(vstack(master.matrices(which), format="csc"))
        costs = np.array(master.costs)[which] - master.spared
        if program is None:
            eases = master.eases()
            if eases.shape[1]:
                matrix = csc_array(hstack([matrix, eases], format="csc"))
                costs = np.append(costs, np.zeros(eases.shape[1]))
            program = GrowingProgram(costs, matrix, low, high)
        else:
            program.add_columns(costs, matrix)
        found = program.solve()
        outer = (found.duals[: master.row_count], found.duals[master.row_count :])
        before = len(master.columns)
        share = 0.5
        while True:
            master.duals = share * inner[0] + (1 - share) * outer[0]
            master.clash_duals = share * inner[1] + (1 - share) * outer[1]
            complete, ratio = True, np.inf
            if not master.price(2, 0.0, real=True):
                _, ratio, complete = master.price_all(-1e-6, most)
            if complete and (proved := master.dual_value(ratio)) > bound:
                bound = proved
                inner = (master.duals / ratio, master.clash_duals / ratio)
            if len(master.columns) > before or share == 0.0 or not complete:
                break
            share = 0.0 if share < 0.2 else share / 2
        which = np.arange(before, len(master.columns))
        value = found.value + master.least * master.spared
        if not len(which) or not complete or value - bound <= gap * value:
            break
        if time.monotonic() > deadline:
            break
    master.duals, master.clash_duals = inner
    return bound
