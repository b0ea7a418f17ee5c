"""`seamwright studs`: what it prints, where, and with which exit status."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import vision
from tests.ui.commands import Asked, refused
from ui.command_line import main
from vision.reading import Opening, Reference, TapeCheck, Warning

ROOT = Path(__file__).parents[2]


def test_json_has_the_agreed_fields(asked: Asked, photo_file: str, capsys) -> None:
    asked.answer = replace(
        asked.answer,
        openings=(Opening("door", 60.0, 98.0, 0.0, 82.5),),
        warnings=(Warning("few_horizontals", "Few level lines.", "Step back."),),
    )
    assert main(["studs", photo_file, "--json", "-"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert {"width_px": 4000, "height_px": 3000}.items() <= report["photo"].items()
    assert report["reference"] == {"kind": "on_centre", "length_in": 16.0, "assumed": False}
    assert set(report["wall"]) == {
        "length_in",
        "length_sigma_in",
        "height_in",
        "height_sigma_in",
        "corners_px",
    }
    assert np.shape(report["wall"]["corners_px"]) == (4, 2)
    assert len(report["studs"]) == 10
    for stud in report["studs"]:
        assert {
            "centre_in",
            "sigma_in",
            "face_in",
            "lean_in",
            "plies",
            "kind",
            "sure",
            "front_px",
        } <= set(stud)
        (_, y_bottom), (_, y_top) = stud["front_px"]
        assert y_bottom > y_top, "bottom end first; y runs down"
    assert report["openings"] == [
        {
            "kind": "door",
            "left_in": 60.0,
            "right_in": 98.0,
            "bottom_in": 0.0,
            "top_in": 82.5,
            "sure": False,
        }
    ]
    assert report["warnings"] == [
        {"code": "few_horizontals", "message": "Few level lines.", "advice": "Step back."}
    ]


def test_a_tape_between_two_marks_reaches_the_reader(asked: Asked, photo_file: str) -> None:
    assert main(["studs", photo_file, "--tape", "8' 2-1/2\"", "--from", "12.5,280", "--to", "390,20"]) == 0
    assert asked.reference == Reference.tape(98.5, (12.5, 280.0), (390.0, 20.0))


def test_marks_in_front_of_the_studs_are_said(asked: Asked, photo_file: str, capsys) -> None:
    tape = ["--tape", "96in", "--from", "1,2", "--to", "300,2", "--marks-in-front"]
    for told, proud_in in (("1in", 1.0), ("0", 0.0)):
        assert main(["studs", photo_file, *tape, told]) == 0
        assert asked.reference is not None
        assert asked.reference.stands_proud_in == proud_in
    assert "--marks-in-front 30' is more than 1'" in refused(capsys, ["studs", photo_file, *tape, "30ft"])
    assert "-1in" in refused(capsys, ["studs", photo_file, *tape, "-1in"])
    assert "is no number: write 1, 2 and so on" in refused(
        capsys, ["studs", photo_file, *tape, "0", "--in-photo", "one"]
    )


def test_marks_that_were_not_set_with_care_are_said(asked: Asked, photo_file: str, capsys) -> None:
    tape = ["--tape", "96in", "--from", "1,2", "--to", "300,2"]
    assert main(["studs", photo_file, *tape, "--marks-off", "2.5"]) == 0
    assert asked.reference == Reference.tape(96.0, (1.0, 2.0), (300.0, 2.0), mark_sigma_px=2.5)
    for wrong in ("0", "-2", "two", "1e9", "nan"):
        said = refused(capsys, ["studs", photo_file, *tape, "--marks-off", wrong])
        assert f"'{wrong}' is no distance in the photo: write pixels, such as 2" in said
    assert "give both, or leave it out" in refused(capsys, ["studs", photo_file, "--marks-off", "2"])


def test_a_second_length_reaches_the_reader_after_the_longer_one(asked: Asked, photo_file: str) -> None:
    short = ["--tape", "4ft", "--from", "1,90", "--to", "150,90"]
    long = ["--tape", "8ft", "--from", "1,2", "--to", "300,2"]
    fronts = ["--marks-in-front", "1in", "--marks-in-front", "1/4in"]
    assert main(["studs", photo_file, *short, *long, *fronts]) == 0
    assert asked.reference == Reference.tape(96.0, (1.0, 2.0), (300.0, 2.0), stands_proud_in=0.25)
    assert asked.second == Reference.tape(48.0, (1.0, 90.0), (150.0, 90.0), stands_proud_in=1.0)
    assert main(["studs", photo_file, *long, "--on-centre", "16in"]) == 0
    assert asked.second == Reference.on_centre(16.0)


@pytest.mark.parametrize(("text", "length_in"), [("16in", 16.0), ("2ft", 24.0), ("400mm", 400 / 25.4)])
def test_a_spacing_reaches_the_reader(asked: Asked, photo_file: str, text: str, length_in: float) -> None:
    assert main(["studs", photo_file, "--on-centre", text]) == 0
    assert asked.reference == Reference.on_centre(pytest.approx(length_in))


def test_without_a_reference_the_reader_chooses_and_it_is_said_to_be_assumed(
    asked: Asked, photo_file: str, capsys
) -> None:
    guess = Reference.on_centre(16.0, assumed=True)
    said = (Warning("assumed_spacing", "No reference was given.", "Measure one length."),)
    asked.answer = replace(asked.answer, reference=guess, warnings=said)
    assert main(["studs", photo_file]) == 0
    assert asked.reference is None
    assert "ASSUMED" in capsys.readouterr().out
    # a tape reading took the warning away
    asked.answer = replace(asked.answer, warnings=())
    assert main(["studs", photo_file]) == 0
    assert "by your tape reading" in capsys.readouterr().out


def test_corners_face_and_checks_reach_the_reader(asked: Asked, photo_file: str) -> None:
    corners = ["--corners", "10,20", "390,22", "388,280", "-3.5,275"]
    checks = ["--check", '64in=64-1/4"', "--check", "8ft=8' 1/8\""]
    assert main(["studs", photo_file, *corners, "--face", "2-1/2in", *checks]) == 0
    assert asked.corners_px == ((10.0, 20.0), (390.0, 22.0), (388.0, 280.0), (-3.5, 275.0))
    assert asked.face_in == 2.5
    assert asked.checks == (TapeCheck(64.0, 64.25), TapeCheck(96.0, 96.125))


def test_pixels_of_a_very_large_photo_are_those_of_its_file(asked: Asked, tmp_path: Path, capsys) -> None:
    file = tmp_path / "large.jpg"
    Image.new("L", (9000, 6000), 120).save(file, quality=30)
    tape = ["--tape", "96in", "--from", "0.5,0.5", "--to", "8000.5,100.5"]
    assert main(["studs", str(file), *tape, "--json", "-"]) == 0
    assert asked.reference is not None
    assert asked.reference.from_px == (0.0, 0.0)
    assert asked.reference.to_px == (4000.0, 50.0)
    report = json.loads(capsys.readouterr().out)
    x, y = asked.answer.members[0].front_px[0]
    assert report["studs"][0]["front_px"][0] == [2 * x + 0.5, 2 * y + 0.5]


def test_json_never_holds_a_figure_that_json_does_not_have(asked: Asked, photo_file: str, capsys) -> None:
    broken = replace(asked.answer.members[0], sigma_in=math.inf, lean_in=math.nan)
    asked.answer = replace(asked.answer, members=(broken, *asked.answer.members[1:]))
    assert main(["studs", photo_file, "--json", "-"]) == 0
    first = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)["studs"][0]
    assert (first["sigma_in"], first["lean_in"]) == (None, None)


def test_the_table_numbers_the_studs_and_points_at_the_doubtful_one(
    asked: Asked, photo_file: str, capsys
) -> None:
    doubtful = replace(asked.answer.members[6], sure=False, sigma_in=0.3, plies=2, face_in=3.0)
    members = (*asked.answer.members[:6], doubtful, *asked.answer.members[7:])
    asked.answer = replace(asked.answer, members=members)
    assert main(["studs", photo_file]) == 0
    table = capsys.readouterr().out.splitlines()
    assert table[0] == 'Wall 16\' 2" ± 7/16" long, 8\' 1-1/8" ± 5/8" high.'
    (line,) = [line for line in table if '112 1/4"' in line]
    assert line.split()[0] == "7"
    assert '± 5/8"' in line, "two standard deviations, rounded up to the next sixteenth"
    assert "put a tape here" in line
    assert sum("put a tape here" in each for each in table) == 1


def test_millimetres_on_request(asked: Asked, photo_file: str, capsys) -> None:
    assert main(["studs", photo_file, "--mm"]) == 0
    out = capsys.readouterr().out
    assert "2851 mm" in out  # 112 1/4 in · 25.4
    assert '"' not in out


@pytest.mark.parametrize("known", [("--on-centre", "400mm"), ("--tape", "2.4 m")])
def test_who_measures_in_metric_reads_millimetres(
    known: tuple[str, str], asked: Asked, photo_file: str, capsys
) -> None:
    marks = ("--from", "100,200", "--to", "400,200") if known[0] == "--tape" else ()
    assert main(["studs", photo_file, *known, *marks]) == 0
    assert "2851 mm" in capsys.readouterr().out
    assert main(["studs", photo_file, *known, *marks, "--feet"]) == 0
    assert '112 1/4"' in capsys.readouterr().out


def test_a_refused_reading_is_status_3_and_the_json_still_comes(
    asked: Asked, photo_file: str, capsys
) -> None:
    asked.answer = replace(
        asked.answer,
        members=(),
        wall=None,
        plane=None,
        refused=True,
        warnings=(
            Warning("dark", "The photo is dark.", "Light the wall."),
            Warning("no_wall", "No framed wall was found.", "Take it from the front."),
        ),
    )
    assert main(["studs", photo_file, "--json", "-"]) == 3
    out, err = capsys.readouterr()
    assert [warning["code"] for warning in json.loads(out)["warnings"]] == ["dark", "no_wall"]
    assert json.loads(out)["wall"] is None
    assert err.startswith("seamwright: No framed wall was found. Take it from the front. "), (
        "the reason first"
    )
    assert "front" in refused(capsys, ["studs", photo_file], 3)


def test_json_goes_into_a_file_when_one_is_named(asked: Asked, photo_file: str, tmp_path, capsys) -> None:
    target = tmp_path / "studs.json"
    assert main(["studs", photo_file, "--json", str(target)]) == 0
    assert capsys.readouterr().out == ""
    assert len(json.loads(target.read_text())["studs"]) == 10
    assert "cannot be written" in refused(capsys, ["studs", photo_file, "--json", str(tmp_path / "no" / "x")])


TAPE = ["--tape", "96in", "--from", "1,2", "--to", "300,2"]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--tape", "96in"], "--from X,Y and --to X,Y"),
        (["--from", "1,2", "--to", "3,4"], "add --tape"),
        ([*TAPE, *TAPE, "--on-centre", "16in"], "Two known lengths a photo are enough"),
        ([*TAPE, "--in-photo", "2"], "which photo its marks lie in"),
        (["--same", "1:7=2:2"], "name both, from left to right"),
        (["--same", "7=2"], "LEFT:STUD=RIGHT:STUD"),
        (["--on-centre", "0in"], "cannot be"),
        (["--on-centre", "-16in"], "negative"),
        (["--on-centre", "nan"], "not a length"),
        (["--on-centre", "sixteen"], "not a length"),
        (["--tape", "96in", "--from", "1", "--to", "3,4"], "X,Y"),
        (["--tape", "96in", "--from", "nan,2", "--to", "3,4"], "X,Y"),
        (["--tape", "96in", "--from", "1,2,3", "--to", "3,4"], "X,Y"),
        (["--corners", "1,2", "3,4", "5,6"], "--corners"),
        (["--check", "64in"], "64in=64-1/4"),
        (["--check", "64in="], "empty"),
        (["--unheard-of"], "--help"),
    ],
)
def test_options_that_make_no_sense_are_one_line_with_the_remedy(
    asked: Asked, photo_file: str, capsys, options: list[str], says: str
) -> None:
    assert says in refused(capsys, ["studs", photo_file, *options])


def test_files_that_cannot_be_read_are_one_line(tmp_path: Path, capsys) -> None:
    assert "no file" in refused(capsys, ["studs", str(tmp_path / "gone.jpg")])
    assert "folder" in refused(capsys, ["studs", str(tmp_path)])
    letter = tmp_path / "letter.jpg"
    letter.write_text("dear wall")
    assert "not a JPEG, PNG, WebP or HEIC" in refused(capsys, ["studs", str(letter)])
    assert "cannot be read" in refused(capsys, ["studs", "a\0b"])


def test_a_file_far_too_large_is_said_not_cut(tmp_path: Path, capsys, monkeypatch) -> None:
    monkeypatch.setattr("ui.command_files.LARGEST_INPUT_BYTES", 1_000_000)
    large = tmp_path / "large.json"
    large.write_bytes(b" " * 1_000_001)
    assert "larger than 1 MB" in refused(capsys, ["boards", str(large)])


@pytest.mark.parametrize(
    "options",
    [
        ["--tape", "96in", "--from", "5,5", "--to", "5,5"],
        ["--tape", "96in", "--from", "5,5", "--to", "5000,5"],
        ["--corners", "5,5", "5,5", "5,5", "5,5"],
    ],
    ids=["marks coincide", "mark outside the photo", "corners in one place"],
)
def test_the_true_reader_refuses_marks_that_cannot_be(photo_file: str, capsys, options: list[str]) -> None:
    refused(capsys, ["studs", photo_file, *options])


def test_a_photo_with_no_wall_in_it_is_refused_by_the_true_reader(photo_file: str, capsys) -> None:
    assert main(["studs", photo_file, "--json", "-"]) == 3
    report = json.loads(capsys.readouterr().out)
    assert report["refused"] is True
    assert report["warnings"]


@pytest.mark.parametrize("kind", [ZeroDivisionError, ValueError, np.linalg.LinAlgError])
def test_a_fault_of_the_program_itself_is_one_line_too(photo_file: str, capsys, monkeypatch, kind) -> None:
    def fail(*args: object, **kwargs: object) -> None:
        raise kind("somewhere\ndeep")

    monkeypatch.setattr(vision, "read_wall", fail)
    assert "report it" in refused(capsys, ["studs", photo_file])
    monkeypatch.setenv("SEAMWRIGHT_TRACEBACK", "1")
    with pytest.raises(kind):
        main(["studs", photo_file])
