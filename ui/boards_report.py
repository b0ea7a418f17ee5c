"""A plan as ``seamwright boards`` prints it for people; the JSON is `layout.plan_to_json`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from layout import Plan, format_length, in_style, in_to_mm
from layout.hanging import LEAST_HOLE_IN
from layout.plan_types import CutOut, Piece, Row, Sheet, SurfacePlan
from ui.board_size import board_size

PLANNED_TO_IN = 1 / 16  # nearer than this, a place and what is cut for it are one size


def boards_table(plan: Plan, style: str, members_in: Iterable[float] = ()) -> str:
    """Per surface its rows, pieces and seams in hanging order, then sheets, cuts, cost and notes.

    `style` is a style of `layout.lengths.format_length`: "feet_inches" or "mm".  `members_in` are
    places of members that the plan may speak of.
    """
    lines: list[str] = []
    seams_in = [seam.position_in for surface in plan.surfaces for row in surface.rows for seam in row.seams]
    known_in = (*members_in, *seams_in)
    for surface in plan.surfaces:
        lines += _surface_lines(surface, style, known_in)
    lines.append("Sheet list:")
    for line in plan.order:
        parts = ((line.spare, "spare"), (line.to_fill, "to fill a bundle"))
        more = "".join(f", {count} of them {what}" for count, what in parts if count)
        size = board_size(line.length_in, line.width_in, style, line.thickness_in)
        lines.append(f"  {line.to_buy:>3}  {size} {line.kind}{more}")
    if not plan.order:
        lines.append("  none")
    lines += ["", "Cut list, pieces by their number in hanging order:"]
    hung = {piece.number: piece for surface in plan.surfaces for row in surface.rows for piece in row.pieces}
    lines += [_cut_line(sheet, hung, style) for sheet in plan.sheets]
    score = plan.score
    lines += [
        "",
        f"Sheets used cost {score.sheet_cost:.2f}; {_run(score.butt_joint_ft, style)} of butt joints; "
        f"{score.cut_ends_at_seams} cut ends at seams; " + _how_good(plan),
    ]
    if plan.warnings:
        lines.append("")
        lines += [
            f"Note: {in_style(f'{warning.message} {warning.advice}', style, known_in)}"
            for warning in plan.warnings
        ]
    return "\n".join(lines)


def _how_good(plan: Plan) -> str:
    if plan.bare:
        return "not all surfaces have boards, see the notes."
    if plan.score.proved_optimal:
        return "proved the best under these rules."
    return f"at most {100 * plan.score.gap:.1f} % above the best."


def _run(length_ft: float, style: str) -> str:
    return f"{in_to_mm(12 * length_ft) / 1000:.1f} m" if style == "mm" else f"{length_ft:.1f} ft"


def _surface_lines(surface: SurfacePlan, style: str, known_in: tuple[float, ...]) -> list[str]:
    name = f"{surface.id} ({surface.name})" if surface.name not in ("", surface.id) else surface.id
    # what a kept job calls "Wall A" is not said to be a wall twice
    kind = "" if surface.kind in surface.id.lower() else f"{surface.kind.capitalize()} "
    lines = [f"{kind}{name}:"]
    for number, row in enumerate(surface.rows, start=1):
        pieces = " | ".join(_piece(piece, row, style) for piece in row.pieces)
        standing = ", boards upright" if row.upright else ""
        lines.append(f"  row {number}, {_height(row, style)}{standing}: {pieces}")
        lines += [
            _hole(hole, piece, row, style) for piece in row.pieces for hole in piece.cutouts if _is_cut(hole)
        ]
        for seam in row.seams:
            sure = "" if seam.sure else " (check with a tape first)"
            where = format_length(seam.position_in, style)
            why = in_style(f"{seam.reason} {seam.next_best}".strip(), style, known_in)
            lines.append(f"    seam at {where}{sure}: {why}")
    if not surface.rows:
        lines.append("  cannot be boarded as it is, see the notes")
    lines.append("")
    return lines


def _cut_line(sheet: Sheet, hung: Mapping[int, Piece], style: str) -> str:
    """One sheet: the piece that is cut from it first, then those that its off-cut serves."""
    size = board_size(sheet.length_in, sheet.width_in, style)
    pieces = []
    for cut in sheet.cuts:
        along, across = (
            _as_hung(side_in, hung.get(cut.piece))
            for side_in in (cut.end_in - cut.start_in, cut.high_in - cut.low_in)
        )
        measures = f"{format_length(along, style)} x {format_length(across, style)}"
        pieces.append(f"piece {cut.piece} ({cut.surface} row {cut.row + 1}), {measures}")
    rest = f"; the off-cut gives {'; '.join(pieces[1:])}" if len(pieces) > 1 else ""
    return f"  sheet {sheet.id}, {size}: {pieces[0]}{rest}"


def _as_hung(cut_in: float, piece: Piece | None) -> float:
    """The side of a cut as its row gives it: the planner's own 1/32 in must not make two sizes of one."""
    sides = () if piece is None else (piece.length_in, piece.height_in)
    return next((side for side in sides if abs(side - cut_in) < PLANNED_TO_IN), cut_in)


def _height(row: Row, style: str) -> str:
    along = "mm" if style == "mm" else "inches"
    return f"{format_length(row.bottom_in, along)} to {format_length(row.top_in, along)}"


def _is_cut(hole: CutOut) -> bool:
    return min(hole.right_in - hole.left_in, hole.top_in - hole.bottom_in) >= LEAST_HOLE_IN


def _hole(hole: CutOut, piece: Piece, row: Row, style: str) -> str:
    """Where a hole is in its piece: from the factory end, and from the tapered edge."""
    along, across = ("side", "end") if row.upright else ("end", "edge")
    name = hole.kind if hole.kind == "notch" else f"{hole.kind} {hole.id}"
    name += ", round" if hole.shape == "round" else ""
    width, height, from_end, from_edge = (
        format_length(length_in, style)
        for length_in in (
            hole.right_in - hole.left_in,
            hole.top_in - hole.bottom_in,
            hole.from_end_in,
            hole.from_edge_in,
        )
    )
    return (
        f"    cut out of piece {piece.number}: {name}, {width} wide x {height} high, "
        f"{from_end} from the {hole.end} {along}, {from_edge} from the {hole.edge} {across}"
    )


def _piece(piece: Piece, row: Row, style: str) -> str:
    """ "9' 4-1/4" (sheet 3, factory end right)"; boards that stand have edges left and right."""
    factory = [
        side for side, end in (("left", piece.left_end), ("right", piece.right_end)) if end == "factory"
    ]
    end = "edge" if row.upright else "end"
    ends = f"factory {end} {' and '.join(factory)}" if factory else f"both {end}s cut"
    return f"{format_length(piece.length_in, style)} (sheet {piece.sheet}, {ends})"
