"""Pieces of one sheet put into the left-overs of others: never dearer, and every rule still kept."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from layout import (
    Board,
    Job,
    Plan,
    Surface,
    Wishes,
    job_optimum,
    linear,
    members_on_spacing,
    plan_job,
    plan_to_json,
)
from tests.layout.checker import complaints
from tests.layout.common import any_job, sixteen_in_wall

EIGHT_AND_TWELVE = (Board("regular", 0.5, 48.0, 96.0, 16.0), Board("regular", 0.5, 48.0, 144.0, 24.0))


def _without_merging(job: Job, time_limit_s: float | None = None) -> Plan:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(job_optimum, "merged", lambda rows, sheets, charge, stop: (sheets, 0.0))
        return plan_job(job, time_limit_s)


def _hung(plan: Plan) -> Counter[tuple[str, float, float, tuple[float, ...]]]:
    """What hangs where: how much of a corner's gap a piece leaves open is its sheet's matter."""
    return Counter(
        (surface.id, piece.bottom_in, piece.top_in, tuple(seam.position_in for seam in row.seams))
        for surface in plan.surfaces
        for row in surface.rows
        for piece in row.pieces
    )


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(any_job())
def test_merging_the_sheets_of_first_plans_never_costs_more_and_keeps_every_rule(job: Job) -> None:
    """With no time for anything else: each piece from a sheet of its own, then merged."""
    alone, together = _without_merging(job, 0.0), plan_job(job, 0.0)
    assert together.score.total <= alone.score.total + 1e-6
    assert together.score.lower_bound <= together.score.total
    assert _hung(together) == _hung(alone)
    assert complaints(job, plan_to_json(together)) == []


@pytest.mark.parametrize("large_rows", [0, 10**9])
def test_a_soffit_and_its_face_share_one_sheet_wherever_the_solver_starts(
    large_rows: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The area alone is worth 15.00 and a 10-ft board costs 20.00: proved, by either simplex."""
    monkeypatch.setattr(linear, "LARGE_ROWS", large_rows)
    under = Surface("under", 120.0, 20.0, members_on_spacing(120.0, 16.0), kind="soffit")
    job = Job((under, replace(under, id="face", height_in=12.0)))
    plan = plan_job(job)
    assert len(plan.sheets) == 1
    assert plan.score.proved_optimal
    assert complaints(job, plan_to_json(plan)) == []


def test_closet_returns_are_cut_side_by_side_from_one_board() -> None:
    """Four returns of 23 in: two rows of four pieces, four to an 8-ft board, so two boards."""
    job = Job(tuple(sixteen_in_wall(23.0, f"R{n}") for n in range(4)), EIGHT_AND_TWELVE)
    plan = plan_job(job, 0.0)
    assert [sheet.length_in for sheet in plan.sheets] == [96.0, 96.0]
    assert plan.score.total < _without_merging(job, 0.0).score.total


def test_a_board_that_was_asked_for_by_its_length_takes_no_other_rows_pieces() -> None:
    wall = replace(sixteen_in_wall(80.0), wishes=Wishes(row_lengths=((0, 144.0), (1, 144.0))))
    job = Job((wall, sixteen_in_wall(48.0, "B")), EIGHT_AND_TWELVE)
    plan = plan_job(job, 0.0)
    wished = [sheet for sheet in plan.sheets if any(cut.surface == "A" for cut in sheet.cuts)]
    assert [(sheet.length_in, len(sheet.cuts)) for sheet in wished] == [(144.0, 1), (144.0, 1)]
    assert complaints(job, plan_to_json(plan)) == []
