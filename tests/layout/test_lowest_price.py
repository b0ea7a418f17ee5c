"""The lowest price: whoever asks for it is given no dearer plan than another aim gives."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import layout.plan
from layout import PRESETS, US_STOCK, Job, Pin, Plan, Wishes, plan_job, plan_to_json, prefs_for
from layout.first_plan import first_plan, repriced
from layout.job_optimum import Found
from tests.layout.checker import complaints
from tests.layout.common import room, sixteen_in_wall

EIGHT_FOOT_BOARDS = tuple(b for b in US_STOCK if b.length_in == 96.0)


def _by_aim(job: Job) -> dict[str, Plan]:
    return {preset: plan_job(replace(job, prefs=prefs_for(preset))) for preset in PRESETS}


@pytest.mark.parametrize("seed", [3, 11])
def test_the_lowest_price_is_no_dearer_than_any_other_aim(seed: int) -> None:
    plans = _by_aim(room(seed, walls=2))
    paid = {preset: plan.score.sheet_cost for preset, plan in plans.items()}
    assert paid["lowest_price"] == min(paid.values())


def test_a_poor_search_for_the_lowest_price_gives_way_to_the_plan_of_another_aim(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As if the search had found nothing better than every piece from a board of its own."""
    solve = layout.plan.solve_job

    def poor(rows: Any, own: Any, costs: Any, *others: Any) -> Found:
        found = solve(rows, own, costs, *others)
        quick = others[-1]
        return replace(found, sheets=sum(own, ()), cost=sum(costs)) if quick is True else found

    walls = tuple(sixteen_in_wall(45.0, name) for name in ("A", "B"))
    job = Job(walls, EIGHT_FOOT_BOARDS, prefs=prefs_for("lowest_price"))
    balanced = plan_job(replace(job, prefs=prefs_for("balanced")))
    monkeypatch.setattr(layout.plan, "solve_job", poor)
    plan = plan_job(job)
    assert len(plan.sheets) == len(balanced.sheets) == 2
    assert plan.score.joint_price_per_ft == job.prefs.joint_price_per_ft
    assert plan.score.lower_bound <= plan.score.total
    assert complaints(job, plan_to_json(plan)) == []


def test_a_plan_of_another_aim_is_priced_as_the_aim_asked_for_would_price_it() -> None:
    """Butt joints, seams that are not sure and joints between upright boards, at the other aim's prices."""
    wall = replace(sixteen_in_wall(230.0), members=tuple(
        replace(m, sigma_in=0.3 if m.id == "7" else 0.0) for m in sixteen_in_wall(230.0).members
    ))  # fmt: skip
    for surface in (wall, replace(wall, height_in=150.0, boards_run="parallel"), replace(wall, members=())):
        job = Job((surface,), prefs=prefs_for("balanced"))
        low = replace(job, prefs=prefs_for("lowest_price"))
        one, two = first_plan(surface, job)[0], first_plan(surface, low)[0]
        assert one is not None
        assert two is not None
        assert one.rows != two.rows
        assert repriced(one, low.prefs).rows == two.rows


def test_the_lowest_price_of_a_tall_wall_keeps_the_wishes() -> None:
    wall = replace(sixteen_in_wall(200.0), height_in=121.0, wishes=Wishes(pins=(Pin(1, "6"),)))
    job = Job((wall,), US_STOCK, prefs=prefs_for("lowest_price"))
    assert complaints(job, plan_to_json(plan_job(job))) == []
