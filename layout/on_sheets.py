"""Pieces laid on their sheets: lanes turned into places, and what a sheet with its cuts costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layout.assemble import Placement, UsedSheet
from layout.rows import Span
from layout.stock import Board, run_and_room

__all__ = ["LaidLane", "LaidPiece", "laid", "sheet_cost"]


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """A piece of some surface, and how many factory ends it gets at its seams."""

    surface: int
    segment: int
    span: Span
    ends: int


@dataclass(frozen=True, slots=True)
class LaidLane:
    """Pieces of one lane of a sheet; `size` across, `slot` 0 and 1 at the edges, others between, in order."""

    slot: int
    size: int
    pieces: tuple[LaidPiece, ...]


def laid(board: Board, upright: bool, lanes: Sequence[LaidLane]) -> UsedSheet:
    """A sheet with the pieces of its lanes laid on it.

    A piece with a factory end lies at an end of its lane.  Where ends are over, other pieces
    get them: the second piece lies at the far end and what is left lies before it, so that
    no end of the sheet is wasted while a piece has two cut ends.
    """
    run, room = run_and_room(board, upright)
    placements: list[Placement] = []
    beside = 0
    for lane in sorted(lanes, key=lambda lane: lane.slot):
        low = beside
        beside += 0 if lane.slot == 1 else lane.size
        at = 0
        order = sorted(lane.pieces, key=lambda p: (-p.ends, -p.span.seams))
        for place, piece in enumerate(order):
            length, height = piece.span.length, piece.span.height
            if place == 1:
                start, end = run - length, run
            else:
                start, end = at, at + length
                at = end
            side = (room - height, room) if lane.slot == 1 else (low, low + height)
            along, across = (side, (start, end)) if upright else ((start, end), side)
            placements.append(Placement(piece.surface, piece.segment, piece.span, *along, *across))
    return UsedSheet(board, tuple(placements))


def sheet_cost(sheet: UsedSheet, upright: bool, cut_charge: float) -> float:
    """Price of a sheet and its charges for cut ends at seams, as the pieces lie."""
    run, _ = run_and_room(sheet.board, upright)
    cut = 0
    for p in sheet.placements:
        start, end = (p.low, p.high) if upright else (p.start, p.end)
        cut += max(0, p.span.seams - (start == 0) - (end == run))
    return sheet.board.price + cut_charge * cut
