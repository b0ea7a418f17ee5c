"""Metric boards on metric framing: no millimetre is lost or found between the two."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from layout import (
    METRIC_STOCK,
    Job,
    Member,
    Plan,
    Surface,
    mm_to_in,
    plan_job,
    plan_to_json,
    rules_for,
)
from tests.layout.checker import complaints

BOARDS_2400 = tuple(b for b in METRIC_STOCK if b.length_in == mm_to_in(2400.0))


def _studs(width_mm: float, spacing_mm: float, face_mm: float = 38.0) -> tuple[Member, ...]:
    """Studs on a metric spacing, one at each end; 38 mm is the least face for a joint (13 + 6 mm, twice)."""
    inner = range(round(spacing_mm), round(width_mm - face_mm), round(spacing_mm))
    centres = [face_mm / 2, *inner, width_mm - face_mm / 2]
    return tuple(Member(f"{n}", mm_to_in(c), face_in=mm_to_in(face_mm)) for n, c in enumerate(centres))


def _surface(width_mm: float, height_mm: float, spacing_mm: float = 600.0, **others: object) -> Surface:
    return Surface(
        "A",
        mm_to_in(width_mm),
        mm_to_in(height_mm),
        _studs(width_mm, spacing_mm),
        thickness_in=mm_to_in(12.5),
        board_width_in=mm_to_in(1200.0),
        **others,  # type: ignore[arg-type]
    )


def _sound(surface: Surface, stock: tuple[object, ...] = METRIC_STOCK) -> Plan:
    job = Job((surface,), stock, rules_for("uk"))  # type: ignore[arg-type]
    plan = plan_job(job)
    assert complaints(job, plan_to_json(plan)) == []
    return plan


def test_four_upright_boards_of_1200_mm_stand_on_a_wall_of_4800_mm() -> None:
    """NHBC 9.2.4: 12.5 mm board on studs up to 600 mm apart; 1200 mm boards meet on every second one."""
    plan = _sound(_surface(4800.0, 2400.0, boards_run="parallel", floor_gap_in=0.0))
    assert [round(sheet.length_in * 25.4) for sheet in plan.sheets] == [2400] * 4
    (row,) = plan.surfaces[0].rows
    assert [round(seam.position_in * 25.4, 3) for seam in row.seams] == [1200.0, 2400.0, 3600.0]
    assert {end for piece in row.pieces for end in (piece.left_end, piece.right_end)} == {"factory"}


@pytest.mark.parametrize(("width_mm", "sheets"), [(7200.0, 6), (9600.0, 8)])
def test_boards_of_2400_mm_across_the_studs_leave_no_waste(width_mm: float, sheets: int) -> None:
    """The area asks for just as many: 3 and 4 boards to a course of 1200 mm, two courses to 2400 mm."""
    plan = _sound(_surface(width_mm, 2400.0, floor_gap_in=0.0), BOARDS_2400)
    assert len(plan.sheets) == sheets


@pytest.mark.parametrize("length_mm", [1800.0, 2400.0, 2700.0, 3000.0, 3300.0, 3600.0])
def test_a_wall_as_high_as_a_board_is_boarded_upright_without_a_cut(length_mm: float) -> None:
    """UK lengths go by 300 mm; what is as high as the board takes it whole, by its measured height."""
    boards = tuple(b for b in METRIC_STOCK if b.length_in == mm_to_in(length_mm))
    plan = _sound(_surface(2400.0, length_mm, boards_run="parallel", floor_gap_in=0.0), boards)
    (row,) = plan.surfaces[0].rows
    assert (row.bottom_in, row.top_in) == pytest.approx((0.0, mm_to_in(length_mm)))
    assert len(plan.sheets) == 2


def test_three_courses_of_1200_mm_cover_a_ceiling_of_3600_mm_and_none_is_ripped() -> None:
    plan = _sound(_surface(3000.0, 3600.0, kind="ceiling"))
    rows = plan.surfaces[0].rows
    assert [round(row.top_in * 25.4, 3) for row in rows] == [1200.0, 2400.0, 3600.0]
    assert {edge for row in rows for edge in (row.bottom_edge, row.top_edge)} == {"tapered"}


@pytest.mark.parametrize("seed", range(6))
def test_metric_walls_of_any_size_keep_every_rule(seed: int) -> None:
    rng = random.Random(seed)
    wall = _surface(
        rng.randint(1500, 7000) + rng.choice([0.0, 0.4]), rng.choice([2400.0, 2412.0, 2350.0, 2700.0]),
        rng.choice([400.0, 450.0, 600.0]),
    )  # fmt: skip
    plan = _sound(replace(wall, boards_run=rng.choice(["across", "parallel"])))
    for sheet in plan.sheets:
        assert max(cut.end_in for cut in sheet.cuts) <= sheet.length_in
        assert max(cut.high_in for cut in sheet.cuts) <= sheet.width_in


def test_no_piece_is_told_longer_than_the_board_it_is_cut_from() -> None:
    """4801 mm in 2400 mm boards: the last one ends 1 mm short of the corner and is 2400 mm, not 2400.6."""
    wall = _surface(4801.0, 2412.0, 400.0)
    plan = plan_job(Job((wall,), BOARDS_2400, rules_for("uk")))
    pieces = [piece for row in plan.surfaces[0].rows for piece in row.pieces]
    assert any(piece.right_in > mm_to_in(4799.0) for piece in pieces)
    assert max(piece.length_in for piece in pieces) <= mm_to_in(2400.0) + 1e-9
