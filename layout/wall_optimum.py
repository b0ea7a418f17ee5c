"""The exact optimum of one surface when no off-cut is used again.

Each course is a shortest path through its stations.  Courses are tied together by the
stagger rule only, so the paths of a course are listed from the cheapest up, exactly and
lazily, and a best-first search (A*) puts one path for each course on top of the other.
Its estimate of what is left is the sum of the cheapest paths of the courses to come, which
never overstates, so the first complete plan taken from the queue is the cheapest.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass

from layout.markets import Prefs
from layout.rows import Segment, Span, SurfaceRows
from layout.stock import steps_of

__all__ = ["RowChoice", "best_rows", "span_cost"]

Conflicts = frozenset[int]
MOST_STEPS = 100_000
MOST_STATES = 4_000
"""Search steps, for a course's paths and for all courses, before the simple way is taken."""


@dataclass(frozen=True, slots=True)
class RowChoice:
    """Chosen spans of one course: (segment number, span) from one end to the other."""

    cost: float
    spans: tuple[tuple[int, Span], ...]
    seams: tuple[int, ...]


def span_cost(rows: SurfaceRows, span: Span, prefs: Prefs, forced_length: int = 0) -> float | None:
    """Cheapest board for a piece by itself, plus its charge for a cut end at a seam.

    None when no board is long enough.
    """
    best: float | None = None
    for board in rows.boards:
        length, width = steps_of(board)
        along, across = (span.height, span.length) if rows.upright else (span.length, span.height)
        if along > length or across > width or (forced_length and length != forced_length):
            continue
        whole = (width if rows.upright else length) == span.length
        cost = board.price + (prefs.cut_end_charge if span.seams == 2 and not whole else 0.0)
        if best is None or cost < best:
            best = cost
    return best


def best_rows(
    rows: SurfaceRows, prefs: Prefs, blocked: frozenset[int] = frozenset(), stagger_blocked: int = 0
) -> tuple[tuple[RowChoice, ...] | None, bool]:
    """Cheapest choice for every course, and whether it is proved cheapest.

    Parameters
    ----------
    blocked : frozenset of int
        Places (thirty-seconds, along the row) of seams on the other face of the
        partition; seams here stay `stagger_blocked` away from them.

    Returns
    -------
    tuple
        (choices in the order of the courses or None, proved).
    """
    count = len(rows.bands)
    lists = [_PathList(rows, band.index, prefs, blocked, stagger_blocked) for band in rows.bands]
    if any(paths.get(0) is None for paths in lists):
        return None, True
    rest = [0.0] * (count + 1)
    for row in range(count - 1, -1, -1):
        first = lists[row].get(0)
        rest[row] = rest[row + 1] + (first.cost if first else 0.0)
    # An entry of the queue is "path number k of this row, on top of the rows chosen so
    # far"; taking it also queues path k + 1 as its alternative.
    chosen: tuple[int, ...] = ()
    queue: list[tuple[float, int, tuple[int, ...], int, float]] = [(rest[0], 0, chosen, 0, 0.0)]
    ticket = 0
    taken = 0
    seen: set[tuple[int, int]] = set()
    while queue and taken < MOST_STATES:
        _, _, chosen, number, spent = heapq.heappop(queue)
        taken += 1
        row = len(chosen)
        if row == count:
            return tuple(_got(lists[r], k) for r, k in enumerate(chosen)), True
        path = lists[row].get(number)
        if path is None:
            continue
        following = lists[row].get(number + 1)
        if following is not None:
            ticket += 1
            entry = (spent + following.cost + rest[row + 1], ticket, chosen, number + 1, spent)
            heapq.heappush(queue, entry)
        above = _got(lists[row - 1], chosen[-1]).seams if row else ()
        if all(abs(a - b) >= rows.stagger for a in above for b in path.seams):
            # The rows below see only this path, so its cheapest way here is enough.
            if (row, number) in seen:
                continue
            seen.add((row, number))
            ticket += 1
            cost = spent + path.cost
            heapq.heappush(queue, (cost + rest[row + 1], -ticket, (*chosen, number), 0, cost))
    if queue or any(paths.cut_short for paths in lists):
        return _one_after_another(rows, prefs, blocked, stagger_blocked), False
    return None, True


def _one_after_another(
    rows: SurfaceRows, prefs: Prefs, blocked: frozenset[int], stagger_blocked: int
) -> tuple[RowChoice, ...] | None:
    """Each course at its cheapest beside the course before it: feasible, not proved cheapest."""
    chosen: list[RowChoice] = []
    for band in rows.bands:
        above = frozenset(chosen[-1].seams) if chosen else frozenset[int]()
        numbered = [(n, s) for n, s in enumerate(rows.segments) if s.row == band.index]
        walls = ((blocked, stagger_blocked), (above, rows.stagger))
        path = next(_paths(rows, numbered, prefs, walls), None)
        if path is None:
            return None
        chosen.append(path)
    return tuple(chosen)


class _PathList:
    """Paths of one course from the cheapest up, made as they are asked for."""

    def __init__(self, rows: SurfaceRows, row: int, prefs: Prefs, blocked: frozenset[int], away: int) -> None:
        numbered = [(n, s) for n, s in enumerate(rows.segments) if s.row == row]
        self._made: list[RowChoice] = []
        self._ended = False
        self._more = _paths(rows, numbered, prefs, ((blocked, away),))

    @property
    def cut_short(self) -> bool:
        return len(self._made) >= MOST_STATES or self._ended

    def get(self, number: int) -> RowChoice | None:
        while len(self._made) <= number:
            if self.cut_short:
                return None
            path = next(self._more, None)
            if path is None:
                # Ended for want of paths or of steps: either way there is no more to get.
                self._ended = bool(self._made)
                return None
            self._made.append(path)
        return self._made[number]


def _got(paths: _PathList, number: int) -> RowChoice:
    path = paths.get(number)
    assert path is not None  # only numbers that were listed are ever chosen
    return path


def _paths(
    rows: SurfaceRows,
    numbered: list[tuple[int, Segment]],
    prefs: Prefs,
    walls: tuple[tuple[frozenset[int], int], ...],
) -> Iterator[RowChoice]:
    """All paths through a course's segments in the order of their cost.

    `walls` are sets of places with the distance that seams keep from them.

    The exact cost to the end is worked out backwards first; a search that goes by cost so
    far plus exact cost to the end then meets the complete paths in order.
    """
    arcs: list[list[list[tuple[int, float, Span]]]] = []
    for _, segment in numbered:
        out: list[list[tuple[int, float, Span]]] = [[] for _ in segment.stations]
        for span in segment.spans:
            station = segment.stations[span.last]
            if station.member != -1 and any(
                abs(station.at - b) < away for blocked, away in walls for b in blocked
            ):
                continue
            cost = span_cost(rows, span, prefs, segment.forced_length)
            if cost is not None:
                out[span.first].append((span.last, cost + station.price, span))
        arcs.append(out)
    to_end: list[list[float]] = []
    after = 0.0
    for (_, segment), out in zip(reversed(numbered), reversed(arcs), strict=True):
        last = len(segment.stations) - 1
        best = [float("inf")] * (last + 1)
        best[last] = after
        for node in range(last - 1, -1, -1):
            best[node] = min((c + best[to] for to, c, _ in out[node]), default=float("inf"))
        to_end.insert(0, best)
        after = best[0]
    if after == float("inf"):
        return
    ticket = 0
    queue: list[tuple[float, int, float, int, int, tuple[tuple[int, Span], ...]]]
    queue = [(after, 0, 0.0, 0, 0, ())]
    while queue and ticket < MOST_STEPS:
        _, _, spent, part, node, spans = heapq.heappop(queue)
        if part == len(numbered):
            seams = tuple(
                rows.segments[n].stations[s.last].at
                for n, s in spans
                if s.last < len(rows.segments[n].stations) - 1
            )
            yield RowChoice(spent, spans, seams)
            continue
        number, segment = numbered[part]
        for to, cost, span in arcs[part][node]:
            done = to == len(segment.stations) - 1
            left = to_end[part][to]
            if left == float("inf"):
                continue
            ticket += 1
            total = spent + cost
            entry = (
                total + left,
                -ticket,
                total,
                part + 1 if done else part,
                0 if done else to,
                (*spans, (number, span)),
            )
            heapq.heappush(queue, entry)
