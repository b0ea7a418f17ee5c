"""Where the house of a kept job is: rules, boards, units and paper; what a change of it leaves alone."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from printed import paper_of

from layout import Board, JobError, mm_to_in, rules_for
from layout.prices import Supplier
from tests.ui import walls
from tests.ui.commands import refused
from ui import kept_job
from ui.buying import SETTING as BUYING
from ui.buying import Buying, buying_to_json
from ui.command_line import main
from ui.corrections import Corrections, ReferenceMark
from ui.framed import framed_surfaces
from ui.job_archive import ArchiveError, pack_job, unpack_job
from ui.job_plan import boards_on_sale, lengths_bought_in, not_sold, width_name
from ui.kept_job import job_to_board
from ui.market import SETTING, market_of, market_to_json, units_of, usual_for, usual_of
from ui.reading_json import key_to_read, reading_key
from ui.settings_check import check_job_settings
from ui.site_plan import site_plan
from ui.store import Job, Store, Surface
from ui.store_schema import FILE_NAME
from ui.words import CATALOGUES, Words

HERE = Path(__file__).parent
UK = {SETTING: market_to_json("uk")}


@pytest.fixture
def store(tmp_path, monkeypatch) -> Store:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    return Store()


def the_job(store: Store) -> Job:
    return store.job(store.jobs()[0].job_id)


def said(capsys, *arguments: str, status: int = 0) -> str:
    assert main(list(arguments)) == status
    return capsys.readouterr().out


def counted(capsys, *arguments: str, status: int = 0) -> dict:
    return json.loads(said(capsys, *arguments, "--json", "-", status=status))


def sizes_mm(found: dict) -> set[tuple[int, int]]:
    """Width and length of the boards, millimetres."""
    return {(round(b["width_in"] * 25.4), round(b["length_in"] * 25.4)) for b in found["boards"]}


def change_settings(store: Store, **changed: object) -> None:
    job = the_job(store)
    store.save_job(job.job_id, job.revision, settings={**job.settings, **changed})


def test_a_uk_job_is_cut_by_uk_rules(store, capsys) -> None:
    said(capsys, "new-job", "Terrace", "--market", "uk")
    found = counted(capsys, "measure", "Terrace", "4.8m", "2.4m", "--name", "North")
    assert found["market"] == "uk"
    assert sizes_mm(found) <= {(1200, 2400), (1200, 3000), (1200, 3600)}
    job = job_to_board(store, the_job(store))
    assert job.rules == rules_for("uk")
    assert {board.width_in for board in job.stock} == {mm_to_in(1200.0)}
    # 4.8 m at 400 mm: the end studs and eleven between them
    assert len(job.surfaces[0].members) == 13
    # NBS clause 610: screws at most 300 mm apart on walls
    assert "at most 300 mm apart" in " ".join(said(capsys, "cards", "Terrace", "--kept").split())


def test_the_same_wall_takes_imperial_boards_until_somebody_says_otherwise(store, capsys) -> None:
    said(capsys, "new-job", "House")
    found = counted(capsys, "measure", "House", "12ft", "8ft")
    assert found["market"] == "us"
    assert [(b["width_in"], b["length_in"]) for b in found["boards"]] == [(48.0, 144.0)]
    there = counted(capsys, "market", "House", "uk")
    assert {width for width, _ in sizes_mm(there)} == {1200}
    back = counted(capsys, "market", "House", "ca")
    assert (back["market"], back["boards"]) == ("ca", found["boards"])


@pytest.mark.parametrize(
    "kept", [7, {"version": 1, "name": "eu"}, {"version": 2, "name": "uk"}, {"version": 1, "name": ["uk"]}]
)
def test_a_market_that_cannot_be_read_is_refused_in_words_and_boards_nothing(store, kept) -> None:
    with pytest.raises(JobError, match="choose it again"):
        check_job_settings({SETTING: kept})
    job_id = store.new_job("Terrace", {SETTING: kept})
    assert main(["measure", "Terrace", "12ft", "8ft"]) == 2
    store.add_surface(job_id, "North", photo_jpeg=b"jpeg")
    assert [each.framing for each in framed_surfaces(store.job(job_id))] == [None]
    assert units_of({SETTING: kept}) == "inches", "lengths are shown all the same"


def test_lengths_are_shown_as_the_user_chose_and_until_then_as_the_market_does(store, capsys) -> None:
    assert units_of(UK) == "mm"
    assert units_of({**UK, "units": "feet_inches"}) == "feet_inches"
    assert units_of({SETTING: market_to_json("ca")}) == "inches"
    said(capsys, "new-job", "Terrace", "--market", "uk")
    assert "North: 4800 mm x 2400 mm" in said(capsys, "measure", "Terrace", "4.8m", "2.4m", "--name", "North")
    assert "12.5 mm" in said(capsys, "order", "Terrace", "--kept")
    # 4.8 m in two rows of two boards: two butt joints, together as high as the wall less the floor gap
    assert " 3 m  the job's own list" in said(capsys, "prices", "Terrace", "--kept")
    change_settings(store, units="inches")
    assert "15' 9\"" in said(capsys, "measure", "Terrace", "4.8m", "2.4m")


def test_a_width_not_sold_there_stays_chosen_gets_no_boards_and_is_said(store, capsys) -> None:
    said(capsys, "new-job", "House")
    said(capsys, "measure", "House", "12ft", "9ft", "--name", "Tall")
    said(capsys, "measure", "House", "12ft", "8ft", "--name", "Low")
    said(capsys, "change", "House", "Tall", "--width", "54in")
    assert main(["market", "House", "uk", "--json", "-"]) == 3
    answer = capsys.readouterr()
    found = json.loads(answer.out)
    assert {width for width, _ in sizes_mm(found)} == {1200}, "the other wall is boarded"
    assert "1372 mm wide for Tall" in answer.err
    assert "or choose boards 1200 mm wide" in answer.err
    tall, low = the_job(store).surfaces
    assert tall.settings["board_width"] == "54in"
    assert (not_sold(the_job(store), tall), not_sold(the_job(store), low)) == (True, False)
    assert main(["change", "House", "Tall", "--width", "900mm"]) == 0
    said(capsys, "market", "House", "us", status=3)  # 900 mm is not sold here
    said(capsys, "change", "House", "Tall", "--width", "54in")


def test_where_no_wall_has_a_width_sold_there_that_is_said_and_nothing_else_is_blamed(store, capsys) -> None:
    said(capsys, "new-job", "House")
    said(capsys, "measure", "House", "12ft", "9ft", "--name", "Tall")
    said(capsys, "change", "House", "Tall", "--width", "54in")
    capsys.readouterr()
    for command in (
        ["market", "House", "uk"],
        ["order", "House", "--kept"],
        ["prices", "House", "--kept"],
        ["stacks", "House", "--kept"],
        ["cards", "House", "--kept"],
    ):
        assert main(command) == 3
        fault = capsys.readouterr().err
        assert "Tall" in fault
        assert "wid" in fault, "wide, or width"
        assert "gets in" not in fault


def test_lengths_the_user_ticked_himself_are_on_sale_wherever_the_house_is(store, capsys) -> None:
    said(capsys, "new-job", "House")
    said(capsys, "measure", "House", "12ft", "8ft", "--name", "North")
    said(capsys, "change", "House", "North", "--width", "48in")
    change_settings(store, lengths_in={"48in": [144.0]})
    found = counted(capsys, "market", "House", "uk")
    assert [(b["width_in"], b["length_in"]) for b in found["boards"]] == [(48.0, 144.0)]


def test_a_change_of_market_loses_nothing_that_was_typed_or_chosen(store, capsys) -> None:
    yard = Supplier("Yard", (Board("regular", 0.5, 48.0, 144.0, 21.0),), 75.0)
    said(capsys, "new-job", "House")
    told = ("--width", "48in", "--row-length", "1", "12ft", "--no-seam-at", "64in", "--board", "regular")
    said(capsys, "measure", "House", "12ft", "8ft", "--name", "North", "--thickness", "1/2in")
    said(capsys, "change", "House", "North", *told)
    buying = buying_to_json(Buying((yard,), "Yard"))
    change_settings(store, lengths_in={"48in": [96.0, 144.0]}, units="feet_inches", **{BUYING: buying})
    before = the_job(store)
    found = counted(capsys, "market", "House", "uk")
    after = the_job(store)
    assert after.settings == {**before.settings, **UK}
    assert [each.settings for each in after.surfaces] == [each.settings for each in before.surfaces]
    assert [(b["width_in"], b["length_in"]) for b in found["boards"]] == [(48.0, 144.0)], "the yard's"
    counted(capsys, "market", "House", "us")
    assert the_job(store).settings == {**before.settings, SETTING: market_to_json("us")}


def test_a_photographed_wall_and_its_mirror_image_are_boarded_by_the_market(
    store, capsys, monkeypatch, photo_file
) -> None:
    monkeypatch.setattr(kept_job, "read_wall", lambda photo, **how: walls.reading())
    said(capsys, "new-job", "Terrace", "--market", "uk")
    said(capsys, "add-photo", "Terrace", photo_file, "--name", "North", "--on-centre", "400mm")
    said(capsys, "mirror", "Terrace", "North", "--name", "South")
    surfaces = job_to_board(store, the_job(store)).surfaces
    assert {surface.board_width_in for surface in surfaces} == {mm_to_in(1200.0)}
    assert {surface.thickness_in for surface in surfaces} == {mm_to_in(12.5)}
    change_settings(store, **{SETTING: market_to_json("us")})
    # the screens keep framings; none of the other market's is shown
    for market, width_in in (("us", 48.0), ("uk", mm_to_in(1200.0))):
        change_settings(store, **{SETTING: market_to_json(market)})
        by_hand = framed_surfaces(the_job(store))[1].framing
        assert by_hand is not None
        assert by_hand.board_width_in == width_in


def test_papers_of_a_uk_job_are_a4(store, capsys, tmp_path) -> None:
    said(capsys, "new-job", "Terrace", "--market", "uk")
    said(capsys, "measure", "Terrace", "4.8m", "2.4m", "--name", "North")
    papers = {
        "order.pdf": ["order", "Terrace", "--kept"],
        "signs.pdf": ["stacks", "Terrace", "--kept"],
        "cards.pdf": ["cards", "Terrace", "--kept"],
        "day.pdf": ["delivery", "Terrace", "--take-order"],
    }
    for market, paper in (("uk", "a4"), ("ca", "letter")):
        said(capsys, "market", "Terrace", market)
        for name, command in papers.items():
            said(capsys, *command, "--pdf", str(tmp_path / name))
            assert paper_of(tmp_path / name) == paper, (market, name)


def test_the_market_goes_with_the_copy_the_packed_job_and_the_job_file(store, capsys, tmp_path) -> None:
    said(capsys, "new-job", "Terrace", "--market", "uk")
    said(capsys, "measure", "Terrace", "4.8m", "2.4m")
    said(capsys, "copy", "Terrace", "Terrace again")
    assert market_of(the_job(store).settings) == "uk"
    file = tmp_path / "job.json"
    said(capsys, "job-file", "Terrace", str(file))
    assert json.loads(file.read_text())["market"] == "uk"
    other = Store(tmp_path / "other")
    packed = pack_job(store, the_job(store).job_id)
    assert market_of(other.job(unpack_job(other, packed)).settings) == "uk"
    change_settings(store, **{SETTING: {"version": 9, "name": "uk"}})
    with pytest.raises(ArchiveError, match="market"):
        unpack_job(other, pack_job(store, the_job(store).job_id))
    assert len(other.jobs()) == 1


@pytest.mark.parametrize("version", [1, 2, 3])
def test_jobs_of_an_older_store_are_boarded_as_before(version, tmp_path) -> None:
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.executescript((HERE / f"store_of_version_{version}.sql").read_text())
    store = Store(tmp_path)
    for line in store.jobs():
        settings = store.job(line.job_id).settings
        assert (market_of(settings), units_of(settings)) == ("us", settings.get("units", "inches"))
        assert settings[SETTING] == "us", "a bare name, which nothing read"
        assert usual_of(settings).widths == ("48in", "54in", "1200mm"), "1200 mm could be chosen before"


def test_a_job_that_says_nothing_sells_what_it_always_did_and_one_that_does_what_is_usual_there() -> None:
    unsaid, us, uk = ({}, {SETTING: market_to_json("us")}, UK)
    bought = {
        width: [
            bool(lengths_bought_in(Job("j", "J", False, settings, 1), width)) for settings in (unsaid, us, uk)
        ]
        for width in ("48in", "54in", "1200mm", "900mm")
    }
    assert bought == {
        "48in": [True, True, False],
        "54in": [True, True, False],
        "1200mm": [True, False, True],
        "900mm": [False, False, True],
    }
    empty = Job("j", "J", False, uk, 1)
    assert {board.width_in for board in boards_on_sale(empty)} == {mm_to_in(1200.0)}


def test_half_inch_and_twelve_and_a_half_millimetres_asked_for_side_by_side_are_one_board(
    store, capsys
) -> None:
    said(capsys, "new-job", "Terrace", "--market", "uk")
    said(capsys, "measure", "Terrace", "4.8m", "2.4m", "--thickness", "1/2in")
    said(capsys, "measure", "Terrace", "4.8m", "2.4m")
    on_sale = boards_on_sale(the_job(store))
    assert len(on_sale) == len(set(on_sale)) == 3


def test_spacings_usual_there_are_offered_first() -> None:
    names = ("16 in", "24 in", "400 mm", "600 mm")
    assert usual_for("uk").own_first(names) == ["400 mm", "600 mm", "16 in", "24 in"]
    assert usual_for("us").own_first(names) == list(names)


def test_a_market_nobody_knows_is_refused(store, capsys) -> None:
    assert "invalid choice" in refused(capsys, ["new-job", "Terrace", "--market", "eu"])
    said(capsys, "new-job", "Terrace")
    assert "invalid choice" in refused(capsys, ["market", "Terrace", "fr"])


def test_every_example_in_millimetres_has_its_sentence_in_inches() -> None:
    for catalogue in CATALOGUES.values():
        for key in (key for key in catalogue if key.endswith("_mm") and key != "job.units_mm"):
            assert key.removesuffix("_mm") in catalogue, key
    words = Words("en")
    assert words.in_units("walk.openings_hint", "mm") != words.in_units("walk.openings_hint", "inches")
    assert words.in_units("walk.title", "mm") == words("walk.title")


def test_stacks_and_cards_of_a_uk_job_name_its_boards_in_millimetres(store, capsys) -> None:
    said(capsys, "new-job", "Terrace", "--market", "uk")
    said(capsys, "measure", "Terrace", "4.8m", "2.4m", "--name", "North")
    assert "1200 mm x 12.5 mm" in said(capsys, "stacks", "Terrace", "--kept")
    cards = said(capsys, "cards", "Terrace", "--kept")
    assert "× 1200 × 12.5 mm" in cards.replace("\u00a0", " ")
    assert " in from ends" not in cards


def test_a_surface_left_out_leaves_the_market_as_it_is(store) -> None:
    job_id = store.new_job("Terrace", UK)
    store.add_surface(job_id, "North")  # no photo, nothing measured
    found = site_plan(store, store.job(job_id))
    assert found.job.rules.market == "uk"
    assert width_name(store.job(job_id).surfaces[0], "uk") == "1200mm"


def test_a_photo_without_a_known_length_is_read_by_the_spacings_usual_where_the_house_is(
    store, monkeypatch
) -> None:
    assumed = []

    def read(photo: bytes, **how: tuple[float, ...]):
        assumed.append(tuple(round(spacing_in, 2) for spacing_in in how["assumed_in"]))
        return walls.reading()

    monkeypatch.setattr(kept_job, "load_photo", lambda data, **_: data)
    monkeypatch.setattr(kept_job, "read_wall", read)
    job_id = store.new_job("House")
    wall_id = store.add_surface(job_id, "North", photo_jpeg=b"\xff\xd8\xff one")
    store.add_photo(wall_id, 1, b"\xff\xd8\xff two")
    for _ in range(2):
        for market in ("us", "uk"):
            change_settings(store, market=market_to_json(market))
            (wall,) = the_job(store).surfaces
            for photo in (wall, *wall.more, store.surface(wall.more[0].surface_id)):
                kept_job.kept_reading(store, photo)
    assert assumed == [(16.0, 24.0)] * 2 + [(15.75, 23.62)] * 2, "400 and 600 mm; each photo once by each"


def test_a_known_length_leaves_nothing_to_assume_and_readings_from_before_stay_known() -> None:
    sixteen = Corrections(reference=ReferenceMark("on_centre", 16.0))
    given, open_yet = (
        Surface("1", "job", "North", "photo", marks, {}, 1) for marks in (sixteen, Corrections())
    )
    for settings in (None, {}, {SETTING: market_to_json("us")}, {SETTING: {"version": 9, "name": "uk"}}):
        assert key_to_read(replace(open_yet, job_settings=settings)) == reading_key("photo", None)
    assert key_to_read(replace(open_yet, job_settings=UK)) != reading_key("photo", None)
    assert key_to_read(replace(given, job_settings=UK)) == key_to_read(given)
