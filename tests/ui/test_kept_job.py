"""A job kept by the app is boarded from the command line as the app boards it."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
import walls
from test_wall_photos import LEFT, LENGTH_IN, RIGHT, both

from ui import kept_job
from ui.command_line import main
from ui.corrections import Corrections, StudMark
from ui.kept_job import KeptJobError, job_to_board, kept_reading
from ui.store import Store
from ui.wall_photos import telling
from vision.reading import Warning

JPEG = b"\xff\xd8\xff stands for a photo"
ADDED = StudMark("mark-1", walls.stud(96.25).front_px)


@pytest.fixture
def store(tmp_path: Path, monkeypatch) -> Store:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    return Store()


@pytest.fixture
def readings(monkeypatch) -> list:
    """The reader is put aside: it answers with the invented wall, and is counted."""
    made: list = []

    def read(photo: object, **how: object):
        made.append(how)
        return walls.reading()

    monkeypatch.setattr(kept_job, "read_wall", read)
    monkeypatch.setattr(kept_job, "load_photo", lambda data, **_: data)
    return made


def basement(store: Store, corrections: Corrections | None = None) -> str:
    job_id = store.new_job("Basement")
    store.add_surface(
        job_id, "North wall", photo_jpeg=JPEG, corrections=corrections, settings={"board_width": "54in"}
    )
    return job_id


def test_a_wall_in_two_photos_is_boarded_whole_or_refused(store: Store, monkeypatch) -> None:
    shown = {JPEG: LEFT, JPEG + b"2": RIGHT}
    monkeypatch.setattr(kept_job, "load_photo", lambda data, **_: data)
    monkeypatch.setattr(kept_job, "read_wall", lambda photo, **how: shown[photo])
    looked = []

    def in_both(left, right, photos, pair):
        looked.append(photos)
        return {"lines": [both()]}

    monkeypatch.setattr(kept_job, "find_shared", in_both)
    job_id = basement(store)
    wall = store.job(job_id).surfaces[0]
    right = store.add_photo(wall.surface_id, wall.revision, JPEG + b"2")
    for _ in range(2):
        (framing,) = job_to_board(store, store.job(job_id)).surfaces
        assert framing.width_in == pytest.approx(LENGTH_IN, abs=0.05)
    assert looked == [(JPEG, JPEG + b"2")]  # the pictures are compared once
    settings = telling(store.surface(wall.surface_id), 0, both(2, 1))
    store.save_surface(right, 1, settings=settings)
    with pytest.raises(KeptJobError, match="North wall: Photos 1 and 2 do not match"):
        job_to_board(store, store.job(job_id))


def test_the_users_stud_and_board_width_are_in_the_job_file(store: Store, readings, capsys) -> None:
    basement(store, Corrections(studs=(ADDED,)))
    assert main(["job-file", "Basement", "-"]) == 0
    (wall,) = json.loads(capsys.readouterr().out)["surfaces"]
    assert wall["name"] == "North wall"
    assert wall["board_width_in"] == 54.0
    assert any(abs(member["centre_in"] - 96.25) < 0.01 for member in wall["members"])
    assert len(wall["members"]) == len(walls.reading().members) + 1


def test_the_job_file_can_be_boarded(store: Store, readings, tmp_path: Path, capsys) -> None:
    basement(store)
    file = str(tmp_path / "job.json")
    assert main(["job-file", "Basement", file]) == 0
    assert main(["boards", file, "--json", "-"]) == 0
    assert '"order"' in capsys.readouterr().out


def test_a_photo_is_read_only_once(store: Store, readings) -> None:
    job = store.job(basement(store))
    assert job_to_board(store, job) == job_to_board(store, job)
    assert len(readings) == 1
    other = Corrections(corners_px=((1.0, 1.0), (9.0, 1.0), (9.0, 9.0), (1.0, 9.0)))
    kept_reading(store, replace(job.surfaces[0], corrections=other))
    assert len(readings) == 2, "other corners are another reading"


def test_a_wall_that_cannot_be_built_on_stops_the_whole_job(store: Store, monkeypatch, capsys) -> None:
    monkeypatch.setattr(kept_job, "load_photo", lambda data, **_: data)
    refused = replace(
        walls.reading(), refused=True, warnings=(Warning("oblique", "From the side.", "Stand opposite."),)
    )
    monkeypatch.setattr(kept_job, "read_wall", lambda photo, **how: refused)
    job_id = basement(store)
    with pytest.raises(KeptJobError, match=r"North wall.*Stand opposite"):
        job_to_board(store, store.job(job_id))
    assert main(["job-file", "Basement", "-"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_a_wall_without_a_photo_is_named(store: Store, readings) -> None:
    job_id = basement(store)
    store.add_surface(job_id, "Closet")
    with pytest.raises(KeptJobError, match="Closet"):
        job_to_board(store, store.job(job_id))
