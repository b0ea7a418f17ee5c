"""The stacks of a kept job are planned once for one plan and one set of choices, and anew for others."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from layout import plan_job
from layout.stack_types import Site
from tests.layout.common import room
from ui.site_plan import SitePlan
from ui.site_stacks import StackChoices, keep_choices, kept_stacks
from ui.store import Store


def test_stacks_are_planned_anew_only_where_the_plan_or_the_choices_changed(tmp_path: Path) -> None:
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    job = room(1)
    found = SitePlan(job, plan_job(job), dict.fromkeys((s.id for s in job.surfaces), "Den"))
    first = kept_stacks(store, store.job(job_id), found)
    assert kept_stacks(store, store.job(job_id), found) is first
    keep_choices(store, job_id, StackChoices(site=Site(most_on_edge=1)), first.revision)
    fewer = kept_stacks(store, store.job(job_id), found)
    assert fewer.choices.site.most_on_edge == 1
    assert fewer.plan != first.plan
    spared = replace(found, plan=replace(found.plan, order=found.plan.order[:1]))
    assert kept_stacks(store, store.job(job_id), spared).lots != fewer.lots
