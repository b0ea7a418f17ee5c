"""Steel studs: a board end bears on less of a face than on timber, where the job file says steel."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import (
    METRIC_STOCK,
    US_STOCK,
    Job,
    Member,
    Surface,
    members_on_spacing,
    mm_to_in,
    plan_surface,
    plan_to_json,
    rules_for,
)
from layout.rules import allowance_in, seam_bears_on_member
from tests.layout.checker import complaints
from tests.layout.common import codes_of


def _uk_partition(material: str) -> Surface:
    """4.8 m of studs with a 34 mm face at 600 mm, narrower than the 38 mm of NBS clause 610 for timber."""
    return Surface(
        "A", mm_to_in(4800.0), mm_to_in(2400.0),
        members_on_spacing(mm_to_in(4800.0), mm_to_in(600.0), face_in=mm_to_in(34.0), material=material),
        thickness_in=mm_to_in(12.5), board_width_in=mm_to_in(1200.0), boards_run="across",
    )  # fmt: skip


def test_two_board_ends_meet_on_the_flange_of_a_uk_steel_stud() -> None:
    """Metal 1 1/4 in (32 mm) wide at a joint: a building design and construction handbook."""
    wall = _uk_partition("steel")
    plan = plan_surface(wall, METRIC_STOCK, rules_for("uk"))
    assert not codes_of(plan) & {"backing_needed", "face_narrow_for_timber"}
    assert all(seam.sure for row in plan.surfaces[0].rows for seam in row.seams)
    assert complaints(Job((wall,), METRIC_STOCK, rules_for("uk")), plan_to_json(plan)) == []


def test_studs_as_narrow_as_steel_are_not_taken_for_steel_unasked() -> None:
    plan = plan_surface(_uk_partition("timber"), METRIC_STOCK, rules_for("uk"))
    assert {"backing_needed", "face_narrow_for_timber"} <= codes_of(plan)


def test_a_steel_flange_too_narrow_for_two_board_ends_takes_no_seam() -> None:
    narrow, wide = (Member("m", 10.0, face_in=face_in, material="steel") for face_in in (1.2, 1.25))
    for market in ("us", "uk"):
        assert not seam_bears_on_member(narrow, rules_for(market))
        assert seam_bears_on_member(wide, rules_for(market))


def test_a_seam_may_miss_the_middle_of_a_steel_flange_by_an_eighth() -> None:
    """Between nothing and 1/4 in: half of 1 1/4 in less 3/8 to 5/8 in (the study's own calculation)."""
    flange = Member("m", 10.0, face_in=1.25, material="steel")
    assert allowance_in(flange, rules_for("us")) == pytest.approx(0.125)
    stud = Member("m", 10.0)
    assert allowance_in(stud, rules_for("us")) == pytest.approx(0.125)


def test_seams_are_sure_on_steel_studs_measured_with_a_tape() -> None:
    """A wall of steel studs, each known to 1/16 in, is no less sure than one of timber."""
    members = tuple(
        replace(m, sigma_in=1 / 16) for m in members_on_spacing(240.0, 16.0, face_in=1.25, material="steel")
    )
    plan = plan_surface(Surface("A", 240.0, 96.0, members), US_STOCK, rules_for("us"))
    seams = [seam for row in plan.surfaces[0].rows for seam in row.seams]
    assert seams
    assert all(seam.sure for seam in seams)
