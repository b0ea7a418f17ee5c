"""What the store keeps of the work on site: one value per job and part, and a log of taps.

A part is replaced as a whole, under the revision that was read. A log only grows: an event that is
there already (told by its id) is not taken twice, so a phone may send what it counted as often as it
likes.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from typing import Any

from ui.store import Store
from ui.store_rows import gone, now_utc, one_value
from ui.store_schema import StaleEdit, StoreError, connection, transaction

__all__ = ["events", "insert_events", "insert_part", "keep_events", "keep_part", "part"]

LARGEST_PART_CHARS = 20_000_000
LARGEST_EVENT_CHARS = 4_000
MOST_EVENTS = 50_000
LONGEST_ID = 64


def part(store: Store, job_id: str, name: str) -> tuple[dict[str, Any] | None, int]:
    """What is kept under that name for a job, and its revision; None and 0 when nothing is."""
    with connection(store.file) as db:
        row = db.execute(
            "SELECT value, revision FROM job_parts WHERE job_id = ? AND part = ?", (job_id, name)
        ).fetchone()
    if row is None:
        return None, 0
    try:
        value = json.loads(row[0])
    except ValueError as fault:
        raise StoreError("The kept data is damaged: put a copy of the store in its place.") from fault
    return value, int(row[1])


def keep_part(store: Store, job_id: str, name: str, value: dict[str, Any], revision: int) -> int:
    """Replace what is kept under that name; returns the new revision.

    `revision` is the one that was read (0 for nothing yet); StaleEdit, and nothing changed, when
    somebody else has replaced it since.
    """
    with transaction(store.file) as db:
        if one_value(db, "SELECT count(*) FROM jobs WHERE id = ?", job_id) == 0:
            raise gone("job")
        row = db.execute(
            "SELECT revision FROM job_parts WHERE job_id = ? AND part = ?", (job_id, name)
        ).fetchone()
        if (0 if row is None else row[0]) != revision:
            raise StaleEdit(
                "This was changed meanwhile in another window, your last change was not kept: look at what "
                "is there now and make it again."
            )
        insert_part(db, job_id, name, value, revision + 1)
    return revision + 1


def events(store: Store, job_id: str, log: str) -> tuple[dict[str, Any], ...]:
    """All events of a log, in the order they arrived."""
    with connection(store.file) as db:
        rows = db.execute(
            "SELECT event FROM site_events WHERE job_id = ? AND log = ? ORDER BY number", (job_id, log)
        ).fetchall()
    return tuple(json.loads(row[0]) for row in rows)


def keep_events(store: Store, job_id: str, log: str, new: Iterable[dict[str, Any]]) -> int:
    """Add events to a log, all in one transaction; those whose ``id`` is there already are left as
    they are. Returns how many were new."""
    given = list(new)
    with transaction(store.file) as db:
        if one_value(db, "SELECT count(*) FROM jobs WHERE id = ?", job_id) == 0:
            raise gone("job")
        before = one_value(db, "SELECT count(*) FROM site_events WHERE job_id = ?", job_id)
        if before + len(given) > MOST_EVENTS:
            raise StoreError("This job has more counts than can be kept: start a copy of the job.")
        insert_events(db, job_id, log, given)
        after = one_value(db, "SELECT count(*) FROM site_events WHERE job_id = ?", job_id)
    return int(after - before)


def insert_part(
    db: sqlite3.Connection, job_id: str, name: str, value: dict[str, Any], revision: int = 1
) -> None:
    """Put a part in its place, inside a transaction."""
    db.execute(
        "INSERT OR REPLACE INTO job_parts (job_id, part, value, revision) VALUES (?, ?, ?, ?)",
        (job_id, name, _json(value, LARGEST_PART_CHARS), revision),
    )


def insert_events(db: sqlite3.Connection, job_id: str, log: str, given: Iterable[dict[str, Any]]) -> None:
    """Add events that are not there yet, inside a transaction; refused when one has no id."""
    rows = []
    for event in given:
        event_id = event.get("id")
        if not isinstance(event_id, str) or not 0 < len(event_id) <= LONGEST_ID:
            raise StoreError("A count without its own mark cannot be kept: reload the page.")
        rows.append((job_id, log, event_id, _json(event, LARGEST_EVENT_CHARS), now_utc()))
    db.executemany(
        "INSERT OR IGNORE INTO site_events (job_id, log, id, event, arrived_utc) VALUES (?, ?, ?, ?, ?)", rows
    )


def _json(value: dict[str, Any], most: int) -> str:
    try:
        text = json.dumps(value, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
        text.encode("utf-8")
    except (ValueError, TypeError, RecursionError) as fault:
        raise StoreError(f"This cannot be kept ({fault}): undo the last change and make it again.") from fault
    if len(text) > most:
        raise StoreError("This is too much to be kept at once: split the job into two jobs.")
    return text
