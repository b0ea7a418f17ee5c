"""`seamwright gather` and `seamwright boards`."""

from __future__ import annotations

import json
import re
import shlex
from dataclasses import replace
from pathlib import Path

import pytest
import walls

from layout import format_length
from tests.ui.commands import Asked, refused
from ui.command_line import main
from vision.reading import Opening

ROOT = Path(__file__).parents[2]


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
    assert "1 wall. Next" in capsys.readouterr().out
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
    lengths_ft = sorted({int(line["length_in"]) // 12 for line in plan["order"]})
    assert all(f'{length}\' × 48" × 1/2" regular' in table for length in lengths_ft)
    assert "factory end" in table
    assert "carries both board ends" in table, "every seam says why it is there"
    assert "Next best: " in table or "No other member" in table
    assert "Cut list" in table
    for sheet in plan["sheets"]:
        for cut in sheet["cuts"]:
            assert f"piece {cut['piece']} (A row {cut['row'] + 1})" in table
    for number, row in enumerate(plan["surfaces"][0]["rows"], start=1):
        for piece in row["pieces"]:
            size = format_length(piece["right_in"] - piece["left_in"])
            assert f"piece {piece['number']} (A row {number}), {size} x" in table, "one size of one piece"


def test_who_cuts_by_the_list_reads_where_the_outlet_and_the_window_come(tmp_path: Path, capsys) -> None:
    """Under a 1/2 in ceiling the lower course is 5/8 to 48 5/8 in up: 12 in less 5/8 from the floor."""
    wall = {"id": "A", "width_in": 96.0, "height_in": 97.125, "ceiling_board_in": 0.5}
    wall["members"] = {"on_centre_in": 16.0}
    wall["boxes"] = [{"id": "1", "left_in": 30.0, "right_in": 32.25, "bottom_in": 12.0, "top_in": 15.75}]
    wall["openings"] = [{"id": "w", "left_in": 50.0, "right_in": 80.0, "bottom_in": 36.0, "top_in": 84.0}]
    file = tmp_path / "job.json"
    file.write_text(json.dumps({"version": 1, "surfaces": [wall]}))
    assert main(["boards", str(file)]) == 0
    lines = [line.strip() for line in capsys.readouterr().out.splitlines() if "cut out" in line]
    assert lines == [
        "cut out of piece 1: window w, 2' 6\" wide x 2' 11-3/8\" high, "
        "4' 2\" from the left end, 1' 5/8\" from the top edge",
        'cut out of piece 2: outlet 1, 2-1/4" wide x 3-3/4" high, '
        "2' 6\" from the left end, 2' 8-7/8\" from the top edge",
        "cut out of piece 2: window w, 2' 6\" wide x 1' 5/8\" high, "
        '4\' 2" from the left end, 0" from the top edge',
    ]


def test_boards_that_stand_are_said_to_stand(tmp_path: Path, capsys) -> None:
    wall = {"id": "A", "width_in": 96.0, "height_in": 97.125, "boards_run": "parallel"}
    wall |= {"members": {"on_centre_in": 16.0}, "ceiling_board_in": 0.5}
    file = tmp_path / "job.json"
    file.write_text(json.dumps({"version": 1, "surfaces": [wall]}))
    assert main(["boards", str(file)]) == 0
    table = capsys.readouterr().out
    assert "boards upright: 4' (sheet 1, factory edge left and right)" in table
    assert "factory end left" not in table


def test_a_job_with_a_wall_left_bare_is_not_printed_as_the_best(tmp_path: Path, capsys) -> None:
    wall = {"id": "A", "width_in": 96.0, "height_in": 97.125, "thickness_in": 0.75}
    wall["members"] = {"on_centre_in": 16.0}
    file = tmp_path / "job.json"
    file.write_text(json.dumps({"version": 1, "surfaces": [wall]}))
    assert main(["boards", str(file)]) == 3
    assert "not all surfaces have boards" in capsys.readouterr().out


def test_in_millimetres_no_seam_speaks_of_feet_and_inches(tmp_path: Path, capsys) -> None:
    """Studs at 600 mm: the reason names the seam's own place, to the millimetre; the JSON stays as it is."""
    centres = [19.0, *(600.0 * n for n in range(1, 9)), 4981.0]
    wall = {"id": "A", "width_in": 5000 / 25.4, "height_in": 2425 / 25.4}
    wall["members"] = [{"centre_in": at / 25.4} for at in centres]
    file = tmp_path / "job.json"
    file.write_text(json.dumps({"version": 1, "surfaces": [wall]}))
    assert main(["boards", str(file), "--mm"]) == 0
    table = capsys.readouterr().out
    seams = re.findall(r"seam at (\d+ mm).*?: Member \d+ is centred (\d+ mm) from", table)
    assert seams
    assert all(where == said for where, said in seams)
    assert not re.search(r"""\d['"]""", table)
    assert re.search(r"\d\.\d m of butt joints", table)
    assert main(["boards", str(file)]) == 0
    assert re.search(r"""seam at (\d+' .*?"): Member \d+ is centred \1 from""", capsys.readouterr().out)


def test_a_uk_job_is_printed_in_millimetres_unless_feet_are_asked_for(tmp_path: Path, capsys) -> None:
    wall = {"id": "A", "width_in": 4800 / 25.4, "height_in": 2425 / 25.4}
    wall["members"] = {"on_centre_in": 600 / 25.4}
    file = tmp_path / "job.json"
    file.write_text(json.dumps({"version": 1, "market": "uk", "surfaces": [wall]}))
    for words in (["boards"], ["order"], ["stacks"], ["cards"]):
        assert main([*words, str(file)]) == 0
        metric = capsys.readouterr().out
        assert re.search(r"\d\smm", metric), words
        assert not re.search(r"""\d['"]""", metric), words
        assert main([*words, str(file), "--feet"]) == 0
        assert re.search(r"""\d['"]""", capsys.readouterr().out), words


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


@pytest.mark.parametrize(("market", "width_in"), [("us", 48.0), ("ca", 48.0), ("uk", 1200 / 25.4)])
def test_a_market_takes_its_usual_width_and_every_wall_gets_boards(
    asked: Asked, photo_file: str, tmp_path, capsys, market: str, width_in: float
) -> None:
    studs, job = str(tmp_path / "a.json"), tmp_path / "job.json"
    main(["studs", photo_file, "--json", studs])
    assert main(["gather", str(job), studs, "--market", market]) == 0
    assert json.loads(job.read_text())["surfaces"][0]["board_width_in"] == pytest.approx(width_in)
    for command in ("boards", "order"):
        assert main([command, str(job)]) == 0
    assert "cannot be boarded" not in capsys.readouterr().out


def test_a_width_that_the_market_does_not_sell_is_not_gathered_and_never_swapped_for_another(
    asked: Asked, photo_file: str, tmp_path, capsys
) -> None:
    """A job for the UK with boards 48 in wide could not be boarded, and its order held other boards."""
    studs, job = str(tmp_path / "a.json"), tmp_path / "job.json"
    main(["studs", photo_file, "--json", studs])
    said = refused(capsys, ["gather", str(job), studs, "--market", "uk", "--board-width", "48in"])
    assert "900 mm or 1200 mm" in said
    assert not job.exists()
    assert main(["gather", str(job), studs]) == 0
    document = json.loads(job.read_text())
    document["surfaces"][0]["board_width_in"] = 40.0
    job.write_text(json.dumps(document))
    assert main(["boards", str(job)]) == 3
    assert main(["order", str(job)]) == 3
    assert "0 boards" in capsys.readouterr().out


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
        ('{"wall": {"length_in": 96, "height_in": 97}, "studs": [], "openings": 5}', "openings is no list"),
        ('{"wall": {"length_in": 96, "height_in": 97}, "studs": [], "boxes": {"a": 1}}', "boxes is no list"),
        ('{"wall": {"length_in": 96, "height_in": 97}, "studs": [], "warnings": [7]}', "code is missing"),
    ],
)
def test_what_studs_did_not_write_is_not_gathered(tmp_path: Path, capsys, text: str, says: str) -> None:
    file = tmp_path / "attic.json"
    file.write_text(text)
    line = refused(capsys, ["gather", str(tmp_path / "job.json"), str(file)])
    assert says in line
    assert "attic" in line
    assert not (tmp_path / "job.json").exists()


def test_more_walls_than_a_job_may_have_are_not_gathered(
    asked: Asked, photo_file: str, tmp_path: Path, capsys
) -> None:
    studs, job = str(tmp_path / "a.json"), tmp_path / "job.json"
    main(["studs", photo_file, "--json", studs])
    assert "1001 entries are too many" in refused(capsys, ["gather", str(job), *[studs] * 1001])
    assert not job.exists()


def test_the_next_command_can_be_copied_as_it_stands(
    asked: Asked, photo_file: str, tmp_path: Path, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(tmp_path)
    main(["studs", photo_file, "--json", "a.json"])
    capsys.readouterr()
    main(["gather", "our job's.json", "a.json"])
    _, _, following = capsys.readouterr().out.partition("Next: seamwright ")
    assert main(shlex.split(following)) == 0


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
