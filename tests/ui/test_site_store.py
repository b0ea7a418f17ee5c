"""What is kept of the work on site: parts under their revision, and logs that only grow."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from ui import site_store
from ui.delivery_view import counted
from ui.store import Store
from ui.store_schema import FILE_NAME, StaleEdit, StoreError


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Store, str]:
    store = Store(tmp_path)
    return store, store.new_job("Basement")


def test_a_part_is_replaced_only_under_the_revision_that_was_read(kept) -> None:
    store, job_id = kept
    assert site_store.part(store, job_id, "stacks") == (None, 0)
    assert site_store.keep_part(store, job_id, "stacks", {"moved": []}, 0) == 1
    with pytest.raises(StaleEdit):
        site_store.keep_part(store, job_id, "stacks", {"moved": [1]}, 0)
    assert site_store.part(store, job_id, "stacks") == ({"moved": []}, 1)


def test_an_event_sent_twice_is_kept_once_and_the_order_of_arrival_stays(kept) -> None:
    store, job_id = kept
    first, second = {"id": "a", "change": 1}, {"id": "b", "change": -1}
    assert site_store.keep_events(store, job_id, "delivery", [first]) == 1
    assert site_store.keep_events(store, job_id, "delivery", [second, first]) == 1
    assert site_store.events(store, job_id, "delivery") == (first, second)
    assert site_store.events(store, job_id, "hanging") == ()


def test_an_event_that_cannot_be_kept_keeps_nothing_of_what_came_with_it(kept) -> None:
    store, job_id = kept
    for bad in (
        {"change": 1},
        {"id": ""},
        {"id": "x", "change": float("nan")},
        {"id": "y", "note": "n" * 5000},
    ):
        with pytest.raises(StoreError):
            site_store.keep_events(store, job_id, "delivery", [{"id": "good"}, bad])
    assert site_store.events(store, job_id, "delivery") == ()


def test_nothing_is_kept_for_a_job_that_is_not_there(kept) -> None:
    store, _ = kept
    with pytest.raises(StoreError, match="no such job"):
        site_store.keep_events(store, "nobody", "delivery", [{"id": "a"}])
    with pytest.raises(StoreError, match="no such job"):
        site_store.keep_part(store, "nobody", "stacks", {}, 0)


def test_a_kept_store_of_version_2_opens_with_what_was_counted(tmp_path: Path) -> None:
    # Written by the second version of the program and kept as text; never regenerated.
    kept = (Path(__file__).parent / "store_of_version_2.sql").read_text()
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.executescript(kept)
    store = Store(tmp_path)
    (line,) = store.jobs()
    placed, revision = site_store.part(store, line.job_id, "delivery")
    assert placed is not None
    assert revision == 1
    (tally,) = counted(store, line.job_id, placed).tallies
    assert (tally.ordered.count, tally.arrived, tally.damaged, tally.note) == (9, 2, 1, "corner crushed")
