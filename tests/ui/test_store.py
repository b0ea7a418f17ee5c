"""What the store has answered is there again; what it has refused changed nothing."""

from __future__ import annotations

import hashlib
import threading
from pathlib import Path

import pytest

from ui.corrections import Corrections, ReferenceMark, StudMark
from ui.rooms import copy_room
from ui.store import MOST_PHOTOS, StaleEdit, Store, StoreError
from ui.store_rows import LONGEST_NAME
from ui.store_schema import data_folder

MARKS = Corrections(
    studs=(StudMark("mark-1", ((100.25, 900.0), (101.0, 100.0))),),
    corners_px=((1.0, 2.0), (900.0, 3.0), (901.0, 800.0), (0.0, 799.0)),
    reference=ReferenceMark("tape", 96.0, "8 ft", (10.0, 20.0), (30.0, 400.0)),
)
JPEG = b"\xff\xd8\xff invented photo bytes"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path)


def test_a_job_is_there_again_after_the_program_was_closed(tmp_path: Path) -> None:
    first = Store(tmp_path)
    job_id = first.new_job("Basement", {"market": "us"})
    first.add_surface(
        job_id, "North wall", photo_jpeg=JPEG, corrections=MARKS, settings={"board_width_in": 54}
    )
    first.add_surface(job_id, "South wall")

    job = Store(tmp_path).job(job_id)
    assert (job.name, job.settings, job.archived) == ("Basement", {"market": "us"}, False)
    assert [s.name for s in job.surfaces] == ["North wall", "South wall"]
    north = job.surfaces[0]
    assert north.corrections == MARKS
    assert north.settings == {"board_width_in": 54}
    assert north.photo_sha256 == hashlib.sha256(JPEG).hexdigest()
    assert Store(tmp_path).photo(north.photo_sha256) == JPEG
    assert job.surfaces[1].photo_sha256 is None


def test_saving_changes_what_was_given_and_leaves_the_rest(store: Store) -> None:
    surface_id = store.add_surface(store.new_job("Attic"), "Gable", corrections=MARKS, settings={"a": 1})
    assert store.save_surface(surface_id, 1, settings={"a": 2}) == 2
    kept = store.surface(surface_id)
    assert (kept.name, kept.corrections, kept.settings, kept.revision) == ("Gable", MARKS, {"a": 2}, 2)
    store.save_surface(surface_id, 2, name="East gable", corrections=Corrections(), photo_jpeg=JPEG)
    kept = store.surface(surface_id)
    assert (kept.name, kept.corrections, kept.settings) == ("East gable", Corrections(), {"a": 2})
    assert kept.photo_sha256 is not None


def test_two_tabs_do_not_overwrite_each_other_silently(tmp_path: Path) -> None:
    one, other = Store(tmp_path), Store(tmp_path)
    job_id = one.new_job("Basement")
    surface_id = one.add_surface(job_id, "North wall")
    seen_by_one, seen_by_other = one.surface(surface_id), other.surface(surface_id)
    one.save_surface(surface_id, seen_by_one.revision, settings={"from": "one"})
    with pytest.raises(StaleEdit, match="another window"):
        other.save_surface(surface_id, seen_by_other.revision, settings={"from": "other"})
    assert other.surface(surface_id).settings == {"from": "one"}
    with pytest.raises(StaleEdit):
        one.save_job(job_id, one.save_job(job_id, 1, name="Cellar") - 1, name="Vault")
    assert one.job(job_id).name == "Cellar"


def test_of_many_threads_saving_the_same_revision_exactly_one_wins(store: Store) -> None:
    surface_id = store.add_surface(store.new_job("Basement"), "North wall")
    won: list[int] = []

    def save(number: int) -> None:
        try:
            store.save_surface(surface_id, 1, settings={"by": number})
            won.append(number)
        except StaleEdit:
            pass

    threads = [threading.Thread(target=save, args=(n,)) for n in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(won) == 1
    assert store.surface(surface_id).settings == {"by": won[0]}


def test_jobs_can_be_renamed_put_away_and_brought_back(store: Store) -> None:
    job_id = store.new_job("Basement")
    revision = store.save_job(job_id, 1, name="  Basement,\n west  half ")
    assert [j.name for j in store.jobs()] == ["Basement, west half"]
    revision = store.save_job(job_id, revision, archived=True)
    assert store.jobs() == ()
    assert [j.job_id for j in store.jobs(archived=True)] == [job_id]
    store.save_job(job_id, revision, archived=False)
    assert [j.job_id for j in store.jobs()] == [job_id]


def test_the_job_worked_on_last_is_listed_first_with_its_surfaces_counted(store: Store) -> None:
    older, newer = store.new_job("Older"), store.new_job("Newer")
    assert [j.name for j in store.jobs()] == ["Newer", "Older"]
    store.add_surface(older, "A")
    store.add_surface(older, "B")
    assert [(j.name, j.surface_count) for j in store.jobs()] == [("Older", 2), ("Newer", 0)]
    assert newer


def test_a_copy_is_the_same_job_and_then_goes_its_own_way(store: Store) -> None:
    job_id = store.new_job("Room 1", {"market": "uk"})
    surface_id = store.add_surface(job_id, "A", photo_jpeg=JPEG, corrections=MARKS)
    copy = store.job(store.copy_job(job_id, "Room 2"))
    assert (copy.name, copy.settings) == ("Room 2", {"market": "uk"})
    assert copy.surfaces[0].corrections == MARKS
    assert copy.surfaces[0].photo_sha256 == hashlib.sha256(JPEG).hexdigest()
    store.save_surface(copy.surfaces[0].surface_id, 1, name="A, mirrored")
    assert store.surface(surface_id).name == "A"


def test_a_wall_keeps_several_photos_each_with_its_own_marks(store: Store) -> None:
    job_id = store.new_job("Basement")
    wall_id = store.add_surface(job_id, "North wall", photo_jpeg=JPEG, corrections=MARKS)
    right_id = store.add_photo(wall_id, 1, JPEG + b"2")
    left_id = store.add_photo(wall_id, 2, JPEG + b"3", left=True)
    store.save_surface(right_id, 1, corrections=MARKS)
    (wall,) = store.job(job_id).surfaces
    assert [part.surface_id for part in wall.more] == [left_id, right_id]
    assert [part.corrections for part in wall.more] == [Corrections(), MARKS]
    assert store.surface(wall_id) == wall
    assert store.surface(right_id) == wall.more[1]
    # photos are no surfaces: the job has one
    assert store.jobs()[0].surface_count == 1
    copy = store.job(store.copy_job(job_id, "Again")).surfaces[0]
    assert [(part.photo_sha256, part.corrections) for part in copy.more] == [
        (part.photo_sha256, part.corrections) for part in wall.more
    ]
    assert {part.part_of for part in copy.more} == {copy.surface_id}
    copy_room(store, store.job(job_id), "", "Den")
    assert [len(each.more) for each in store.job(job_id).surfaces] == [2, 2]


def test_a_photo_taken_away_leaves_the_wall_and_its_other_photos(store: Store) -> None:
    wall_id = store.add_surface(store.new_job("Basement"), "North wall", photo_jpeg=JPEG, corrections=MARKS)
    one, two = store.add_photo(wall_id, 1, JPEG + b"2"), store.add_photo(wall_id, 2, JPEG + b"3")
    with pytest.raises(StaleEdit):
        store.take_photo_away(wall_id, 1, one)
    with pytest.raises(StoreError, match="no such photo"):
        store.take_photo_away(wall_id, 3, "gone")
    before = store.surface(wall_id).state
    store.take_photo_away(wall_id, 3, one)
    wall = store.surface(wall_id)
    assert wall.state != before
    assert [part.surface_id for part in wall.more] == [two]
    assert wall.corrections == MARKS


def test_a_wall_takes_only_so_many_photos_and_only_where_it_has_one(store: Store) -> None:
    job_id = store.new_job("Basement")
    by_hand = store.add_surface(job_id, "Measured")
    with pytest.raises(StoreError, match="no such photo"):
        store.add_photo(by_hand, 1, JPEG)
    wall_id = store.add_surface(job_id, "North wall", photo_jpeg=JPEG)
    for number in range(1, MOST_PHOTOS):
        store.add_photo(wall_id, number, JPEG + bytes([number]))
    with pytest.raises(StoreError, match=f"at most {MOST_PHOTOS} photos"):
        store.add_photo(wall_id, MOST_PHOTOS, JPEG)


def test_a_removed_surface_can_be_brought_back(store: Store) -> None:
    job_id = store.new_job("Basement")
    surface_id = store.add_surface(job_id, "North wall", corrections=MARKS)
    revision = store.save_surface(surface_id, 1, removed=True)
    assert store.job(job_id).surfaces == ()
    store.save_surface(surface_id, revision, removed=False)
    assert store.job(job_id).surfaces[0].corrections == MARKS


def test_surfaces_stand_in_the_order_the_user_gave(store: Store) -> None:
    job_id = store.new_job("Basement")
    a, b, c = (store.add_surface(job_id, name) for name in "ABC")
    store.order_surfaces(job_id, (c, a))
    assert [s.name for s in store.job(job_id).surfaces] == ["C", "A", "B"]
    with pytest.raises(StoreError):
        store.order_surfaces(job_id, (b, "no such"))
    assert [s.name for s in store.job(job_id).surfaces] == ["C", "A", "B"]


def test_a_reading_is_kept_under_its_key(store: Store) -> None:
    assert store.reading("k") is None
    store.keep_reading("k", {"members": [1, 2.5]})
    store.keep_reading("k", {"members": [3]})
    assert store.reading("k") == {"members": [3]}


@pytest.mark.parametrize("name", ["", "  \n\t ", "\u0000", "x" * (LONGEST_NAME + 1)])
def test_a_name_nobody_can_read_is_refused(store: Store, name: str) -> None:
    with pytest.raises(StoreError):
        store.new_job(name)
    assert store.jobs() == ()


@pytest.mark.parametrize("name", ["<b>Wall</b>", "'; DROP TABLE jobs; --", "Küche № 1 🏠", "\ud800 half"])
def test_names_with_markup_or_quotes_are_kept_as_plain_text(store: Store, name: str) -> None:
    job_id = store.new_job(name)
    assert store.job(job_id).name == name.replace("\ud800 ", "")


@pytest.mark.parametrize(
    "settings", [{"a": float("nan")}, {"a": float("inf")}, {"a": object()}, {"a": "\ud800"}]
)
def test_figures_that_json_does_not_have_are_refused_whole(store: Store, settings: dict) -> None:
    surface_id = store.add_surface(store.new_job("Basement"), "North wall", settings={"a": 1})
    with pytest.raises(StoreError):
        store.save_surface(surface_id, 1, name="Changed", settings=settings)
    kept = store.surface(surface_id)
    assert (kept.name, kept.settings, kept.revision) == ("North wall", {"a": 1}, 1)


def test_what_is_not_there_is_said_in_one_sentence(store: Store) -> None:
    for ask in (
        lambda: store.job("gone"),
        lambda: store.surface("gone"),
        lambda: store.photo("gone"),
        lambda: store.add_surface("gone", "A"),
        lambda: store.save_surface("gone", 1, name="A"),
        lambda: store.copy_job("gone", "A"),
    ):
        with pytest.raises(StoreError, match="no such"):
            ask()


def test_a_half_made_job_leaves_nothing_behind(store: Store) -> None:
    def add_and_fail() -> None:
        with store.adding_job("Basement", {}) as adding:
            adding.surface("A", adding.photo(JPEG), MARKS, {})
            raise RuntimeError("the archive turned out broken")

    with pytest.raises(RuntimeError):
        add_and_fail()
    assert store.jobs() == ()
    with pytest.raises(StoreError):
        store.photo(hashlib.sha256(JPEG).hexdigest())


def test_the_data_folder_is_the_stated_one_else_the_systems(monkeypatch, tmp_path: Path) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "mine"))
    assert data_folder() == tmp_path / "mine"
    monkeypatch.delenv("SEAMWRIGHT_DATA")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    # XDG Base Directory Specification: default $HOME/.local/share; a relative path is to be ignored.
    assert data_folder() == tmp_path / ".local" / "share" / "seamwright"
    monkeypatch.setenv("XDG_DATA_HOME", "relative")
    assert data_folder() == tmp_path / ".local" / "share" / "seamwright"
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "xdg"))
    assert data_folder() == tmp_path / "xdg" / "seamwright"
    monkeypatch.setattr("sys.platform", "darwin")
    assert data_folder() == tmp_path / "Library" / "Application Support" / "Seamwright"
