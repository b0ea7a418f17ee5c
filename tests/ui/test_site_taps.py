"""What a phone sends and what the store takes of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from layout.delivery import TAPS
from ui.site_taps import kept_taps, take_outbox
from ui.store import Store
from ui.store_schema import StoreError


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Store, str]:
    store = Store(tmp_path)
    return store, store.new_job("Basement")


def tap(tap_id: str, **other) -> dict:
    return {"id": tap_id, "line": "regular-1/2-48-144", "what": "arrived", "change": 1, **other}


def test_an_outbox_sent_again_is_taken_once(kept) -> None:
    store, job_id = kept
    outbox = {"job": job_id, "taps": [tap("a"), tap("b")], "number": 1}
    for _ in range(3):
        assert take_outbox(store, "delivery", outbox, TAPS) == ((), "")
    assert [t.id for t in kept_taps(store, job_id, "delivery", TAPS)] == ["a", "b"]


def test_what_can_never_be_kept_is_named_and_the_rest_is_kept(kept) -> None:
    store, job_id = kept
    outbox = {"job": job_id, "taps": [tap("a"), tap("bad", change="many"), 7, {"id": "odd"}], "number": 1}
    refused, why = take_outbox(store, "delivery", outbox, TAPS)
    assert refused == ("bad", "odd")
    assert why.endswith(".")
    assert [t.id for t in kept_taps(store, job_id, "delivery", TAPS)] == ["a"]


def test_a_job_that_is_not_there_refuses_nothing_so_that_the_phone_keeps_its_taps(kept) -> None:
    store, _ = kept
    with pytest.raises(StoreError):
        take_outbox(store, "delivery", {"job": "nobody", "taps": [tap("a")], "number": 1}, TAPS)


@pytest.mark.parametrize("nothing", [None, {}, {"taps": 3}, "x", {"taps": []}])
def test_an_empty_outbox_is_no_news(kept, nothing) -> None:
    assert take_outbox(kept[0], "delivery", nothing, TAPS) == ((), "")
