"""What is kept of the work on site: parts under their revision, and logs that only grow."""

from __future__ import annotations

from pathlib import Path

import pytest

from ui import site_store
from ui.store import Store
from ui.store_schema import StaleEdit, StoreError


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
