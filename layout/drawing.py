"""A dimensioned drawing of a boarded surface as SVG text.

Pure: a plan in, text out.  Names that users gave are escaped.  Seams are measured from the
corner where x is 0; cut-outs from the piece's factory end and tapered edge.
"""

from __future__ import annotations

from html import escape

from layout.framing import Surface
from layout.lengths import format_length
from layout.plan_types import Piece, Row, SurfacePlan

__all__ = ["surface_svg"]

PX_PER_IN = 4.0
MARGIN_PX = 70.0
STYLE = """
.board{fill:#f4efe4;stroke:#5b5347;stroke-width:1.5}
.cutout{fill:#fff;stroke:#5b5347;stroke-dasharray:4 2}
.member{stroke:#c9b48a;stroke-width:1;stroke-dasharray:6 4}
.factory{stroke:#1f6f43;stroke-width:4}
.cut{stroke:#b3541e;stroke-width:3;stroke-dasharray:3 3}
.unsure{fill:#b3261e}
text{font-family:sans-serif;font-size:13px;fill:#222}
.number{font-size:20px;font-weight:bold}
.dim{stroke:#222;stroke-width:1}
"""


def surface_svg(
    plan: SurfacePlan, surface: Surface, length_style: str = "feet_inches", title: str = ""
) -> str:
    """Drawing of one surface: rows, numbered pieces, ends, cut-outs, seam distances.

    Parameters
    ----------
    plan : SurfacePlan
    surface : Surface
        The framing of the same surface.
    length_style : {"feet_inches", "inches", "mm"}
    title : str
        Heading; the surface's name when empty.

    Returns
    -------
    str
        A complete SVG document.
    """
    sheet = _Sheet(surface.width_in, surface.height_in)
    heading = title or plan.name or plan.id
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{sheet.width:.0f}" height="{sheet.height:.0f}" '
        f'viewBox="0 0 {sheet.width:.0f} {sheet.height:.0f}" role="img" aria-label="{escape(heading)}">',
        f"<title>{escape(heading)}</title><style>{STYLE}</style>",
        f'<text x="{MARGIN_PX}" y="24" class="number">{escape(heading)}</text>',
    ]
    for row in plan.rows:
        for piece in row.pieces:
            parts += _piece(sheet, row, piece, length_style)
    parts += _members(sheet, surface)
    for row in plan.rows:
        for piece in row.pieces:
            parts += _ends(sheet, row, piece)
        parts += _dimensions(sheet, row, length_style)
    width = format_length(surface.width_in, length_style)
    height = format_length(surface.height_in, length_style)
    parts.append(
        f'<text x="{sheet.x(surface.width_in / 2):.1f}" y="{sheet.height - 14:.1f}" '
        f'text-anchor="middle">{escape(width)} x {escape(height)}</text>'
    )
    parts.append(
        f'<text x="{MARGIN_PX}" y="42">green: factory end; orange, dashed: cut end; '
        "numbers: hanging order</text></svg>"
    )
    return "\n".join(parts)


class _Sheet:
    """From inches (y up) to the drawing's pixels (y down)."""

    def __init__(self, width_in: float, height_in: float) -> None:
        self.scale = min(PX_PER_IN, 1600.0 / max(width_in, height_in))
        self._top = height_in
        self.width = 2 * MARGIN_PX + width_in * self.scale
        self.height = 2 * MARGIN_PX + height_in * self.scale

    def x(self, x_in: float) -> float:
        return MARGIN_PX + x_in * self.scale

    def y(self, y_in: float) -> float:
        return MARGIN_PX + (self._top - y_in) * self.scale

    def rectangle(self, row: Row, sides: tuple[float, float, float, float], css: str) -> str:
        """A rectangle (left, right, bottom, top in the row's own directions)."""
        left, right, bottom, top = sides if row.direction == "x" else (*sides[2:], *sides[:2])
        return (
            f'<rect x="{self.x(left):.1f}" y="{self.y(top):.1f}" class="{css}" '
            f'width="{(right - left) * self.scale:.1f}" height="{(top - bottom) * self.scale:.1f}"/>'
        )

    def line(self, row: Row, at: float, bottom: float, top: float, css: str) -> str:
        """A line across a row at a place along it."""
        ends = ((at, bottom), (at, top)) if row.direction == "x" else ((bottom, at), (top, at))
        (x1, y1), (x2, y2) = ends
        return (
            f'<line x1="{self.x(x1):.1f}" y1="{self.y(y1):.1f}" x2="{self.x(x2):.1f}" '
            f'y2="{self.y(y2):.1f}" class="{css}"/>'
        )

    def text(self, row: Row, along: float, across: float, words: str, css: str = "") -> str:
        x, y = (along, across) if row.direction == "x" else (across, along)
        return (
            f'<text x="{self.x(x):.1f}" y="{self.y(y):.1f}" text-anchor="middle" class="{css}">'
            f"{escape(words)}</text>"
        )


def _piece(sheet: _Sheet, row: Row, piece: Piece, style: str) -> list[str]:
    sides = (piece.left_in, piece.right_in, piece.bottom_in, piece.top_in)
    parts = [sheet.rectangle(row, sides, "board")]
    for hole in piece.cutouts:
        parts.append(
            sheet.rectangle(row, (hole.left_in, hole.right_in, hole.bottom_in, hole.top_in), "cutout")
        )
        words = (
            f"{hole.kind} {format_length(hole.from_end_in, style)} from the {hole.end} end, "
            f"{format_length(hole.from_edge_in, style)} from the {hole.edge} edge"
        )
        parts[-1] = parts[-1].replace("/>", f"><title>{escape(words)}</title></rect>")
    middle = (piece.left_in + piece.right_in) / 2
    across = (piece.bottom_in + piece.top_in) / 2
    parts.append(sheet.text(row, middle, across, str(piece.number), "number"))
    parts.append(
        sheet.text(
            row,
            middle,
            across - 16 / sheet.scale,
            f"{format_length(piece.length_in, style)} of sheet {piece.sheet}",
        )
    )
    return parts


def _members(sheet: _Sheet, surface: Surface) -> list[str]:
    parts = []
    for member in surface.members:
        if surface.members_run == "up":
            low = member.bottom_in or 0.0
            high = surface.height_in if member.top_in is None else member.top_in
            ends = (member.centre_in, low, member.centre_in, high)
        else:
            ends = (0.0, member.centre_in, surface.width_in, member.centre_in)
        parts.append(
            f'<line x1="{sheet.x(ends[0]):.1f}" y1="{sheet.y(ends[1]):.1f}" '
            f'x2="{sheet.x(ends[2]):.1f}" y2="{sheet.y(ends[3]):.1f}" class="member"/>'
        )
    return parts


def _ends(sheet: _Sheet, row: Row, piece: Piece) -> list[str]:
    inset = 3 / sheet.scale
    return [
        sheet.line(row, at, piece.bottom_in + inset, piece.top_in - inset, kind)
        for at, kind in (
            (piece.left_in + inset, piece.left_end),
            (piece.right_in - inset, piece.right_end),
        )
    ]


def _dimensions(sheet: _Sheet, row: Row, style: str) -> list[str]:
    """Distance of each seam from the corner, beside the seam."""
    parts = []
    for seam in row.seams:
        words = format_length(seam.position_in, style) + ("" if seam.sure else " ?")
        parts.append(
            sheet.text(
                row, seam.position_in, row.top_in - 14 / sheet.scale, words, "" if seam.sure else "unsure"
            )
        )
    return parts
