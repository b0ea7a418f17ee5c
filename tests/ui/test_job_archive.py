"""A packed job comes back whole on another machine; a hostile file is refused whole."""

from __future__ import annotations

import hashlib
import io
import json
import struct
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from ui.corrections import Corrections, OpeningMark, ReferenceMark, StudMark
from ui.job_archive import MOST_MARKS, ArchiveError, pack_job, unpack_job
from ui.store import Store, StoreError
from ui.wall_photos import telling, told_of

sys.path.append(str(Path(__file__).parents[1] / "vision"))

from photo_files import quarters, saved, with_position

from vision.photo_privacy import without_position

PHOTO = without_position(saved(quarters(), "JPEG", exif=with_position()))
OTHER_PHOTO = without_position(saved(quarters(), "JPEG", quality=70))
SHA256 = hashlib.sha256(PHOTO).hexdigest()
MARKS = Corrections(
    studs=(StudMark("mark-1", ((100.25, 290.0), (101.0, 10.0)), ((99.0, 290.0), (99.5, 10.0))),),
    removed_px=(((5.0, 290.0), (6.0, 10.0)),),
    openings=(OpeningMark("mark-2", "door", ((1.0, 2.0), (9.0, 2.0), (9.0, 8.0), (1.0, 8.0))),),
    reference=ReferenceMark("tape", 96.0, "8 ft", (10.0, 20.0), (30.0, 40.0)),
)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "here")


def basement(store: Store) -> str:
    job_id = store.new_job("Basement", {"market": "us"})
    store.add_surface(
        job_id, "North wall", photo_jpeg=PHOTO, corrections=MARKS, settings={"board_width_in": 54}
    )
    store.add_surface(job_id, "North wall again", photo_jpeg=PHOTO)
    store.add_surface(job_id, "Ceiling <b>", settings={"joists_in": 16})
    return job_id


def test_a_packed_job_is_the_same_job_on_another_machine(store: Store, tmp_path: Path) -> None:
    packed = pack_job(store, basement(store))
    elsewhere = Store(tmp_path / "elsewhere")
    job = elsewhere.job(unpack_job(elsewhere, packed))
    assert (job.name, job.settings) == ("Basement", {"market": "us"})
    assert [s.name for s in job.surfaces] == ["North wall", "North wall again", "Ceiling <b>"]
    assert job.surfaces[0].corrections == MARKS
    assert [s.photo_sha256 for s in job.surfaces] == [SHA256, SHA256, None]
    assert elsewhere.photo(SHA256) == PHOTO
    assert pack_job(elsewhere, job.job_id) == packed


def test_a_wall_in_several_photos_comes_along_with_the_marks_of_each(store: Store, tmp_path: Path) -> None:
    job_id = basement(store)
    wall = store.job(job_id).surfaces[0]
    assert b'"version": 1' in zipfile.ZipFile(io.BytesIO(pack_job(store, job_id))).read("job.json")
    right = store.add_photo(wall.surface_id, wall.revision, OTHER_PHOTO)
    line = ((100.0, 290.0), (101.0, 10.0))
    settings = telling(store.surface(wall.surface_id), 0, (line, line))
    store.save_surface(right, 1, corrections=MARKS, settings=settings)
    packed = pack_job(store, job_id)
    # an older release must not take the wall for its first photo alone
    assert b'"version": 2' in zipfile.ZipFile(io.BytesIO(packed)).read("job.json")
    elsewhere = Store(tmp_path / "elsewhere")
    job = elsewhere.job(unpack_job(elsewhere, packed))
    (part,) = job.surfaces[0].more
    assert part.corrections == MARKS
    assert elsewhere.photo(str(part.photo_sha256)) == OTHER_PHOTO
    assert told_of(job.surfaces[0], 0) == (line, line)
    assert pack_job(elsewhere, job.job_id) == packed


PART = {"photo": SHA256, "corrections": {}, "settings": {"place": 1}}


@pytest.mark.parametrize(
    "more",
    [
        {},
        [PART] * 8,
        ["photo"],
        [{**PART, "photo": "../x"}],
        [{**PART, "photo": None}],
        [{**PART, "settings": {}}],
        [{**PART, "settings": {"place": 0}}],
        [{**PART, "settings": {"place": True}}],
        [{**PART, "settings": {"place": 1, "same": {"neighbour": SHA256}}}],
        [{**PART, "settings": {"place": 1, "same": [1]}}],
        [{**PART, "corrections": {"studs": [{}]}}],
        [{**PART, "photo": "0" * 64}],
    ],
)
def test_further_photos_that_are_not_as_they_should_be_are_refused(store: Store, more: Any) -> None:
    surface = {"name": "A", "photo": SHA256, "corrections": {}, "settings": {}, "more": more}
    refused(store, packed(document(version=2, surfaces=[surface])))


def test_unpacking_twice_gives_two_jobs_and_overwrites_none(store: Store) -> None:
    job_id = basement(store)
    packed = pack_job(store, job_id)
    again = unpack_job(store, packed)
    assert again != job_id
    assert len(store.jobs()) == 2


def document(**changes: Any) -> dict[str, Any]:
    whole: dict[str, Any] = {
        "form": "seamwright job",
        "version": 1,
        "name": "Basement",
        "settings": {},
        "surfaces": [{"name": "A", "photo": SHA256, "corrections": {}, "settings": {}}],
    }
    return {**whole, **changes}


def packed(job: Any = None, files: dict[str, bytes] | None = None, **how: Any) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", **how) as archive:
        archive.writestr("job.json", job if isinstance(job, (str, bytes)) else json.dumps(job or document()))
        for name, content in ({f"photos/{SHA256}.jpg": PHOTO} if files is None else files).items():
            archive.writestr(name, content)
    return out.getvalue()


def refused(store: Store, data: bytes) -> str:
    with pytest.raises((ArchiveError, StoreError)) as caught:
        unpack_job(store, data)
    assert "\n" not in str(caught.value)
    assert store.jobs() == ()
    with pytest.raises(StoreError):
        store.photo(SHA256)
    return str(caught.value)


def test_the_plain_file_of_these_tests_is_taken(store: Store) -> None:
    assert store.job(unpack_job(store, packed())).surfaces[0].photo_sha256 == SHA256


@pytest.mark.parametrize(
    "name",
    [
        "../../escape.jpg",
        "/etc/passwd",
        "photos/../job2.json",
        "C:\\x.jpg",
        "photos/x.jpg",
        "photos/",
        "a\0b",
    ],
)
def test_a_file_that_would_land_elsewhere_is_refused(store: Store, tmp_path: Path, name: str) -> None:
    refused(store, packed(files={name: b"x"}))
    assert {f.name for f in tmp_path.rglob("*") if f.is_file()} <= {
        "seamwright.db",
        "seamwright.db-wal",
        "seamwright.db-shm",
    }


def surface(**changes: Any) -> list[dict[str, Any]]:
    return [{"name": "A", "photo": None, "corrections": {}, "settings": {}, **changes}]


STUD = {"id": "m", "front_px": [[1, 2], [3, 4]], "corrects_px": None}


@pytest.mark.parametrize(
    ("job", "says"),
    [
        ("", "not JSON"),
        ("[" * 200_000, "not JSON"),
        (b"\xff\xfe", "not JSON"),
        ("1" * 10_000, "not JSON"),
        ("[]", "describes no job"),
        (document(form="other"), "describes no job"),
        (document(version=3), "another version"),
        (document(version=True), "another version"),
        (document(name=5), "name"),
        (document(name=" "), "name"),
        (document(settings=[]), "settings"),
        ('{"form": "seamwright job", "version": 1, "name": "x", "settings": {"a": NaN}}', "NaN"),
        ('{"form": "seamwright job", "version": 1, "name": "x", "settings": {"a": -Infinity}}', "Infinity"),
        (document(surfaces={}), "surfaces"),
        (document(surfaces=[{}] * 2001), "surfaces"),
        (document(surfaces=[5]), "surface 1"),
        (document(surfaces=surface(photo="../../x")), "photo of surface 1"),
        (document(surfaces=surface(photo="0" * 64)), "missing"),
        (document(surfaces=surface(name="x" * 500)), "500 letters"),
        (document(surfaces=surface(corrections={"studs": [STUD] * (MOST_MARKS + 1)})), "marks"),
        (document(surfaces=surface(corrections={"studs": [{"id": "m"}]})), "marks of surface 1"),
        (
            document(surfaces=surface(corrections={"studs": [{**STUD, "front_px": [[1, 1e300], [1, 1]]}]})),
            "marks",
        ),
        (document(surfaces=surface(corrections={"studs": 5})), "marks of surface 1"),
        (document(surfaces=surface(corrections={"corners_px": [[1, 2]]})), "marks of surface 1"),
        (document(surfaces=surface(corrections={"reference": "tape"})), "marks of surface 1"),
        (document(surfaces=surface(settings={"a": "x" * 3_000_000})), "too much"),
        (document(settings={"lengths_in": {"48in": ["long"]}}), "lengths_in"),
        (document(settings={"lengths_in": [96]}), "lengths_in"),
        (document(settings={"units": ["mm"]}), "units"),
        (document(settings={"buying": {"version": 1, "bundle": -2}}), "buying"),
        (document(surfaces=surface(settings={"board_width": []})), "board_width"),
        (document(surfaces=surface(settings={"height_in": "tall"})), "height_in"),
        (document(surfaces=surface(settings={"height_in": -96.0})), "height_in"),
        (document(surfaces=surface(settings={"room": {"name": "Den"}})), "room"),
        (document(surfaces=surface(settings={"material": "steel"})), "material"),
        (document(surfaces=surface(settings={"by_hand": {"framing": "bricks"}})), "framing"),
        (document(surfaces=surface(corrections={"reference": {"kind": "tape", "length_in": -8}})), "marks"),
    ],
)
def test_a_document_that_is_no_job_is_refused_whole(store: Store, job: Any, says: str) -> None:
    assert says in refused(store, packed(job))


def test_a_zip_bomb_is_refused_unread(store: Store) -> None:
    bomb = packed("0" * 40_000_000, compression=zipfile.ZIP_DEFLATED)
    assert len(bomb) < 200_000
    assert "larger than 30 MB" in refused(store, bomb)
    lying = bytearray(bomb)
    at = lying.index(b"PK\x01\x02")
    lying[at + 24 : at + 28] = struct.pack("<I", 100)  # the stated size
    refused(store, bytes(lying))


def test_too_many_or_doubled_files_are_refused(store: Store) -> None:
    many = {f"photos/{n:064x}.jpg": b"" for n in range(2100)}
    assert "2101 files" in refused(store, packed(files=many))
    out = io.BytesIO(packed())
    with zipfile.ZipFile(out, "a") as archive, pytest.warns(UserWarning, match="Duplicate"):
        archive.writestr("job.json", "{}")
    assert "twice" in refused(store, out.getvalue())


def test_a_photo_that_was_changed_or_is_none_is_refused(store: Store) -> None:
    assert "changed or damaged" in refused(store, packed(files={f"photos/{SHA256}.jpg": PHOTO + b"x"}))
    text = b"this is a letter"
    name = hashlib.sha256(text).hexdigest()
    job = document(surfaces=surface(photo=name))
    assert "JPEG" in refused(store, packed(job, files={f"photos/{name}.jpg": text}))


def test_a_position_in_a_foreign_photo_is_dropped(store: Store) -> None:
    foreign = saved(quarters(), "JPEG", exif=with_position())
    name = hashlib.sha256(foreign).hexdigest()
    job = store.job(
        unpack_job(
            store, packed(document(surfaces=surface(photo=name)), files={f"photos/{name}.jpg": foreign})
        )
    )
    kept = store.photo(str(job.surfaces[0].photo_sha256))
    assert not Image.open(io.BytesIO(kept)).getexif().get_ifd(0x8825)


@pytest.mark.parametrize("data", [b"", b"PK", b"not a zip", packed()[:200], packed()[:-30]])
def test_what_is_no_zip_is_refused(store: Store, data: bytes) -> None:
    refused(store, data)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.randoms(use_true_random=False))
def test_bytes_changed_at_random_give_the_job_or_one_sentence(tmp_path: Path, randomness) -> None:
    data = bytearray(packed())
    for _ in range(randomness.randint(1, 6)):
        data[randomness.randrange(len(data))] = randomness.randrange(256)
    store = Store(tmp_path / "fuzzed")
    before = len(store.jobs())
    try:
        unpack_job(store, bytes(data))
    except (ArchiveError, StoreError):
        assert len(store.jobs()) == before
    else:
        assert len(store.jobs()) == before + 1
