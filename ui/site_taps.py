"""Taps between a phone's outbox and the store."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import asdict
from typing import Any

from layout.site_taps import SiteTap, TapError, read_tap
from ui import site_store
from ui.store import Store

__all__ = ["kept_taps", "take_outbox"]

MOST_TAPS = 500


def take_outbox(store: Store, log: str, outbox: Any, allowed: Collection[str]) -> tuple[tuple[str, ...], str]:
    """Keep what a browser sent; returns the ids that can never be kept, and why.

    Taps that are there already are left as they are, so the browser may send them as often as it
    likes. A fault of the store (disk full, ...) is raised and refuses nothing: the browser sends again.
    """
    if not isinstance(outbox, dict) or not isinstance(outbox.get("taps"), list):
        return (), ""
    good, refused, why = [], [], ""
    for data in outbox["taps"][:MOST_TAPS]:
        try:
            good.append(asdict(read_tap(data, allowed)))
        except TapError as fault:
            why = str(fault)
            if isinstance(data, dict) and isinstance(data.get("id"), str):
                refused.append(data["id"])
    if good:
        site_store.keep_events(store, str(outbox.get("job")), log, good)
    return tuple(refused), why


def kept_taps(store: Store, job_id: str, log: str, allowed: Collection[str]) -> tuple[SiteTap, ...]:
    """The taps of a log, in the order they arrived."""
    return tuple(read_tap(event, allowed) for event in site_store.events(store, job_id, log))
