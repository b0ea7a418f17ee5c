"""Gaps at corners: what a neighbour's board covers, and the little that joint compound fills."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import (
    US_STOCK,
    Job,
    Opening,
    Plan,
    Rules,
    Surface,
    members_at,
    members_on_spacing,
    plan_job,
    plan_to_json,
)
from tests.layout.checker import complaints
from tests.layout.common import EIGHT_FOOT_FRAME_IN, sixteen_in_wall

EIGHT_FOOT_BOARDS = tuple(board for board in US_STOCK if board.length_in == 96.0)
SIXTEEN_FOOT_STUDS = members_at([0.75, *range(16, 192, 16), 191.25])


def _sound(surface: Surface, stock: tuple[object, ...] = US_STOCK, rules: Rules | None = None) -> Plan:
    job = Job((surface,), stock, rules or Rules())  # type: ignore[arg-type]
    plan = plan_job(job)
    assert complaints(job, plan_to_json(plan)) == []
    return plan


def _wall(length_in: float) -> Surface:
    return Surface("A", length_in, EIGHT_FOOT_FRAME_IN, SIXTEEN_FOOT_STUDS, ceiling_board_in=0.5)


@pytest.mark.parametrize("length_in", [192.0, 192.0 + 1 / 64, 192.125, 192.25])
def test_a_wall_a_little_over_16_ft_takes_four_8_ft_boards_as_one_of_16_ft_does(length_in: float) -> None:
    """Up to 1/8 in is left open at each corner, below the 1/4 in that is filled (mcvicker guide p. 15)."""
    assert len(_sound(_wall(length_in), EIGHT_FOOT_BOARDS).sheets) == 4


def test_gaps_that_are_not_to_count_cost_a_board_more() -> None:
    rules = Rules(switched_off=("covered_gap_counts_as_covered",))
    assert len(_sound(_wall(192.125), EIGHT_FOOT_BOARDS, rules).sheets) == 5


def test_two_ends_of_4_ft_under_covered_corners_come_from_one_board() -> None:
    """Half an inch is covered at either end, so that 48 and 48 in are enough for 48 3/8 in each."""
    wall = Surface(
        "A", 192.75, EIGHT_FOOT_FRAME_IN,
        members_at([0.75, 48.375, 80.0, 112.0, 144.375, 192.0]), ceiling_board_in=0.5,
        covered_left_in=0.5, covered_right_in=0.5,
    )  # fmt: skip
    plan = _sound(replace(wall, height_in=49.125), EIGHT_FOOT_BOARDS)
    (row,) = plan.surfaces[0].rows
    assert [seam.position_in for seam in row.seams] == [48.375, 144.375]
    assert len(plan.sheets) == 2
    assert row.pieces[0].left_in <= 0.5
    assert row.pieces[-1].right_in >= 192.25


@pytest.mark.parametrize("length_in", [130.5, 150.0, 209.0])
def test_no_gap_is_left_at_a_corner_where_the_board_has_the_length(length_in: float) -> None:
    plan = _sound(sixteen_in_wall(length_in))
    whole = {sheet.id for sheet in plan.sheets if sheet.cuts[0].end_in == sheet.length_in}
    for row in plan.surfaces[0].rows:
        assert row.pieces[0].left_in == 0.0 or row.pieces[0].sheet in whole
        assert row.pieces[-1].right_in == length_in or row.pieces[-1].sheet in whole


@pytest.mark.parametrize(
    ("depth_in", "covered_bottom_in", "covered_top_in", "edges_in"),
    [
        (97.0, 0.5, 0.5, (0.5, 96.5)),
        (96.5, 0.5, 0.5, (0.25, 96.25)),
        (96.5, 0.0, 0.5, (0.0, 96.0)),
        (96.5, 0.5, 0.0, (0.5, 96.5)),
        (96.25, 0.0, 0.0, (0.125, 96.125)),
        (96.6, 0.5, 0.0, (0.5, 96.5)),
    ],
)
def test_a_ceilings_gap_lies_at_both_walls_and_only_as_wide_as_their_boards_cover(
    depth_in: float, covered_bottom_in: float, covered_top_in: float, edges_in: tuple[float, float]
) -> None:
    """Two courses of 48 in; 1/2 in board on the walls covers 1/2 in, and 1/8 in is left anywhere."""
    ceiling = Surface(
        "C", 120.0, depth_in, members_on_spacing(120.0, 16.0), kind="ceiling",
        covered_bottom_in=covered_bottom_in, covered_top_in=covered_top_in,
    )  # fmt: skip
    rows = _sound(ceiling).surfaces[0].rows
    assert (rows[0].bottom_in, rows[-1].top_in) == pytest.approx(edges_in, abs=1 / 32)
    assert [row.top_in - row.bottom_in for row in rows] == [48.0, 48.0]


def test_a_ceilings_gap_that_is_not_to_count_is_boarded() -> None:
    rules = Rules(switched_off=("covered_gap_counts_as_covered",))
    ceiling = Surface(
        "C", 120.0, 97.0, members_on_spacing(120.0, 16.0), kind="ceiling",
        covered_bottom_in=0.5, covered_top_in=0.5,
    )  # fmt: skip
    rows = _sound(ceiling, rules=rules).surfaces[0].rows
    assert (rows[0].bottom_in, rows[-1].top_in) == (0.0, 97.0)


@pytest.mark.parametrize(("strip_in", "boarded"), [(1 / 8, False), (3 / 16, True)])
def test_no_board_is_notched_round_a_doorway_for_an_eighth_under_the_ceiling(
    strip_in: float, boarded: bool
) -> None:
    """A gap of 1/8 in is left at an opening anyway; the strip would only carry a seam nobody can tape."""
    top_in = EIGHT_FOOT_FRAME_IN - 0.5 - strip_in
    wall = sixteen_in_wall(144.0, openings=(Opening("door", 40.0, 112.0, 0.0, top_in, "door"),))
    plan = _sound(wall)
    over_the_door = [p for row in plan.surfaces[0].rows for p in row.pieces if p.left_in < 76.0 < p.right_in]
    assert bool(over_the_door) == boarded
    assert bool([seam for row in plan.surfaces[0].rows for seam in row.seams]) == boarded
