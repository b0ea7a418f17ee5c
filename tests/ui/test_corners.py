"""How the walls of a room meet: said once for a room, and what the boards make of it."""

from __future__ import annotations

import json

import pytest

from layout import JobError, plan_job
from tests.ui.commands import refused
from ui.by_hand import ByHand
from ui.command_line import main
from ui.corners import WAYS, check_ways, ways_for
from ui.kept_job import job_to_board
from ui.rooms import add_by_hand, copy_room
from ui.settings_check import check_job_settings
from ui.site_plan import site_plan
from ui.store import Store


@pytest.fixture
def store(tmp_path, monkeypatch):
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    return Store()


def room(store, walls, way, ceiling_after=""):
    """A kept room of walls 48 in long (or as said), hung in this order; returns the job's id."""
    job_id = store.new_job("Basement", {"corners": {"Den": way}})
    for name, length_in in walls.items():
        add_by_hand(store, store.job(job_id), ByHand("studs", length_in, 97.0), name, "Den")
        if name == ceiling_after:
            add_by_hand(store, store.job(job_id), ByHand("joists", 48.0, 48.0), "C", "Den")
    return job_id


def corners(store, job_id):
    surfaces = job_to_board(store, store.job(job_id)).surfaces
    return {each.id: (each.corner_left, each.corner_right) for each in surfaces}


@pytest.mark.parametrize(
    ("way", "meet"),
    [
        ("right", {"N": ("W", "E"), "E": ("N", "S"), "S": ("E", "W"), "W": ("S", "N")}),
        ("left", {"N": ("E", "W"), "E": ("S", "N"), "S": ("W", "E"), "W": ("N", "S")}),
        ("right_open", {"N": ("", "E"), "E": ("N", "S"), "S": ("E", "W"), "W": ("S", "")}),
        ("left_open", {"N": ("E", ""), "E": ("S", "N"), "S": ("W", "E"), "W": ("", "S")}),
    ],
)
def test_each_wall_meets_the_next_of_its_room(store, way, meet):
    """The ceiling on the list between two walls parts nobody, and meets nobody in a corner."""
    job_id = room(store, dict.fromkeys("NESW", 48.0), way, ceiling_after="E")
    assert corners(store, job_id) == {**meet, "C": ("", "")}


def test_a_12_ft_board_serves_a_wall_half_an_inch_longer_whose_neighbour_is_hung_later(store):
    """Common practice: the neighbour's board covers the 1/2 in; hung the other way round it would not fit."""
    first = room(store, {"N": 144.5, "E": 40.0}, "right_open")
    plan = plan_job(job_to_board(store, store.job(first)))
    pieces = [piece for row in plan.surfaces[0].rows for piece in row.pieces]
    assert [piece.length_in for piece in pieces] == [144.0, 144.0]
    unsaid = room(store, {"N": 144.5, "E": 40.0}, "")
    assert plan.score.butt_joint_ft == 0.0
    assert plan_job(job_to_board(store, store.job(unsaid))).score.butt_joint_ft == 8.0


def test_a_copied_room_keeps_how_its_walls_meet(store):
    job_id = room(store, dict.fromkeys("NESW", 48.0), "right")
    copy_room(store, store.job(job_id), "Den", "Bed")
    assert corners(store, job_id)["N (2)"] == ("W (2)", "E (2)")


def test_a_wall_that_cannot_be_boarded_yet_leaves_its_corners_open(store):
    job_id = room(store, dict.fromkeys("NESW", 24.0), "right")
    east = store.job(job_id).surfaces[1]
    store.save_surface(east.surface_id, east.revision, settings={"room": "Den"})  # no photo, no measures
    planned = site_plan(store, store.job(job_id)).job
    found = {each.id: (each.corner_left, each.corner_right) for each in planned.surfaces}
    assert found == {"N": ("W", ""), "S": ("", "W"), "W": ("S", "N")}


@pytest.mark.parametrize("kept", [[], "right", {"Den": "up"}, {"Den": ["right"]}, {"Den": None}])
def test_damaged_corners_are_refused_in_a_job_from_elsewhere(kept):
    with pytest.raises(JobError, match="how its walls meet"):
        check_job_settings({"corners": kept})
    check_ways({"corners": dict.fromkeys(ways_for(4), "left")})
    assert ways_for(3) == WAYS


def test_the_command_line_says_it_and_takes_it_back(store, capsys):
    job_id = room(store, dict.fromkeys("NES", 24.0), "")
    for options, kept in (
        (["right"], {"Den": "right"}),
        (["left", "--open"], {"Den": "left_open"}),
        (["unsaid"], {}),
    ):
        assert main(["corners", "Basement", "Den", *options]) == 0
        assert store.job(job_id).settings["corners"] == kept
    assert "'Den'" in refused(capsys, ["corners", "Basement", "Attic", "right"])
    add_by_hand(store, store.job(job_id), ByHand("studs", 24.0, 97.0), "H", "Hall")
    assert "has 1 walls" in refused(capsys, ["corners", "Basement", "Hall", "right"])
    add_by_hand(store, store.job(job_id), ByHand("studs", 24.0, 97.0), "J", "Hall")
    assert main(["corners", "Basement", "Hall", "right"]) == 0
    assert store.job(job_id).settings["corners"] == {"Hall": "right_open"}, "two walls go round nothing"


def test_the_boards_of_a_kept_surface_are_changed(store, capsys):
    job_id = room(store, dict.fromkeys("NE", 24.0), "")
    options = ["--board", "moisture", "--thickness", "5/8in", "--room", "Bath", "--width", "54in"]
    assert main(["change", "Basement", "N", *options, "--json", "-"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert {each["id"]: each["room"] for each in found["surfaces"]} == {"N": "Bath", "E": "Den"}
    changed = job_to_board(store, store.job(job_id)).surfaces[0]
    assert (changed.board_kind, changed.thickness_in, changed.board_width_in) == ("moisture", 0.625, 54.0)
    assert "nothing to change" in refused(capsys, ["change", "Basement", "E"])
    assert "no surface is called 'X'" in refused(capsys, ["change", "Basement", "X", "--board", "regular"])
