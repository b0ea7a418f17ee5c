"""Clashes: seams too close to each other, in neighbouring courses or on the two faces of a partition.

Where a surface cannot keep its seams staggered everywhere (`layout.rows.Eased`), every pair
that is too close has a column of its own that lets it go, and one row counts those columns:
as many pairs as need be and no more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_array

from layout.lanes import Floats
from layout.rows import SurfaceRows

__all__ = ["Clashes", "clash_sets", "windows"]


@dataclass(frozen=True)
class Clashes:
    """Rows ``seams @ arrivals + eases @ let_go <= limit``; `let_go` is 0 or more and costs nothing.

    `seams` has a column for every station's row in the master, `eases` one for every pair
    of seams that may be let go.
    """

    seams: csc_array
    limit: Floats
    eases: csc_array


def clash_sets(
    all_rows: tuple[SurfaceRows, ...],
    node: dict[tuple[int, int, int], int],
    opposite: tuple[tuple[int, int], ...],
    opposite_stagger: int,
) -> Clashes:
    """Sets of stations of which at most one may be used, and what is let go of them."""
    sets: list[list[int]] = []
    limits: list[int] = []
    let_go: list[list[tuple[int, int]]] = []
    seams: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for surface, rows in enumerate(all_rows):
        for segment, stretch in enumerate(rows.segments):
            places = seams.setdefault((surface, stretch.row), [])
            for number, station in enumerate(stretch.stations):
                if station.member != -1:
                    places.append((station.at, node[surface, segment, number]))
    apart = [_least_apart(rows) for rows in all_rows]
    for surface, rows in enumerate(all_rows):
        first = len(let_go)
        for band in rows.bands[:-1]:
            one, two = seams.get((surface, band.index), []), seams.get((surface, band.index + 1), [])
            found = windows(one, two, rows.stagger, apart[surface])
            if rows.eased is not None:
                pairs = [[a, b] for at, a in one for to, b in two if abs(at - to) < rows.stagger]
                # A pair is let go of every set that it is in; a row for the pair itself sees to it
                # that no other pair's column is used for it.
                found += [pair for pair in pairs if pair not in found]
                let_go += [
                    [(len(sets) + number, -1) for number, held in enumerate(found) if set(pair) <= set(held)]
                    for pair in pairs
                ]
            sets += found
            limits += [1] * len(found)
        if rows.eased is not None:
            for column in let_go[first:]:
                column.append((len(sets), 1))
            near = [
                index
                for (number, row), places in seams.items()
                for at, index in places
                if number == surface and (row, at) in rows.eased.near
            ]
            sets += [[], near]
            limits += [rows.eased.unstaggered, rows.eased.near_openings]
    for front, back in opposite:
        span = all_rows[back].frame.s_span
        for (surface, _), one in seams.items():
            if surface != front:
                continue
            for (other, _), two in seams.items():
                if other == back:
                    turned = [(span - at, index) for at, index in two]
                    sets += windows(one, turned, opposite_stagger, min(apart[front], apart[back]))
    limits += [1] * (len(sets) - len(limits))
    count = len(sets)
    return Clashes(
        _columns([[(row, 1) for row in rows_] for rows_ in _turned(sets, len(node))], count),
        np.array(limits, dtype=float),
        _columns(let_go, count),
    )


def _turned(sets: list[list[int]], count: int) -> list[list[int]]:
    """For each of `count` members the sets that it is in."""
    found: list[list[int]] = [[] for _ in range(count)]
    for number, members in enumerate(sets):
        for member in members:
            found[member].append(number)
    return found


def _columns(columns: list[list[tuple[int, int]]], height: int) -> csc_array:
    """A matrix from the (row, value) entries of its columns."""
    starts = np.cumsum([0, *(len(column) for column in columns)])
    rows = np.array([row for column in columns for row, _ in column], dtype=int)
    values = np.array([value for column in columns for _, value in column], dtype=float)
    return csc_array((values, rows, starts), shape=(height, len(columns)))


def _least_apart(rows: SurfaceRows) -> int:
    """Least distance of two seams of one course: its shortest piece, or across an opening."""
    least = max((segment.end for segment in rows.segments), default=0)
    last: dict[int, int] = {}
    for segment in sorted(rows.segments, key=lambda s: s.start):
        stations = segment.stations
        for span in segment.spans:
            if span.seams == 2:
                least = min(least, stations[span.last].at - stations[span.first].at)
        if len(stations) > 2:
            if segment.row in last:
                least = min(least, stations[1].at - last[segment.row])
            last[segment.row] = stations[-2].at
    return least


def windows(
    one: list[tuple[int, int]], two: list[tuple[int, int]], stagger: int, apart: int
) -> list[list[int]]:
    """Sets that forbid every pair (one of each course) closer than `stagger`.

    For each station: itself and all of the other course that are too close to it and at
    or to the right of it, together with its own course's stations at the same place or
    between: stations of one course in so short a stretch exclude each other anyway,
    because its seams are at least `apart`; where they may be closer, pairs are used.
    """
    if stagger <= 0:
        return []
    if apart < stagger:
        return [[a, b] for at, a in one for to, b in two if abs(at - to) < stagger]
    merged = sorted([(at, 0, index) for at, index in one] + [(at, 1, index) for at, index in two])
    sets: list[list[int]] = []
    covered = -1
    for number, (at, _, _) in enumerate(merged):
        last = number
        while last + 1 < len(merged) and merged[last + 1][0] - at < stagger:
            last += 1
        if last > covered and len({course for _, course, _ in merged[number : last + 1]}) == 2:
            sets.append([index for _, _, index in merged[number : last + 1]])
        covered = max(covered, last)
    return sets
