"""The rows of the store: what they are in Python, and how each is read, written and refused.

Every function works inside the connection or transaction it is given (`ui.store_schema`).
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from ui.corrections import Corrections
from ui.corrections_json import corrections_from_json, corrections_to_json
from ui.store_schema import StaleEdit, StoreError

LONGEST_NAME = 120
LARGEST_JSON_CHARS = 2_000_000


@dataclass(frozen=True)
class JobLine:
    """One line of the list of jobs."""

    job_id: str
    name: str
    archived: bool
    surface_count: int
    changed_utc: str


@dataclass(frozen=True)
class Surface:
    """A wall or ceiling of a job, as kept.

    Attributes
    ----------
    photo_sha256 : str or None
        Names the photo (`Store.photo`); None for a surface entered by hand.
    corrections : Corrections
        The user's marks on the photo, in photo pixels.
    settings : dict
        Whatever else the screens keep for it; plain JSON.
    revision : int
        Rises by one with each accepted change; hand it back when saving.
    part_of : str or None
        Of a further photo of a wall: the id of the wall.
    more : tuple of Surface
        The further photos of this wall, each with its own marks, from left to right
        (`ui.wall_photos.photos_of` puts the wall's own among them).
    wall_settings : dict or None
        Of a further photo of a wall: the settings of the wall; None for a wall itself.
    job_settings : dict or None
        Those of its job; None of a surface that is in no store.
    """

    surface_id: str
    job_id: str
    name: str
    photo_sha256: str | None
    corrections: Corrections
    settings: dict[str, Any]
    revision: int
    part_of: str | None = None
    more: tuple[Surface, ...] = ()
    wall_settings: dict[str, Any] | None = None
    job_settings: dict[str, Any] | None = None

    @property
    def state(self) -> tuple[Any, ...]:
        """Changes whenever anything of the surface does, its further photos included."""
        return (self.surface_id, self.revision, *((p.surface_id, p.revision) for p in self.more))


@dataclass(frozen=True)
class Job:
    """A job with its surfaces in order; removed ones are left out."""

    job_id: str
    name: str
    archived: bool
    settings: dict[str, Any]
    revision: int
    surfaces: tuple[Surface, ...] = field(default=())


def insert_job(db: sqlite3.Connection, job_id: str, name: str, settings: str) -> None:
    """A new job's row; `settings` is JSON text."""
    db.execute(
        "INSERT INTO jobs (id, name, settings, created_utc, changed_utc) VALUES (?, ?, ?, ?, ?)",
        (job_id, name, settings, now_utc(), now_utc()),
    )


def insert_surface(
    db: sqlite3.Connection,
    job_id: str,
    position: int,
    surface: Surface,
    surface_id: str | None = None,
    part_of: str | None = None,
) -> None:
    """New rows for what `surface` and its further photos hold, under new ids unless one is given."""
    surface_id = surface_id or new_id()
    db.execute(
        "INSERT INTO surfaces (id, job_id, position, name, photo_sha256, corrections, settings, part_of) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            surface_id,
            job_id,
            position,
            surface.name,
            surface.photo_sha256,
            to_json(corrections_to_json(surface.corrections)),
            to_json(surface.settings),
            part_of,
        ),
    )
    for part in surface.more:
        insert_surface(db, job_id, position, part, part_of=surface_id)


def read_job(db: sqlite3.Connection, job_id: str) -> Job:
    """The job with its surfaces that are not removed."""
    row = db.execute("SELECT name, archived, settings, revision FROM jobs WHERE id = ?", (job_id,)).fetchone()
    if row is None:
        raise gone("job")
    rows = list(read_surfaces(db, "job_id = ? AND NOT removed", job_id))
    return Job(job_id, row[0], bool(row[1]), from_json(row[2]), row[3], _with_their_photos(rows))


def _with_their_photos(rows: list[Surface]) -> tuple[Surface, ...]:
    """The surfaces among the rows, each with its further photos."""
    parts: dict[str, list[Surface]] = {}
    for row in rows:
        if row.part_of is not None:
            parts.setdefault(row.part_of, []).append(row)
    return tuple(
        replace(row, more=from_left(parts[row.surface_id], row.settings)) if row.surface_id in parts else row
        for row in rows
        if row.part_of is None
    )


def from_left(parts: Iterable[Surface], wall_settings: dict[str, Any]) -> tuple[Surface, ...]:
    """Further photos of one wall in their order along it, each with the settings of the wall."""
    known = (replace(part, wall_settings=wall_settings) for part in parts)
    return tuple(sorted(known, key=lambda part: place_of(part.settings)))


def place_of(settings: dict[str, Any]) -> int:
    """Where a further photo belongs among those of its wall: left of the wall's own below 0, right above."""
    place = settings.get("place")
    return place if isinstance(place, int) and place else 1


def read_surfaces(db: sqlite3.Connection, where: str, value: str) -> Iterator[Surface]:
    """Surfaces by an SQL condition of ours with one value, in the job's order."""
    rows = db.execute(
        "SELECT id, job_id, name, photo_sha256, corrections, settings, revision, part_of FROM surfaces "
        f"WHERE {where} ORDER BY position, id",
        (value,),
    ).fetchall()
    jobs = {kept: _job_settings(db, kept) for kept in {row[1] for row in rows}}
    for surface_id, job_id, name, sha256, corrections, settings, revision, part_of in rows:
        try:
            marks = corrections_from_json(from_json(corrections))
        except (ValueError, KeyError, TypeError) as fault:
            raise _damaged(name) from fault
        yield Surface(
            surface_id,
            job_id,
            name,
            sha256,
            marks,
            from_json(settings),
            revision,
            part_of,
            job_settings=jobs[job_id],
        )


def _job_settings(db: sqlite3.Connection, job_id: str) -> dict[str, Any]:
    return from_json(one_value(db, "SELECT settings FROM jobs WHERE id = ?", job_id))


def keep_photo(db: sqlite3.Connection, jpeg: bytes) -> str:
    """Keep a photo once, whatever number of surfaces shows it; returns its SHA-256."""
    sha256 = hashlib.sha256(jpeg).hexdigest()
    db.execute("INSERT OR IGNORE INTO photos (sha256, jpeg) VALUES (?, ?)", (sha256, jpeg))
    return sha256


def expect_revision(db: sqlite3.Connection, table: str, row_id: str, revision: int, what: str) -> None:
    """Refuse with `StaleEdit` when the row has moved on since `revision` was read."""
    row = db.execute(f"SELECT revision FROM {table} WHERE id = ?", (row_id,)).fetchone()
    if row is None:
        raise gone(what)
    if row[0] != revision:
        raise StaleEdit(
            f"This {what} was changed meanwhile in another window, your last change was not kept: look at "
            "what is there now and make it again."
        )


def update(db: sqlite3.Connection, table: str, row_id: str, values: dict[str, Any]) -> None:
    """Write the columns that are not None and raise the revision by one."""
    given = {column: value for column, value in values.items() if value is not None}
    columns = "".join(f"{column} = ?, " for column in given)
    db.execute(f"UPDATE {table} SET {columns}revision = revision + 1 WHERE id = ?", (*given.values(), row_id))


def touch_job(db: sqlite3.Connection, job_id: str) -> None:
    """Note that the job was worked on now."""
    db.execute("UPDATE jobs SET changed_utc = ? WHERE id = ?", (now_utc(), job_id))


def one_value(db: sqlite3.Connection, query: str, value: str) -> Any:
    """The single value that a query of ours gives."""
    return db.execute(query, (value,)).fetchone()[0]


def clean_name(name: str) -> str:
    """The name on one line, without control characters; refused when nothing is left or too long."""
    clean = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    if not clean:
        raise StoreError("The name is empty: type one.")
    if len(clean) > LONGEST_NAME:
        raise StoreError(f"The name has {len(clean)} letters: shorten it to {LONGEST_NAME}.")
    return clean


def to_json(value: dict[str, Any]) -> str:
    """JSON text for the store; StoreError for NaN, infinities, what JSON lacks, and far too much."""
    try:
        text = json.dumps(value, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
        text.encode("utf-8")
    except (ValueError, TypeError, RecursionError) as fault:
        raise StoreError(f"This cannot be kept ({fault}): undo the last change and make it again.") from fault
    if len(text) > LARGEST_JSON_CHARS:
        raise StoreError("This surface holds too much to be kept: split it into two surfaces.")
    return text


def from_json(text: str) -> dict[str, Any]:
    """What `to_json` wrote; StoreError when the text was damaged."""
    try:
        value = json.loads(text)
    except (ValueError, RecursionError) as fault:
        raise _damaged("") from fault
    if not isinstance(value, dict):
        raise _damaged("")
    return value


def _damaged(name: str) -> StoreError:
    about = f" of “{name}”" if name else ""
    return StoreError(f"The kept data{about} is damaged: put a copy of the store in its place.")


def gone(what: str) -> StoreError:
    """The refusal for an id that is not there."""
    return StoreError(f"There is no such {what} in the store any more: go back to the list of jobs.")


def new_id() -> str:
    """A random id that is never used again."""
    return uuid.uuid4().hex


def now_utc() -> str:
    """The present moment, so written that the order of texts is the order of times."""
    return datetime.now(UTC).isoformat(timespec="microseconds")
