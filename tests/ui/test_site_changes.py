"""What is said when the plan changed after an order was taken along, or after hanging began."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import Job, OrderLine, plan_job
from layout.repair import repair
from layout.stack_types import Lot, Stack, StackPlan
from tests.layout.common import room, sixteen_in_wall
from ui.delivery_view import placed_order
from ui.site_changes import SurfaceChanges, line_changes, places_changed, surface_changes

TWELVE_FT = OrderLine("regular", 0.5, 48.0, 144.0, 12, 1)
NAMES = {"W0": "North", "W1": "South", "W9": "North"}


@pytest.fixture(scope="module")
def job():
    whole = room(1)
    return replace(whole, surfaces=whole.surfaces[:2])


@pytest.fixture(scope="module")
def hung(job):
    return plan_job(job)


def at_wall(wall: str) -> StackPlan:
    lot = Lot("a", "regular", 0.5, 48.0, 144.0, 13)
    return StackPlan((Stack(1, wall, "", 0.0, 144.0, 8.0, "edge", (lot,), 600.0, 20.0),))


def test_the_same_order_to_the_same_stacks_is_no_change() -> None:
    placed, now = (placed_order((TWELVE_FT,), at_wall("W0")) for _ in range(2))
    assert line_changes(placed, now) == ()
    assert not places_changed(placed, now)


def test_fewer_boards_of_a_size_and_a_new_size_are_told_with_both_numbers() -> None:
    eight_ft = replace(TWELVE_FT, length_in=96.0, count=4, spare=0)
    placed = placed_order((TWELVE_FT,), StackPlan())
    now = placed_order((replace(TWELVE_FT, count=9), eight_ft), StackPlan())
    told = [(each.line.length_in, each.before, each.now) for each in line_changes(placed, now)]
    assert told == [(144.0, 13, 10), (96.0, 0, 4)]


def test_a_stack_that_was_moved_is_a_change_of_places_alone() -> None:
    placed, now = placed_order((TWELVE_FT,), at_wall("W0")), placed_order((TWELVE_FT,), at_wall("W1"))
    assert line_changes(placed, now) == ()
    assert places_changed(placed, now)


def test_nothing_changed_is_nothing_to_say(hung) -> None:
    assert not surface_changes(hung, NAMES, hung, NAMES)


def test_a_wall_taken_out_is_gone_and_one_added_is_new(job, hung) -> None:
    now = plan_job(replace(job, surfaces=(job.surfaces[0], sixteen_in_wall(100.0, "W5"))))
    changes = surface_changes(hung, NAMES, now, {"W5": "Closet"})
    assert (changes.gone, changes.new) == (("South",), ("Closet",))


def test_a_wall_measured_longer_is_changed(job, hung) -> None:
    longer = sixteen_in_wall(job.surfaces[1].width_in + 4.0, "W1")
    now = plan_job(replace(job, surfaces=(job.surfaces[0], longer)))
    assert "South" in surface_changes(hung, NAMES, now, NAMES).changed


def test_a_wall_that_only_got_another_name_is_the_same() -> None:
    wall = sixteen_in_wall(130.0, "W0")
    before, now = (plan_job(Job((replace(wall, id=name),))) for name in ("W0", "W9"))
    assert surface_changes(before, NAMES, now, NAMES) == SurfaceChanges()


def test_a_board_spoiled_and_cut_from_another_sheet_is_no_change(hung) -> None:
    spares = {(s.kind, s.thickness_in, s.width_in, s.length_in): 50 for s in hung.sheets}
    repaired = repair(hung, 1, (), spares, whole_sheet=True).plan
    assert repaired != hung
    assert not surface_changes(repaired, NAMES, hung, NAMES)
