"""Printed pages: the same content gives the same bytes, a piece to tick off stays on one page."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from layout import Job, Plan
from layout.stack_types import Lot, Site, Stack, StackPlan
from ui.paper import Paper, paper_size, printable
from ui.site_plan import SitePlan
from ui.site_printing import signs_pdf
from ui.words import Words

MADE = datetime(2026, 1, 2, tzinfo=UTC)


def page_of(text: str = "Piece", lines: int = 8, before: int = 0) -> tuple[Paper, int]:
    paper = Paper("Test", made=MADE)
    paper.bullets(["a line"] * before)
    paper.to_tick(text, [f"line {n}" for n in range(lines)])
    return paper, paper.pdf.page_no()


def test_the_same_content_gives_the_same_bytes() -> None:
    assert page_of()[0].output() == page_of()[0].output()


def test_what_is_ticked_off_together_goes_to_the_next_page_rather_than_over_its_end() -> None:
    at_the_end = next(n for n in range(5, 80) if page_of(lines=8, before=n)[1] == 2)
    # one line less still fits the first page: the break came for the piece, not within it
    assert page_of(lines=8, before=at_the_end - 1)[1] == 1
    paper = Paper("Test", made=MADE)
    paper.bullets(["a line"] * at_the_end)
    assert paper.pdf.page_no() == 1
    paper.to_tick("Piece", [f"line {n}" for n in range(8)])
    first_line_mm = 14 + 17 * 0.44 + 8 * 12.5 * 0.44
    assert paper.pdf.get_y() == pytest.approx(first_line_mm, abs=12)


@pytest.mark.parametrize(
    ("text", "printed"),
    [("12’ – “x”", '12\' - "x"'), ("½ × 3/8", "½ × 3/8"), ("piñón", "piñón"), ("木工", "??")],
)
def test_signs_the_fonts_lack_are_replaced(text: str, printed: str) -> None:
    assert printable(text) == printed


def test_metric_jobs_are_printed_on_a4() -> None:
    assert (paper_size("us"), paper_size("ca"), paper_size("uk")) == ("letter", "letter", "a4")
    assert Paper("T", "a4", MADE).pdf.w == pytest.approx(210, abs=0.1)


@pytest.mark.parametrize("sizes", [1, 4, 9, 12])
def test_the_sign_of_a_stack_is_one_page_however_many_sizes_lie_in_it(sizes: int) -> None:
    lots = tuple(
        Lot(f"l{n}", "sag_resistant", 0.5, 48.0, 96.0 + n, 2, "Den", ("C",), ceiling=True)
        for n in range(sizes)
    )
    stack = Stack(1, "N", "Den", 0.0, 144.0, 48.0, "flat", lots, 900.0, 20.0)
    found = SitePlan(Job(()), Plan(), {"N": "Den", "C": "Den"}, names={"N": "North", "C": "Ceiling"})
    pages = signs_pdf(StackPlan((stack,)), Site(), found, Words("en"), "feet_inches", made=MADE)
    assert pages.count(b"/Type /Page\n") == 1
