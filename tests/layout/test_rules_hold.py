"""Every plan keeps every rule: the independent checker on generated jobs, and on broken plans."""

from __future__ import annotations

import copy
import os
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from layout import Job, plan_job, plan_to_json
from tests.layout.checker import complaints
from tests.layout.common import any_job, room, wall_no_stud_at_eight_feet, wall_with_door

# A plan that was stopped keeps every rule too; now and then the solver takes minutes to prove one.
LONGEST_S = 8.0


@settings(
    max_examples=int(os.environ.get("LAYOUT_EXAMPLES", "12")),
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
@given(any_job())
def test_any_job_gets_a_plan_that_keeps_every_rule_or_says_which_it_eased(job: Job) -> None:
    plan = plan_to_json(plan_job(job, time_limit_s=LONGEST_S))
    assert complaints(job, plan) == []


def test_a_room_of_walls_and_a_ceiling_keeps_every_rule() -> None:
    job = room(1)
    assert complaints(job, plan_to_json(plan_job(job))) == []


def _first_seam_row(plan: dict[str, Any]) -> dict[str, Any]:
    return next(row for s in plan["surfaces"] for row in s["rows"] if row["seams"])


def _move_a_seam_off_its_stud(plan: dict[str, Any]) -> None:
    row = _first_seam_row(plan)
    row["pieces"][0]["right_in"] += 5.0
    row["pieces"][1]["left_in"] += 5.0
    row["seams"][0]["position_in"] += 5.0


def _leave_a_piece_out(plan: dict[str, Any]) -> None:
    _first_seam_row(plan)["pieces"].pop()


def _hang_a_piece_twice(plan: dict[str, Any]) -> None:
    row = _first_seam_row(plan)
    row["pieces"].append(copy.deepcopy(row["pieces"][0]))


def _claim_a_factory_end(plan: dict[str, Any]) -> None:
    row = _first_seam_row(plan)
    piece = next(p for p in row["pieces"] if "cut" in (p["left_end"], p["right_end"]))
    piece["left_end"] = piece["right_end"] = "factory"


def _put_seams_above_each_other(plan: dict[str, Any]) -> None:
    rows = plan["surfaces"][0]["rows"]
    rows[1]["pieces"] = copy.deepcopy(rows[0]["pieces"])
    rows[1]["seams"] = copy.deepcopy(rows[0]["seams"])
    for piece in rows[1]["pieces"]:
        piece["number"] += 100
        piece["bottom_in"], piece["top_in"] = rows[1]["bottom_in"], rows[1]["top_in"]


def _overlap_two_pieces_on_a_sheet(plan: dict[str, Any]) -> None:
    sheet = plan["sheets"][0]
    sheet["cuts"].append(dict(sheet["cuts"][0], piece=plan["sheets"][1]["cuts"][0]["piece"]))


def _buy_a_board_nobody_sells(plan: dict[str, Any]) -> None:
    plan["sheets"][0]["length_in"] = 111.0


def _forget_a_sheet_in_the_list(plan: dict[str, Any]) -> None:
    plan["order"][0]["count"] -= 1


def _raise_the_bound(plan: dict[str, Any]) -> None:
    plan["score"]["lower_bound"] = plan["score"]["total"] + 1.0


def _hide_a_cost(plan: dict[str, Any]) -> None:
    plan["score"]["total"] -= 1.0


def _waste_the_end_of_a_sheet(plan: dict[str, Any]) -> None:
    """Pull the piece at a sheet's far end away from it, and tell its ends as they then are."""
    cut = next(
        cut
        for sheet in plan["sheets"]
        for cut in sheet["cuts"]
        if cut["start_in"] > 1.0 and cut["end_in"] == sheet["length_in"]
    )
    cut["start_in"], cut["end_in"] = cut["start_in"] - 0.5, cut["end_in"] - 0.5
    rows = (row for surface in plan["surfaces"] for row in surface["rows"])
    piece = next(p for row in rows for p in row["pieces"] if p["number"] == cut["piece"])
    piece["left_end"] = piece["right_end"] = "cut"


def _take_boards_of_another_kind(plan: dict[str, Any]) -> None:
    for sheet in plan["sheets"]:
        sheet["kind"] = "moisture"


@pytest.mark.parametrize(
    "spoil",
    [
        _move_a_seam_off_its_stud,
        _leave_a_piece_out,
        _hang_a_piece_twice,
        _claim_a_factory_end,
        _put_seams_above_each_other,
        _overlap_two_pieces_on_a_sheet,
        _buy_a_board_nobody_sells,
        _forget_a_sheet_in_the_list,
        _raise_the_bound,
        _hide_a_cost,
        _take_boards_of_another_kind,
        _waste_the_end_of_a_sheet,
    ],
)
def test_the_checker_complains_of_a_broken_plan(spoil: Callable[[dict[str, Any]], None]) -> None:
    job = Job((wall_no_stud_at_eight_feet(), replace(wall_with_door(), id="B")))
    plan = plan_to_json(plan_job(job))
    assert complaints(job, plan) == []
    spoil(plan)
    assert complaints(job, plan)
