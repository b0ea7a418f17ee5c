"""A surface that gets no boards is said wherever boards are counted, and the result is refused."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from printed import text_of

from tests.ui import walls
from tests.ui.commands import Asked, refused
from ui.command_line import main
from vision.reading import Reading
from vision.reading import Warning as ReadingWarning

THIN = 'No regular board 5/16" thick for Wall B is in the list of boards that can be bought.'


@pytest.fixture
def den(tmp_path, monkeypatch, capsys) -> str:
    """A kept job of two walls; for the second the thickness is one that no yard has."""
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    assert main(["new-job", "Den"]) == 0
    assert main(["measure", "Den", "12ft", "8ft"]) == 0
    said = refused(capsys, ["measure", "Den", "12ft", "8ft", "--thickness", "5/16in"], 3)
    assert said.startswith(f"seamwright: Kept, but not counted: {THIN}")
    return "Den"


@pytest.mark.parametrize("command", ["order Den --kept", "stacks Den --kept", "cards Den --kept"])
def test_the_bare_wall_is_named_in_text_and_json(den, capsys, command: str) -> None:
    assert main(command.split()) == 3
    out, err = capsys.readouterr()
    assert f"Not boarded: {THIN}" in out
    assert err.startswith(f"seamwright: {THIN}")
    assert main([*command.split(), "--json", "-"]) == 3
    (why,) = json.loads(capsys.readouterr().out)["left_out"]
    assert why.startswith(THIN)
    assert main([*command.split(), "--language", "es"]) == 3
    assert "Sin placas: En la lista de placas que se pueden comprar" in capsys.readouterr().out


def test_the_boards_so_far_say_which_wall_is_not_among_them(den, capsys) -> None:
    assert main(["measure", "Den", "8ft", "8ft"]) == 3
    out = capsys.readouterr().out
    assert f"Not counted: {THIN}" in out
    assert main(["change", "Den", "Wall B", "--thickness", "5/8in"]) == 0, "all is boarded again"
    assert "Not counted" not in capsys.readouterr().out


def test_the_table_for_the_spreadsheet_ends_with_the_bare_wall(den, capsys) -> None:
    assert main(["order", "Den", "--kept", "--csv", "-"]) == 3
    last = list(csv.reader(io.StringIO(capsys.readouterr().out)))[-1]
    assert last[1].startswith(f"Not boarded: {THIN}")
    assert {len(last)} == {12}


@pytest.mark.parametrize("command", ["order", "cards"])
def test_the_paper_names_the_bare_wall(den, capsys, command: str) -> None:
    assert main([command, "Den", "--kept", "--pdf", "paper.pdf"]) == 3
    assert f"Not boarded: {THIN}" in " ".join(text_of(Path("paper.pdf")).split())


def test_a_list_of_another_kind_buys_nothing_and_is_refused(den, capsys, tmp_path) -> None:
    lines = "supplier,kind,thickness,width,length,price\nYard,type_x,1/2 in,48 in,8 ft,15\n"
    (tmp_path / "prices.csv").write_text(lines)
    told = ["Den", "--kept", "--prices", "prices.csv"]
    assert 'No regular board 1/2" thick for Wall A' in refused(capsys, ["order", *told], 3)
    assert "No supplier has a board for Wall A, Wall B" in refused(capsys, ["prices", *told], 3)


def cut_off() -> Reading:
    """A wall of which the photo does not show the right end."""
    warning = ReadingWarning("wall_cut_off", "The wall runs out of the picture.", "Stand back.")
    return replace(walls.reading(), warnings=(warning,))


def test_a_wall_that_runs_out_of_its_picture_says_so_up_to_the_order(
    asked: Asked, photo_file: str, tmp_path, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(tmp_path)
    asked.answer = cut_off()
    assert main(["studs", photo_file, "--json", "North.json"]) == 0
    assert main(["gather", "job.json", "North.json"]) == 0
    assert json.loads((tmp_path / "job.json").read_text())["surfaces"][0]["cut_off"] is True
    assert main(["boards", "job.json"]) == 0
    assert "Note: North runs out of its picture, so the boards for the rest" in capsys.readouterr().out
    assert main(["order", "job.json"]) == 0
    assert "May be too few: North runs out of its picture" in capsys.readouterr().out


def test_a_wall_on_a_guessed_length_is_named_up_to_the_signs_of_a_job_file(
    asked: Asked, photo_file: str, tmp_path, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(tmp_path)
    guess = ReadingWarning("assumed_spacing", "No length was given.", "Measure one.")
    asked.answer = replace(walls.reading(), warnings=(guess,))
    assert main(["studs", photo_file, "--json", "North.json"]) == 0
    assert main(["gather", "job.json", "North.json"]) == 0
    for command in (["boards"], ["order"], ["prices"], ["stacks"], ["cards"]):
        capsys.readouterr()
        assert main([*command, "job.json"]) == 0
        assert "Nobody measured a length on" in capsys.readouterr().out, command


def test_a_kept_wall_that_runs_out_of_its_picture_says_so_too(
    photo_file: str, tmp_path, monkeypatch, capsys
) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.setattr("ui.kept_job.read_wall", lambda photo, **how: cut_off())
    assert main(["new-job", "Den"]) == 0
    assert main(["add-photo", "Den", photo_file]) == 0
    assert "May be too few: Wall A runs out of its picture" in capsys.readouterr().out
    assert main(["order", "Den", "--kept", "--language", "es"]) == 0
    assert "Puede que falten: Wall A se sale de su foto" in capsys.readouterr().out


def test_a_wall_that_is_all_in_the_picture_is_counted_without_a_word(
    asked: Asked, photo_file: str, tmp_path, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["studs", photo_file, "--json", "North.json"]) == 0
    assert main(["gather", "job.json", "North.json"]) == 0
    assert main(["order", "job.json"]) == 0
    assert "too few" not in capsys.readouterr().out
