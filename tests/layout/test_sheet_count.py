"""Strips and single boards: a shop sells no quarter of a sheet, so the proof counts whole ones."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import Board, Job, Plan, Prefs, Surface, members_on_spacing, plan_job, plan_surface, plan_to_json
from tests.layout.checker import complaints
from tests.layout.common import sixteen_in_wall


def _seams(plan: Plan) -> int:
    return sum(len(row.seams) for surface in plan.surfaces for row in surface.rows)


def _strip(name: str, length_in: float, across_in: float) -> Surface:
    return Surface(name, length_in, across_in, members_on_spacing(length_in, 16.0), kind="soffit")


@pytest.mark.parametrize("across_in", [2.5, 7.5, 12.0])
def test_a_strip_of_14_ft_from_one_8_ft_sheet_has_one_seam(across_in: float) -> None:
    """Two lanes of a sheet reach 16 ft; a second seam would only be a joint more (1 ft costs 2.00)."""
    plan = plan_surface(_strip("S", 168.0, across_in))
    assert [sheet.length_in for sheet in plan.sheets] == [96.0]
    assert _seams(plan) == 1
    assert plan.score.total == pytest.approx(16.0 + across_in / 12.0 * 2.0)
    assert plan.score.proved_optimal


def test_a_boxed_duct_of_16_ft_comes_from_one_sheet_with_a_seam_in_each_face() -> None:
    """Two strips of 12 in and two of 10 in lie across 48 in."""
    job = Job((_strip("under", 192.0, 12.0), _strip("face", 192.0, 10.0)))
    plan = plan_job(job)
    assert complaints(job, plan_to_json(plan)) == []
    assert len(plan.sheets) == 1
    assert _seams(plan) == 2
    assert plan.score.total == pytest.approx(16.0 + 22.0 / 12.0 * 2.0)
    assert plan.score.proved_optimal


@pytest.mark.parametrize("price", [12.0, 1e6])
def test_boards_of_one_price_are_counted_whole(price: float) -> None:
    """40 ft of courses of 12-ft boards are 3 1/3 of them, so 4 are bought, whatever one costs."""
    stock = tuple(Board("regular", 0.5, 48.0, length_in, price) for length_in in (96.0, 144.0))
    plan = plan_surface(
        sixteen_in_wall(240.0), stock, prefs=Prefs(joint_price_per_ft=0.25, cut_end_charge=1.0)
    )
    assert len(plan.sheets) == 4
    assert plan.score.total == pytest.approx(4 * price + 8 * 0.25)
    assert plan.score.proved_optimal


def test_a_wall_that_needs_a_third_strip_is_proved_with_its_third_sheet() -> None:
    """101 1/2 in to board: two courses and a strip of 6 in, which is a sheet more for 2 1/2 of area."""
    plan = plan_surface(replace(sixteen_in_wall(168.0), height_in=102.0))
    assert sorted(sheet.length_in for sheet in plan.sheets) == [96.0, 168.0, 168.0]
    assert _seams(plan) == 1
    assert plan.score.proved_optimal


def test_strips_of_two_widths_are_ripped_from_one_sheet() -> None:
    """Two lanes of 12 in and four of 6 in fill 48 in: 178 in and 210 in of strips from an 8-ft sheet."""
    job = Job(
        (_strip("under", 178.0, 12.0), _strip("side", 210.0, 6.0)), (Board("regular", 0.5, 48.0, 96.0, 16.0),)
    )
    plan = plan_job(job)
    assert complaints(job, plan_to_json(plan)) == []
    assert len(plan.sheets) == 1
    assert plan.score.proved_optimal


def test_a_long_duct_with_three_faces_comes_from_one_16_ft_sheet() -> None:
    """25 ft of 14 1/2 in and of 9 in and 80 in more: lanes of 14 1/2, 14 1/2, 9 and 9 in, 47 of 48 in."""
    job = Job((_strip("a", 300.0, 14.5), _strip("b", 300.0, 9.0), _strip("c", 80.0, 14.5)))
    plan = plan_job(job)
    assert complaints(job, plan_to_json(plan)) == []
    assert [sheet.length_in for sheet in plan.sheets] == [192.0]
    assert _seams(plan) == 2


def test_a_soffit_uses_strips_of_one_sheet() -> None:
    soffit = Surface("S", 90.0, 12.0, members_on_spacing(90.0, 16.0), kind="soffit")
    others = [replace(soffit, id=f"S{n}") for n in range(3)]
    plan = plan_job(Job((soffit, *others)))
    assert len(plan.sheets) == 1
