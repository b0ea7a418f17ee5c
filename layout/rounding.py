"""Rounding: whole sheets and whole pieces near the answer of the relaxation.

The relaxation counts pieces by kind (see `layout.relaxation`), so an answer of it in whole
numbers is a plan: every piece that it lays goes to some sheet with room for its kind.
Pieces that the relaxation already lays whole are kept; the rest is an integer program over
the columns that cost little more than they are worth, small enough to be solved in a
second.  It is stopped by nodes, never by a clock, so the same job gets the same plan.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csc_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from layout.lanes import Floats, Ints
from layout.master import Master
from layout.patterns import Group, LaneCut, Pattern
from layout.relaxation import Relaxed, RelaxedProgram

__all__ = ["rounded"]

KEPT = 0.999
"""A piece that is laid at least this often by the relaxation is kept."""
MOST_NODES = 20


@dataclass(frozen=True)
class _Columns:
    """Columns of the relaxation's program worth looking at."""

    number: Ints
    cost: Floats
    matrix: csc_array
    is_path: np.ndarray
    is_sheet: np.ndarray
    laid: Floats


def rounded(
    master: Master,
    relaxed: Relaxed,
    gap: float,
    slack: float = 0.03,
    keep: bool = True,
    time_limit_s: float | None = None,
) -> list[Pattern] | None:
    """Sheets of a whole plan near the relaxation's answer; None when none was found.

    Parameters
    ----------
    gap : float
        Relative distance to the best rounding at which the search may end.
    slack : float
        Columns that cost at most this part of a board more than they are worth are looked at.
    keep : bool
        Keep the pieces that the relaxation lays whole.  False looks further and takes
        much longer.
    """
    program = relaxed.program
    if program is None:
        return None
    columns = _near(master, relaxed, program, slack)
    low = np.where(columns.is_path & (columns.laid > KEPT), 1.0, 0.0) if keep else np.zeros(len(columns.cost))
    options: dict[str, float] = {"mip_rel_gap": gap, "node_limit": MOST_NODES}
    if time_limit_s is not None:
        options["time_limit"] = max(time_limit_s, 0.01)
    found = milp(
        columns.cost,
        integrality=(columns.is_path | columns.is_sheet).astype(int),
        bounds=Bounds(low, np.where(columns.is_path, 1.0, np.inf)),
        constraints=LinearConstraint(columns.matrix, *program.limits()),
        options=options,
    )
    if found.x is None:
        return None
    used = np.round(found.x).astype(int)
    number = columns.number
    paths = [program.paths[int(number[n])] for n in np.flatnonzero(columns.is_path & (used > 0))]
    sheets: list[tuple[int, Pattern]] = []
    for n in np.flatnonzero(columns.is_sheet & (used > 0)):
        sheets += [program.sheet(int(number[n]))] * int(used[n])
    return _sheets_of(master, program, paths, sheets)


def _near(master: Master, relaxed: Relaxed, program: RelaxedProgram, part: float) -> _Columns:
    cost, matrix, laid = program.columns_now()
    worth = matrix.T @ program.row_values(relaxed)
    flow = master.row_count
    in_flow = np.asarray(abs(matrix[:flow]).sum(axis=0)).reshape(-1) > 0
    slack = part * min(board.price for group in master.groups for board in group.boards)
    free = np.isin(np.arange(len(cost)), program.eases)
    number = np.flatnonzero((cost - worth <= slack + 1e-6) | (laid > 1e-9) | free)
    return _Columns(
        number,
        cost[number],
        csc_array(matrix[:, number]),
        in_flow[number],
        number >= program.fixed,
        laid[number],
    )


def _sheets_of(
    master: Master,
    program: RelaxedProgram,
    paths: list[tuple[int, int, int, int]],
    sheets: list[tuple[int, Pattern]],
) -> list[Pattern] | None:
    """The real pieces on the sheets that were chosen by kind.

    `paths` are (group, piece, factory ends, board or -1); those with a board lie on a sheet
    of their own.
    """
    made: list[Pattern] = []
    for number, group in enumerate(master.groups):
        for at, piece, ends, board in paths:
            if at == number and board >= 0:
                made.append(_alone(group, piece, ends, board))
        pieces = [(piece, ends) for at, piece, ends, board in paths if at == number and board < 0]
        mine = [pattern for at, pattern in sheets if at == number]
        slots = [
            (sheet, lane, kind, ends)
            for sheet, pattern in enumerate(mine)
            for lane, cut in enumerate(pattern.lanes)
            for kind, ends in cut.pieces
        ]
        slot_of = _matched(group, program.kinds_group(number), pieces, slots)
        if slot_of is None:
            return None
        content: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for (piece, wanted), slot in zip(pieces, slot_of, strict=True):
            sheet, lane, _, ends = slots[slot]
            # Both ends of the sheet are those of a piece only where it is as long.
            got = min(ends, int(group.seams[piece]), 2 if wanted == 2 else 1)
            content.setdefault((sheet, lane), []).append((piece, got))
        for sheet, pattern in enumerate(mine):
            lanes = tuple(
                replace(cut, pieces=tuple(content[sheet, lane]))
                for lane, cut in enumerate(pattern.lanes)
                if (sheet, lane) in content
            )
            if lanes:
                made.append(Pattern(number, pattern.board, lanes))
    return made


def _matched(
    group: Group,
    kinds: Group,
    pieces: list[tuple[int, int]],
    slots: list[tuple[int, int, int, int]],
) -> list[int] | None:
    """A slot for every piece: as long, as high, as tapered, with a factory end where wanted."""
    if not pieces:
        return []
    if len(slots) < len(pieces):
        return None
    piece = np.array([p for p, _ in pieces], dtype=np.int64)
    wants = np.array([e for _, e in pieces])
    kind = np.array([k for _, _, k, _ in slots], dtype=np.int64)
    gives = np.array([e for _, _, _, e in slots])
    fits = (
        (group.length[piece][:, None] <= kinds.length[kind][None, :])
        & (group.height[piece][:, None] == kinds.height[kind][None, :])
        & (group.tapers[piece][:, None] == kinds.tapers[kind][None, :])
        & (wants[:, None] <= gives[None, :])
        & ((wants[:, None] < 2) | (group.length[piece][:, None] == kinds.length[kind][None, :]))
    )
    # Of equally good slots the tightest is taken, so that long rests stay together.
    order = np.argsort(kinds.length[kind] * 3 + gives, kind="stable")
    rows, cols = np.nonzero(fits[:, order])
    graph = coo_array((np.ones(len(rows)), (rows, cols)), shape=fits.shape).tocsr()
    match = maximum_bipartite_matching(graph, perm_type="column")
    return None if (match < 0).any() else [int(order[m]) for m in match]


def _alone(group: Group, piece: int, ends: int, board: int) -> Pattern:
    run, room = group.sizes(board)
    return Pattern(group.number, board, (LaneCut(((piece, ends),), 0, run, room, 0),))
