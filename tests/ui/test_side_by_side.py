"""The suppliers side by side: when the line without wide boards is there, and what it says."""

from __future__ import annotations

import json

import pytest

from layout import Board
from layout.prices import Supplier
from ui.buying import SETTING, Buying, buying_to_json
from ui.command_line import main
from ui.market import market_to_json
from ui.store import Store

OWN = "the job's own list"


@pytest.fixture
def store(tmp_path, monkeypatch) -> Store:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    return Store()


@pytest.fixture
def tall(store, capsys) -> str:
    """A wall 9 ft 1 in high, made for two rows of 54 in boards (a builders' magazine), and boarded so."""
    assert main(["new-job", "Den"]) == 0
    assert main(["measure", "Den", "16ft", "109 1/8in", "--name", "Tall"]) == 0
    assert main(["change", "Den", "Tall", "--width", "54in"]) == 0
    capsys.readouterr()
    return store.jobs()[0].job_id


def side_by_side(capsys, *more: str) -> dict[str, dict]:
    assert main(["prices", "Den", "--kept", "--json", "-", *more]) == 0
    offers = json.loads(capsys.readouterr().out)["offers"]
    return {offer["supplier"]: offer for offer in offers}


def widths_in(offer: dict) -> set[float]:
    return {float(line["id"].split("-")[2]) for line in offer["lines"]}


def buy_at(store: Store, job_id: str, *sizes: tuple[float, float], name: str = "Yard") -> None:
    boards = tuple(Board("regular", 0.5, width, length, width * length / 288.0) for width, length in sizes)
    job = store.job(job_id)
    buying = buying_to_json(Buying((Supplier(name, boards),), name))
    store.save_job(job_id, job.revision, settings={**job.settings, SETTING: buying})


def test_walls_that_all_take_54_in_boards_are_compared_with_the_usual_ones(tall, capsys) -> None:
    """The own list then holds 54 in boards only: without them nothing was left, and the line was missing."""
    offers = side_by_side(capsys)
    assert list(offers) == [OWN, f"{OWN}, without boards 54 in wide"]
    wide, without = offers.values()
    assert (widths_in(wide), widths_in(without)) == ({54.0}, {48.0})
    assert without["complete"]
    assert without["totals"]["total"] != wide["totals"]["total"]


def test_the_usual_boards_compared_with_are_those_the_user_ticked(store, tall, capsys) -> None:
    job = store.job(tall)
    store.save_job(tall, job.revision, settings={**job.settings, "lengths_in": {"48in": [96.0]}})
    (_, without) = side_by_side(capsys).values()
    assert {line["id"].split("-")[3] for line in without["lines"]} == {"96"}
    job = store.job(tall)
    store.save_job(tall, job.revision, settings={**job.settings, "lengths_in": {"48in": []}})
    assert list(side_by_side(capsys)) == [OWN], "nothing to compare with is on sale"


def test_a_supplier_with_54_in_boards_that_the_plan_does_not_use_is_not_there_twice(
    store, tall, capsys
) -> None:
    assert main(["change", "Den", "Tall", "--width", "48in"]) == 0
    capsys.readouterr()
    buy_at(store, tall, (48.0, 96.0), (48.0, 144.0), (54.0, 144.0))
    assert list(side_by_side(capsys)) == ["Yard"]


def test_a_supplier_of_few_widths_is_compared_only_with_what_it_has(store, tall, capsys) -> None:
    both = (48.0, 96.0), (48.0, 192.0), (54.0, 96.0), (54.0, 192.0)
    buy_at(store, tall, *both)
    assert [widths_in(offer) for offer in side_by_side(capsys).values()] == [{54.0}, {48.0}]
    # without its 54 in boards it would have none: such a line would board nothing
    buy_at(store, tall, *both[2:])
    assert list(side_by_side(capsys)) == ["Yard"]
    # it boards the wall with 48 in boards, and so says its one line
    buy_at(store, tall, *both[:2])
    (only,) = side_by_side(capsys).values()
    assert widths_in(only) == {48.0}


def test_the_line_names_the_width_it_does_without(store, tall, capsys) -> None:
    buy_at(store, tall, (48.0, 192.0), (54.0, 192.0))
    assert list(side_by_side(capsys, "--mm")) == ["Yard", "Yard, without boards 1372 mm wide"]


def test_a_uk_job_has_no_wide_boards_to_do_without(store, tall, capsys) -> None:
    job = store.job(tall)
    store.save_job(tall, job.revision, settings={"market": market_to_json("uk")})
    assert main(["change", "Den", "Tall", "--width", "1200mm"]) == 0
    capsys.readouterr()
    assert list(side_by_side(capsys)) == [OWN]
