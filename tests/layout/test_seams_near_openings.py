"""Seams and the corners of openings, where cracks start (NAVEDTRA 14044 p. 162: 6 in from the edge)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import US_STOCK, Job, Opening, Plan, Surface, members_at, plan_job, plan_to_json
from tests.layout.checker import complaints
from tests.layout.common import EIGHT_FOOT_FRAME_IN, sixteen_in_wall

EIGHT_FOOT_BOARDS = tuple(board for board in US_STOCK if board.length_in == 96.0)
COURSE_LINE_IN = EIGHT_FOOT_FRAME_IN - 0.5 - 48.0


def _sound(job: Job) -> Plan:
    plan = plan_job(job)
    assert complaints(job, plan_to_json(plan)) == []
    return plan


def _window(left_in: float, right_in: float, **others: float) -> Opening:
    sides = {"bottom_in": 12.0, "top_in": COURSE_LINE_IN, **others}
    return Opening("window", left_in, right_in, **sides)


@pytest.mark.parametrize(
    "window",
    [
        _window(97.5, 150.0),
        _window(97.5, 150.0, top_in=COURSE_LINE_IN - 1 / 32),
        _window(40.0, 94.0, bottom_in=COURSE_LINE_IN, top_in=80.0),
    ],
    ids=["head on the course line", "head a hair under it", "sill on the course line"],
)
def test_no_seam_of_the_next_course_runs_into_the_corner_of_a_window(window: Opening) -> None:
    """The stud at 96 in is 1 1/2 or 2 in from the corner; it may carry a seam of neither course."""
    wall = sixteen_in_wall(192.0, openings=(window,))
    plan = _sound(Job((wall,), EIGHT_FOOT_BOARDS))
    seams = [seam.position_in for row in plan.surfaces[0].rows for seam in row.seams]
    assert 96.0 not in seams
    assert not plan.warnings


def test_the_checker_sees_a_seam_that_ends_at_the_corner_of_a_window() -> None:
    wall = sixteen_in_wall(192.0)
    plan = plan_to_json(plan_job(Job((wall,), EIGHT_FOOT_BOARDS)))
    row = next(r for r in plan["surfaces"][0]["rows"] if [s["position_in"] for s in r["seams"]] == [96.0])
    on_its_line = (
        {"top_in": row["bottom_in"]}
        if row["bottom_in"] > 12.0
        else {"bottom_in": row["top_in"], "top_in": 80.0}
    )
    job = Job((replace(wall, openings=(_window(97.5, 150.0, **on_its_line),)),), EIGHT_FOOT_BOARDS)
    assert any("96.000 is near an opening's edge" in said for said in complaints(job, plan))


@pytest.mark.parametrize("left_in", [84.0, 100.0, 116.0, 128.0])
def test_new_backing_is_not_asked_for_at_the_corner_of_a_window(left_in: float) -> None:
    """Studs end at 32 in: boards end on backing, and backing can be put in clear of the window."""
    wall = Surface(
        "A", 200.0, EIGHT_FOOT_FRAME_IN, members_at([0.75, 16.0, 32.0, 199.25]), ceiling_board_in=0.5,
        openings=(_window(left_in, left_in + 36.0, bottom_in=36.0, top_in=82.0),),
    )  # fmt: skip
    plan = _sound(Job((wall,), EIGHT_FOOT_BOARDS))
    codes = {warning.code for warning in plan.warnings}
    assert "backing_needed" in codes
    assert "seam_near_opening" not in codes
    on_backing = [s for row in plan.surfaces[0].rows for s in row.seams if not s.member_id]
    edges_in = (left_in, left_in + 36.0)
    assert all(abs(seam.position_in - edge) >= 6.0 for seam in on_backing for edge in edges_in)


def test_a_seam_on_new_backing_is_a_joint_to_be_taped_like_any_other() -> None:
    wall = Surface(
        "A", 144.0, EIGHT_FOOT_FRAME_IN, members_at([0.75, 16.0, 143.25]), ceiling_board_in=0.5,
        boards_run="across",
    )  # fmt: skip
    plan = _sound(Job((wall,), EIGHT_FOOT_BOARDS))
    seams = [seam for row in plan.surfaces[0].rows for seam in row.seams]
    assert {seam.member_id for seam in seams} == {""}
    assert plan.score.butt_joint_ft == pytest.approx(4.0 * len(seams))


@pytest.mark.parametrize("top_in", [48.0, 48.625, 52.0])
def test_a_seam_that_must_run_into_the_corner_of_a_door_is_spoken_of(top_in: float) -> None:
    """8-ft boards over a 16-ft wall meet on the stud at 96 in and nowhere else, 1 1/2 in from the door."""
    wall = Surface(
        "A", 192.0, EIGHT_FOOT_FRAME_IN, members_at([0.75, 32.0, 64.0, 96.0, 191.25]), ceiling_board_in=0.5,
        openings=(Opening("d", 97.5, 150.0, 0.0, top_in),),
    )  # fmt: skip
    plan = plan_job(Job((wall,), EIGHT_FOOT_BOARDS))
    assert 96.0 in [seam.position_in for seam in plan.surfaces[0].rows[0].seams]
    assert "seam_near_opening" in {warning.code for warning in plan.warnings}
