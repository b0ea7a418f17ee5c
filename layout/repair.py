"""Repair: a board was spoiled; its pieces are cut from what is left, and only if need be from a new one.

Everything that hangs stays as it is, and so does the plan of everything else: no seam moves.  Only the
pieces that lost their board get another source: a leftover of any sheet, then a spare sheet from the
stacks, then a sheet that must be bought.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from layout.checks import JobError
from layout.leftovers import Area, Leftover, Need, Placing, area_of, leftovers_of, placings, rest_of
from layout.plan_types import Cut, Piece, Plan, Row, Sheet, SurfacePlan

__all__ = ["Repair", "Size", "repair"]

Size = tuple[str, float, float, float]

# What a source costs beside another: bought sheets last, then spares, then cut ends at seams.
BOUGHT = 1000.0
SPARE = 20.0
CUT_END = 4.0
MOST_STEPS = 20_000


@dataclass(frozen=True, slots=True)
class Repair:
    """The plan after a board was spoiled.

    Attributes
    ----------
    gone : tuple of (sheet, area)
        All spoiled areas so far: hand them to the next repair.
    moved : tuple of (piece number, sheet id)
        The pieces that have another source now.
    spares : tuple of int
        Ids of sheets taken from the spares in the stacks.
    bought : tuple of int
        Ids of sheets that must be bought.
    """

    plan: Plan
    gone: tuple[tuple[int, Area], ...]
    moved: tuple[tuple[int, int], ...]
    spares: tuple[int, ...]
    bought: tuple[int, ...]


def repair(
    plan: Plan,
    spoiled_piece: int,
    hung: Collection[int],
    on_hand: Mapping[Size, int],
    gone: tuple[tuple[int, Area], ...] = (),
    whole_sheet: bool = False,
) -> Repair:
    """Find another source for a piece whose board was spoiled.

    Parameters
    ----------
    plan : Plan
    spoiled_piece : int
        Number of the piece.  One that hangs already may be spoiled too: it comes down.
    hung : collection of int
        Numbers of the pieces that hang: they stay.
    on_hand : mapping of (kind, thickness, width, length) to int
        Boards of each size that came to the site and are fit to hang, those of the plan included.
    gone : tuple
        Spoiled areas of earlier repairs.
    whole_sheet : bool
        The rest of the sheet is spoiled as well, with every piece of it that does not hang yet.

    Raises
    ------
    JobError
        There is no such piece.
    """
    owner = next((s for s in plan.sheets if any(c.piece == spoiled_piece for c in s.cuts)), None)
    if owner is None:
        raise JobError("spoiled_piece", f"there is no piece {spoiled_piece}: look at the cards again.")
    lost = [
        cut for cut in owner.cuts if cut.piece == spoiled_piece or (whole_sheet and cut.piece not in hung)
    ]
    new_gone = tuple((owner.id, area_of(cut)) for cut in lost)
    if whole_sheet:
        kept = replace(owner, cuts=tuple(cut for cut in owner.cuts if cut not in lost))
        new_gone = tuple((owner.id, left.area) for left in leftovers_of((kept,), gone))
    all_gone = (*gone, *new_gone)
    sheets = [
        replace(s, cuts=tuple(c for c in s.cuts if c not in lost)) if s.id == owner.id else s
        for s in plan.sheets
    ]
    needs = sorted((_need(plan, cut, owner) for cut in lost), key=lambda need: (-need.along_in, need.piece))
    size = (owner.kind, owner.thickness_in, owner.width_in, owner.length_in)
    spares = _spares(sheets, on_hand, owner)
    chosen = _Search(needs, leftovers_of(sheets, all_gone), spares, size).best()
    return _with(plan, sheets, lost, chosen, all_gone)


def _spares(sheets: list[Sheet], on_hand: Mapping[Size, int], owner: Sheet) -> dict[Size, int]:
    """Boards in the stacks that the plan does not use, of the kind and thickness that is needed."""
    used = Counter((s.kind, s.thickness_in, s.width_in, s.length_in) for s in sheets)
    return {
        size: count - used[size]
        for size, count in on_hand.items()
        if count > used[size] and size[0] == owner.kind and abs(size[1] - owner.thickness_in) < 1 / 64
    }


def _need(plan: Plan, cut: Cut, sheet: Sheet) -> Need:
    _surface, row, piece = _find(plan, cut.piece)
    taper_low, taper_high = cut.low_in <= 0.0, cut.high_in >= sheet.width_in - 1 / 64
    if cut.turned:
        taper_low, taper_high = taper_high, taper_low
    ends = [(a.number, b.number) for a, b in pairwise(row.pieces) if abs(a.right_in - b.left_in) < 0.5]
    return Need(
        cut.piece,
        sheet.kind,
        sheet.thickness_in,
        sheet.width_in,
        sheet.length_in,
        cut.end_in - cut.start_in,
        cut.high_in - cut.low_in,
        taper_low,
        taper_high,
        any(right == piece.number for _, right in ends) and not row.upright,
        any(left == piece.number for left, _ in ends) and not row.upright,
    )


def _find(plan: Plan, number: int) -> tuple[SurfacePlan, Row, Piece]:
    for surface in plan.surfaces:
        for row in surface.rows:
            for piece in row.pieces:
                if piece.number == number:
                    return surface, row, piece
    raise JobError("spoiled_piece", f"there is no piece {number}: look at the cards again.")


@dataclass(frozen=True, slots=True)
class _Choice:
    """A piece, where on which sheet it is cut, and what that sheet is ("leftover", "spare", "bought")."""

    need: Need
    placing: Placing
    sheet: int
    source: str
    size: Size


class _Search:
    """All ways to give the needs a source, the cheapest of them; the longest piece is placed first.

    A new sheet gets a negative number until it is part of the plan.
    """

    def __init__(
        self, needs: list[Need], leftovers: tuple[Leftover, ...], spares: dict[Size, int], size: Size
    ) -> None:
        self._needs, self._first, self._spares, self._size = needs, leftovers, spares, size
        self._steps = 0
        self._best: tuple[float, tuple[_Choice, ...]] | None = None

    def best(self) -> tuple[_Choice, ...]:
        self._look(0, 0.0, (), self._first, dict(self._spares))
        return () if self._best is None else self._best[1]

    def _look(
        self,
        number: int,
        cost: float,
        chosen: tuple[_Choice, ...],
        free: tuple[Leftover, ...],
        spares: dict[Size, int],
    ) -> None:
        if self._best is not None and cost >= self._best[0]:
            return
        if number == len(self._needs):
            self._best = (cost, chosen)
            return
        self._steps += 1
        if self._steps > MOST_STEPS and self._best is not None:
            return
        need = self._needs[number]
        for index, leftover in enumerate(free):
            for placing in placings(need, leftover)[:2]:
                rest = (*free[:index], *free[index + 1 :], *rest_of(leftover, placing.area))
                choice = _Choice(need, placing, leftover.sheet, "leftover", self._size)
                self._look(number + 1, cost + CUT_END * placing.cut_ends, (*chosen, choice), rest, spares)
        for size in [*(size for size, count in spares.items() if count), self._size]:
            source = "spare" if spares.get(size, 0) else "bought"
            sheet = -1 - len({c.sheet for c in chosen if c.sheet < 0})
            fresh = Leftover(sheet, *size, (0.0, size[3], 0.0, size[2]))
            price = (SPARE if source == "spare" else BOUGHT) + size[3] / 1000.0
            for placing in placings(need, fresh)[:2]:
                left = dict(spares)
                if source == "spare":
                    left[size] -= 1
                choice = _Choice(need, placing, sheet, source, size)
                self._look(
                    number + 1,
                    cost + price + CUT_END * placing.cut_ends,
                    (*chosen, choice),
                    (*free, *rest_of(fresh, placing.area)),
                    left,
                )


def _with(
    plan: Plan,
    sheets: list[Sheet],
    lost: list[Cut],
    chosen: tuple[_Choice, ...],
    gone: tuple[tuple[int, Area], ...],
) -> Repair:
    """The plan with the chosen sources in it."""
    old = {cut.piece: cut for cut in lost}
    ids: dict[int, int] = {}
    by_id = {sheet.id: sheet for sheet in sheets}
    spares: list[int] = []
    bought: list[int] = []
    prices = {(s.kind, s.thickness_in, s.width_in, s.length_in): s.price for s in plan.sheets}
    for choice in chosen:
        number = ids.get(choice.sheet, choice.sheet)
        if number < 0:
            number = ids[choice.sheet] = max(by_id) + 1
            by_id[number] = Sheet(number, *choice.size, prices.get(choice.size, 0.0))
            (spares if choice.source == "spare" else bought).append(number)
        before = old[choice.need.piece]
        start, end, low, high = choice.placing.area
        cut = Cut(before.piece, before.surface, before.row, start, end, low, high, choice.placing.turned)
        by_id[number] = replace(by_id[number], cuts=(*by_id[number].cuts, cut))
    moved = {c.need.piece: (ids.get(c.sheet, c.sheet), c.placing) for c in chosen}
    surfaces = tuple(
        replace(surface, rows=tuple(_row(row, moved) for row in surface.rows)) for surface in plan.surfaces
    )
    new = replace(
        plan,
        surfaces=surfaces,
        sheets=tuple(by_id.values()),
        score=replace(plan.score, lower_bound=0.0, proved_optimal=False),
    )
    return Repair(
        new,
        gone,
        tuple((piece, sheet) for piece, (sheet, _) in moved.items()),
        tuple(spares),
        tuple(bought),
    )


def _row(row: Row, moved: dict[int, tuple[int, Placing]]) -> Row:
    if not any(piece.number in moved for piece in row.pieces):
        return row
    pieces = tuple(_piece(piece, row, moved) for piece in row.pieces)
    ends = {(round(a.right_in, 3)): (a, b) for a, b in pairwise(pieces)}
    seams = []
    for seam in row.seams:
        pair = min(ends, key=lambda at: abs(at - seam.position_in), default=None)
        if pair is None:
            seams.append(seam)
            continue
        left, right = ends[pair]
        factory = (left.right_end == "factory") + (right.left_end == "factory")
        seams.append(replace(seam, factory_ends=factory))
    return replace(row, pieces=pieces, seams=tuple(seams))


def _piece(piece: Piece, row: Row, moved: dict[int, tuple[int, Placing]]) -> Piece:
    """A piece with its new sheet and ends; its cut-outs measured from the end that is factory now."""
    if piece.number not in moved:
        return piece
    sheet, placing = moved[piece.number]
    if row.upright:
        return replace(piece, sheet=sheet)
    left, right = placing.left_factory, placing.right_factory
    end = "right" if right and not left else "left"
    holes = tuple(
        replace(
            hole,
            end=end,
            from_end_in=piece.right_in - hole.right_in if end == "right" else hole.left_in - piece.left_in,
        )
        for hole in piece.cutouts
    )
    return replace(
        piece,
        sheet=sheet,
        left_end="factory" if left else "cut",
        right_end="factory" if right else "cut",
        cutouts=holes,
    )
