"""What the user asks of seams: one on a stud, none on another, a row's board length."""

from __future__ import annotations

from dataclasses import replace

from layout import Job, Opening, Pin, Wishes, plan_job, plan_surface, plan_to_json
from tests.layout.checker import complaints
from tests.layout.common import codes_of, sixteen_in_wall


def test_a_pinned_seam_is_kept_and_a_forbidden_stud_left_alone() -> None:
    wall = sixteen_in_wall(194.0)
    pinned = replace(wall, wishes=Wishes(pins=(Pin(0, "6"),)))
    plan = plan_surface(pinned)
    assert [s.member_id for s in plan.surfaces[0].rows[0].seams] == ["6"]
    assert plan.surfaces[0].rows[0].seams[0].pinned
    used = {s.member_id for r in plan_surface(wall).surfaces[0].rows for s in r.seams}
    without = replace(wall, wishes=Wishes(forbidden_members=tuple(used)))
    again = {s.member_id for r in plan_surface(without).surfaces[0].rows for s in r.seams}
    assert not used & again


def test_a_wish_that_cannot_be_is_named() -> None:
    wall = replace(sixteen_in_wall(194.0), wishes=Wishes(pins=(Pin(0, "2"),), row_lengths=((1, 200.0),)))
    plan = plan_surface(wall)
    assert "wish_impossible" in codes_of(plan)
    assert plan.surfaces[0].rows[0].pieces


def test_a_seam_asked_for_says_each_rule_that_it_breaks() -> None:
    """On a stud that was ruled out, at the very edge of a window."""
    window = Opening("window", 98.0, 130.0, 36.0, 80.0)
    wall = sixteen_in_wall(194.0, openings=(window,))
    at_the_edge = min(wall.members, key=lambda m: abs(m.centre_in - 98.0))
    asked = Wishes(pins=(Pin(0, at_the_edge.id),), forbidden_members=(at_the_edge.id,))
    job = Job((replace(wall, wishes=asked),))
    plan = plan_job(job)
    assert {"pin_ruled_out", "pin_near_opening"} <= codes_of(plan)
    assert complaints(job, plan_to_json(plan)) == []
