"""The hanging of a kept job: spoiled boards dealt with once, missing sheets named, whatever arrives when."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from layout import Job, Surface, members_on_spacing, plan_job, stock_for
from layout.delivery import TAPS as DELIVERY_TAPS
from layout.hanging_day import TAPS
from layout.lots import lots_of, size_name
from layout.stack_types import Stack, StackPlan
from tests.layout.common import room
from ui.delivery_view import place_order
from ui.hanging_site import begin_hanging, hanging_of
from ui.hanging_view import card_texts
from ui.site_plan import SitePlan
from ui.site_stacks import StackChoices, stacks_of
from ui.site_taps import take_outbox
from ui.store import Store
from ui.words import Words


@pytest.fixture(scope="module")
def planned():
    job = room(1)
    plan = plan_job(job)
    return job, replace(plan, order=tuple(replace(line, spare=1) for line in plan.order))


@pytest.fixture
def begun(tmp_path, planned):
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    begin_hanging(store, job_id, SitePlan(planned[0], planned[1], {}), StackPlan(), 0)
    return store, job_id


def send(store, job_id, log, allowed, *taps) -> None:
    take_outbox(store, log, {"job": job_id, "taps": list(taps), "number": 1}, allowed)


def tell_spoiled(store, job_id, piece="1", change=1) -> None:
    tap = {"id": "x", "line": piece, "what": "spoiled", "change": change, "clock": 1}
    send(store, job_id, "hanging", TAPS, tap)


def test_a_spoiled_board_is_dealt_with_once_however_often_it_is_told(begun) -> None:
    store, job_id = begun
    tell_spoiled(store, job_id)
    first = hanging_of(store, job_id)
    tell_spoiled(store, job_id)
    again = hanging_of(store, job_id)
    assert first is not None
    assert first.moved == {1}
    assert again == first
    assert (len(first.from_spares), first.bought) == (1, ())  # one spare of each size was ordered


def test_the_plan_being_hung_stays_when_the_spoiled_piece_is_no_piece(begun) -> None:
    store, job_id = begun
    before = hanging_of(store, job_id)
    tell_spoiled(store, job_id, "9999", 2)
    after = hanging_of(store, job_id)
    assert before is not None
    assert after is not None
    assert after.plan == before.plan


def test_sheets_that_did_not_come_are_missing_once_the_delivery_is_over(begun, planned) -> None:
    store, job_id = begun
    order = planned[1].order
    place_order(store, job_id, order, StackPlan(), 0)
    names = [size_name(o.kind, o.thickness_in, o.width_in, o.length_in) for o in order]
    for number, (name, line) in enumerate(zip(names, order, strict=True)):
        came = line.count + line.spare if number else line.count - 1
        tap = {"id": f"a{number}", "line": name, "what": "arrived", "change": came, "clock": number}
        send(store, job_id, "delivery", DELIVERY_TAPS, tap)
    counting = hanging_of(store, job_id)
    assert counting is not None
    assert counting.missing == {}
    send(
        store,
        job_id,
        "delivery",
        DELIVERY_TAPS,
        {"id": "z", "line": "", "what": "finished", "change": 1, "clock": 99},
    )
    over = hanging_of(store, job_id)
    assert over is not None
    first = order[0]
    assert over.missing == {(first.kind, first.thickness_in, first.width_in, first.length_in): 1}


def test_nothing_is_at_hand_before_the_work_began(tmp_path) -> None:
    store = Store(tmp_path)
    assert hanging_of(store, store.new_job("Attic")) is None


def test_a_board_taken_whole_is_not_told_to_be_cut_a_hair_shorter(tmp_path) -> None:
    # a corner measured at 95.96 in: the list counts a whole 8 ft board, to the next 1/16 in
    wall = Surface("A", 95.96, 48.5, members_on_spacing(95.96, 16.0))
    job = Job(surfaces=(wall,), stock=tuple(s for s in stock_for("US") if s.length_in == 96.0))
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    begin_hanging(store, job_id, SitePlan(job, plan_job(job), {}), StackPlan(), 0)
    hanging = hanging_of(store, job_id)
    assert hanging is not None
    (card,) = card_texts(hanging, Words("en"), "feet_inches")
    (piece,) = card.pieces
    assert any("not cut to length" in line for line in piece.lines)
    assert not any(line.startswith("Cut to") for line in piece.lines)


def sent_to(hanging) -> dict[int, set[int]]:
    """The sheets that the cards send to each stack, by the stack's number."""
    found: dict[int, set[int]] = {}
    for card in card_texts(hanging, Words("en"), "feet_inches"):
        for piece in card.pieces:
            said = re.match(r"Take a .*\(?sheet (\d+)\).*Stack (\d+)\.", piece.lines[0])
            if said:
                found.setdefault(int(said[2]), set()).add(int(said[1]))
    return found


def test_cards_send_no_more_sheets_to_a_stack_than_it_holds(tmp_path, planned) -> None:
    # the boards of one size are carried in lots of two, each to a place of its own
    job, plan = planned
    rooms = dict.fromkeys((surface.id for surface in job.surfaces), "Den")
    stacks = tuple(
        Stack(number, "W1", "Den", 0.0, lot.length_in, 10.0, "edge", (lot,), 100.0, 10.0)
        for number, lot in enumerate(lots_of(plan, rooms, most=2), start=1)
    )
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    begin_hanging(store, job_id, SitePlan(job, plan, rooms), StackPlan(stacks), 0)
    sent = sent_to(hanging_of(store, job_id))
    lengths_in = {sheet.id: sheet.length_in for sheet in plan.sheets}
    for stack in stacks:
        (lot,) = stack.lots
        of_it = sent.get(stack.number, set())
        assert len(of_it) == lot.count - lot.spare
        assert {lengths_in[sheet] for sheet in of_it} <= {lot.length_in}


def test_a_spare_comes_from_a_stack_and_moves_no_other_sheet(tmp_path, planned) -> None:
    job, plan = planned
    found = SitePlan(job, plan, dict.fromkeys((s.id for s in job.surfaces), "Den"))
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    begin_hanging(store, job_id, found, stacks_of(found, StackChoices(), 0).plan, 0)
    before = hanging_of(store, job_id)
    tell_spoiled(store, job_id)
    after = hanging_of(store, job_id)
    (spare,) = after.from_spares
    assert spare.id in after.stack_of
    assert {sheet: stack for sheet, stack in after.stack_of.items() if sheet != spare.id} == before.stack_of


def test_the_card_of_a_wall_that_nobody_measured_says_so_first(tmp_path, planned) -> None:
    job, plan = planned
    store = Store(tmp_path)
    job_id = store.new_job("Basement")
    surfaces = tuple(replace(each, guessed=each.id == "W1") for each in job.surfaces)
    begin_hanging(store, job_id, SitePlan(replace(job, surfaces=surfaces), plan, {}), StackPlan(), 0)
    cards = card_texts(hanging_of(store, job_id), Words("en"), "feet_inches")
    warned = [card.surface for card in cards if "Nobody measured" in card.before[0]]
    assert warned == ["W1"]
