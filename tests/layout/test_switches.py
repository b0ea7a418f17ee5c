"""Every rule that can be switched off has an effect, and the documentation's table lists it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from layout import (
    US_STOCK,
    Board,
    Job,
    JobError,
    Member,
    Opening,
    Rules,
    Surface,
    members_at,
    members_on_spacing,
    plan_job,
    read_job,
    rule_table,
)
from layout.rules import RULES
from tests.layout.common import sixteen_in_wall

EIGHT = (Board("regular", 0.5, 48.0, 96.0, 16.0),)
EIGHT_AND_TEN = tuple(b for b in US_STOCK if b.length_in in (96.0, 120.0))

NARROW = Surface("A", 180.0, 96.5, members_on_spacing(180.0, 16.0, face_in=1.0), boards_run="across")
SHORT_STUD = Surface(
    "A", 150.0, 96.5,
    (*members_at([0.75, 149.25]), Member("s", 75.0, kind="partial", bottom_in=60.0)), boards_run="across",
)  # fmt: skip
BESIDE_A_DOOR = Surface(
    "A", 180.0, 96.5, members_at([0.75, 87.0, 123.0, 179.25]), boards_run="across",
    openings=(Opening("d", 88.0, 122.0, 0.0, 82.0, "door"),),
)  # fmt: skip
ONE_STUD = Surface("A", 150.0, 96.5, members_at([0.75, 75.0, 149.25]), boards_run="across")
SLIVER = Surface("A", 110.0, 48.0, members_at([0.75, 16.0, 109.25]), boards_run="across")
CEILING = Surface(
    "C", 97.0, 96.0, members_on_spacing(97.0, 16.0), kind="ceiling", boards_run="across",
    covered_left_in=0.5, covered_right_in=0.5,
)  # fmt: skip
BETWEEN_SEAMS = Surface("A", 250.0, 48.0, members_at([0.75, 90.0, 160.0, 249.25]), boards_run="across")
WIDE = Surface("A", 120.0, 96.5, members_on_spacing(120.0, 30.0))

CASES = {
    "seam_bears_on_member": ((NARROW,), EIGHT),
    "member_reaches": ((SHORT_STUD,), EIGHT),
    "seam_keeps_clear_of_openings": ((BESIDE_A_DOOR,), EIGHT),
    "seams_of_neighbouring_rows_are_staggered": ((ONE_STUD,), EIGHT),
    "seams_of_opposite_faces_differ": ((ONE_STUD, replace(ONE_STUD, id="B", opposite_of="A")), EIGHT),
    "factory_ends_meet_at_seams": ((BETWEEN_SEAMS,), EIGHT),
    "no_sliver_at_a_seam": ((SLIVER,), EIGHT),
    "covered_gap_counts_as_covered": ((CEILING,), EIGHT_AND_TEN),
    "board_suits_the_spacing": ((WIDE,), US_STOCK),
    "board_direction_by_height": ((replace(sixteen_in_wall(120.0), height_in=109.0),), US_STOCK),
}


def _told(job: Job) -> tuple[Any, ...]:
    """What a user notices of a plan: its warnings, its cost, its sheets."""
    plan = plan_job(job)
    return sorted({w.code for w in plan.warnings}), plan.score.total, len(plan.sheets)


@pytest.mark.parametrize("rule", [name for name, entry in RULES.items() if entry.switchable])
def test_a_rule_that_is_switched_off_no_longer_counts(rule: str) -> None:
    surfaces, stock = CASES[rule]
    kept, off = (Job(surfaces, stock, replace(Rules(), switched_off=names)) for names in ((), (rule,)))
    assert _told(kept) != _told(off)


@pytest.mark.parametrize("name", ["ceilings_before_walls", "seam_bears_on_membre", 7])
def test_a_name_that_is_no_switch_is_refused(name: object) -> None:
    data = {"version": 1, "surfaces": [], "rules": {"switched_off": [name]}}
    with pytest.raises(JobError, match="can be switched off") as refused:
        read_job(data)
    assert refused.value.field == "rules.switched_off[0]"


def test_the_developers_guide_holds_the_table_of_rules() -> None:
    guide = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert rule_table() in guide
