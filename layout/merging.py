"""Merging: pieces of one sheet put into the left-overs of others, as long as that costs less.

Seams stay where they are; only which piece comes from which sheet changes.  This mends what
an integer program stopped early, or a first plan with a sheet to every piece, leaves behind:
two sheets hardly used become one, a sheet's pieces go to others and it is not bought, or a
piece moves so that a shorter board does.  Sheets are cut in the ways of `layout.patterns`,
so that the bounds proved there hold for what comes out.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

from layout.assemble import Placement, UsedSheet
from layout.on_sheets import LaidLane, LaidPiece, laid, sheet_cost
from layout.patterns import MOST_LANES, MOST_MIXED
from layout.rows import SurfaceRows
from layout.stock import Board, run_and_room

__all__ = ["merged"]

MOST_PACKED = 20_000
"""Ways of filling a sheet that are tried for a job (some 10 microseconds each), then it ends."""
MOST_PIECES = 9
"""Pieces on a sheet up to which two lanes are divided in every way."""
EPS = 1e-6


def merged(
    all_rows: tuple[SurfaceRows, ...],
    sheets: tuple[UsedSheet, ...],
    cut_charge: float,
    stop: Callable[[], bool] = lambda: False,
) -> tuple[tuple[UsedSheet, ...], float]:
    """The same pieces from cheaper sheets, and what that saves.

    Parameters
    ----------
    all_rows : tuple of SurfaceRows
        The surfaces that the placements' numbers mean.
    sheets : tuple of UsedSheet
    cut_charge : float
        What a cut end at a seam costs.
    stop : callable
        Asked now and then; True ends the search with what it has.

    Returns
    -------
    tuple
        (sheets, saving); the very sheets that came and 0 where nothing is saved.
    """
    kinds: dict[tuple[tuple[Board, ...], bool], int] = {}
    bins = []
    for sheet in sheets:
        rows = all_rows[sheet.placements[0].surface]
        kind = kinds.setdefault((rows.boards, rows.upright), len(kinds))
        forced = any(all_rows[p.surface].segments[p.segment].forced_length for p in sheet.placements)
        cost = sheet_cost(sheet, rows.upright, cut_charge)
        bins.append(_Bin(kind, sheet, cost, _area(sheet.placements), forced))
    before = sum(one.cost for one in bins)
    search = _Search([_Kind.of(*kind) for kind in kinds], cut_charge, stop)
    changed = True
    while changed:
        changed = search.pair(bins) or search.move(bins) or search.empty(bins)
    saved = before - sum(one.cost for one in bins)
    return (tuple(one.sheet for one in bins), saved) if saved > EPS else (sheets, 0.0)


@dataclass(frozen=True)
class _Kind:
    """Boards that may be one sheet, the cheapest first: pieces of one kind share sheets."""

    boards: tuple[Board, ...]
    upright: bool
    most: int

    @classmethod
    def of(cls, boards: tuple[Board, ...], upright: bool) -> _Kind:
        sizes = [run_and_room(board, upright) for board in boards]
        most = max(run * room for run, room in sizes)
        return cls(tuple(sorted(boards, key=lambda b: b.price)), upright, most)


@dataclass(frozen=True)
class _Bin:
    """A sheet with its pieces; `fixed` when a wish says which board they come from."""

    kind: int
    sheet: UsedSheet
    cost: float
    area: int
    fixed: bool


def _area(placements: tuple[Placement, ...]) -> int:
    return sum(p.span.length * p.span.height for p in placements)


@dataclass
class _Search:
    """Improvements one by one, in an order that is always the same."""

    kinds: list[_Kind]
    cut_charge: float
    stop: Callable[[], bool]
    packed: int = 0

    def pair(self, bins: list[_Bin]) -> bool:
        """Make one sheet of two wherever that saves; of several such the pair that saves most first."""
        changed = False
        gains = [g for i in range(len(bins)) for j in range(i) if (g := self._pair_gain(bins, j, i))]
        gone: set[int] = set()
        while gains:
            _, j, i, both = max(gains, key=lambda g: (g[0], -g[1], -g[2]))
            changed = True
            bins[j] = both
            gone.add(i)
            gains = [g for g in gains if not {g[1], g[2]} & {i, j}]
            others = [n for n in range(len(bins)) if n not in gone and n != j]
            gains += [g for n in others if (g := self._pair_gain(bins, min(n, j), max(n, j)))]
        bins[:] = [one for number, one in enumerate(bins) if number not in gone]
        return changed

    def _pair_gain(self, bins: list[_Bin], j: int, i: int) -> tuple[float, int, int, _Bin] | None:
        one, two = bins[j], bins[i]
        both = self._joined(one, two.sheet.placements, two.kind, one.cost + two.cost, two.fixed)
        return None if both is None else (one.cost + two.cost - both.cost, j, i, both)

    def move(self, bins: list[_Bin]) -> bool:
        """Move one piece where the sheet that it leaves can then be a cheaper one."""
        for n, one in enumerate(bins):
            if one.fixed or len(one.sheet.placements) < 2:
                continue
            for at, piece in enumerate(one.sheet.placements):
                rest = (*one.sheet.placements[:at], *one.sheet.placements[at + 1 :])
                less = self._pack(one.kind, rest, one.cost - EPS)
                if less is None:
                    continue
                for k, other in enumerate(bins):
                    most = other.cost + one.cost - less.cost
                    more = None if k == n else self._joined(other, (piece,), one.kind, most)
                    if more is not None:
                        bins[n], bins[k] = less, more
                        return True
        return False

    def empty(self, bins: list[_Bin]) -> bool:
        """Spread the pieces of one sheet over several others, where that costs less than the sheet."""
        for n in sorted(range(len(bins)), key=lambda n: (bins[n].area / max(bins[n].cost, EPS), n)):
            one = bins[n]
            if one.fixed or len(one.sheet.placements) < 2:
                continue
            trial = list(bins)
            left = one.cost - EPS
            for piece in sorted(one.sheet.placements, key=lambda p: -p.span.length * p.span.height):
                best: tuple[float, int, _Bin] | None = None
                for k, other in enumerate(trial):
                    limit = other.cost + (left if best is None else min(left, best[0] - EPS))
                    more = None if k == n else self._joined(other, (piece,), one.kind, limit)
                    if more is not None:
                        best = (more.cost - other.cost, k, more)
                if best is None:
                    break
                left -= best[0]
                trial[best[1]] = best[2]
            else:
                del trial[n]
                bins[:] = trial
                return True
        return False

    def _joined(
        self, one: _Bin, more: tuple[Placement, ...], kind: int, limit: float, fixed: bool = False
    ) -> _Bin | None:
        """A sheet with more pieces, for less than `limit`."""
        if one.fixed or fixed or kind != one.kind or one.area + _area(more) > self.kinds[kind].most:
            return None
        return self._pack(kind, (*one.sheet.placements, *more), limit)

    def _pack(self, kind: int, pieces: tuple[Placement, ...], limit: float) -> _Bin | None:
        """The cheapest sheet found that yields these pieces, for less than `limit`."""
        self.packed += 1
        if self.packed > MOST_PACKED or (self.packed % 256 == 0 and self.stop()):
            self.packed = MOST_PACKED
            return None
        upright = self.kinds[kind].upright
        area = _area(pieces)
        best: _Bin | None = None
        for board in self.kinds[kind].boards:
            if board.price >= limit - EPS:
                break
            run, room = run_and_room(board, upright)
            if run * room < area:
                continue
            for lanes in _fillings(pieces, run, room, upright):
                sheet = laid(board, upright, lanes)
                cost = sheet_cost(sheet, upright, self.cut_charge)
                if cost < limit - EPS:
                    best, limit = _Bin(kind, sheet, cost, area, False), cost
        return best


def _fillings(pieces: tuple[Placement, ...], run: int, room: int, upright: bool) -> list[list[LaidLane]]:
    """Ways to lay pieces on a sheet: across it, in two lanes, in lanes of one size or of several."""
    if max(p.span.height for p in pieces) > room or max(p.span.length for p in pieces) > run:
        return []
    made = []
    if sum(p.span.length for p in pieces) <= run:
        made.append([_lane(0, room, list(pieces), run)])
    order = sorted(pieces, key=lambda p: (-p.span.height, -p.span.length, p.surface, p.segment))
    first, others = order[0], order[1:]
    if all(p.span.tapers <= 1 for p in pieces) and len(pieces) <= MOST_PIECES:
        for chosen in itertools.product((False, True), repeat=len(others)):
            one = [first, *(p for p, low in zip(others, chosen, strict=True) if not low)]
            two = [p for p, low in zip(others, chosen, strict=True) if low]
            if (
                two
                and first.span.height + two[0].span.height <= room
                and sum(p.span.length for p in one) <= run
                and sum(p.span.length for p in two) <= run
            ):
                made.append([_lane(0, first.span.height, one, run), _lane(1, two[0].span.height, two, run)])
    size = first.span.height
    if (
        len(pieces) > 2
        and size * 3 <= room
        and any(p.span.tapers == 0 for p in order if p.span.height == size)
    ):
        equal = _equal_lanes(order, run, size, min(room // size, MOST_LANES), 2 if upright else 1)
        if equal is not None:
            made.append(equal)
    mixed = _mixed_lanes(order, run, room)
    return made if mixed is None else [*made, mixed]


def _mixed_lanes(order: list[Placement], run: int, room: int) -> list[LaidLane] | None:
    """Lanes of several sizes for strips that meet no other row, each strip in the first that has room."""
    sizes = {p.span.height for p in order}
    if not 1 < len(sizes) <= MOST_MIXED or any(p.span.tapers for p in order):
        return None
    lanes: list[list[Placement]] = []
    for piece in order:
        fits = (n for n in lanes if sum(p.span.length for p in n) + piece.span.length <= run)
        lane = next(fits, None)
        if lane is None:
            lanes.append(lane := [])
        lane.append(piece)
    if not 2 < len(lanes) <= MOST_LANES or sum(lane[0].span.height for lane in lanes) > room:
        return None
    return [_lane(slot, lane[0].span.height, lane, run) for slot, lane in enumerate(lanes)]


def _equal_lanes(
    pieces: list[Placement], run: int, size: int, count: int, edge: int
) -> list[LaidLane] | None:
    """Lanes of one size, filled with the longest pieces first; tapered ones lie in the first two."""
    lanes: list[list[Placement]] = [[] for _ in range(count)]
    for piece in sorted(pieces, key=lambda p: (-p.span.tapers, -p.span.length)):
        tapers = piece.span.tapers
        places = range(2) if tapers else [*range(2, count), 0, 1]
        room = (n for n in places if sum(p.span.length for p in lanes[n]) + piece.span.length <= run)
        place = next(room, None) if tapers <= edge else None
        if place is None:
            return None
        lanes[place].append(piece)
    return [_lane(slot, size, lane, run) for slot, lane in enumerate(lanes) if lane]


def _lane(slot: int, size: int, pieces: list[Placement], run: int) -> LaidLane:
    """Pieces in a lane; its factory ends go to those that meet other pieces."""
    ends = 2
    made = []
    for piece in sorted(pieces, key=lambda p: -p.span.seams):
        use = min(ends, piece.span.seams, 2 if piece.span.length == run else 1)
        ends -= use
        made.append(LaidPiece(piece.surface, piece.segment, piece.span, use))
    return LaidLane(slot, size, tuple(made))
