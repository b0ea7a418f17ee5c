"""Clashes: seams too close to each other, in neighbouring courses or on the two faces of a partition."""

from __future__ import annotations

import numpy as np
from scipy.sparse import csc_array

from layout.rows import SurfaceRows

__all__ = ["clash_sets", "windows"]


def clash_sets(
    all_rows: tuple[SurfaceRows, ...],
    node: dict[tuple[int, int, int], int],
    opposite: tuple[tuple[int, int], ...],
    opposite_stagger: int,
) -> csc_array:
    """Sets of stations of which at most one may be used, one per row."""
    sets: list[list[int]] = []
    seams: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for surface, rows in enumerate(all_rows):
        for segment, stretch in enumerate(rows.segments):
            places = seams.setdefault((surface, stretch.row), [])
            for number, station in enumerate(stretch.stations):
                if station.member != -1:
                    places.append((station.at, node[surface, segment, number]))
    apart = [_least_apart(rows) for rows in all_rows]
    for surface, rows in enumerate(all_rows):
        for band in rows.bands[:-1]:
            one, two = seams.get((surface, band.index), []), seams.get((surface, band.index + 1), [])
            sets += windows(one, two, rows.stagger, apart[surface])
    for first, second in opposite:
        span = all_rows[second].frame.s_span
        for (surface, _), one in seams.items():
            if surface != first:
                continue
            for (other, _), two in seams.items():
                if other == second:
                    turned = [(span - at, index) for at, index in two]
                    sets += windows(one, turned, opposite_stagger, min(apart[first], apart[second]))
    rows_, cols = [], []
    for number, members in enumerate(sets):
        rows_ += [number] * len(members)
        cols += members
    shape = (len(sets), len(node))
    return csc_array((np.ones(len(rows_)), (np.array(rows_, int), np.array(cols, int))), shape=shape)


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
