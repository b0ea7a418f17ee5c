"""Relaxation: the proved lower bound of a job, and what every piece is worth in it.

Pieces are counted by kind only: length, height, tapers, and how many factory ends are
wanted (two only where a board is just as long: the piece then fills its lane).  Sheets
supply kinds, paths through the stations use them, and a longer piece may stand in for a
shorter one.  That keeps the linear program small and lets all walls share its columns
(Gilmore and Gomory 1961; the exchange of longer for shorter pieces is the dual cut of
Valerio de Carvalho 2005), so that the column generation ends in a few rounds.
It starts from the price of a piece by its area, at which no sheet can be worth more than
it costs: a bound from the first moment.  New columns are sought between the best proved
values and the newest ones (Wentges 1997).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import coo_array, csc_array

from layout.lanes import Floats, Ints
from layout.linear import GrowingProgram
from layout.master import Master
from layout.patterns import Group, Pattern, best_patterns, single_patterns
from layout.piece_kinds import Kinds, KindValues

__all__ = ["Relaxed", "RelaxedProgram", "relax"]

SMOOTHING = 0.3


@dataclass(frozen=True)
class Relaxed:
    """What the relaxation proves.

    `duals` and `clash_duals` are values of the master's rows (see `layout.master`), under
    which no sheet is worth more than its price; `bound` is what they prove.  `value` is
    the relaxation's own value when it stopped: the best bound it could reach.
    """

    bound: float
    value: float
    duals: Floats
    clash_duals: Floats
    kind_values: tuple[KindValues, ...]
    program: RelaxedProgram | None = None


class RelaxedProgram:
    """The linear program: fixed columns (paths, exchanges, single sheets) and patterns."""

    def __init__(self, master: Master) -> None:
        self.master = master
        self.clash_count = master.clash.shape[0]
        self.kinds: list[Kinds] = []
        row = self.clash_count
        for group in master.groups:
            kinds = Kinds(group, row)
            self.kinds.append(kinds)
            row += kinds.row_count
        self.ub_rows = row
        self._costs: list[Floats] = []
        self._eq: list[tuple[Ints, Ints, Floats]] = []
        self._ub: list[tuple[Ints, Ints, Floats]] = []
        self.columns = 0
        self.paths: dict[int, tuple[int, int, int, int]] = {}
        """(group, piece, factory ends, board or -1) of the columns that lay a piece."""
        self._sheets: list[tuple[int, Pattern]] = []
        self.eases = np.zeros(0, dtype=np.int64)
        """Columns that let single pairs of seams be too close (`layout.clashes`)."""
        self._eases()
        for number, kinds in enumerate(self.kinds):
            self._paths(number, kinds)
            self._exchanges(kinds)

    def _append(
        self, costs: Floats, eq: list[tuple[Ints, float]], ub: list[tuple[Ints, float]]
    ) -> np.ndarray:
        columns = self.columns + np.arange(len(costs))
        self.columns += len(costs)
        self._costs.append(costs)
        for store, entries in ((self._eq, eq), (self._ub, ub)):
            for rows, value in entries:
                keep = rows >= 0
                store.append((rows[keep], columns[keep], np.full(int(keep.sum()), value)))
        return columns

    def _eases(self) -> None:
        entries = coo_array(self.master.clashes.eases)
        if entries.shape[1]:
            self.eases = self._append(np.zeros(entries.shape[1]), [], [])
            self._ub.append((entries.row, self.eases[entries.col], entries.data))

    def _paths(self, number: int, kinds: Kinds) -> None:
        """Paths: a piece used with or without factory end, or on a sheet of its own."""
        master, group = self.master, kinds.group
        tail, head = master.tail[number], master.head[number]
        price, charge = master.seam_price[number], group.cut_charge
        clash = master.clash.tocsc()

        def enter(pieces: Ints, costs: Floats, ends: Ints, boards: Ints | None) -> None:
            if len(pieces) == 0:
                return
            ub: list[tuple[Ints, float]] = []
            if boards is None:
                ub = [(kinds.rows[kinds.kind_of[pieces], ends], 1.0)]
                boards = np.full(len(pieces), -1)
            columns = self._append(costs, [(tail[pieces], 1.0), (head[pieces], -1.0)], ub)
            told = (columns.tolist(), pieces.tolist(), ends.tolist(), boards.tolist())
            for column, piece, end, board in zip(*told, strict=True):
                self.paths[column] = (number, piece, end, board)
            if self.clash_count:
                inner = np.flatnonzero(head[pieces] >= 0)
                pressed = coo_array(clash[:, head[pieces[inner]]])
                if pressed.nnz:
                    self._ub.append((pressed.row, columns[inner][pressed.col], np.ones(pressed.nnz)))

        free = group.forced == 0
        for ends in (0, 1, 2):
            pieces = np.flatnonzero(kinds.fills if ends == 2 else free & (group.seams >= ends))
            enter(
                pieces,
                price[pieces] + charge * (group.seams[pieces] - ends),
                np.full(len(pieces), ends),
                None,
            )
        whole = [
            (*pattern.pieces()[0], pattern.board)
            for pattern in master.columns
            if pattern.group == number and len(pattern.pieces()) == 1
        ]
        piece, end, board = np.array(whole, dtype=np.int64).reshape(-1, 3).T
        kept = (end == 2) | (group.forced[piece] > 0)
        piece, end, board = piece[kept], end[kept], board[kept]
        prices = np.array([one.price for one in group.boards])
        enter(piece, prices[board] + price[piece] + charge * (group.seams[piece] - end), end, board)

    def _exchanges(self, kinds: Kinds) -> None:
        """A longer piece stands in for the next shorter, one with more factory ends for one with fewer."""
        group, rows = kinds.as_group, kinds.rows
        self._append(np.zeros(kinds.count), [], [(rows[:, 1], 1.0), (rows[:, 0], -1.0)])
        whole = rows[kinds.whole]
        self._append(np.zeros(len(whole)), [], [(whole[:, 2], 1.0), (whole[:, 1], -1.0)])
        same = (group.height[1:] == group.height[:-1]) & (group.tapers[1:] == group.tapers[:-1])
        short = np.flatnonzero(same)
        for ends in (0, 1):
            self._append(
                np.zeros(len(short)),
                [],
                [(rows[short + 1, ends], 1.0), (rows[short, ends], -1.0)],
            )

    def start(self) -> None:
        """Hand the fixed columns to the solver."""
        flow = self.master.row_count
        rows, cols, data = (
            np.concatenate([*eq, *(part + shift for part in ub)])
            for eq, ub, shift in zip(
                zip(*self._eq, strict=True), zip(*self._ub, strict=True), (flow, 0, 0), strict=True
            )
        )
        matrix = coo_array((data, (rows, cols)), shape=(flow + self.ub_rows, self.columns)).tocsc()
        limit = np.zeros(self.ub_rows)
        limit[: self.clash_count] = self.master.clashes.limit
        low = np.concatenate([self.master.starts, np.full(self.ub_rows, -np.inf)])
        high = np.concatenate([self.master.starts, limit])
        self._program = GrowingProgram(np.concatenate(self._costs), matrix, low, high)

    def solve(self) -> tuple[float, Floats, Floats]:
        """Value, duals of the flow rows, duals of the other rows (zero or less)."""
        flow = self.master.row_count
        for kinds in self.kinds:
            fresh = kinds.patterns[kinds.sent :]
            kinds.sent = len(kinds.patterns)
            rows: list[int] = []
            starts = [0]
            for pattern in fresh:
                rows += [flow + int(kinds.rows[kind, ends]) for kind, ends in pattern.pieces()]
                starts.append(len(rows))
            matrix = csc_array(
                (-np.ones(len(rows)), np.array(rows, dtype=np.int64), np.array(starts)),
                shape=(flow + self.ub_rows, len(fresh)),
            )
            matrix.sum_duplicates()
            self._sheets += [(kinds.group.number, pattern) for pattern in fresh]
            costs = np.array([kinds.group.boards[p.board].price for p in fresh], dtype=float)
            self._program.add_columns(costs, matrix)
        found = self._program.solve()
        self._laid = found.x
        return found.value, found.duals[:flow], found.duals[flow:]

    @property
    def fixed(self) -> int:
        """How many columns there are before those of sheets."""
        return self.columns

    def columns_now(self) -> tuple[Floats, csc_array, Floats]:
        """Costs and matrix of all columns so far, and how often the last answer uses each."""
        costs, matrix = self._program.columns()
        known = len(self._laid)
        return costs[:known], csc_array(matrix[:, :known]), self._laid

    @property
    def sheets(self) -> float:
        """How many sheets the last answer has, parts of them counted as such."""
        alone = [column for column, (_, _, _, board) in self.paths.items() if board >= 0]
        return float(self._laid[self.columns :].sum() + self._laid[alone].sum())

    def limits(self) -> tuple[Floats, Floats]:
        """Least and most of every row."""
        return self._program.low, self._program.high

    def sheet(self, column: int) -> tuple[int, Pattern]:
        """Group and pattern (of kinds) of a column of a sheet."""
        return self._sheets[column - self.columns]

    def kinds_group(self, number: int) -> Group:
        """The kinds of a group, as a group."""
        return self.kinds[number].as_group

    def row_values(self, relaxed: Relaxed) -> Floats:
        """Value of every row at what the relaxation proved."""
        flow = self.master.row_count
        found = np.zeros(flow + self.ub_rows)
        found[:flow] = relaxed.duals
        found[flow : flow + self.clash_count] = relaxed.clash_duals
        for kinds, values in zip(self.kinds, relaxed.kind_values, strict=True):
            found[flow + kinds.rows[:, 0]] = -values.plain
            found[flow + kinds.rows[:, 1]] = -values.factory
            found[flow + kinds.rows[kinds.whole, 2]] = -values.whole[kinds.whole]
        return found


def relax(
    master: Master,
    deadline: float,
    gap: float = 1e-4,
    stop: Callable[[], bool] | None = None,
    progress: Callable[[float], None] | None = None,
    most_rounds: int = 200,
) -> Relaxed:
    """Solve the relaxation of a master program that holds its single-piece columns.

    Parameters
    ----------
    deadline : float
        `time.monotonic()` after which the best bound so far is returned.
    gap : float
        Relative distance of bound and value at which it is solved well enough.
    """
    program = RelaxedProgram(master)
    for kinds in program.kinds:
        kinds.add(_whole_supply(kinds))
        seeds, _ = best_patterns(
            kinds.as_group, kinds.by_area, kinds.by_area, 2, slack=0.1 * kinds.group.boards[-1].price
        )
        kinds.add(seeds)
    program.start()
    inner: tuple[Floats, Floats] | None = None
    bound, value = 0.0, 0.0
    for done in range(most_rounds):
        if progress is not None:
            progress(0.8 * (done + 1) / (done + 20))
        value, eq, ub = program.solve()
        if inner is None:
            inner = (np.zeros_like(eq), np.zeros_like(ub))
        share = SMOOTHING if bound > 0.0 else 0.0
        added = 0
        while True:
            mid = (
                share * inner[0] + (1 - share) * eq,
                share * inner[1] + (1 - share) * ub,
            )
            ratio = 1.0
            for kinds in program.kinds:
                plain, factory, whole = kinds.values(-mid[1])
                patterns, most = best_patterns(kinds.as_group, plain, factory, 1, whole=whole)
                ratio = max(ratio, most)
                added += kinds.add(patterns)
            proved = _dual_value(program, mid) / ratio
            if proved > bound:
                bound, inner = proved, (mid[0] / ratio, mid[1] / ratio)
            if added or share == 0.0:
                break
            share = 0.0 if share < 0.2 else share / 2
        if not added or value - bound <= gap * max(value, 1e-9):
            break
        if time.monotonic() > deadline or (stop is not None and stop()):
            break
    assert inner is not None
    values = tuple(
        KindValues(
            k.as_group.length,
            k.as_group.height,
            k.as_group.tapers,
            *k.values(-inner[1]),
        )
        for k in program.kinds
    )
    return Relaxed(bound, value, inner[0], inner[1][: program.clash_count], values, program)


def _dual_value(program: RelaxedProgram, duals: tuple[Floats, Floats]) -> float:
    master = program.master
    return float(duals[0] @ master.starts + duals[1][: program.clash_count] @ master.clashes.limit)


def _whole_supply(kinds: Kinds) -> list[Pattern]:
    """For every kind a sheet that yields it alone, so that the program always has an answer."""
    found = [pattern for _, pattern in single_patterns(kinds.as_group)]
    for pattern in list(found):
        kind, _ = pattern.pieces()[0]
        cut = pattern.lanes[0]
        if kinds.rows[kind, 2] >= 0 and cut.end == kinds.as_group.length[kind]:
            found.append(replace(pattern, lanes=(replace(cut, pieces=((kind, 2),)),)))
    return found
