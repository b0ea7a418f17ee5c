"""A packed job carries what was kept and counted on site, and what is odd is refused whole."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import pytest

from layout import plan_job
from layout.delivery import TAPS
from layout.plan_types import OrderLine
from layout.stack_types import Moved, StackPlan
from tests.layout.common import room
from ui import site_store
from ui.delivery_view import counted, place_order
from ui.hanging_site import begin_hanging, hanging_of
from ui.job_archive import ArchiveError, pack_job, unpack_job
from ui.site_plan import SitePlan
from ui.site_stacks import StackChoices, keep_choices, read_choices
from ui.site_taps import take_outbox
from ui.store import Store

LINE = "regular-1/2-48-144"


@pytest.fixture(scope="module")
def packed(tmp_path_factory) -> bytes:
    store = Store(tmp_path_factory.mktemp("one"))
    job_id = store.new_job("Basement")
    place_order(store, job_id, (OrderLine("regular", 0.5, 48.0, 144.0, 6, 1),), StackPlan(), 0)
    taps = [{"id": "a", "line": LINE, "what": "arrived", "change": 2, "clock": 1}]
    take_outbox(store, "delivery", {"job": job_id, "taps": taps, "number": 1}, TAPS)
    keep_choices(store, job_id, StackChoices(moved=(Moved("x", "A", 4.0, "flat"),)), 0)
    job = room(1)
    begin_hanging(store, job_id, SitePlan(job, plan_job(job), {"C": "Den"}), StackPlan(), 0)
    return pack_job(store, job_id)


def test_what_was_counted_placed_and_begun_is_there_after_unpacking(packed: bytes, tmp_path: Path) -> None:
    store = Store(tmp_path)
    job_id = unpack_job(store, packed)
    placed, _ = site_store.part(store, job_id, "delivery")
    assert placed is not None
    (tally,) = counted(store, job_id, placed).tallies
    assert (tally.ordered.count, tally.arrived) == (7, 2)
    kept, _ = site_store.part(store, job_id, "stacks")
    assert read_choices(kept or {}).moved == (Moved("x", "A", 4.0, "flat"),)
    hanging = hanging_of(store, job_id)
    assert hanging is not None
    assert [card.room for card in hanging.cards if card.kind == "ceiling"] == ["Den"]
    assert pack_job(store, job_id) == packed


def changed(packed: bytes, change) -> bytes:
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        document = json.loads(archive.read("job.json"))
    change(document["site"])
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("job.json", json.dumps(document))
    return out.getvalue()


def no_number(site) -> None:
    site["parts"]["hanging"]["bought"] = ["one"]


def no_plan(site) -> None:
    site["parts"]["hanging"]["plan"] = {}


def text_for_a_number(site) -> None:
    site["parts"]["hanging"]["plan"]["sheets"][0]["length_in"] = "long"


def piece_too_much(site) -> None:
    site["parts"]["hanging"]["plan"]["surfaces"][0]["rows"][0]["pieces"][0]["colour"] = "red"


def odd_line(site) -> None:
    site["parts"]["delivery"]["lines"] = [{"line": 3}]


def odd_place(site) -> None:
    site["parts"]["delivery"]["places"] = {LINE: [{"stack": "<b>", "count": 1, "wall": "", "room": ""}]}


def odd_tap(site) -> None:
    site["logs"]["delivery"][0]["change"] = 1e9


def odd_way(site) -> None:
    site["parts"]["stacks"]["walkways"] = {"A": [["x", 2]]}


@pytest.mark.parametrize(
    "spoil", [no_number, no_plan, text_for_a_number, piece_too_much, odd_line, odd_place, odd_tap, odd_way]
)
def test_odd_work_on_site_refuses_the_whole_file(packed: bytes, tmp_path: Path, spoil) -> None:
    store = Store(tmp_path)
    with pytest.raises(ArchiveError, match="work on site"):
        unpack_job(store, changed(packed, spoil))
    assert store.jobs() == ()


def test_a_job_packed_before_anything_was_done_on_site_still_opens(tmp_path: Path) -> None:
    store = Store(tmp_path)
    job_id = store.new_job("Attic")
    again = unpack_job(store, pack_job(store, job_id))
    assert site_store.part(store, again, "delivery") == (None, 0)
