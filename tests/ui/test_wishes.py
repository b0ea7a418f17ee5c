"""What the user asks of one surface: kept by the place of its studs, laid on the plan."""

from __future__ import annotations

import pytest

from layout import JobError, plan_job
from tests.ui.commands import refused
from ui.by_hand import ByHand, HandOpening
from ui.command_line import main
from ui.kept_job import job_to_board
from ui.rooms import add_by_hand, add_mirrored
from ui.settings_check import check_surface_settings
from ui.store import Store
from ui.wishes import KeptWishes, lost, members_meant, wishes_of, wishes_to_json


@pytest.fixture
def store(tmp_path, monkeypatch):
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    return Store()


def wall(store, *openings):
    """A kept wall 16 ft 2 in long, studs 16 in on centre from its left end; returns the job's id."""
    job_id = store.new_job("Basement")
    add_by_hand(store, store.job(job_id), ByHand("studs", 194.0, 97.0, openings=openings), "N", "")
    return job_id


def boarded(store, job_id, number=0):
    return job_to_board(store, store.job(job_id)).surfaces[number]


def seams(store, job_id):
    (surface,) = plan_job(job_to_board(store, store.job(job_id))).surfaces
    return [[seam.position_in for seam in row.seams] for row in surface.rows]


def test_a_seam_wanted_on_a_stud_is_there_and_none_is_on_one_ruled_out(store):
    job_id = wall(store)
    assert main(["change", "Basement", "N", "--seam-at", "1", "64in", "--no-seam-at", "112in"]) == 0
    first, second = seams(store, job_id)
    assert 64.0 in first
    assert 112.0 not in first + second
    assert main(["change", "Basement", "N", "--seam-at", "1", "48in", "--no-wishes"]) == 0
    assert 48.0 in seams(store, job_id)[0]
    assert wishes_of(store.job(job_id).surfaces[0].settings) == KeptWishes(seams=((0, 48.0),))


def test_rows_begin_at_the_floor_or_stand_upright_and_take_the_length_asked_for(store):
    job_id = wall(store)
    options = ["--rows-from", "bottom", "--row-length", "2", "10ft"]
    assert main(["change", "Basement", "N", *options]) == 0
    job = job_to_board(store, store.job(job_id))
    plan = plan_job(job)
    rows = plan.surfaces[0].rows
    assert rows[0].bottom_in < 1.0 < rows[1].bottom_in, "the row hung first is the one at the floor"
    lengths = {sheet.id: sheet.length_in for sheet in plan.sheets}
    assert {lengths[piece.sheet] for piece in rows[1].pieces} == {120.0}
    assert main(["change", "Basement", "N", "--no-wishes", "--boards-run", "parallel"]) == 0
    (row,) = plan_job(job_to_board(store, store.job(job_id))).surfaces[0].rows
    assert row.upright


def test_a_wish_that_cannot_be_is_named_by_the_plan(store):
    job_id = wall(store)
    assert main(["change", "Basement", "N", "--row-length", "1", "5ft"]) == 0
    plan = plan_job(job_to_board(store, store.job(job_id)))
    assert [w.code for w in plan.warnings if "row 1 from 5' boards" in w.message] == ["wish_impossible"]


def test_a_mirrored_wall_has_its_wishes_mirrored(store):
    job_id = wall(store)
    assert main(["change", "Basement", "N", "--seam-at", "1", "64in"]) == 0
    north = store.job(job_id).surfaces[0]
    add_mirrored(store, store.job(job_id), north, None, "S", "")
    south = boarded(store, job_id, 1)
    (pin,) = south.wishes.pins
    assert [m.centre_in for m in south.members if m.id == pin.member_id] == [194.0 - 64.0]


def test_a_stud_that_is_gone_takes_its_wish_along_and_it_is_said(store):
    """With a door where the stud was: the wish is left out, no other stud gets it."""
    job_id = wall(store, HandOpening("door", 60.0, 34.0, 0.0, 97.0))
    framing = boarded(store, job_id)
    wishes = KeptWishes(seams=((0, 77.0),), no_seam_in=(112.0,))
    assert lost(framing, wishes) == (77.0,)
    surface = store.job(job_id).surfaces[0]
    settings = {**surface.settings, "wishes": wishes_to_json(wishes)}
    store.save_surface(surface.surface_id, surface.revision, settings=settings)
    kept = boarded(store, job_id).wishes
    assert (kept.pins, len(kept.forbidden_members)) == ((), 1)


def test_over_a_window_the_first_row_means_the_upper_cripple(store):
    job_id = wall(store, HandOpening("window", 40.0, 60.0, 36.0, 44.0))
    framing = boarded(store, job_id)
    there = {m.id: m for m in framing.members if m.centre_in == 64.0}
    assert len(there) == 2
    assert there[members_meant(framing, 64.0, 0)[-1]].bottom_in == 80.0
    assert there[members_meant(framing, 64.0, 1)[-1]].top_in == 36.0


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--seam-at", "1", "70in"], "has no stud at 5' 10\": the nearest are at 5' 4\" and 6' 8\""),
        (["--seam-at", "0", "64in"], "'0' is no row"),
        (["--seam-at", "first", "64in"], "'first' is no row"),
        (["--row-length", "1", "long"], "long"),
    ],
)
def test_a_wish_that_means_nothing_is_one_line_and_changes_nothing(store, capsys, options, says):
    job_id = wall(store)
    assert says in refused(capsys, ["change", "Basement", "N", *options])
    assert "wishes" not in store.job(job_id).surfaces[0].settings


@pytest.mark.parametrize(
    "kept",
    [
        [],
        {"seams": 3},
        {"seams": [[0]]},
        {"seams": [["a", 3.0]]},
        {"no_seam_in": [float("nan")]},
        {"no_seam_in": [10**400]},
        {"rows_from": "middle"},
        {"row_lengths": [[0, 96.0]] * 300},
        {"boards_run": ["across"]},
    ],
)
def test_damaged_wishes_are_refused_in_a_job_from_elsewhere(kept):
    if kept:
        with pytest.raises(JobError):
            check_surface_settings({"wishes": kept})
    assert wishes_of({"wishes": []}) == KeptWishes()
    asked = KeptWishes("top", "across", ((1, 32.0),), (16.0,), ((0, 120.0),))
    assert wishes_of({"wishes": wishes_to_json(asked)}) == asked
