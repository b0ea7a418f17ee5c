"""Real patterns: every way to cut a sheet on which no stretch of wall lies twice."""

from __future__ import annotations

import numpy as np

from layout.lanes import EPS, Floats
from layout.patterns import Group, LaneCut, Lanes, Pattern, splits_of

__all__ = ["all_patterns", "is_real"]


def all_patterns(group: Group, worth: Floats, slack: float, most: int) -> tuple[list[Pattern], float, bool]:
    """Every pattern of two pieces or more that costs at most `slack` more than it is worth.

    No two pieces of a pattern overlap in the wall, so that none is counted twice; this is
    what makes the bound tight for small jobs.

    Returns
    -------
    patterns : list of Pattern
    ratio : float
        Largest ratio of worth to price among them, at least 1 (as in `best_patterns`).
    complete : bool
        False when more than `most` were found; then neither list nor ratio can be relied on.
    """
    search = _Search(group, worth, slack, most)
    return search.found, search.ratio, search.complete


class _Search:
    """Depth-first search for patterns, cut off by the unrestricted best filling of the rest."""

    def __init__(self, group: Group, worth: Floats, slack: float, most: int) -> None:
        free = group.forced == 0
        plain, factory, whole = group.by_ends(worth)
        boards = range(len(group.boards))
        longest = max(group.sizes(board)[0] for board in boards)
        self._group, self._slack, self._most = group, slack, most
        self._steps = 0
        # A piece worth less than nothing may still be on a sheet within the slack.
        self._lanes = Lanes(group, plain, factory, whole, free, longest, EPS - max(slack, 0.0))
        self.found: list[Pattern] = []
        self.ratio = 1.0
        self.complete = True
        for board in boards:
            run, room = group.sizes(board)
            price = max(group.boards[board].price, 1e-6)
            for split in splits_of(group, free, room):
                if self.complete:
                    self._lane(board, price, split, 0, run, 2, 0, [], 0.0, [[]])

    def _lane(
        self,
        board: int,
        price: float,
        split: tuple[tuple[int, int], ...],
        slot: int,
        left: int,
        ends: int,
        start: int,
        chosen: list[int],
        value: float,
        lanes: list[list[tuple[int, int]]],
    ) -> None:
        """Add pieces to lane `slot` (those with factory ends first), then go to the next."""
        group = self._group
        lane = self._lanes.get(*split[slot])
        run, room = group.sizes(board)
        rest = sum(self._lanes.value(*s, run) for s in split[slot + 1 :])
        goal = price - self._slack - EPS
        self._steps += 1
        if self._steps > 6 * self._most or len(self.found) > self._most:
            self.complete = False
            return
        if chosen:
            self.ratio = max(self.ratio, value / price)
            if len(chosen) > 1 and value >= goal and lanes[-1]:
                self.found.append(_pattern(group, board, split, lanes, run, room))
            if slot + 1 < len(split) and value + rest >= goal and lanes[-1]:
                self._lane(board, price, split, slot + 1, run, 2, 0, chosen, value, [*lanes, []])
        if not lanes[-1]:
            for piece in self._lanes.filling(*split[slot], run).tolist():
                more = value + float(self._lanes.whole[piece])
                if more + rest < goal:
                    break
                if not any(_overlap(group, piece, other) for other in chosen):
                    grown = [*lanes[:-1], [(piece, 2)]]
                    self._lane(board, price, split, slot, 0, 0, 0, [*chosen, piece], more, grown)
                if not self.complete:
                    return
        # Plain pieces come after those with factory ends; `start` keeps each kind in order.
        fits = int(np.searchsorted(lane.length, left, "right"))
        after = left - lane.length[:fits]
        for use in (1, 0) if ends else (0,):
            gain = lane.factory if use else lane.plain
            below = lane.best[ends - 1] if use else lane.best[0]
            begin = start if use else (start if ends == 0 else 0)
            reach = gain[begin:fits] + below[after[begin:]]
            good = np.flatnonzero(reach >= goal - value - rest) + begin
            for number in good.tolist():
                piece = int(lane.items[number])
                if any(_overlap(group, piece, other) for other in chosen):
                    continue
                grown = [*lanes[:-1], [*lanes[-1], (piece, use)]]
                room_left = left - int(lane.length[number])
                more = value + float(gain[number])
                # At most two factory ends in a lane, then plain pieces in order.
                ends_left = ends - 1 if use else 0
                begin_at = 0 if use and ends_left == 0 else number
                self._lane(
                    board, price, split, slot, room_left, ends_left, begin_at, [*chosen, piece], more, grown
                )
                if not self.complete:
                    return


def is_real(group: Group, pattern: Pattern) -> bool:
    """Whether no stretch of wall is on the sheet twice."""
    pieces = [piece for piece, _ in pattern.pieces()]
    return not any(_overlap(group, one, two) for n, one in enumerate(pieces) for two in pieces[:n])


def _overlap(group: Group, one: int, two: int) -> bool:
    """Whether two pieces cover some stretch of wall both."""
    return bool(
        group.owner[one] == group.owner[two]
        and group.first[one] < group.last[two]
        and group.first[two] < group.last[one]
    )


def _pattern(
    group: Group,
    board: int,
    split: tuple[tuple[int, int], ...],
    lanes: list[list[tuple[int, int]]],
    run: int,
    room: int,
) -> Pattern:
    cuts = tuple(
        LaneCut(tuple(pieces), 0, run, split[slot][0] if len(split) > 1 else room, slot)
        for slot, pieces in enumerate(lanes)
        if pieces
    )
    return Pattern(group.number, board, cuts)
