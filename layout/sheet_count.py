"""How many sheets every plan has at least, and what that proves of its cost.

The relaxation may buy a quarter of a sheet, which no shop sells: for a soffit cut from the lanes
of one sheet its bound is a quarter of that sheet.  The same relaxation with every board at a
price of one and joints free counts sheets; the next whole number is a bound for them.  With
that many sheets in every plan, a part of the price can be taken off every board and counted
once for each of them (a Lagrangian relaxation of the row that asks for so many sheets, which is
a cut of Gomory's 1958 kind).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from layout.master import Master, build_master
from layout.relaxation import Relaxed, relax
from layout.rows import SurfaceRows

__all__ = ["counted"]

NEAR_WHOLE = 1e-3
"""A count of sheets this near to a whole number is one."""
MOST_TRIALS = 6
"""Parts of the price tried; what is proved is concave in them."""


def counted(
    all_rows: tuple[SurfaceRows, ...],
    cut_charge: float,
    opposite: tuple[tuple[int, int], ...],
    opposite_stagger: int,
    relaxed: Relaxed,
    deadline: float,
    stop: Callable[[], bool],
) -> tuple[Master, Relaxed] | None:
    """A master with the price taken off that proves most, and its relaxation with all of it in `bound`.

    None where whole sheets prove no more than `relaxed` does, which is of the same surfaces.
    """
    if relaxed.program is None or _whole(relaxed.program.sheets):
        return None
    unit = build_master(tuple(_at_one(rows) for rows in all_rows), 0.0, opposite, opposite_stagger)
    least = math.ceil(relax(unit, deadline, stop=stop).bound - NEAR_WHOLE)
    if least < relaxed.program.sheets:
        return None
    best: tuple[Master, Relaxed] | None = None
    low, high = 0.0, min(board.price for rows in all_rows for board in rows.boards)
    spared = high
    for _ in range(MOST_TRIALS):
        if spared <= 0.0 or stop():
            break
        master = build_master(all_rows, cut_charge, opposite, opposite_stagger, spared, least)
        trial = relax(master, deadline, stop=stop)
        proved = trial.bound + least * spared
        if proved > (relaxed if best is None else best[1]).bound:
            best = master, replace(trial, bound=proved, value=trial.value + least * spared)
        # Too few sheets: a higher part of the price would prove more.
        sheets = 0.0 if trial.program is None else trial.program.sheets
        if spared == high and sheets <= least:
            break
        low, high = (spared, high) if sheets < least else (low, spared)
        spared = (low + high) / 2
    return best


def _whole(sheets: float) -> bool:
    return abs(sheets - round(sheets)) <= NEAR_WHOLE


def _at_one(rows: SurfaceRows) -> SurfaceRows:
    """The same surface with every board at a price of one, its seams free."""
    boards = tuple(replace(board, price=1.0) for board in rows.boards)
    segments = tuple(
        replace(part, stations=tuple(replace(station, price=0.0) for station in part.stations))
        for part in rows.segments
    )
    return replace(rows, boards=boards, segments=segments)
