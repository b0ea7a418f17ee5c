"""Easing: where a rule cannot be kept everywhere on a surface, as few seams break it as can be.

One small integer program for each surface that needs it: paths through its courses as in
`layout.master`, every piece on a sheet of its own.  It is solved for the fewest seams near
openings (where those are allowed at all), then for the fewest pairs of seams that are not
staggered, then for the least cost with no more of either.  The counts are handed on with
the rows, so that the whole job is planned with as few.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csc_array, hstack

from layout.clashes import clash_sets
from layout.lanes import Floats, Ints
from layout.markets import Prefs, Rules
from layout.rows import Eased, Span, SurfaceRows
from layout.rules import seam_keeps_clear_of_openings, seams_of_neighbouring_rows_are_staggered
from layout.wall_optimum import RowChoice, best_rows, span_cost

__all__ = ["Eased", "eased_rows", "too_close"]

MOST_SPANS = 12_000
"""Pieces to choose from above which the cheapest plan is taken and what it breaks is counted."""
MOST_NODES = 2_000
"""Nodes of each of the three searches; what they then have is kept, perhaps not the fewest."""


def eased_rows(
    rows: SurfaceRows, rules: Rules, prefs: Prefs
) -> tuple[SurfaceRows, tuple[RowChoice, ...]] | None:
    """The rows with how often they may break which rule, and their cheapest choice that does so.

    Parameters
    ----------
    rows : SurfaceRows
        Made without the distance from openings where that is eased too.
    rules : Rules
        The rules as the user has them.

    Returns
    -------
    tuple or None
        None where the surface cannot be boarded even so.
    """
    near = _near_openings(rows, rules)
    spans = sum(len(segment.spans) for segment in rows.segments)
    found = _Program(rows, prefs, near).fewest() if spans <= MOST_SPANS else None
    if found is None:
        chosen, _ = best_rows(replace(rows, stagger=0), prefs)
        if chosen is None:
            return None
        found = chosen
    seams = [choice.seams for choice in found]
    eased = Eased(
        sum(len(too_close(one, two, rows.stagger)) for one, two in pairwise(seams)),
        sum((row, at) in near for row, places in enumerate(seams) for at in places),
        near,
    )
    return replace(rows, eased=eased), found


def too_close(one: tuple[int, ...], two: tuple[int, ...], stagger: int) -> list[tuple[int, int]]:
    """Pairs of seams of neighbouring courses that are not staggered; places and distance in
    thirty-seconds of an inch.
    """
    return [(a, b) for a in one for b in two if not seams_of_neighbouring_rows_are_staggered(a, b, stagger)]


def _near_openings(rows: SurfaceRows, rules: Rules) -> frozenset[tuple[int, int]]:
    """(course, place) of stations too close to an opening by the user's rules."""
    if not rules.on("seam_keeps_clear_of_openings"):
        return frozenset()
    return frozenset(
        (segment.row, station.at)
        for segment in rows.segments
        for station in segment.stations[1:-1]
        if not seam_keeps_clear_of_openings(
            station.at, rows.bands[segment.row].low, rows.bands[segment.row].high, rows.voids, rules
        )
    )


@dataclass(frozen=True)
class _Piece:
    """A piece that may be laid: its segment, its span, what it costs with its seam."""

    segment: int
    span: Span
    cost: float


class _Program:
    """The integer program of one surface; its last columns let pairs of seams go."""

    def __init__(self, rows: SurfaceRows, prefs: Prefs, near: frozenset[tuple[int, int]]) -> None:
        self._rows = rows
        self._pieces = [
            _Piece(number, span, cost + segment.stations[span.last].price)
            for number, segment in enumerate(rows.segments)
            for span in segment.spans
            if (cost := span_cost(rows, span, prefs, segment.forced_length)) is not None
        ]
        node: dict[tuple[int, int, int], int] = {}
        starts: list[float] = []
        for number, segment in enumerate(rows.segments):
            for station in range(len(segment.stations) - 1):
                node[0, number, station] = len(starts)
                starts.append(0.0 if station else 1.0)
        self._starts = np.array(starts)
        tail = np.array([node[0, p.segment, p.span.first] for p in self._pieces], dtype=np.int64)
        head = np.array([node.get((0, p.segment, p.span.last), -1) for p in self._pieces], dtype=np.int64)
        arrive = _ones(head, len(starts))
        free = replace(rows, eased=Eased(len(tail), len(tail), near))
        clashes = clash_sets((free,), node, (), 0)
        count = clashes.eases.shape[1]
        self._flow = csc_array(
            hstack([_ones(tail, len(starts)) - arrive, csc_array((len(starts), count))], format="csc")
        )
        self._clash = csc_array(hstack([clashes.seams @ arrive, clashes.eases], format="csc"))
        self._limit = clashes.limit.copy()
        self._let_go = np.append(np.zeros(len(tail)), np.ones(count))
        is_near = np.array(
            [
                (rows.segments[p.segment].row, rows.segments[p.segment].stations[p.span.last].at) in near
                and p.span.last < len(rows.segments[p.segment].stations) - 1
                for p in self._pieces
            ],
            dtype=float,
        )
        self._is_near = np.append(is_near, np.zeros(count))
        self._costs = np.append([p.cost for p in self._pieces], np.zeros(count))

    def fewest(self) -> tuple[RowChoice, ...] | None:
        """Fewest seams near openings, then fewest pairs let go, then least cost; None if none was found."""
        if not self._pieces:
            return None
        rules = [
            LinearConstraint(self._flow, self._starts, self._starts),
            LinearConstraint(self._clash, -np.inf, self._limit),
        ]
        x: Floats | None = None
        for counted in (self._is_near, self._let_go):
            if not counted.any():
                continue
            x = self._solve(counted, rules)
            if x is None:
                return None
            most = float(np.round(counted @ x))
            rules.append(LinearConstraint(csc_array(counted[None, :]), -np.inf, most))
        cheapest = self._solve(self._costs, rules)
        x = x if cheapest is None else cheapest
        return None if x is None else self._choices(x)

    def _solve(self, objective: Floats, rules: list[LinearConstraint]) -> Floats | None:
        count = len(self._pieces)
        whole = np.append(np.ones(count), np.zeros(len(objective) - count))
        found = milp(
            objective,
            integrality=whole,
            bounds=Bounds(0, 1),
            constraints=rules,
            options={"node_limit": MOST_NODES, "mip_rel_gap": 0.0},
        )
        return None if found.x is None else np.asarray(found.x)

    def _choices(self, x: Floats) -> tuple[RowChoice, ...]:
        laid = [piece for piece, used in zip(self._pieces, x, strict=False) if used > 0.5]
        laid.sort(key=lambda piece: (piece.segment, piece.span.first))
        segments = self._rows.segments
        choices = []
        for band in self._rows.bands:
            mine = [piece for piece in laid if segments[piece.segment].row == band.index]
            choices.append(
                RowChoice(
                    sum(piece.cost for piece in mine),
                    tuple((piece.segment, piece.span) for piece in mine),
                    tuple(
                        segments[piece.segment].stations[piece.span.last].at
                        for piece in mine
                        if piece.span.last < len(segments[piece.segment].stations) - 1
                    ),
                )
            )
        return tuple(choices)


def _ones(at: Ints, height: int) -> csc_array:
    """A one in every column at the row given, nothing where that is negative."""
    column = np.flatnonzero(at >= 0)
    return csc_array(coo_array((np.ones(len(column)), (at[column], column)), shape=(height, len(at))))
