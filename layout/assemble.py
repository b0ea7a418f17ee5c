"""Assemble: the solver's choice turned into a plan that people read.

Whole thirty-seconds become inches here, pieces get their numbers in hanging order, sheets
theirs in the order they are first cut.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from layout.bands import Band, across_in
from layout.framing import Box, Opening
from layout.lengths import format_length, from_grid
from layout.markets import Prefs, Rules
from layout.plan_types import (
    Cut,
    CutOut,
    Piece,
    PlanWarning,
    Row,
    Score,
    Seam,
    Sheet,
    SurfacePlan,
)
from layout.rows import Segment, Span, SurfaceRows, place_in
from layout.rules import ceilings_before_walls
from layout.stock import Board, run_and_room

__all__ = ["Placement", "UsedSheet", "assemble"]


@dataclass(frozen=True, slots=True)
class Placement:
    """A piece on its sheet: start/end along the sheet's length, low/high across it."""

    surface: int
    segment: int
    span: Span
    start: int
    end: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class UsedSheet:
    """A board that is bought, and what is cut from it."""

    board: Board
    placements: tuple[Placement, ...]


def assemble(
    all_rows: tuple[SurfaceRows, ...],
    sheets: tuple[UsedSheet, ...],
    rules: Rules,
    prefs: Prefs,
) -> tuple[tuple[SurfacePlan, ...], tuple[Sheet, ...], Score, tuple[PlanWarning, ...]]:
    """Surfaces, sheets, score (without its bound) and warnings of a choice."""
    sheets = tuple(_roomy(sheet, all_rows[sheet.placements[0].surface].upright) for sheet in sheets)
    order = sorted(range(len(all_rows)), key=lambda i: (ceilings_before_walls(all_rows[i].surface.kind), i))
    rank = {surface: place for place, surface in enumerate(order)}
    flat = [(placement, number) for number, sheet in enumerate(sheets) for placement in sheet.placements]
    flat.sort(
        key=lambda item: (
            rank[item[0].surface],
            all_rows[item[0].surface].segments[item[0].segment].row,
            item[0].segment,
            item[0].span.first,
        )
    )
    sheet_ids: dict[int, int] = {}
    for _, number in flat:
        sheet_ids.setdefault(number, len(sheet_ids) + 1)
    cuts: dict[int, list[Cut]] = {number: [] for number in sheet_ids}
    pieces: dict[tuple[int, int], list[tuple[Piece, Placement]]] = {}
    for place, (placement, number) in enumerate(flat, start=1):
        rows = all_rows[placement.surface]
        segment = rows.segments[placement.segment]
        piece, turned = _piece(rows, segment, placement, sheets[number].board)
        piece = replace(piece, sheet=sheet_ids[number], number=place)
        pieces.setdefault((placement.surface, segment.row), []).append((piece, placement))
        cuts[number].append(
            Cut(
                place,
                rows.surface.id,
                segment.row,
                from_grid(placement.start),
                min(from_grid(placement.end), sheets[number].board.length_in),
                from_grid(placement.low),
                min(from_grid(placement.high), sheets[number].board.width_in),
                turned,
            )
        )
    surfaces = tuple(_surface_plan(rows, number, pieces, rules) for number, rows in enumerate(all_rows))
    made = tuple(
        Sheet(
            sheet_ids[number],
            sheets[number].board.kind,
            sheets[number].board.thickness_in,
            sheets[number].board.width_in,
            sheets[number].board.length_in,
            sheets[number].board.price,
            tuple(cuts[number]),
        )
        for number in sheet_ids
    )
    score = _score(all_rows, surfaces, made, prefs)
    return surfaces, made, score, _seam_warnings(surfaces)


def _roomy(sheet: UsedSheet, upright: bool) -> UsedSheet:
    """The sheet with its pieces as long as their places, where it has the room.

    Pieces are planned as short as the gaps at their corners allow; no gap is left for nothing.
    """
    if not any(p.span.give for p in sheet.placements):
        return sheet
    run, _ = run_and_room(sheet.board, upright)
    lanes: list[list[tuple[int, int, int, int, Placement]]] = []
    for p in sheet.placements:
        along, across = (p.start, p.end), (p.low, p.high)
        if upright:
            along, across = across, along
        beside = (o for o in lanes if any(across[0] < high and low < across[1] for _, _, low, high, _ in o))
        lane = next(beside, None)
        if lane is None:
            lanes.append(lane := [])
        lane.append((*along, *across, p))
    placements = []
    for lane in lanes:
        lane.sort(key=lambda entry: entry[0])
        room = run - sum(end - start for start, end, *_ in lane)
        at_far_end = lane[-1][1] == run
        at = 0
        for number, (start, end, low, high, p) in enumerate(lane, start=1):
            size = end - start + min(p.span.give, room)
            room -= size - (end - start)
            at = run - size if number == len(lane) and at_far_end else at
            side = (low, high, at, at + size) if upright else (at, at + size, low, high)
            placements.append(Placement(p.surface, p.segment, p.span, *side))
            at += size
    return UsedSheet(sheet.board, tuple(placements))


def _piece(rows: SurfaceRows, segment: Segment, placement: Placement, board: Board) -> tuple[Piece, bool]:
    """The piece with its ends and cut-outs, and whether its sheet is turned half round."""
    span = placement.span
    first, last = segment.stations[span.first], segment.stations[span.last]
    at_start, at_end = span.first == 0, span.last == len(segment.stations) - 1
    start, end = (placement.low, placement.high) if rows.upright else (placement.start, placement.end)
    cut_to = end - start
    spare = max(0, last.at - first.at - cut_to)
    left = first.at + (min(spare, segment.gap_start) if at_start else 0)
    right = min(last.at, left + cut_to) if at_end else last.at
    run, _ = run_and_room(board, rows.upright)
    near, far = start == 0, end == run
    # `near` and `far` say whether the ends on the sheet are factory ends; a half turn
    # swaps them, and is made when the seam would otherwise get the cut end.
    turned = near != far and ((not at_start and at_end and far) or (at_start and not at_end and near))
    left_factory, right_factory = (far, near) if turned else (near, far)
    left_in, right_in = (place_in(rows.surface, rows.frame, at) for at in (left, right))
    # A metric board is planned as the next step up: no piece is told longer than its board.
    most_in = board.width_in if rows.upright else board.length_in
    if at_start:
        left_in = max(left_in, right_in - most_in)
    elif at_end:
        right_in = min(right_in, left_in + most_in)
    band = rows.bands[segment.row]
    low_in, high_in = band.low_in, band.high_in
    if span.height != band.height:
        parts = [s.parts for s in segment.slabs if s.start < last.at and s.end > first.at]
        low, high = min(p[0][0] for p in parts), max(p[-1][1] for p in parts)
        low_in = low_in if low == band.low else across_in(rows.surface, rows.frame, low)
        high_in = high_in if high == band.high else across_in(rows.surface, rows.frame, high)
    piece = Piece(
        left_in,
        right_in,
        "factory" if left_factory else "cut",
        "factory" if right_factory else "cut",
        0,
        bottom_in=low_in,
        top_in=high_in,
    )
    return replace(piece, cutouts=_cutouts(rows, band, piece)), turned


def _cutouts(rows: SurfaceRows, band: Band, piece: Piece) -> tuple[CutOut, ...]:
    """What bites into a piece (`_holes`), measured from its factory end and taper."""
    end = "right" if (piece.left_end, piece.right_end) == ("cut", "factory") else "left"
    edge = "top" if band.tapered_high or not band.tapered_low else "bottom"
    found = []
    for name, kind, shape, sides, least_in in _holes(rows):
        left, right = max(sides[0], piece.left_in), min(sides[1], piece.right_in)
        bottom, top = max(sides[2], piece.bottom_in), min(sides[3], piece.top_in)
        if right - left > least_in and top - bottom > least_in:
            found.append(
                CutOut(
                    name,
                    kind,
                    shape,
                    left,
                    right,
                    bottom,
                    top,
                    end,
                    piece.right_in - right if end == "right" else left - piece.left_in,
                    edge,
                    piece.top_in - top if edge == "top" else bottom - piece.bottom_in,
                )
            )
    return tuple(sorted(found, key=lambda c: (c.left_in, c.bottom_in)))


NOTCH_IN = 1 / 16
"""A notch no wider is a rounding: piece and outline are rounded to 1/32 in each by itself."""


def _holes(rows: SurfaceRows) -> list[tuple[str, str, str, tuple[float, float, float, float], float]]:
    """What a piece may have to be cut out for: (id, kind, shape, sides in the row's coordinates, how wide
    it is at least); openings, boxes, and what lies outside the outline.
    """
    surface = rows.surface
    things: list[tuple[Opening | Box, str]] = [(opening, "rectangle") for opening in surface.openings]
    things += [(box, box.shape) for box in surface.boxes]
    holes = []
    for thing, shape in things:
        x, y = (thing.left_in, thing.right_in), (thing.bottom_in, thing.top_in)
        sides = (*x, *y) if rows.frame.s_is_x else (*y, *x)
        holes.append((thing.id, thing.kind, shape, sides, 0.0))
    outside = [void for void in rows.voids if void.opening < 0] if surface.outline else []
    for number, void in enumerate(outside, start=1):
        low, high = (across_in(surface, rows.frame, at) for at in (void.t_low, void.t_high))
        sides = (from_grid(void.s_low), from_grid(void.s_high), low, high)
        holes.append((f"outline {number}", "notch", "rectangle", sides, NOTCH_IN))
    return holes


def _surface_plan(
    rows: SurfaceRows,
    number: int,
    pieces: dict[tuple[int, int], list[tuple[Piece, Placement]]],
    rules: Rules,
) -> SurfacePlan:
    surface = rows.surface
    made = []
    for band in rows.bands:
        laid = pieces.get((number, band.index), [])
        made.append(
            Row(
                band.low_in,
                band.high_in,
                rows.boards[0].width_in,
                tuple(piece for piece, _ in laid),
                _seams(rows, laid),
                "x" if rows.frame.s_is_x else "y",
                "tapered" if band.tapered_low else "ripped",
                "tapered" if band.tapered_high else "ripped",
                rows.upright,
            )
        )
    return SurfacePlan(
        surface.id, tuple(made), surface.name, surface.kind, surface.width_in, surface.height_in
    )


def _seams(rows: SurfaceRows, laid: list[tuple[Piece, Placement]]) -> tuple[Seam, ...]:
    seams = []
    for (piece, placement), (following, other) in pairwise(laid):
        if placement.segment != other.segment:
            continue
        station = rows.segments[placement.segment].stations[placement.span.last]
        member = rows.surface.members[station.member].id if station.member >= 0 else ""
        seams.append(
            Seam(
                place_in(rows.surface, rows.frame, station.at),
                member,
                station.sure,
                from_grid(station.bearing),
                from_grid(station.seam_length),
                (piece.right_end == "factory") + (following.left_end == "factory"),
                station.pinned,
            )
        )
    return tuple(seams)


def _score(
    all_rows: tuple[SurfaceRows, ...],
    surfaces: tuple[SurfacePlan, ...],
    sheets: tuple[Sheet, ...],
    prefs: Prefs,
) -> Score:
    rows = [row for surface in surfaces for row in surface.rows]
    seams = [seam for row in rows for seam in row.seams]
    # Upright boards meet at their tapered edges along a course, and end to end between two courses.
    ends_in = from_grid(sum(one.end_joints for one in all_rows))
    joint_in = sum(s.length_in for row in rows if not row.upright for s in row.seams) + ends_in
    joint_ft = joint_in / 12.0
    cut_ends = sum(2 - seam.factory_ends for seam in seams)
    unsure = sum(1 for seam in seams if seam.member_id and not seam.sure)
    cost = sum(sheet.price for sheet in sheets)
    total = (
        cost
        + joint_ft * prefs.joint_price_per_ft
        + cut_ends * prefs.cut_end_charge
        + unsure * prefs.unsure_seam_charge
    )
    return Score(
        sheet_cost=cost,
        butt_joint_ft=joint_ft,
        cut_ends_at_seams=cut_ends,
        unsure_seams=unsure,
        total=total,
        joint_price_per_ft=prefs.joint_price_per_ft,
        cut_end_charge=prefs.cut_end_charge,
        unsure_seam_charge=prefs.unsure_seam_charge,
    )


def _seam_warnings(surfaces: tuple[SurfacePlan, ...]) -> tuple[PlanWarning, ...]:
    warnings = []
    for surface in surfaces:
        for row in surface.rows:
            for seam in row.seams:
                where = format_length(seam.position_in)
                if not seam.member_id:
                    warnings.append(
                        PlanWarning(
                            "backing_needed",
                            f"No member can carry the seam at {where} of {surface.id}.",
                            'Put in a stud or solid backing there, at least 1-1/2" wide, '
                            "before the board goes up.",
                            surface.id,
                            "seam_bears_on_member",
                        )
                    )
                elif not seam.sure:
                    warnings.append(
                        PlanWarning(
                            "check_with_tape",
                            f"The seam at {where} of {surface.id} is on member "
                            f"{seam.member_id}: a seam wants its middle known more exactly than it is.",
                            "Check with a tape first: measure to that member's centre.",
                            surface.id,
                            "seam_bears_on_member",
                        )
                    )
    return tuple(warnings)
