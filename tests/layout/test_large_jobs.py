"""Whole jobs: the same plan every time, a bound that is always one, and clusters of surfaces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import layout.clusters as clusters
from layout import Job, Surface, Wishes, members_on_spacing, plan_job, plan_to_json, prefs_for
from layout.joint_bound import area_bound
from layout.markets import Prefs, Rules
from layout.master import build_master
from layout.relaxation import relax
from layout.rounding import rounded
from layout.rows import rows_of
from layout.stock import US_STOCK, boards_for
from tests.layout.checker import complaints
from tests.layout.common import room, sixteen_in_wall


def _walls(count: int) -> Job:
    lengths = [97.0 + (53 * n) % 140 + n / 16 for n in range(count)]
    return Job(tuple(sixteen_in_wall(length, f"W{n}") for n, length in enumerate(lengths)))


def _no_wait(done: float, text: str) -> None:
    """Progress that nobody looks at."""


def test_the_same_job_gets_the_same_plan_each_time() -> None:
    job = room(3)
    assert plan_to_json(plan_job(job)) == plan_to_json(plan_job(job, progress=_no_wait))


def test_a_job_that_cannot_be_boarded_at_all_is_a_sentence_not_a_crash() -> None:
    job = Job((replace(sixteen_in_wall(100.0), board_kind="moisture"),))
    plan = plan_job(job)
    assert (plan.sheets, plan.score.total, plan.score.lower_bound) == ((), 0.0, 0.0)
    assert [w.code for w in plan.warnings] == ["no_board"]
    assert plan_job(Job(())).sheets == ()


def test_one_surface_without_boards_does_not_stop_the_others() -> None:
    job = Job((replace(sixteen_in_wall(100.0), board_kind="moisture"), sixteen_in_wall(120.0, "B")))
    plan = plan_job(job)
    assert not plan.surfaces[0].rows
    assert plan.surfaces[1].rows


@pytest.mark.parametrize("share", [True, False])
def test_a_plan_stopped_at_once_still_has_a_bound(share: bool) -> None:
    plan = plan_job(_walls(6), stop=lambda: True, share=share)
    assert plan.stopped
    assert 0.6 * plan.score.total < plan.score.lower_bound <= plan.score.total


def test_without_sharing_each_surface_is_proved_and_sharing_costs_no_more() -> None:
    job = _walls(5)
    alone, together = plan_job(job, share=False), plan_job(job)
    assert alone.score.gap < 0.01
    assert together.score.total <= alone.score.total + 1e-6


def test_clusters_of_surfaces_keep_the_rules_and_their_bound_holds_for_the_whole(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The bound that clusters prove together never exceeds the plan of the whole job."""
    job = room(2, walls=7)
    whole = plan_job(job)
    monkeypatch.setattr(clusters, "WHOLE_SEGMENTS", 4)
    monkeypatch.setattr(clusters, "CLUSTER_SEGMENTS", 6)
    parts = plan_job(job)
    assert complaints(job, plan_to_json(parts)) == []
    assert parts.score.lower_bound <= whole.score.total + 1e-6
    assert whole.score.lower_bound <= parts.score.total + 1e-6
    assert parts.score.gap < 0.25


def test_the_faces_of_a_partition_are_never_parted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clusters, "WHOLE_SEGMENTS", 2)
    monkeypatch.setattr(clusters, "CLUSTER_SEGMENTS", 4)
    front = sixteen_in_wall(230.0, "F")
    between = (sixteen_in_wall(140.0, "A"), sixteen_in_wall(150.0, "B"))
    job = Job((front, *between, replace(front, id="K", opposite_of="F")))
    assert complaints(job, plan_to_json(plan_job(job))) == []


def test_the_boarded_area_bounds_every_plan() -> None:
    """An 8 x 8 ft ceiling is 64 sq ft: two 4 x 8 sheets at 16.00 cannot be beaten."""
    ceiling = Surface("C", 96.0, 96.0, members_on_spacing(96.0, 16.0), kind="ceiling")
    rows = rows_of(ceiling, boards_for(US_STOCK, "regular", 0.5, 48.0), Rules(end_gap_in=0.0), Prefs())
    assert area_bound(rows) == pytest.approx(32.0)


def test_a_rounding_lays_every_stretch_of_wall_exactly_once() -> None:
    surfaces = [*_walls(4).surfaces, sixteen_in_wall(20.0, "R")]
    boards = boards_for(US_STOCK, "regular", 0.5, 48.0)
    rows = tuple(rows_of(s, boards, Rules(), Prefs()) for s in surfaces)
    master = build_master(rows, 4.0)
    relaxed = relax(master, np.inf)
    patterns = rounded(master, relaxed, 0.002)
    assert patterns is not None
    flow, _ = master.matrices(np.array([master.number(p) for p in patterns]))
    assert np.asarray(flow.sum(axis=1)).reshape(-1) == pytest.approx(master.starts)
    cost = sum(master.costs[master.number(p)] for p in patterns)
    assert relaxed.bound <= cost + 1e-9


def test_a_basement_is_proved_within_half_a_percent() -> None:
    """Twelve walls and a ceiling, the size the optimum was asked to prove."""
    from tests.benchmarks.boards import basement

    job = basement(1)
    plan = plan_job(job)
    assert plan.score.gap <= 0.005
    assert complaints(job, plan_to_json(plan)) == []


def test_more_kinds_of_boards_on_sale_never_cost_more() -> None:
    """Unlike first-fit rules (FFD anomaly), an optimum is monotone: here with the bound as witness."""
    job = _walls(4)
    few = replace(job, stock=tuple(b for b in US_STOCK if b.length_in in (96.0, 144.0)))
    assert plan_job(job, gap=0.0).score.lower_bound <= plan_job(few, gap=0.0).score.total + 1e-6


def test_every_preset_is_bounded() -> None:
    for preset in ("fewest_butt_joints", "balanced", "lowest_price"):
        plan = plan_job(replace(_walls(4), prefs=prefs_for(preset)))
        assert plan.score.gap < 0.05


def test_a_board_length_wish_holds_in_a_whole_job() -> None:
    walls = list(_walls(3).surfaces)
    walls[0] = replace(walls[0], wishes=Wishes(row_lengths=((0, 120.0),)))
    plan = plan_job(Job(tuple(walls)))
    lengths = {sheet.id: sheet.length_in for sheet in plan.sheets}
    assert {lengths[piece.sheet] for piece in plan.surfaces[0].rows[0].pieces} == {120.0}
