"""Kept jobs on the command line: surfaces by tape, mirror images, rooms, names, copies."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from PIL import Image
from printed import text_of

from tests.ui import walls
from tests.ui.commands import refused
from tests.ui.test_wall_photos import LEFT, LENGTH_IN, RIGHT, both
from ui.command_line import main
from ui.store import Store
from ui.wall_photos import told_of
from ui.words import Words
from vision.advice import warning
from vision.torn_jpeg import lacks_data


@pytest.fixture(autouse=True)
def kept_here(tmp_path, monkeypatch):
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))


def said(capsys, *arguments):
    assert main(list(arguments)) == 0
    return capsys.readouterr().out


def counted(capsys, *arguments, status=0):
    assert main([*arguments, "--json", "-"]) == status
    return json.loads(capsys.readouterr().out)


def test_a_room_is_walked_round_and_the_boards_are_counted_on_the_way(capsys):
    said(capsys, "new-job", "Basement")
    first = counted(capsys, "measure", "Basement", "12ft", "8ft", "--room", "Den")
    # 12 ft by 8 ft: two rows of one 12-ft board each, 48 in high
    assert [(b["length_in"], b["count"]) for b in first["boards"]] == [(144.0, 2)]
    options = ("--framing", "joists", "--along", "--room", "Den")
    then = counted(capsys, "measure", "Basement", "12ft", "8ft", *options)
    assert sum(b["count"] * b["length_in"] for b in then["boards"]) >= 4 * 144
    assert [s["kind"] for s in then["surfaces"]] == ["wall", "ceiling"]
    assert "Boards so far" in said(capsys, "measure", "Basement", "96in", "8ft", "--name", "Short one")


def test_a_mirrored_wall_has_its_door_at_the_other_end(capsys):
    said(capsys, "new-job", "Basement")
    counted(capsys, "measure", "Basement", "120", "96", "--opening", "door 30 at 10", "--name", "North")
    counted(capsys, "mirror", "Basement", "North", "--name", "South")
    store = Store()
    south = store.job(store.jobs()[0].job_id).surfaces[-1]
    (door,) = south.settings["by_hand"]["openings"]
    assert door["left_in"] == 120 - 10 - 30
    assert "no surface is called 'East'" in refused(capsys, ["mirror", "Basement", "East"])


def test_a_mirrored_wall_is_named_where_the_wall_it_was_made_from_is(capsys, monkeypatch, photo_file):
    doubts = (warning("assumed_spacing"), warning("wall_cut_off"))
    read = replace(walls.reading(), warnings=doubts)
    monkeypatch.setattr("ui.kept_job.read_wall", lambda photo, **how: read)
    said(capsys, "new-job", "Basement")
    said(capsys, "add-photo", "Basement", photo_file, "--name", "North")
    found = counted(capsys, "mirror", "Basement", "North", "--name", "South")
    cut_off = [w["surface"] for w in found["warnings"] if w["code"] == "wall_cut_off"]
    assert cut_off == ["North", "South"]
    said(capsys, "mirror", "Basement", "South", "--name", "East")
    named = {"names": "North, South, East"}
    words = Words("en")
    for command in ("order", "prices"):
        assert words("buy.guessed", **named) in said(capsys, command, "Basement", "--kept")
    assert counted(capsys, "prices", "Basement", "--kept")["guessed"] == ["North", "South", "East"]
    said(capsys, "delivery", "Basement", "--take-order")
    for command in (["stacks", "Basement", "--kept"], ["delivery", "Basement"]):
        assert words("signs.guessed", **named) in said(capsys, *command)
    # the cards say it of each wall, before hanging has begun too
    assert said(capsys, "cards", "Basement", "--kept").count(words("hanging.guessed")) == 3


def test_marks_of_a_kept_photo_that_were_not_set_with_care_are_kept_so(capsys, monkeypatch, photo_file):
    read_by = []
    monkeypatch.setattr(
        "ui.kept_job.read_wall", lambda photo, **how: read_by.append(how["reference"]) or walls.reading()
    )
    said(capsys, "new-job", "Basement")
    tape = ("--tape", "96in", "--from", "10,20", "--to", "300,20", "--marks-off", "3")
    said(capsys, "add-photo", "Basement", photo_file, *tape)
    assert read_by[0].mark_sigma_px == 3
    assert "give both" in refused(capsys, ["add-photo", "Basement", photo_file, "--marks-off", "3"])


def test_a_photo_that_lost_bytes_is_refused_before_its_wall_is_kept_and_looked_for_once(
    capsys, monkeypatch, photo_file, tmp_path
):
    looked = []
    monkeypatch.setattr("vision.photo.lacks_data", lambda data: looked.append(lacks_data(data)) or looked[-1])
    monkeypatch.setattr("ui.kept_job.read_wall", lambda photo, **how: walls.reading())
    whole = tmp_path / "whole.jpg"
    Image.effect_noise((800, 600), 60).convert("RGB").save(whole, quality=85)
    torn = tmp_path / "torn.jpg"
    torn.write_bytes(whole.read_bytes()[:40_000] + whole.read_bytes()[60_000:])
    said(capsys, "new-job", "Basement")
    assert "lost on its way" in refused(capsys, ["add-photo", "Basement", str(torn)])
    assert looked == [True]
    said(capsys, "add-photo", "Basement", str(whole), "--on-centre", "16in")
    assert looked == [True, False]
    store = Store()
    assert len(store.job(store.jobs()[0].job_id).surfaces) == 1


@pytest.mark.parametrize("command", [["stacks", "--kept"], ["delivery", "--take-order"]])
def test_signs_and_delivery_name_on_paper_the_wall_that_nobody_measured(
    capsys, monkeypatch, photo_file, tmp_path, command
):
    read = replace(walls.reading(), warnings=(warning("assumed_spacing"),))
    monkeypatch.setattr("ui.kept_job.read_wall", lambda photo, **how: read)
    said(capsys, "new-job", "Basement")
    said(capsys, "add-photo", "Basement", photo_file, "--name", "North", "--room", "Den")
    said(capsys, "measure", "Basement", "12ft", "8ft", "--name", "South", "--room", "Den")
    file = tmp_path / "paper.pdf"
    said(capsys, command[0], "Basement", *command[1:], "--pdf", str(file))
    printed = " ".join(text_of(file).split())
    assert Words("en")("signs.guessed", names="Den: North") in printed


def test_a_long_wall_is_photographed_in_two_parts(capsys, monkeypatch, photo_file, tmp_path):
    read = iter([LEFT, RIGHT])
    monkeypatch.setattr("ui.kept_job.read_wall", lambda photo, **how: next(read))
    monkeypatch.setattr("ui.kept_job.find_shared", lambda *_: {"lines": [both()]})
    other = tmp_path / "right.jpg"
    Image.new("RGB", (400, 300), (90, 90, 90)).save(other)
    said(capsys, "new-job", "Basement")
    one = counted(capsys, "add-photo", "Basement", photo_file, "--name", "Long", "--room", "Den")
    two = counted(capsys, "add-photo", "Basement", str(other), "--wall", "Long", "--on-centre", "16in")
    assert two["left_out"] == []
    assert [(s["id"], s["room"]) for s in two["surfaces"]] == [("Long", "Den")]
    assert one["surfaces"][0]["length_in"] == pytest.approx(130.0)
    assert two["surfaces"][0]["length_in"] == pytest.approx(LENGTH_IN, abs=0.05)
    (wall,) = Store().job(Store().jobs()[0].job_id).surfaces
    assert [part.corrections.reference.length_in for part in wall.more] == [16.0]
    again = ["add-photo", "Basement", str(other)]
    # the same photo again only says more about it
    fit = ["add-photo", "Basement", str(other), "--wall", "Long", "--same"]
    told = counted(capsys, *fit, "7=2")
    assert told["surfaces"][0]["length_in"] == pytest.approx(LENGTH_IN, abs=0.05)
    (wall,) = Store().job(Store().jobs()[0].job_id).surfaces
    assert told_of(wall, 0) == both()
    assert [part.corrections.reference.length_in for part in wall.more] == [16.0]
    (left_out,) = counted(capsys, *fit, "3=2", status=3)["left_out"]
    assert "do not match with stud 3" in left_out
    assert "shows 9 studs, there is no stud 10" in refused(capsys, [*fit, "10=2"])
    assert "write STUD=STUD" in refused(capsys, [*fit, "seven"])
    assert "add --wall NAME" in refused(capsys, [*again, "--left"])
    assert "has its name" in refused(capsys, [*again, "--wall", "Long", "--room", "Den"])
    assert "no surface is called 'East'" in refused(capsys, [*again, "--wall", "East"])
    counted(capsys, "measure", "Basement", "12ft", "8ft", "--name", "South", status=3)
    assert "has no photo of its own" in refused(capsys, [*again, "--wall", "South"])


def test_a_copied_room_doubles_the_boards(capsys):
    said(capsys, "new-job", "Basement")
    one = counted(capsys, "measure", "Basement", "12ft", "8ft", "--room", "Den")
    two = counted(capsys, "copy-room", "Basement", "Den", "Bedroom")
    assert [s["room"] for s in two["surfaces"]] == ["Den", "Bedroom"]
    assert sum(b["count"] for b in two["boards"]) == 2 * sum(b["count"] for b in one["boards"])
    assert "'Den', 'Bedroom'" in refused(capsys, ["copy-room", "Basement", "Attic", "x"])


def test_a_job_is_renamed_copied_put_away_and_brought_back(capsys):
    said(capsys, "new-job", "Basement")
    said(capsys, "rename", "Basement", "Cellar")
    said(capsys, "copy", "Cellar", "Cellar as it was")
    said(capsys, "put-away", "Cellar")
    assert "Cellar\n" not in said(capsys, "jobs")
    assert "Cellar" in said(capsys, "jobs", "--archived")
    said(capsys, "bring-back", "Cellar")
    assert said(capsys, "jobs").count("Cellar") == 2


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["12ft", "8ft", "--opening", "a big hole"], "is no opening"),
        (["12ft", "8ft", "--opening", "window 30 at 4"], "is no opening"),
        (["12ft", "8ft", "--opening", "door 30 at 500"], "beside the surface"),
        (["0", "8ft"], "cannot be"),
        (["12ft", "8ft", "--on-centre", "1in"], "on_centre_in"),
    ],
)
def test_what_cannot_be_framed_is_one_line_and_adds_nothing(capsys, options, says):
    said(capsys, "new-job", "Basement")
    assert says in refused(capsys, ["measure", "Basement", *options])
    store = Store()
    assert store.job(store.jobs()[0].job_id).surfaces == ()


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        ("measure Den 12ft 8ft --thickness 3ft", "no gypsum board is 3' thick"),
        ("change Den North --thickness 40in", "no gypsum board is 3' 4\" thick"),
        ("measure Den 12ft 8ft --first 13ft", "--first 13' lies beyond the far end, which is 12' away"),
        ("measure Den 12ft 8ft --framing joists --along --first 9ft", "which is 8' away"),
        ("change Den North --seam-at 99 48in", "North has no row 99: it takes at most 3 rows"),
        ("change Den North --row-length 4 12ft", "North has no row 4"),
        ("copy-room Den Hall Hall", "'Hall' is the room that is copied"),
    ],
)
def test_what_no_wall_can_be_is_refused_and_nothing_is_kept(capsys, arguments, wanted):
    said(capsys, "new-job", "Den")
    said(capsys, "measure", "Den", "12ft", "8ft", "--name", "North", "--room", "Hall")
    store = Store()
    before = store.job(store.jobs()[0].job_id)
    assert wanted in refused(capsys, arguments.split())
    assert store.job(before.job_id) == before


def test_a_wish_that_the_plan_leaves_out_is_said_at_once(capsys):
    said(capsys, "new-job", "Den")
    said(capsys, "measure", "Den", "12ft", "8ft", "--name", "North")
    # the wall takes two rows across the studs, three only with boards upright
    out = said(capsys, "change", "Den", "North", "--seam-at", "3", "48in")
    assert "Note: North cannot be boarded with the seam pinned on member 4 in row 3" in out


def test_a_stop_after_the_wall_was_kept_says_that_it_is_kept(capsys, monkeypatch, photo_file):
    def stopped(*_):
        raise KeyboardInterrupt

    said(capsys, "new-job", "Den")
    monkeypatch.setattr("ui.house_commands.site_plan", stopped)
    for command in (["add-photo", "Den", photo_file], ["measure", "Den", "12ft", "8ft"]):
        told = refused(capsys, command, 130)
        assert "what you told is kept in “Den”: do not tell it again" in told
    store = Store()
    assert len(store.job(store.jobs()[0].job_id).surfaces) == 2
    monkeypatch.setattr("ui.house_commands.without_position", stopped)
    assert refused(capsys, ["add-photo", "Den", photo_file], 130) == "seamwright: Stopped."
    assert len(store.job(store.jobs()[0].job_id).surfaces) == 2
