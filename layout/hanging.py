"""Cutting and hanging: a card for each surface, with all that is needed to cut and hang each piece.

Ceilings come first (NAVEDTRA 14044 p. 164).  Lengths on a piece are measured from its factory end and
its tapered edge, because those two are straight and square; places on the framing from the surface's
left corner.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from layout.framing import Member, Surface
from layout.plan_types import Cut, CutOut, Piece, Plan, Row, Sheet, SurfacePlan
from layout.screws import EDGE_IN, screw_spacing_in, screws_on_member
from layout.weights import board_weight_lb

__all__ = ["SAWN_IN", "Hole", "PieceCard", "ScrewRow", "SeamMark", "SurfaceCard", "cards_of"]

AT_A_SEAM_IN = 1.5
"""A member this near to the end of a piece carries the seam there."""
END_IN = 0.5
"""A seam this near to a piece's end is at that end."""
SAWN_IN = 1 / 32
"""Less than this off a board is not cut off: the finest that lengths are planned in."""
LEAST_HOLE_IN = 1 / 16
"""A cut-out narrower than this is an end that stops at an opening's edge."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A cut-out on a piece: from the end it is measured from to its near and far side, and the same
    from the edge (`end` "left" or "right", `edge` "top" or "bottom", as hung)."""

    id: str
    kind: str
    shape: str
    end: str
    near_in: float
    far_in: float
    edge: str
    low_in: float
    high_in: float


@dataclass(frozen=True, slots=True)
class ScrewRow:
    """Screws along one member across a piece.

    Attributes
    ----------
    at_in : float
        From the piece's factory side (its left side when both or neither are) to the screws: on the
        member's centre, at an end 3/8 in from it.
    at_seam : bool
        True where the next board ends on the same member: the screws are started, and driven home
        when both boards are up (common practice, no source).
    """

    member_id: str
    at_in: float
    count: int
    at_seam: bool = False


@dataclass(frozen=True, slots=True)
class SeamMark:
    """Where a seam lands: a mark to put on the framing before the board covers it."""

    position_in: float
    from_right_in: float
    member_id: str
    sure: bool
    row: int
    reason: str = ""


@dataclass(frozen=True, slots=True)
class PieceCard:
    """One piece: where it comes from, how it is cut, where it goes.

    Attributes
    ----------
    source : {"whole", "first", "offcut"}
        A sheet that is not cut to length or width, the first cut of a fresh sheet, or what an
        earlier cut has left of it.
    measured_from : {"left", "right", "top"}
        The end (as hung) that the length is measured from: the factory end; "top" for a board that
        stands.  Cut-outs name the end they are measured from themselves, screw rows are measured from
        the same side as the cut-outs.
    factory_ends : tuple of str
        Which ends (as hung) are factory ends; when none is, both are cut and the end measured
        from must be cut square first.
    cut_length_in : float
        What the piece is long; equal to the sheet's length when it is not cut.
    ripped_to_in : float or None
        What it is ripped to, measured from its tapered edge (`tapered_edge`, as hung).
    """

    number: int
    row: int
    sheet: int
    source: str
    kind: str
    thickness_in: float
    sheet_width_in: float
    sheet_length_in: float
    cut_length_in: float
    measured_from: str
    factory_ends: tuple[str, ...]
    ripped_to_in: float | None
    tapered_edge: str
    left_in: float
    right_in: float
    bottom_in: float
    top_in: float
    holes: tuple[Hole, ...]
    screws: tuple[ScrewRow, ...]
    weight_lb: float

    @property
    def screw_count(self) -> int:
        """All screws of the piece."""
        return sum(row.count for row in self.screws)


@dataclass(frozen=True, slots=True)
class SurfaceCard:
    """Everything for one surface.

    Attributes
    ----------
    place : int
        Its turn in the hanging order, from 1.
    framing_in : tuple of float
        Centres of the members, from the left corner: to be marked on floor and ceiling (or on the
        walls, for a ceiling) before the boards hide them.
    direction : {"x", "y"}
        Which way the rows run (`layout.plan_types.Row`).
    """

    place: int
    id: str
    name: str
    kind: str
    room: str
    width_in: float
    height_in: float
    direction: str
    upright: bool
    screw_spacing_in: float
    framing_in: tuple[float, ...]
    marks: tuple[SeamMark, ...]
    pieces: tuple[PieceCard, ...]


def cards_of(
    plan: Plan,
    surfaces: tuple[Surface, ...],
    rooms: Mapping[str, str] | None = None,
    market: str = "us",
) -> tuple[SurfaceCard, ...]:
    """The cards of a job in hanging order; a surface that got no boards has none."""
    framing = {surface.id: surface for surface in surfaces}
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    laid = [surface for surface in plan.surfaces if any(row.pieces for row in surface.rows)]
    laid.sort(key=lambda s: (s.kind == "wall", min(p.number for row in s.rows for p in row.pieces)))
    return tuple(
        _card(place, surface, framing[surface.id], sheets, (rooms or {}).get(surface.id, ""), market)
        for place, surface in enumerate(laid, start=1)
    )


def _card(
    place: int, plan: SurfacePlan, surface: Surface, sheets: dict[int, Sheet], room: str, market: str
) -> SurfaceCard:
    spacing_in = screw_spacing_in(surface.kind, _on_centre_in(surface), market)
    pieces = [
        _piece_card(piece, number, row, surface, sheets[piece.sheet], spacing_in)
        for number, row in enumerate(plan.rows, start=1)
        for piece in row.pieces
    ]
    first = next(row for row in plan.rows if row.pieces)
    along_in = surface.width_in if first.direction == "x" else surface.height_in
    marks = [
        SeamMark(
            seam.position_in, along_in - seam.position_in, seam.member_id, seam.sure, number, seam.reason
        )
        for number, row in enumerate(plan.rows, start=1)
        for seam in row.seams
    ]
    return SurfaceCard(
        place,
        plan.id,
        plan.name or plan.id,
        plan.kind,
        room,
        surface.width_in,
        surface.height_in,
        first.direction,
        first.upright,
        spacing_in,
        tuple(member.centre_in for member in surface.members),
        tuple(marks),
        tuple(sorted(pieces, key=lambda piece: piece.number)),
    )


def _on_centre_in(surface: Surface) -> float:
    """The widest usual distance between neighbouring members: the median, so that one odd bay does
    not change the spacing of all screws."""
    gaps = sorted(b.centre_in - a.centre_in for a, b in pairwise(surface.members))
    return gaps[len(gaps) // 2] if gaps else 0.0


def _piece_card(
    piece: Piece, number: int, row: Row, surface: Surface, sheet: Sheet, spacing_in: float
) -> PieceCard:
    factory = tuple(
        side for side, end in (("left", piece.left_end), ("right", piece.right_end)) if end == "factory"
    )
    side = "right" if factory == ("right",) else "left"
    # a piece that was cut down says so itself; 0 and 0 mean as high as its row
    bottom_in, top_in = piece.bottom_in, piece.top_in
    if top_in <= bottom_in:
        bottom_in, top_in = row.bottom_in, row.top_in
    along_in, across_in = piece.length_in, top_in - bottom_in
    if row.upright:
        # the board stands: its ends are up and down, its tapered edges left and right
        measured_from, tapered, factory = "top", side, _ends_up(piece, sheet)
    else:
        measured_from = side
        tapered = "top" if row.top_edge == "tapered" or row.bottom_edge != "tapered" else "bottom"
    share = along_in * across_in / (sheet.length_in * sheet.width_in)
    whole_lb = board_weight_lb(sheet.kind, sheet.thickness_in, sheet.width_in, sheet.length_in)
    return PieceCard(
        piece.number,
        number,
        sheet.id,
        _source(piece, sheet),
        sheet.kind,
        sheet.thickness_in,
        sheet.width_in,
        sheet.length_in,
        across_in if row.upright else along_in,
        measured_from,
        factory,
        _ripped_to_in(row, sheet, along_in, across_in),
        tapered,
        piece.left_in,
        piece.right_in,
        bottom_in,
        top_in,
        tuple(
            _hole(hole, piece, bottom_in, top_in, side)
            for hole in piece.cutouts
            if min(hole.right_in - hole.left_in, hole.top_in - hole.bottom_in) >= LEAST_HOLE_IN
        ),
        _screws(piece, row, surface, bottom_in, top_in, spacing_in, side),
        whole_lb * min(1.0, share),
    )


def _ends_up(piece: Piece, sheet: Sheet) -> tuple[str, ...]:
    """Factory ends of a board that stands: one that is there goes up, under the ceiling."""
    cut = next((cut for cut in sheet.cuts if cut.piece == piece.number), None)
    if cut is None:
        return ()
    ends = (cut.start_in <= SAWN_IN) + (cut.end_in >= sheet.length_in - SAWN_IN)
    return ("top", "bottom")[:ends]


def _ripped_to_in(row: Row, sheet: Sheet, along_in: float, across_in: float) -> float | None:
    """What a piece is narrower than its sheet, if it is: across the row, or along it for upright boards."""
    narrow_in = along_in if row.upright else across_in
    return narrow_in if narrow_in < sheet.width_in - SAWN_IN else None


def _source(piece: Piece, sheet: Sheet) -> str:
    cuts = sorted(sheet.cuts, key=lambda cut: cut.piece)
    mine = next((cut for cut in cuts if cut.piece == piece.number), None)
    if mine is None or (len(cuts) == 1 and _is_whole(mine, sheet)):
        return "whole"
    return "first" if cuts[0].piece == piece.number else "offcut"


def _is_whole(cut: Cut, sheet: Sheet) -> bool:
    return (
        cut.end_in - cut.start_in >= sheet.length_in - SAWN_IN
        and cut.high_in - cut.low_in >= sheet.width_in - SAWN_IN
    )


def _hole(hole: CutOut, piece: Piece, bottom_in: float, top_in: float, end: str) -> Hole:
    if end == "left":
        near, far = hole.left_in - piece.left_in, hole.right_in - piece.left_in
    else:
        near, far = piece.right_in - hole.right_in, piece.right_in - hole.left_in
    if hole.edge == "top":
        low, high = top_in - hole.top_in, top_in - hole.bottom_in
    else:
        low, high = hole.bottom_in - bottom_in, hole.top_in - bottom_in
    return Hole(hole.id, hole.kind, hole.shape, end, near, far, hole.edge, low, high)


def _screws(
    piece: Piece,
    row: Row,
    surface: Surface,
    bottom_in: float,
    top_in: float,
    spacing_in: float,
    side: str,
) -> tuple[ScrewRow, ...]:
    """Screw rows on the members that cross a piece, from its left or right end."""
    if (row.direction == "x") != (surface.members_run == "up"):
        return ()
    seams = [seam.position_in for seam in row.seams]
    found = []
    for member in surface.members:
        at_in, half_in = member.centre_in, member.face_in / 2
        if at_in + half_in <= piece.left_in or at_in - half_in >= piece.right_in:
            continue
        height_in = _covered_in(member, surface, bottom_in, top_in)
        if height_in <= 0.0:
            continue
        at_seam = any(
            abs(seam - at_in) <= max(half_in, AT_A_SEAM_IN)
            and min(abs(seam - piece.left_in), abs(seam - piece.right_in)) < 0.5
            for seam in seams
        )
        from_end = at_in - piece.left_in if side == "left" else piece.right_in - at_in
        inside = max(min(max(from_end, EDGE_IN), piece.length_in - EDGE_IN), 0.0)
        found.append(ScrewRow(member.id, inside, screws_on_member(height_in, spacing_in), at_seam))
    return tuple(sorted(found, key=lambda screw: screw.at_in))


def _covered_in(member: Member, surface: Surface, bottom_in: float, top_in: float) -> float:
    """How much of a member lies behind a piece: less for a partial one, and beside openings."""
    low = max(bottom_in, member.bottom_in if member.bottom_in is not None else bottom_in)
    high = min(top_in, member.top_in if member.top_in is not None else top_in)
    covered = max(0.0, high - low)
    for opening in surface.openings:
        near, far, below, above = opening.left_in, opening.right_in, opening.bottom_in, opening.top_in
        if surface.members_run != "up":
            near, far, below, above = below, above, near, far
        if near < member.centre_in < far:
            covered -= max(0.0, min(high, above) - max(low, below))
    return max(0.0, covered)
