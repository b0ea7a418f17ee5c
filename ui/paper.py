"""Printed pages: black on white, large, on letter or A4, numbered; made with fpdf2.

The standard fonts of PDF know western letters only: any other sign becomes a question mark.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from fpdf import FPDF
from fpdf.enums import MethodReturnValue, XPos, YPos

__all__ = ["Paper", "paper_size"]

MARGIN_MM = 14.0
BODY_PT = 13.0
SMALL_PT = 10.5
_PLAIN = {
    "’": "'",
    "‘": "'",
    "“": '"',
    "”": '"',
    "–": "-",
    "—": "-",
    "−": "-",
    "…": "...",
    "•": "-",
}


def paper_size(market: str) -> str:
    """Letter where boards are sold in feet, A4 elsewhere."""
    return "a4" if market == "uk" else "letter"


def printable(text: str) -> str:
    """The text with what the fonts lack replaced."""
    for sign, plain in _PLAIN.items():
        text = text.replace(sign, plain)
    return text.encode("latin-1", "replace").decode("latin-1")


class _Pages(FPDF):
    """Pages with a foot: what it is, and which page of how many."""

    foot = ""

    def footer(self) -> None:
        self.set_y(-11)
        self.set_font("Helvetica", size=9)
        self.cell(0, 5, printable(f"{self.foot}    {self.page_no()} / {{nb}}"), align="C")


class Paper:
    """A document being written, from top to bottom.

    Parameters
    ----------
    title : str
        What the document is; stands in the foot of each page and in the file's own title.
    size : {"letter", "a4"}
    made : datetime, optional
        When it says it was made (now); fixed in tests, so that the same content gives the same bytes.
    """

    def __init__(self, title: str, size: str = "letter", made: datetime | None = None) -> None:
        self.pdf = _Pages(format="Letter" if size == "letter" else "A4", unit="mm")
        self.pdf.foot = title
        self.pdf.set_title(title)
        self.pdf.set_creation_date(made or datetime.now(UTC))
        self.pdf.set_auto_page_break(True, margin=16)
        self.pdf.set_margins(MARGIN_MM, MARGIN_MM, MARGIN_MM)
        self.pdf.add_page()

    @property
    def width_mm(self) -> float:
        """Width between the margins."""
        return float(self.pdf.epw)

    def page(self) -> None:
        """Begin a new page, unless this one is still empty."""
        if self.pdf.get_y() > MARGIN_MM + 1:
            self.pdf.add_page()

    def room_for(self, height_mm: float) -> None:
        """Begin a new page when less than this is left on it."""
        if self.pdf.get_y() + height_mm > self.pdf.h - 18:
            self.pdf.add_page()

    def heading(self, text: str, points: float = 22.0) -> None:
        """A heading in bold."""
        self.room_for(points)
        self._lines(text, points, "B", gap_mm=1.5)

    def paragraph(self, text: str, points: float = BODY_PT, *, bold: bool = False) -> None:
        """A paragraph over the whole width."""
        self._lines(text, points, "B" if bold else "", gap_mm=1.0)

    def bullets(self, lines: Sequence[str], points: float = BODY_PT, indent_mm: float = 5.0) -> None:
        """Lines with a dash before each."""
        for line in lines:
            self.pdf.set_font("Helvetica", size=points)
            self.pdf.set_x(MARGIN_MM + indent_mm - 4)
            height = points * 0.44
            self.room_for(height)
            self.pdf.cell(4, height, "-")
            self.pdf.multi_cell(
                self.width_mm - indent_mm,
                height,
                printable(line),
                align="L",
                new_x=XPos.LMARGIN,
                new_y=YPos.NEXT,
            )

    def caution(self, lines: Sequence[str]) -> None:
        """What can hurt somebody, in a thick frame."""
        pdf, line_mm, wide_mm = self.pdf, SMALL_PT * 0.44, self.width_mm - 6
        pdf.set_font("Helvetica", "B", SMALL_PT)
        texts = [printable(line) for line in lines]
        self.room_for(sum(self._height_mm(text, wide_mm, line_mm) for text in texts) + 8)
        pdf.ln(1)
        top_mm = pdf.get_y()
        pdf.set_y(top_mm + 2)
        for text in texts:
            pdf.set_x(MARGIN_MM + 3)
            pdf.multi_cell(wide_mm, line_mm, text, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        pdf.set_line_width(1.0)
        pdf.rect(MARGIN_MM, top_mm, self.width_mm, pdf.get_y() - top_mm + 2)
        pdf.set_line_width(0.2)
        pdf.ln(5)

    def to_tick(
        self, text: str, lines: Sequence[str], points: float = 17.0, small_points: float = 12.5
    ) -> None:
        """A heading with an empty box before it, to tick off with a pencil, and lines under it.

        All of it stays on one page if it fits on one.
        """
        indent_mm = 13.0
        self.pdf.set_font("Helvetica", size=small_points)
        high_mm = points * 0.44 + sum(
            self._height_mm(printable(line), self.width_mm - indent_mm, small_points * 0.44) for line in lines
        )
        self.room_for(min(high_mm, self.pdf.h - 40))
        self._tick(text, points)
        self.bullets(lines, small_points, indent_mm)
        self.gap(2.5)

    def _height_mm(self, text: str, wide_mm: float, line_mm: float) -> float:
        """How high a text becomes in the present font."""
        high = self.pdf.multi_cell(
            wide_mm, line_mm, text, align="L", dry_run=True, output=MethodReturnValue.HEIGHT
        )
        return float(high)  # type: ignore[arg-type]

    def _tick(self, text: str, points: float) -> None:
        side = points * 0.36
        y = self.pdf.get_y()
        self.pdf.set_line_width(0.6)
        self.pdf.rect(MARGIN_MM, y + 0.6, side, side)
        self.pdf.set_line_width(0.2)
        self.pdf.set_font("Helvetica", "B", points)
        self.pdf.set_x(MARGIN_MM + side + 3)
        self.pdf.multi_cell(
            self.width_mm - side - 3,
            points * 0.44,
            printable(text),
            align="L",
            new_x=XPos.LMARGIN,
            new_y=YPos.NEXT,
        )

    def table(
        self,
        head: Sequence[str],
        rows: Sequence[Sequence[str]],
        shares: Sequence[float],
        points: float = 12.0,
    ) -> None:
        """A table; `shares` are the columns' parts of the width. It goes on over pages with its head."""
        self.pdf.set_font("Helvetica", size=points)
        total = sum(shares)
        with self.pdf.table(
            col_widths=tuple(share / total * self.width_mm for share in shares),
            line_height=points * 0.5,
            text_align="LEFT",
            padding=1.2,
        ) as table:
            for line in (head, *rows):
                cells = table.row()
                for text in line:
                    cells.cell(printable(text))
        self.pdf.ln(2)

    def gap(self, mm: float = 3.0) -> None:
        """Leave some room."""
        self.pdf.ln(mm)

    def output(self) -> bytes:
        """The finished document."""
        return bytes(self.pdf.output())

    def _lines(self, text: str, points: float, style: str, gap_mm: float) -> None:
        self.pdf.set_font("Helvetica", style, points)
        self.pdf.multi_cell(0, points * 0.44, printable(text), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.pdf.ln(gap_mm)
