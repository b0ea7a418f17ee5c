"""What the papers of an order say beside the boards: walls nobody measured, prices nobody gave."""

from __future__ import annotations

from dataclasses import replace

import pytest
from printed import text_of

from layout import Job, plan_job, stock_for
from tests.layout.common import sixteen_in_wall
from ui.buying import Buying
from ui.order_papers import order_csv, order_pdf, order_text
from ui.order_sheet import bought
from ui.words import Words

WORDS = Words("en")


@pytest.fixture(scope="module")
def measured():
    job = Job((sixteen_in_wall(144.0),), stock=stock_for("us"), name="Basement")
    return bought(job, plan_job(job), Buying(), {})


def papers(all_of_it) -> list[str]:
    return [order_text(all_of_it, WORDS, "inches"), order_csv(all_of_it, WORDS)]


def test_a_wall_that_nobody_measured_is_named_on_every_paper(measured) -> None:
    for paper in papers(replace(measured, guessed=("Wall A", "Wall C"))):
        assert "Nobody measured a length on: Wall A, Wall C." in paper
    for paper in papers(measured):
        assert "Nobody measured" not in paper


def test_prices_that_nobody_gave_are_called_so_beside_the_total(measured) -> None:
    for paper in papers(replace(measured, placeholder=True)):
        assert "The prices are a placeholder" in paper
    without = order_text(replace(measured, placeholder=True), WORDS, "inches", prices=False)
    assert "placeholder" not in without


def test_the_printed_order_says_both(measured, tmp_path) -> None:
    file = tmp_path / "order.pdf"
    file.write_bytes(order_pdf(replace(measured, guessed=("Wall A",), placeholder=True), WORDS, "inches"))
    printed = text_of(file)
    assert "Nobody measured a length on: Wall A." in " ".join(printed.split())
    assert "The prices are a placeholder" in " ".join(printed.split())
