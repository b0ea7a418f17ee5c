"""What a job keeps about buying, and what follows from it for the boards to choose from."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import pytest

from layout import Board, JobError, Plan, SurfacePlan
from layout.access import Corner, Gap, Stairs, Way
from layout.accessories import Corners
from layout.order import SpareRule
from layout.prices import Supplier
from ui.buying import SETTING, Buying, board_choice, buying_from_json, buying_of, buying_to_json
from ui.by_hand import ByHand
from ui.job_archive import ArchiveError, unpack_job, write_packed
from ui.job_plan import boards_on_sale, stock_of
from ui.rooms import add_by_hand
from ui.screens.order_parts import why_nothing
from ui.site_plan import site_plan
from ui.store import Store
from ui.words import Words

YARD = Supplier(
    "Yard <b>", (Board("regular", 0.5, 48.0, 96.0, 14.0), Board("regular", 0.5, 48.0, 144.0, 21.0)), 75.0
)
ALL = Buying(
    (YARD,),
    "Yard <b>",
    SpareRule("percent", 3, 7.5),
    4,
    {"regular-1/2-48-96": 3},
    (
        Way(
            "1",
            (Gap("w", 36.0, 52.0, "window", 1.5), Corner("c", 36.0, 40.0), Stairs("s", 36.0, 80.0)),
            ("Den",),
        ),
    ),
    Corners(2, 5, 96.0),
)


def test_all_choices_come_back_as_they_were_kept() -> None:
    assert buying_from_json(json.loads(json.dumps(buying_to_json(ALL)))) == ALL
    assert buying_of({}) == Buying()


@pytest.mark.parametrize(
    "broken",
    [
        {"version": 2},
        {"suppliers": [{"name": "x"}]},
        {"suppliers": "many"},
        {"ways": [{"name": "a", "passages": [{"passage": "tunnel"}]}]},
        {
            "ways": [
                {
                    "name": "a",
                    "passages": [{"passage": "gap", "name": "w", "width_in": "wide", "height_in": 4}],
                }
            ]
        },
        {"own_spares": {"a": -1}},
        {"bundle": 0},
        {"bundle": True},
        {"spares": {"rule": "some"}},
        {"corners": {"outside": -1}},
    ],
)
def test_damaged_choices_are_refused_in_one_sentence(broken) -> None:
    with pytest.raises(JobError) as fault:
        buying_of({SETTING: {**buying_to_json(ALL), **broken}})
    assert "\n" not in str(fault.value)
    with pytest.raises(JobError):
        buying_of({SETTING: "everything"})


def test_kind_and_thickness_are_the_usual_ones_until_chosen() -> None:
    assert board_choice({}, 0.5) == ("regular", 0.5)
    assert board_choice({"board_kind": "type_x", "thickness_in": 0.625}, 0.5) == ("type_x", 0.625)
    assert board_choice({"board_kind": "marble", "thickness_in": "thick"}, 0.5) == ("regular", 0.5)


@pytest.fixture
def kept(tmp_path):
    store = Store(tmp_path)
    job_id = store.new_job("Alder Street")
    add_by_hand(store, store.job(job_id), ByHand("studs", 150.25, 97.125), "North", "Den")
    add_by_hand(
        store,
        store.job(job_id),
        ByHand("joists", 150.25, 96.0),
        "Ceiling",
        "Den",
        {"board_kind": "sag_resistant", "thickness_in": 0.5},
    )
    return store, job_id


def choose(store: Store, job_id: str, buying: Buying) -> None:
    job = store.job(job_id)
    store.save_job(job_id, job.revision, settings={**job.settings, SETTING: buying_to_json(buying)})


def test_a_packed_job_takes_its_prices_along_and_damaged_ones_refuse_the_file(kept, tmp_path) -> None:
    store, job_id = kept
    choose(store, job_id, ALL)
    packed = io.BytesIO()
    write_packed(store, job_id, packed)
    other = Store(tmp_path / "other")
    assert buying_of(other.job(unpack_job(other, io.BytesIO(packed.getvalue()))).settings) == ALL
    job = store.job(job_id)
    store.save_job(job_id, job.revision, settings={SETTING: {"version": 1, "suppliers": [7]}})
    broken = io.BytesIO()
    write_packed(store, job_id, broken)
    before = len(other.jobs())
    with pytest.raises(ArchiveError, match="buying"):
        unpack_job(other, io.BytesIO(broken.getvalue()))
    assert len(other.jobs()) == before


def test_boards_on_sale_are_in_the_kinds_that_surfaces_ask_for(kept) -> None:
    store, job_id = kept
    assert {board.kind for board in boards_on_sale(store.job(job_id))} == {"regular", "sag_resistant"}
    order = site_plan(store, store.job(job_id)).plan.order
    assert {line.kind for line in order} == {"regular", "sag_resistant"}
    # what is counted on delivery day is what was ordered: spares and whole bundles in it
    assert all(line.to_buy % 2 == 0 for line in order)
    assert sum(line.spare for line in order) == 2


def test_only_what_gets_in_is_planned_with(kept) -> None:
    store, job_id = kept
    both = replace(
        ALL,
        suppliers=(
            replace(YARD, boards=(*YARD.boards, *[replace(b, kind="sag_resistant") for b in YARD.boards])),
        ),
    )
    choose(store, job_id, replace(both, ways=()))
    assert len(stock_of(store.job(job_id))) == 4
    choose(store, job_id, replace(both, ways=(Way("1", (Corner("c", 36.0, 36.0),)),)))
    assert {board.length_in for board in stock_of(store.job(job_id))} == {96.0}
    found = site_plan(store, store.job(job_id))
    assert {sheet.length_in for sheet in found.plan.sheets} == {96.0}


def test_a_way_that_leads_to_one_room_limits_the_boards_of_that_room_alone(kept) -> None:
    store, job_id = kept
    yard = replace(
        YARD, boards=(*YARD.boards, *[replace(board, kind="sag_resistant") for board in YARD.boards])
    )
    add_by_hand(store, store.job(job_id), ByHand("studs", 143.0, 97.125), "Short", "Den")
    # two 36 in halls let 101.8 in round their corner: no 12 ft board
    hall = Way("hall", (Corner("c", 36.0, 36.0),), ("Bath",))
    for ways, room, longest_in in (
        ((hall,), "Bath", 96.0),
        ((hall,), "Den", 144.0),
        ((hall, Way("window", (Gap("w", 48.0, 60.0),), ("Den",))), "Den", 144.0),
        ((hall, Way("stairs", (Gap("w", 48.0, 60.0),))), "Bath", 144.0),
    ):
        choose(store, job_id, replace(ALL, suppliers=(yard,), ways=ways))
        job = store.job(job_id)
        wall = next(s for s in job.surfaces if s.name == "Short")
        store.save_surface(wall.surface_id, wall.revision, settings={**wall.settings, "room": room})
        found = site_plan(store, store.job(job_id))
        of_wall = {
            sheet.length_in for sheet in found.plan.sheets for cut in sheet.cuts if cut.surface == wall.name
        }
        assert max(of_wall) == longest_in, (ways, room)
    kept_ways = buying_of(store.job(job_id).settings).ways
    assert kept_ways == ways


def test_where_no_board_gets_in_that_is_said_and_the_other_rooms_are_planned(kept) -> None:
    store, job_id = kept
    add_by_hand(store, store.job(job_id), ByHand("studs", 96.0, 96.0), "Bath wall", "Bath")
    yard = replace(
        YARD, boards=(*YARD.boards, *[replace(board, kind="sag_resistant") for board in YARD.boards])
    )
    narrow = Way("hole", (Gap("w", 20.0, 24.0),))
    choose(store, job_id, replace(ALL, suppliers=(yard,), ways=(narrow,)))
    found = site_plan(store, store.job(job_id))
    assert found.plan.sheets == ()
    assert "No board on the list gets in" in found.left_out[0]
    choose(store, job_id, replace(ALL, suppliers=(yard,), ways=(replace(narrow, rooms=("Bath",)),)))
    found = site_plan(store, store.job(job_id))
    assert {surface.id for surface in found.plan.surfaces if surface.rows} == {"North", "Ceiling"}
    assert found.plan.sheets


def test_why_there_is_nothing_to_buy_is_said_by_its_cause(kept) -> None:
    store, job_id = kept
    words = Words("en")
    choose(store, job_id, replace(ALL, chosen="", ways=()))
    job = store.job(job_id)
    plan = Plan(surfaces=(SurfacePlan("North", ()),))
    assert "add a wall" in why_nothing(replace(job, surfaces=()), Plan(), words)
    none_ticked = replace(job, settings={**job.settings, "lengths_in": {"48in": []}})
    assert "tick a length" in why_nothing(none_ticked, Plan(), words)
    narrow = replace(ALL, chosen="", ways=(Way("hole", (Gap("w", 20.0, 24.0),)),))
    choose(store, job_id, narrow)
    assert "gets in" in why_nothing(store.job(job_id), Plan(), words)
    choose(store, job_id, replace(ALL, chosen="", ways=()))
    assert "No board for: North." in why_nothing(store.job(job_id), plan, words)
    assert "need your help" in why_nothing(store.job(job_id), Plan(), words)
