"""Killed in the middle of a save, on a full or read-only disk, damaged or from another version."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from ui import store_schema
from ui.corrections import Corrections, ReferenceMark, StudMark
from ui.store import Store, StoreError
from ui.store_schema import FILE_NAME, LATEST_VERSION, MIGRATIONS
from ui.wall_photos import photos_of, told_of

ROOT = Path(__file__).parents[2]
DEFAULT_KILLS = 120  # SEAMWRIGHT_KILLS=500 and more for the evidence of a release


def save_until_killed(folder: Path, surface_id: str, answers: int) -> None:
    """Save one edit after the other and write each answered revision to the pipe `answers`.

    One edit is a set of studs that would show if half of it were kept: as many as its number says,
    all at that number's place.
    """
    store = Store(folder)
    revision = store.surface(surface_id).revision
    while True:
        n = revision + 1
        studs = tuple(StudMark(f"m{i}", ((n, i), (n, i + 9))) for i in range(n % 60 + 1))
        revision = store.save_surface(
            surface_id, revision, corrections=Corrections(studs=studs), settings={"n": n}
        )
        os.write(answers, f"{revision}\n".encode())


def killed_while_saving(folder: Path, kills: int, seed: int) -> int:
    """Kill a saving process `kills` times at random moments; returns how many edits were answered."""
    store = Store(folder)
    surface_id = store.add_surface(store.new_job("Basement"), "North wall")
    randomness = random.Random(seed)
    first = answered = store.surface(surface_id).revision
    for number in range(kills):
        reading, writing = os.pipe()
        saving = os.fork()
        if saving == 0:
            try:
                save_until_killed(folder, surface_id, writing)
            finally:
                os._exit(1)
        os.close(writing)
        with os.fdopen(reading) as answers:
            lines = [answers.readline() for _ in range(randomness.randint(1, 6))]
            # A save takes 2 to 3 ms: within 6 ms more any part of one may be hit.
            time.sleep(randomness.random() * 0.006)
            os.kill(saving, signal.SIGKILL)
            lines += answers.readlines()
        _, status = os.waitpid(saving, 0)
        assert os.WTERMSIG(status) == signal.SIGKILL, "the saving process ended by itself"
        answered = max(answered, *(int(line) for line in lines if line.endswith("\n")))

        kept = Store(folder).surface(surface_id)
        assert kept.revision in (answered, answered + 1), f"kill {number}: an answered edit is gone"
        n = kept.settings["n"]
        assert n == kept.revision
        assert len(kept.corrections.studs) == n % 60 + 1
        assert {mark.front_px[0][0] for mark in kept.corrections.studs} == {float(n)}
    with sqlite3.connect(folder / FILE_NAME) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    return answered - first


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_every_answered_edit_survives_being_killed_while_saving(tmp_path: Path, capsys) -> None:
    kills = int(os.environ.get("SEAMWRIGHT_KILLS", DEFAULT_KILLS))
    answered = killed_while_saving(tmp_path, kills, seed=8)
    with capsys.disabled():
        print(f"\n{kills} kills, {answered} answered edits, all kept")
    assert answered >= kills


def test_two_programs_may_make_the_store_at_the_same_moment(tmp_path: Path) -> None:
    script = "import sys; from ui.store import Store; Store(sys.argv[1]).new_job('made')"
    starting = [
        subprocess.Popen([sys.executable, "-c", script, str(tmp_path)], cwd=ROOT, stderr=subprocess.PIPE)
        for _ in range(4)
    ]
    for process in starting:
        _, complaint = process.communicate()
        assert process.returncode == 0, complaint.decode()
    assert len(Store(tmp_path).jobs()) == 4


def test_a_full_disk_gives_a_sentence_and_changes_nothing(tmp_path: Path, monkeypatch) -> None:
    # SQLite answers a page limit with the same code as a full disk: SQLITE_FULL.
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    true_connect = sqlite3.connect

    def connect_full(*args, **kwargs):
        db = true_connect(*args, **kwargs)
        db.execute("PRAGMA max_page_count = 1")
        return db

    monkeypatch.setattr(store_schema.sqlite3, "connect", connect_full)
    with pytest.raises(StoreError, match="is full, nothing was changed: free some space"):
        store.add_surface(job_id, "North wall", photo_jpeg=b"\xff\xd8" * 500_000)
    monkeypatch.undo()
    assert store.job(job_id).surfaces == ()


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="needs POSIX permissions")
def test_a_folder_nobody_may_write_gives_a_sentence(tmp_path: Path) -> None:
    blocked = tmp_path / "file, not folder"
    blocked.write_text("in the way")
    with pytest.raises(StoreError, match="SEAMWRIGHT_DATA"):
        Store(blocked / "data")
    if os.geteuid() == 0:
        pytest.skip("the superuser may write everywhere")
    locked = tmp_path / "locked"
    locked.mkdir()
    locked.chmod(0o500)
    with pytest.raises(StoreError, match="cannot be written"):
        Store(locked)


def test_a_read_only_store_can_be_looked_at_but_says_why_it_keeps_nothing(
    tmp_path: Path, monkeypatch
) -> None:
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    true_connect = sqlite3.connect

    def connect_read_only(file, **kwargs):
        return true_connect(f"file:{file}?mode=ro", uri=True, **kwargs)

    monkeypatch.setattr(store_schema.sqlite3, "connect", connect_read_only)
    assert store.job(job_id).name == "Basement"
    with pytest.raises(StoreError, match="cannot be written, nothing was changed"):
        store.new_job("Attic")


def test_a_store_in_use_by_another_program_gives_a_sentence(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(store_schema, "WAIT_FOR_OTHERS_S", 0.05)
    store = Store(tmp_path)
    other = sqlite3.connect(store.file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreError, match="in use by another program"):
        store.new_job("Basement")
    other.execute("ROLLBACK")
    other.close()
    store.new_job("Basement")


@pytest.mark.parametrize(
    "content", [b"this is no database, it is a letter" * 100, b"SQLite format 3\0" + b"\xee" * 5000]
)
def test_a_file_that_is_no_store_is_left_alone(tmp_path: Path, content: bytes) -> None:
    (tmp_path / FILE_NAME).write_bytes(content)
    with pytest.raises(StoreError, match="damaged or no store"):
        Store(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes() == content


def test_damaged_rows_give_a_sentence(tmp_path: Path) -> None:
    store = Store(tmp_path)
    surface_id = store.add_surface(store.new_job("Basement"), "North wall", photo_jpeg=b"\xff\xd8 photo")
    sha256 = store.surface(surface_id).photo_sha256
    with sqlite3.connect(store.file) as db:
        db.execute("UPDATE photos SET jpeg = x'ffd8'")
        db.execute("""UPDATE surfaces SET corrections = '{"studs": [{"id": 1}]}'""")
    with pytest.raises(StoreError, match="photo is damaged"):
        store.photo(str(sha256))
    with pytest.raises(StoreError, match="North wall"):
        store.surface(surface_id)


def test_a_store_of_a_newer_version_is_not_touched(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.new_job("Basement")
    with sqlite3.connect(store.file) as db:
        db.execute(f"PRAGMA user_version = {LATEST_VERSION + 1}")
    before = store.file.read_bytes()
    with pytest.raises(StoreError, match="newer version"):
        Store(tmp_path)
    assert store.file.read_bytes() == before


def test_a_kept_store_of_version_1_opens_with_everything_in_it(tmp_path: Path) -> None:
    # Written by the first version of the program and kept as text; never regenerated.
    kept = (Path(__file__).parent / "store_of_version_1.sql").read_text()
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.executescript(kept)
    store = Store(tmp_path)
    (line,) = store.jobs()
    assert (line.name, line.surface_count) == ("Basement", 2)
    job = store.job(line.job_id)
    north, ceiling = job.surfaces
    assert job.settings == {"market": "us"}
    assert north.corrections == Corrections(studs=(StudMark("mark-1", ((100.5, 900.0), (101.0, 99.5))),))
    assert (ceiling.name, ceiling.photo_sha256, ceiling.settings) == ("Ceiling", None, {"joists_in": 16})
    assert store.photo(str(north.photo_sha256)) == b"\xff\xd8\xff kept photo"
    # what version 3 brought: a wall in several photos
    assert north.more == ()
    further = store.add_photo(north.surface_id, north.revision, b"\xff\xd8\xff another photo")
    assert [part.surface_id for part in store.surface(north.surface_id).more] == [further]
    with sqlite3.connect(store.file) as db:
        assert db.execute("PRAGMA user_version").fetchone()[0] == LATEST_VERSION


def test_a_kept_store_of_version_3_opens_with_each_photo_of_its_wall(tmp_path: Path) -> None:
    # Written by the third version of the program and kept as text; never regenerated.
    kept = (Path(__file__).parent / "store_of_version_3.sql").read_text()
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.executescript(kept)
    store = Store(tmp_path)
    (line,) = store.jobs()
    assert (line.name, line.surface_count) == ("Workshop", 1)
    (wall,) = store.job(line.job_id).surfaces
    left, own, right = photos_of(wall)
    assert own is wall
    assert [store.photo(str(each.photo_sha256))[3:] for each in (left, own, right)] == [b" 3", b" 1", b" 2"]
    mark = ((100.5, 900.0), (101.0, 99.5))
    assert right.corrections == Corrections(studs=(StudMark("mark-1", mark),))
    assert told_of(wall, 1) == (mark, mark)
    second = ReferenceMark("tape", 48.0, "4 ft", (10.0, 20.0), (490.0, 20.0))
    assert wall.corrections.second == second


def test_a_migration_that_fails_leaves_the_old_store_and_a_copy(tmp_path: Path, monkeypatch) -> None:
    store = Store(tmp_path)
    store.new_job("Basement")
    monkeypatch.setattr(
        store_schema, "MIGRATIONS", (*MIGRATIONS, "CREATE TABLE new (a); SELECT wrong FROM jobs")
    )
    monkeypatch.setattr(store_schema, "LATEST_VERSION", LATEST_VERSION + 1)
    with pytest.raises(StoreError):
        Store(tmp_path)
    assert (tmp_path / f"{FILE_NAME}.version-{LATEST_VERSION}").exists()
    monkeypatch.undo()
    assert [line.name for line in Store(tmp_path).jobs()] == ["Basement"]


def test_a_migration_that_works_keeps_the_jobs_and_a_copy_of_before(tmp_path: Path, monkeypatch) -> None:
    job_id = Store(tmp_path).new_job("Basement")
    monkeypatch.setattr(store_schema, "MIGRATIONS", (*MIGRATIONS, "ALTER TABLE jobs ADD COLUMN note TEXT"))
    monkeypatch.setattr(store_schema, "LATEST_VERSION", LATEST_VERSION + 1)
    assert Store(tmp_path).job(job_id).name == "Basement"
    with sqlite3.connect(tmp_path / f"{FILE_NAME}.version-{LATEST_VERSION}") as copy:
        assert copy.execute("SELECT name FROM jobs").fetchall() == [("Basement",)]
