"""Walls framed in steel: said once for a surface, followed by its photo's reading, its plan, its copies."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from layout import JobError, Member
from tests.layout.common import sixteen_in_wall
from tests.ui import walls
from tests.ui.commands import Asked, refused
from tests.ui.test_wall_photos import LEFT, RIGHT, both
from ui import kept_job
from ui.by_hand import ByHand, HandOpening, framing_by_hand
from ui.command_line import main
from ui.corrections import Corrections, StudMark
from ui.framed import Framed
from ui.job_archive import pack_job, unpack_job
from ui.kept_job import job_to_board
from ui.material import SETTING, face_to_read_in, material_in, material_of, material_to_json, of_material
from ui.reading_json import key_to_read, reading_key
from ui.settings_check import check_surface_settings
from ui.store import Store, Surface
from ui.surface_line import surface_line
from ui.words import Words

STEEL = {SETTING: material_to_json("steel")}
STEEL_FACE_IN = 1.25


@pytest.fixture
def store(tmp_path, monkeypatch) -> Store:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    return Store()


@pytest.fixture
def read_by(monkeypatch) -> list[float]:
    """The faces that photos were read by; the reader is put aside and answers with the invented wall."""
    faces: list[float] = []

    def read(photo: object, **how: float):
        faces.append(how["face_in"])
        return walls.reading()

    monkeypatch.setattr(kept_job, "read_wall", read)
    return faces


def the_job(store: Store):
    return store.job(store.jobs()[0].job_id)


def materials(store: Store) -> list[set[str]]:
    return [{m.material for m in surface.members} for surface in job_to_board(store, the_job(store)).surfaces]


def counted(capsys, *arguments: str) -> dict:
    assert main([*arguments, "--json", "-"]) == 0
    return json.loads(capsys.readouterr().out)


def test_a_surface_is_of_timber_until_steel_is_said() -> None:
    assert material_of({}) == "timber"
    assert material_of(STEEL) == "steel"
    check_surface_settings(STEEL)


@pytest.mark.parametrize(
    "kept", ["steel", {"version": 1, "name": "bamboo"}, {"version": 2, "name": "steel"}, {}]
)
def test_a_material_that_cannot_be_read_is_refused_in_words(kept) -> None:
    with pytest.raises(JobError, match="choose it again"):
        check_surface_settings({SETTING: kept})
    damaged = Surface("1", "job", "North", "photo", Corrections(), {SETTING: kept}, 1)
    assert face_to_read_in(damaged) == 1.5, "its photo is still shown"


def test_steel_studs_laid_out_on_a_spacing_have_the_flange_of_a_stud() -> None:
    hand = ByHand("studs", 144.0, 97.125, openings=(HandOpening("door", 40.0, 34.0, 0.0, 82.5),))
    framing = framing_by_hand(hand, "A", material="steel")
    assert {(m.material, m.face_in / m.plies) for m in framing.members} == {("steel", STEEL_FACE_IN)}
    beside = [m for m in framing.members if m.plies == 2]
    assert beside[0].centre_in + STEEL_FACE_IN == 40.0, "the doubled stud stands at the opening"
    assert framing.members[0].centre_in == STEEL_FACE_IN / 2, "the end stud is flush with the wall's end"
    strapped = framing_by_hand(ByHand("strapping", 96.0, 96.0), "C", material="steel")
    assert {m.face_in for m in strapped.members} == {STEEL_FACE_IN}


def test_members_taken_over_from_a_photo_get_the_face_of_what_they_turn_out_to_be() -> None:
    single, double, odd = (Member("m", 9.0, face_in=f, plies=p) for f, p in ((1.5, 1), (3.0, 2), (2.0, 1)))
    assert [of_material(m, "steel").face_in for m in (single, double, odd)] == [1.25, 2.5, 2.0]
    for member in (single, double, odd):
        assert of_material(of_material(member, "steel"), "timber") == member


def test_the_photo_of_a_steel_wall_is_read_by_the_flange_of_a_stud(
    store, read_by, photo_file, capsys
) -> None:
    assert main(["new-job", "Shop"]) == 0
    assert main(["add-photo", "Shop", photo_file, "--name", "North", "--material", "steel"]) == 0
    assert main(["add-photo", "Shop", photo_file, "--name", "South"]) == 0
    assert (read_by, materials(store)) == ([1.25, 1.5], [{"steel"}, {"timber"}])
    capsys.readouterr()
    found = counted(capsys, "change", "Shop", "South", "--material", "steel")
    assert read_by == [1.25, 1.5], "the same photo read so before is not read again"
    assert [surface["material"] for surface in found["surfaces"]] == ["steel", "steel"]
    assert main(["change", "Shop", "South", "--material", "timber"]) == 0
    out = capsys.readouterr().out
    assert "North" in out
    assert out.count("members of steel") == 1


def test_what_was_read_before_there_was_a_choice_stays_known() -> None:
    wooden = Surface("1", "job", "North", "photo", Corrections(), {}, 1)
    assert key_to_read(wooden) == reading_key("photo", None)
    assert key_to_read(replace(wooden, settings=STEEL)) == reading_key("photo", None, face_in=STEEL_FACE_IN)
    assert key_to_read(replace(wooden, settings={"place": 1}, wall_settings=STEEL)) == reading_key(
        "photo", None, face_in=STEEL_FACE_IN
    )


def test_all_photos_of_a_long_steel_wall_are_read_by_its_flange(store, monkeypatch) -> None:
    faces = []
    monkeypatch.setattr(kept_job, "load_photo", lambda data, **_: data)
    shown = {b"\xff\xd8\xff left": LEFT, b"\xff\xd8\xff right": RIGHT}

    def read(photo: bytes, **how: float):
        faces.append(how["face_in"])
        return shown[photo]

    monkeypatch.setattr(kept_job, "read_wall", read)
    monkeypatch.setattr(kept_job, "find_shared", lambda *_: {"lines": [both()]})
    job_id = store.new_job("Shop")
    left, right = shown
    wall_id = store.add_surface(job_id, "North", photo_jpeg=left, settings=STEEL)
    right_id = store.add_photo(wall_id, 1, right)
    (framing,) = job_to_board(store, store.job(job_id)).surfaces
    assert (faces, material_in(framing)) == ([1.25, 1.25], "steel")
    for kept in (store.surface(right_id), *store.surface(wall_id).more, *store.job(job_id).surfaces[0].more):
        assert face_to_read_in(kept) == STEEL_FACE_IN
    assert store.surface(wall_id).wall_settings is None


def test_a_stud_drawn_by_hand_on_a_steel_wall_is_as_wide_as_the_others(store, read_by, photo_file) -> None:
    assert main(["new-job", "Shop"]) == 0
    assert main(["add-photo", "Shop", photo_file, "--material", "steel"]) == 0
    (wall,) = the_job(store).surfaces
    marks = Corrections(studs=(StudMark("mark-1", walls.stud(96.25).front_px),))
    store.save_surface(wall.surface_id, wall.revision, corrections=marks)
    (framing,) = job_to_board(store, the_job(store)).surfaces
    drawn = min(framing.members, key=lambda m: abs(m.centre_in - 96.25))
    assert (drawn.face_in, drawn.material) == (STEEL_FACE_IN, "steel")


def test_steel_stays_with_the_mirror_image_the_copied_room_and_the_packed_job(
    store, tmp_path, capsys
) -> None:
    assert main(["new-job", "Shop"]) == 0
    assert (
        main(["measure", "Shop", "12ft", "8ft", "--material", "steel", "--name", "N", "--room", "Den"]) == 0
    )
    assert main(["mirror", "Shop", "N", "--name", "S"]) == 0
    assert main(["copy-room", "Shop", "Den", "Bath"]) == 0
    assert materials(store) == [{"steel"}] * 4
    elsewhere = Store(tmp_path / "elsewhere")
    job = elsewhere.job(unpack_job(elsewhere, pack_job(store, the_job(store).job_id)))
    assert [material_of(surface.settings) for surface in job.surfaces] == ["steel"] * 4


def test_a_further_photo_has_the_material_of_its_wall(store, read_by, photo_file, capsys) -> None:
    assert main(["new-job", "Shop"]) == 0
    assert main(["add-photo", "Shop", photo_file, "--name", "North"]) == 0
    told = ["add-photo", "Shop", photo_file, "--wall", "North", "--material", "steel"]
    assert "has its name, room, height, material and boards already" in refused(capsys, told)


def test_steel_told_to_studs_is_gathered_into_the_job_file(
    asked: Asked, photo_file, tmp_path, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["studs", photo_file, "--material", "steel", "--json", "North.json"]) == 0
    assert asked.face_in == STEEL_FACE_IN
    assert main(["studs", photo_file, "--json", "South.json"]) == 0
    assert asked.face_in == 1.5
    before = json.loads((tmp_path / "South.json").read_text())
    del before["material"]  # as it was written before the option was there
    (tmp_path / "East.json").write_text(json.dumps(before))
    assert main(["gather", "job.json", "North.json", "South.json", "East.json"]) == 0
    surfaces = json.loads((tmp_path / "job.json").read_text())["surfaces"]
    assert [{m.get("material", "timber") for m in each["members"]} for each in surfaces] == [
        {"steel"},
        {"timber"},
        {"timber"},
    ]
    (tmp_path / "East.json").write_text(json.dumps({**before, "material": ["brick"]}))
    assert "East: material is none of timber, steel" in refused(capsys, ["gather", "job.json", "East.json"])


@pytest.mark.parametrize(
    ("told", "hinted"),
    [
        (("--face", "1-1/4in"), True),
        (("--face", "34mm"), True),
        (("--face", "1-1/4in", "--material", "timber"), False),
        (("--face", "1-1/2in"), False),
        ((), False),
    ],
)
def test_who_reads_a_photo_by_faces_as_narrow_as_steels_is_told_how_to_say_steel(
    asked: Asked, photo_file, capsys, told, hinted
) -> None:
    assert main(["studs", photo_file, *told]) == 0
    assert ("add --material steel" in capsys.readouterr().out) is hinted


def test_a_list_of_surfaces_names_steel_and_no_wood() -> None:
    kept = Surface("1", "job", "North", "photo", Corrections(), {}, 1)
    wooden = sixteen_in_wall(144.0)
    steel = replace(wooden, members=tuple(of_material(m, "steel") for m in wooden.members))
    for language, word in (("en", " · steel"), ("es", " · acero")):
        assert word in surface_line(Framed(kept, steel), Words(language), "inches")
        assert word not in surface_line(Framed(kept, wooden), Words(language), "inches")
