"""The console command: what it prints, where, and with which exit status."""

from __future__ import annotations

import io
import json
import math
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import walls
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

import vision
from ui.command_line import main
from ui.store import Store
from vision.reading import Opening, Reference, TapeCheck, Warning

ROOT = Path(__file__).parents[2]


class Asked:
    """What the command asked the reader for, and what the reader is to answer."""

    def __init__(self) -> None:
        self.answer = walls.reading()
        self.reference: Reference | None = None
        self.corners_px: object = None
        self.face_in = 0.0
        self.checks: tuple[TapeCheck, ...] = ()

    def read_wall(self, photo, reference=None, corners_px=None, *, face_in=1.5, checks=()):
        self.reference, self.corners_px, self.face_in, self.checks = reference, corners_px, face_in, checks
        return self.answer


@pytest.fixture
def asked(monkeypatch) -> Asked:
    asked = Asked()
    monkeypatch.setattr(vision, "read_wall", asked.read_wall)
    return asked


@pytest.fixture
def photo_file(tmp_path: Path) -> str:
    file = tmp_path / "wall.jpg"
    Image.new("RGB", (400, 300), (180, 160, 120)).save(file)
    return str(file)


def refused(capsys, arguments: list[str], status: int = 2) -> str:
    """Run a command that must fail; returns its one line on standard error."""
    assert main(arguments) == status
    err = capsys.readouterr().err
    assert err.endswith("\n")
    assert err.count("\n") == 1, "one line"
    assert "Traceback" not in err
    return err.strip()


# --- studs -------------------------------------------------------------------------------------------


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


def test_marks_in_front_of_the_studs_are_said(asked: Asked, photo_file: str) -> None:
    tape = ["--tape", "96in", "--from", "1,2", "--to", "300,2", "--marks-in-front", "1in"]
    assert main(["studs", photo_file, *tape]) == 0
    assert asked.reference is not None
    assert asked.reference.stands_proud_in == 1.0


@pytest.mark.parametrize(("text", "length_in"), [("16in", 16.0), ("2ft", 24.0), ("400mm", 400 / 25.4)])
def test_a_spacing_reaches_the_reader(asked: Asked, photo_file: str, text: str, length_in: float) -> None:
    assert main(["studs", photo_file, "--on-centre", text]) == 0
    assert asked.reference == Reference.on_centre(pytest.approx(length_in))


def test_without_a_reference_the_reader_chooses_and_it_is_said_to_be_assumed(
    asked: Asked, photo_file: str, capsys
) -> None:
    asked.answer = replace(asked.answer, reference=Reference.on_centre(16.0, assumed=True))
    assert main(["studs", photo_file]) == 0
    assert asked.reference is None
    assert "ASSUMED" in capsys.readouterr().out


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
        ([*TAPE, "--on-centre", "16in"], "exclude each other"),
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
    monkeypatch.setattr("ui.command_line.LARGEST_INPUT_BYTES", 1_000_000)
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


# --- gather and boards -------------------------------------------------------------------------------


def test_from_readings_to_the_sheet_list_of_the_16_ft_2_in_wall(
    asked: Asked, photo_file: str, tmp_path, capsys
):
    """Studs 16 in on centre but not from the corner: no centre at 96 in, one at 112 1/4 in."""
    asked.answer = replace(
        walls.reading(tuple(n * 16.0 + 0.25 for n in range(13)[1:12]), height_in=97.0),
    )
    ends = tuple(walls.stud(centre) for centre in (0.75, 193.25))
    asked.answer = replace(
        asked.answer,
        members=tuple(replace(m, sigma_in=0.0) for m in (*ends, *asked.answer.members)),
    )
    studs, job = str(tmp_path / "North wall.json"), str(tmp_path / "job.json")
    assert main(["studs", photo_file, "--json", studs]) == 0
    assert main(["gather", job, studs, "--name", "Basement"]) == 0
    assert "1 walls" in capsys.readouterr().out
    assert main(["boards", job, "--json", "-"]) == 0
    plan = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)
    (surface,) = plan["surfaces"]
    centres = {round(m.centre_in, 3) for m in asked.answer.members}
    for row in surface["rows"]:
        for piece in row["pieces"][:-1]:
            assert round(piece["right_in"], 3) in centres, "a seam lands on a stud centre"
    assert sum(line["count"] for line in plan["order"]) == len(plan["sheets"])
    assert {
        "sheet_cost",
        "butt_joint_ft",
        "cut_ends_at_seams",
        "total",
        "lower_bound",
        "proved_optimal",
    } <= set(plan["score"])

    assert main(["boards", job]) == 0
    table = capsys.readouterr().out
    assert "Wall A (North wall):" in table
    assert "Sheet list:" in table
    assert "factory end" in table


def test_several_walls_make_one_job_with_letters_for_names(
    asked: Asked, photo_file: str, tmp_path, capsys
) -> None:
    files = [str(tmp_path / f"{name}.json") for name in ("north", "south")]
    for file in files:
        assert main(["studs", photo_file, "--json", file]) == 0
    assert main(["gather", "-", *files, "--board-width", "1200mm", "--market", "uk"]) == 0
    job = json.loads(capsys.readouterr().out)
    assert [(s["id"], s["name"]) for s in job["surfaces"]] == [("A", "north"), ("B", "south")]
    assert job["market"] == "uk"
    assert job["surfaces"][0]["board_width_in"] == pytest.approx(1200 / 25.4)


def test_openings_stay_unsure_until_the_user_takes_them(
    asked: Asked, photo_file: str, tmp_path, capsys
) -> None:
    asked.answer = replace(asked.answer, openings=(Opening("door", 60.0, 98.0, 0.0, 82.5),))
    studs = str(tmp_path / "a.json")
    main(["studs", photo_file, "--json", studs])
    for options, sure in (([], False), (["--take-openings"], True)):
        main(["gather", "-", studs, *options])
        assert json.loads(capsys.readouterr().out)["surfaces"][0]["openings"][0]["sure"] is sure


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not JSON"),
        ("[1, 2]", "no reading"),
        ("{}", "no wall"),
        ('{"refused": true}', "refused as unreliable"),
        ('{"wall": {"length_in": NaN, "height_in": 97}, "studs": []}', "no number"),
        ('{"wall": {"length_in": 96, "height_in": 97}, "studs": [{}]}', "is missing"),
        ('{"wall": {"length_in": 96, "height_in": 97}, "studs": 5}', "no wall"),
        ('{"wall": {"length_in": -96, "height_in": 97}, "studs": []}', "width_in"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_what_studs_did_not_write_is_not_gathered(tmp_path: Path, capsys, text: str, says: str) -> None:
    file = tmp_path / "attic.json"
    file.write_text(text)
    line = refused(capsys, ["gather", str(tmp_path / "job.json"), str(file)])
    assert says in line
    assert "attic" in line
    assert not (tmp_path / "job.json").exists()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[]",
        '{"version": 99, "surfaces": []}',
        '{"version": 1, "surfaces": [{"id": "A"}]}',
        "[" * 200_000,
    ],
)
def test_what_is_no_job_file_is_one_line(tmp_path: Path, capsys, text: str) -> None:
    file = tmp_path / "job.json"
    file.write_text(text)
    refused(capsys, ["boards", str(file)])


def test_a_surface_without_a_plan_is_status_3_and_the_json_still_comes(tmp_path: Path, capsys) -> None:
    job = {
        "version": 1,
        "surfaces": [
            {
                "id": "A",
                "width_in": 96,
                "height_in": 97,
                "members": {"on_centre_in": 16},
                "thickness_in": 1.75,
            }
        ],
    }
    file = tmp_path / "job.json"
    file.write_text(json.dumps(job))
    assert main(["boards", str(file), "--json", "-"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["warnings"]
    assert err.count("\n") == 1


# --- kept jobs ---------------------------------------------------------------------------------------


def test_a_kept_job_is_listed_packed_and_unpacked(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "here"))
    assert main(["jobs"]) == 0
    assert "No jobs" in capsys.readouterr().out
    store = Store()
    store.add_surface(store.new_job("Basement"), "North wall")
    assert main(["jobs"]) == 0
    assert "1 surfaces  Basement" in capsys.readouterr().out
    file = str(tmp_path / "basement.zip")
    assert main(["pack", "Basement", file]) == 0

    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "elsewhere"))
    assert "no kept job" in refused(capsys, ["pack", "Basement", file])
    assert main(["unpack", file]) == 0
    assert main(["unpack", file]) == 0
    assert main(["jobs", "--json", "-"]) == 0
    listed = json.loads(capsys.readouterr().out.split("\n", 2)[2])["jobs"]
    assert [(job["name"], job["surfaces"]) for job in listed] == [("Basement", 1), ("Basement", 1)]
    assert "several" in refused(capsys, ["pack", "Basement", file])
    assert main(["pack", listed[0]["id"][:8], file]) == 0
    (tmp_path / "letter.zip").write_text("dear wall")
    assert "not a packed job" in refused(capsys, ["unpack", str(tmp_path / "letter.zip")])


def test_a_store_that_cannot_be_used_is_one_line(tmp_path: Path, monkeypatch, capsys) -> None:
    (tmp_path / "seamwright.db").write_bytes(b"a letter, not a store" * 100)
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    assert "damaged or no store" in refused(capsys, ["jobs"])


WORDS = [
    "studs",
    "boards",
    "gather",
    "jobs",
    "pack",
    "job-file",
    "unpack",
    "--tape",
    "--from",
    "--to",
    "--json",
    "-x",
]
WORDS += [
    "--on-centre",
    "--corners",
    "--face",
    "--check",
    "--mm",
    "--",
    "=",
    "96in",
    "1,2",
    "-3,4",
    "nan",
    "0",
    "",
]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.one_of(st.sampled_from(WORDS), st.text(max_size=8)), max_size=8))
def test_any_command_line_ends_with_a_known_status_and_at_most_one_line(
    tmp_path: Path, capsys, monkeypatch, words: list[str]
) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", type("Stdin", (), {"buffer": io.BytesIO()})())
    assert main(words) in (0, 2, 3)
    err = capsys.readouterr().err
    assert err.count("\n") <= 1
    assert "report it" not in err


# --- the command itself ------------------------------------------------------------------------------


def test_help_and_version_are_done(capsys) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("seamwright ")
    assert main(["studs", "--help"]) == 0
    assert "--on-centre" in capsys.readouterr().out


def test_no_command_or_a_wrong_one_is_one_line(capsys) -> None:
    assert "COMMAND" in refused(capsys, [])
    refused(capsys, ["measure"])


def test_a_photo_may_come_through_standard_input(asked: Asked, photo_file: str, monkeypatch) -> None:
    data = io.BytesIO(Path(photo_file).read_bytes())
    monkeypatch.setattr(sys, "stdin", type("Stdin", (), {"buffer": data})())
    assert main(["studs", "-"]) == 0


def test_a_reader_of_the_output_who_leaves_early_is_no_fault() -> None:
    command = [sys.executable, "-m", "ui.command_line", "studs", "--help"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait() == 0


def test_a_terminal_that_lacks_a_sign_still_shows_the_rest(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "ui.command_line", "gather", "-", str(tmp_path / "gone\u2013.json")],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert b"There is no file" in done.stderr
    assert b"Traceback" not in done.stderr
