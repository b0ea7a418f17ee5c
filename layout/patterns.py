"""Patterns: which pieces one sheet yields, and the best patterns for given piece values.

Two ways of cutting a sheet are considered, and the proof of a plan is among these:

- across: the sheet is cut across its length, every piece takes the full width;
- ripped: it is ripped along its whole length into lanes first, then each lane is cut
  across.  A lane whose pieces meet another course keeps one tapered edge, so there are two
  of those at most; strips that meet none lie in up to `MOST_LANES` lanes.

Upright boards are the same thing with the sheet's two directions exchanged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout.lanes import EPS, Flags, Floats, Ints, Lane, fill_lane
from layout.stock import Board, run_and_room

__all__ = [
    "MOST_LANES",
    "MOST_MIXED",
    "Group",
    "LaneCut",
    "Lanes",
    "Pattern",
    "best_patterns",
    "single_patterns",
    "splits_of",
]


MOST_LANES = 8
MOST_MIXED = 3
"""Sizes of strips up to which lanes of all of them are mixed on one sheet (a duct has three faces)."""


@dataclass(frozen=True, slots=True)
class LaneCut:
    """Pieces of one lane: (piece, factory ends), the lane's place and its size across."""

    pieces: tuple[tuple[int, int], ...]
    start: int
    end: int
    size: int
    slot: int


@dataclass(frozen=True, slots=True)
class Pattern:
    """What is cut from one sheet of a group: the board's number and its lanes."""

    group: int
    board: int
    lanes: tuple[LaneCut, ...]

    def pieces(self) -> list[tuple[int, int]]:
        return [piece for lane in self.lanes for piece in lane.pieces]


@dataclass(frozen=True)
class Group:
    """Pieces that may share sheets: same boards, same direction.

    Arrays are of shape (N,), one entry for each possible piece.  `owner` is the segment
    that the piece belongs to; `forced` the length that it must be cut from, or 0; `first`
    and `last` number its two stations, rising along the segment.
    """

    number: int
    boards: tuple[Board, ...]
    upright: bool
    cut_charge: float
    length: Ints
    height: Ints
    seams: Ints
    tapers: Ints
    owner: Ints
    forced: Ints
    first: Ints
    last: Ints

    def sizes(self, board: int) -> tuple[int, int]:
        """(length of a lane, room for lanes) of a board."""
        return run_and_room(self.boards[board], self.upright)

    def by_ends(self, worth: Floats) -> tuple[Floats, Floats, Floats]:
        """What pieces are worth with no, one and two factory ends at seams; minus infinity where none
        is asked for.  `worth` is that of a piece with all of them.
        """
        plain = worth - self.cut_charge * self.seams
        factory = np.where(self.seams > 0, worth - self.cut_charge * (self.seams - 1), -np.inf)
        return plain, factory, np.where(self.seams > 1, worth, -np.inf)


def single_patterns(group: Group) -> list[tuple[float, Pattern]]:
    """For every piece the cheapest sheet that yields it alone: (cost with charges, pattern)."""
    count = len(group.length)
    best = np.full(count, np.inf)
    chosen = np.zeros(count, dtype=np.int64)
    for board, offer in enumerate(group.boards):
        run, room = group.sizes(board)
        fits = (group.length <= run) & (group.height <= room)
        fits &= (group.forced == 0) | (group.forced == run)
        ends = np.where(group.length == run, group.seams, np.minimum(group.seams, 1))
        cost = np.where(fits, offer.price + group.cut_charge * (group.seams - ends), np.inf)
        chosen[cost < best] = board
        best = np.minimum(best, cost)
    made: list[tuple[float, Pattern]] = []
    sizes = [group.sizes(board) for board in range(len(group.boards))]
    for piece in np.flatnonzero(best < np.inf).tolist():
        board = int(chosen[piece])
        run, room = sizes[board]
        seams = int(group.seams[piece])
        used = seams if int(group.length[piece]) == run else min(seams, 1)
        lane = LaneCut(((piece, used),), 0, run, room, 0)
        made.append((float(best[piece]), Pattern(group.number, board, (lane,))))
    return made


def best_patterns(
    group: Group,
    plain: Floats,
    factory: Floats,
    per_owner: int = 2,
    slack: float = 0.0,
    most: int = 10_000,
    whole: Floats | None = None,
) -> tuple[list[Pattern], float]:
    """Patterns that are worth more than their sheet costs, and the largest ratio of the two.

    Parameters
    ----------
    plain, factory : ndarray, shape (N,)
        What each piece is worth without and with a factory end at a seam.
    per_owner : int
        How many patterns to give for each owner of pieces at most.
    slack : float
        Also give patterns that cost up to this much more than they are worth.
    most : int
        How many patterns to give in all, the best first.
    whole : ndarray, shape (N,), or None
        What a piece is worth that fills a lane from end to end, so that both its ends are
        factory ends; minus infinity where that is worth no more than one.

    Returns
    -------
    patterns : list of Pattern
    ratio : float
        Largest worth of any pattern over its sheet's price, at least 1: dividing all
        prices by it makes them a proved bound (Farley 1990).
    """
    free = group.forced == 0
    longest = max(group.sizes(board)[0] for board in range(len(group.boards)))
    rooms = {group.sizes(board)[1] for board in range(len(group.boards))}
    lanes = Lanes(group, plain, factory, whole, free, longest)
    ratio = 1.0
    splits = {room: splits_of(group, free, room) for room in rooms}
    offers: list[_Offer] = []
    for board, offer in enumerate(group.boards):
        run, room = group.sizes(board)
        price = max(offer.price, 1e-6)
        for split in splits[room]:
            value = sum(lanes.value(size, inner, run) for size, inner in split)
            ratio = max(ratio, value / price)
            if value > price - slack + EPS:
                offers.append(_offer(board, run, price, split, lanes))
    kept: list[Pattern] = []
    if not offers:
        return kept, float(ratio)
    # The best of each owner are found first and only they are cut out piece by piece.
    gains = np.concatenate([offer.gain for offer in offers])
    which = np.repeat(np.arange(len(offers)), [len(offer.gain) for offer in offers])
    place = np.concatenate([np.arange(len(offer.gain)) for offer in offers])
    good = np.flatnonzero(gains > EPS - slack)
    counts: dict[int, int] = {}
    for number in good[np.argsort(-gains[good], kind="stable")]:
        offer = offers[which[number]]
        owner = int(group.owner[offer.first.items[place[number]]])
        if counts.get(owner, 0) < per_owner:
            counts[owner] = counts.get(owner, 0) + 1
            kept.append(_cut_out(group, offer, int(place[number]), lanes))
            if len(kept) >= most:
                break
    return kept, float(ratio)


class Lanes:
    """Lanes by size, solved when first asked for.

    `least` is the worth up to which a piece is left out of them.
    """

    def __init__(
        self,
        group: Group,
        plain: Floats,
        factory: Floats,
        whole: Floats | None,
        free: Flags,
        run: int,
        least: float = EPS,
    ) -> None:
        self._group, self._plain, self._factory = group, plain, factory
        self.whole = np.full(len(group.length), -np.inf) if whole is None else whole
        self._free, self._run, self._least = free, run, least
        self._made: dict[tuple[int, int], Lane] = {}
        self._filled: dict[tuple[int, int, int], Ints] = {}

    def get(self, size: int, most_tapers: int) -> Lane:
        key = (size, most_tapers)
        if key not in self._made:
            group = self._group
            fits = self._free & (group.height <= size) & (group.tapers <= most_tapers)
            # A piece that is worth nothing never helps a filling.
            fits &= np.maximum(np.maximum(self._plain, self._factory), self.whole) > self._least
            items = np.flatnonzero(fits)
            self._made[key] = fill_lane(
                items, group.length[items], self._plain[items], self._factory[items], self._run
            )
        return self._made[key]

    def filling(self, size: int, most_tapers: int, run: int) -> Ints:
        """Pieces that fill a lane of length `run` by themselves, the most worth first."""
        key = (size, most_tapers, run)
        if key not in self._filled:
            items = self.get(size, most_tapers).items
            items = items[(self._group.length[items] == run) & (self.whole[items] > self._least)]
            self._filled[key] = items[np.argsort(-self.whole[items], kind="stable")]
        return self._filled[key]

    def value(self, size: int, most_tapers: int, run: int) -> float:
        """Worth of the best lane of length `run`: of many pieces, or of one from end to end."""
        best = float(self.get(size, most_tapers).best[2][run])
        filling = self.filling(size, most_tapers, run)
        return max(best, float(self.whole[filling[0]])) if len(filling) else best

    def contents(self, size: int, most_tapers: int, run: int, taken: set[int]) -> list[tuple[int, int]]:
        """Pieces of the best lane as (number, factory ends); see `Lane.contents`."""
        lane, owner = self.get(size, most_tapers), self._group.owner
        best = self.value(size, most_tapers, run)
        if best <= float(lane.best[2][run]) + EPS:
            return lane.contents(run, 2, owner, taken)
        filling = self.filling(size, most_tapers, run)
        good = filling[self.whole[filling] >= best - EPS].tolist()
        pick = next((piece for piece in good if int(owner[piece]) not in taken), good[0])
        taken.add(int(owner[pick]))
        return [(pick, 2)]


def splits_of(group: Group, free: Flags, room: int) -> list[tuple[tuple[int, int], ...]]:
    """Ways to divide a sheet's room into lanes: tuples of (size, most tapers in it)."""
    splits: list[tuple[tuple[int, int], ...]] = [((room, 2),)]
    heights = np.unique(group.height[free & (group.height < room)])
    for size in (int(h) for h in heights):
        partners = heights[heights <= min(room - size, size)]
        if len(partners):
            splits.append(((size, 1), (int(partners[-1]), 1)))
    inner = np.unique(group.height[free & (group.tapers == 0) & (group.height * 3 <= room)])
    rips = {(int(size),) * min(room // int(size), MOST_LANES) for size in inner}
    if len(inner) <= MOST_MIXED:
        # A duct's underside and its faces: 12 in twice and 6 in four times from 48 in.
        narrow = np.unique(group.height[free & (group.tapers == 0) & (group.height < room)])
        rips |= {rip for rip in _rips(tuple(int(h) for h in narrow[::-1]), room, MOST_LANES) if len(rip) > 2}
    edge = 2 if group.upright else 1
    return splits + [
        tuple((size, edge if n < 2 else 0) for n, size in enumerate(rip))
        for rip in sorted(rips, reverse=True)
    ]


def _rips(sizes: tuple[int, ...], room: int, most: int) -> list[tuple[int, ...]]:
    """Lanes of these sizes, widest first, beside which no other has room."""
    if not sizes or not most:
        return [()]
    size, rest = sizes[0], sizes[1:]
    found = []
    for count in range(min(room // size, most), -1, -1):
        if not rest and count < min(room // size, most):
            break
        found += [(size,) * count + tail for tail in _rips(rest, room - count * size, most - count)]
    return found


@dataclass(frozen=True)
class _Offer:
    """One board ripped one way: the gain of the best sheet with each piece in its first lane.

    `ends` are the factory ends that the piece gets in it.
    """

    board: int
    run: int
    split: tuple[tuple[int, int], ...]
    first: Lane
    gain: Floats
    ends: Ints
    left: Ints


def _offer(board: int, run: int, price: float, split: tuple[tuple[int, int], ...], lanes: Lanes) -> _Offer:
    first = lanes.get(*split[0])
    rest = sum(lanes.value(*lane, run) for lane in split[1:])
    fits = first.length <= run
    left = np.where(fits, run - first.length, 0)
    with_end = first.factory + first.best[1][left]
    without = first.plain + first.best[2][left]
    filled = np.where(first.length == run, lanes.whole[first.items], -np.inf)
    value = np.maximum(with_end, without)
    ends = np.where(filled > value + EPS, 2, with_end >= without)
    gain = np.where(fits, np.maximum(value, filled), -np.inf) + rest - price
    return _Offer(board, run, split, first, gain, ends, left)


def _cut_out(group: Group, offer: _Offer, number: int, lanes: Lanes) -> Pattern:
    """The best sheet of an offer that holds piece `number` of its first lane."""
    piece = int(offer.first.items[number])
    ends = int(offer.ends[number])
    taken = {int(group.owner[piece])}
    pieces = [(piece, ends)]
    pieces += offer.first.contents(int(offer.left[number]), 2 - ends, group.owner, taken)
    cuts = [LaneCut(tuple(pieces), 0, offer.run, offer.split[0][0], 0)]
    for slot, lane in enumerate(offer.split[1:], start=1):
        more = lanes.contents(*lane, offer.run, taken)
        if more:
            cuts.append(LaneCut(tuple(more), 0, offer.run, lane[0], slot))
    return Pattern(group.number, offer.board, tuple(cuts))
