"""`stacks`, `cards` and `delivery` on the command line: JSON, text and pages."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from printed import text_of

from layout import plan_job, read_job, write_job
from layout.plan_types import OrderLine
from layout.stack_types import StackPlan
from tests.layout.common import room
from tests.ui import walls
from tests.ui.commands import refused
from ui.command_line import main
from ui.delivery_view import place_order
from ui.store import Store
from vision.reading import Reference


@pytest.fixture(scope="module")
def job_file(tmp_path_factory) -> Path:
    file = tmp_path_factory.mktemp("job") / "room.json"
    file.write_text(json.dumps(write_job(room(1))))
    return file


def answered(capsys, *arguments: str) -> dict:
    assert main([*arguments, "--json", "-"]) == 0
    return json.loads(capsys.readouterr().out)


def test_stacks_hold_every_sheet_of_the_list_and_keep_out_of_the_way(job_file, capsys) -> None:
    found = answered(
        capsys, "stacks", str(job_file), "--room", "Den", "W0,W1,W2,W3,C", "--keep-free", "W3", "0", "30 ft"
    )
    plan = plan_job(read_job(job_file.read_text()))
    placed = sum(stack["count"] for stack in found["stacks"])
    homeless = sum(un["lot"]["count"] for un in found["unplaced"])
    assert placed + homeless == sum(o.to_buy for o in plan.order)
    assert placed > 4 * homeless
    assert {stack["room"] for stack in found["stacks"]} == {"Den"}
    assert "W3" not in {stack["wall"] for stack in found["stacks"]}
    assert found["proved"] is True
    assert found["lifts"][0]["weight_lb"] == max(lift["weight_lb"] for lift in found["lifts"])


def test_cards_name_every_piece_in_hanging_order(job_file, capsys) -> None:
    found = answered(capsys, "cards", str(job_file), "--mm")
    plan = plan_job(read_job(job_file.read_text()))
    numbers = [piece["number"] for card in found["cards"] for piece in card["pieces"]]
    assert numbers == sorted(piece.number for s in plan.surfaces for row in s.rows for piece in row.pieces)
    assert found["cards"][0]["kind"] == "ceiling"
    assert "\u00a0mm" in found["cards"][0]["text"]["pieces"][0]["head"]


def test_a_surface_that_is_not_there_is_said_in_one_line(job_file, capsys) -> None:
    assert main(["stacks", str(job_file), "--room", "Den", "attic"]) == 2
    assert "no surface 'attic'" in capsys.readouterr().err
    assert main(["stacks", str(job_file), "--keep-free", "W0", "far", "near"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert main(["stacks", str(job_file), "--live-load", "lots"]) == 2


def test_the_delivery_of_a_kept_job_is_printed(tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    assert main(["delivery", "Basement"]) == 2
    assert "--take-order" in capsys.readouterr().err
    place_order(store, job_id, (OrderLine("regular", 0.5, 48.0, 144.0, 6, 1),), StackPlan(), 0)
    (line,) = answered(capsys, "delivery", "Basement")["lines"]
    assert (line["count"], line["arrived"], line["short"], line["usable"]) == (7, 0, 7, 0)


@pytest.mark.parametrize(
    ("command", "language", "wanted"),
    [("cards", "es", "Trozo 1"), ("cards", "en", "Piece 1"), ("stacks", "en", "Stack 1")],
)
def test_the_pages_hold_their_words(job_file, tmp_path, command, language, wanted) -> None:
    file = tmp_path / "out.pdf"
    assert main([command, str(job_file), "--pdf", str(file), "--language", language]) == 0
    assert file.read_bytes().startswith(b"%PDF-")
    text = text_of(file)
    assert wanted in text
    assert "?" not in text


def test_a_whole_kept_job_by_commands_alone(tmp_path, monkeypatch, photo_file, capsys) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    asked: list[object] = []

    def read(photo, reference=None, **how):
        asked.append(reference)
        return walls.reading()

    monkeypatch.setattr("ui.kept_job.read_wall", read)
    assert main(["new-job", "Basement"]) == 0
    capsys.readouterr()
    marks = ("--tape", "8ft", "--from", "10,200", "--to", "300,201")
    found = answered(capsys, "add-photo", "Basement", photo_file, "--room", "Den", "--name", "North", *marks)
    assert (found["surfaces"][0]["room"], found["surfaces"][0]["members"]) == ("Den", 10)
    assert asked == [Reference.tape(96.0, (10.0, 200.0), (300.0, 201.0))]
    for name in ("South", "Ceiling"):
        kind = ("--framing", "joists") if name == "Ceiling" else ()
        answered(capsys, "measure", "Basement", "194in", "97 1/8in", "--room", "Den", "--name", name, *kind)

    order = answered(capsys, "order", "Basement", "--kept")["totals"]["boards"]
    stacks = answered(capsys, "stacks", "Basement", "--kept", "--floor", "joists", "--live-load", "30")
    assert (stacks["site"]["floor"], stacks["site"]["live_load_psf"]) == ("joists", 30.0)
    lot = stacks["stacks"][0]["lots"][0]
    assert sum(at["count"] for at in stacks["stacks"]) == order
    moved = ("--standing", "edge", "--move", lot["id"], "South", "2ft", "edge")
    answered(capsys, "stacks", "Basement", "--kept", *moved, "--keep")
    again = answered(capsys, "stacks", "Basement", "--kept")["stacks"]
    assert [(at["wall"], at["left_in"]) for at in again if at["moved"]] == [("South", 24.0)]

    day = answered(capsys, "delivery", "Basement", "--take-order")
    assert sum(line["count"] for line in day["lines"]) == order
    line = day["lines"][0]["line"]
    answered(capsys, "delivery", "Basement", "--came", line, "3", "--damaged", line, "1", "--note", "wet")
    day = answered(capsys, "delivery", "Basement", "--came", line, "-1", "--over")
    assert (day["lines"][0]["arrived"], day["lines"][0]["usable"], day["note"]) == (2, 1, "wet")
    assert day["finished"] is True

    cards = answered(capsys, "cards", "Basement", "--kept", "--begin")
    numbers = [piece["number"] for card in cards["cards"] for piece in card["pieces"]]
    assert cards["cards"][0]["kind"] == "ceiling"
    cards = answered(capsys, "cards", "Basement", "--kept", "--hung", "1", "--hung", "2", "--down", "2")
    assert cards["hung"] == [1]
    long = max((p for card in cards["cards"] for p in card["pieces"]), key=lambda p: p["cut_length_in"])
    after = answered(capsys, "cards", "Basement", "--kept", "--spoiled-sheet", str(long["number"]))
    now = next(p for card in after["cards"] for p in card["pieces"] if p["number"] == long["number"])
    assert now["sheet"] != long["sheet"]
    assert [piece["number"] for card in after["cards"] for piece in card["pieces"]] == numbers


def test_no_more_is_taken_back_than_came(tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    assert main(["new-job", "Den"]) == 0
    assert main(["measure", "Den", "12ft", "8ft"]) == 0
    capsys.readouterr()
    line = answered(capsys, "delivery", "Den", "--take-order")["lines"][0]["line"]
    answered(capsys, "delivery", "Den", "--came", line, "3")
    for told, wanted in (
        (("--came", line, "-5"), f"Only 3 of {line} came"),
        (("--came", line, "1", "--came", line, "-5"), f"Only 3 of {line} came"),
        (("--damaged", line, "50"), "50 of"),
        (("--damaged", line, "-1"), f"Only 0 of {line} are damaged"),
        (("--came", line, "²"), "no number of boards"),
    ):
        assert wanted in refused(capsys, ["delivery", "Den", *told])
    day = answered(capsys, "delivery", "Den", "--came", line, "1", "--damaged", line, "4")
    assert (day["lines"][0]["arrived"], day["lines"][0]["damaged"]) == (4, 4), (
        "what was refused left no trace"
    )
    assert "cannot be damaged where 3 came" in refused(capsys, ["delivery", "Den", "--came", line, "-1"])


def test_a_stud_comes_out_only_of_a_wall_that_somebody_says_carries_nothing(job_file, capsys) -> None:
    for carries, verdict in (
        ("unknown", "leave_unknown"),
        ("something", "leave_bearing"),
        ("nothing", "take_out"),
    ):
        found = answered(capsys, "stacks", str(job_file), "--through", "W0", carries)
        assert found["way_through"]["verdict"] == verdict
    assert main(["stacks", str(job_file), "--through", "W0", "unknown"]) == 0
    assert "Leave every stud where it is" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (("cards", "FILE", "--hung", "1"), "add --kept"),
        (("stacks", "FILE", "--keep"), "add --kept"),
        (("stacks", "FILE", "--move", "attic", "W0", "0in", "edge"), "no lot 'attic'"),
        (("stacks", "FILE", "--move", "attic", "W0", "0in", "askew"), "standing"),
        (("cards", "Basement", "--kept", "--hung", "1"), "add --begin"),
        (("stacks", "FILE", "--through", "W0", "little"), "one of nothing, something, unknown"),
        (("delivery", "Basement", "--came", "attic", "1"), "add --take-order"),
    ],
)
def test_what_cannot_be_kept_is_said_in_one_line(job_file, tmp_path, monkeypatch, capsys, arguments, wanted):
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    Store(tmp_path).new_job("Basement")
    given = [str(job_file) if argument == "FILE" else argument for argument in arguments]
    assert wanted in refused(capsys, given)
