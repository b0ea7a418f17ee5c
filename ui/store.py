"""The store: jobs, their surfaces and photos, in one SQLite file in the user's data folder.

Each public method is one transaction. What a method has answered is on the disk; what it has
refused has changed nothing.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ui.corrections import Corrections, corrections_from_json, corrections_to_json
from ui.store_schema import FILE_NAME, StaleEdit, StoreError, connection, data_folder, prepare, transaction

__all__ = ["Job", "JobLine", "StaleEdit", "Store", "StoreError", "Surface"]

LONGEST_NAME = 120
LARGEST_JSON_CHARS = 2_000_000
MOST_SURFACES = 2_000
KEPT_READINGS = 2_000


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
    """

    surface_id: str
    job_id: str
    name: str
    photo_sha256: str | None
    corrections: Corrections
    settings: dict[str, Any]
    revision: int


@dataclass(frozen=True)
class Job:
    """A job with its surfaces in order; removed ones are left out."""

    job_id: str
    name: str
    archived: bool
    settings: dict[str, Any]
    revision: int
    surfaces: tuple[Surface, ...] = field(default=())


class Store:
    """Jobs on disk. Safe to use from several threads and processes at once.

    Parameters
    ----------
    folder : path, optional
        Where the file lies; by default `ui.store_schema.data_folder()`.

    Raises
    ------
    StoreError
        The store cannot be opened or made; the text says why and what to do.
    """

    def __init__(self, folder: Path | str | None = None) -> None:
        self.file = (data_folder() if folder is None else Path(folder)) / FILE_NAME
        prepare(self.file)

    # --- jobs ---

    def jobs(self, *, archived: bool = False) -> tuple[JobLine, ...]:
        """The jobs at hand (or those put away), the last changed first."""
        with connection(self.file) as db:
            rows = db.execute(
                """SELECT id, name, archived, changed_utc,
                          (SELECT count(*) FROM surfaces WHERE job_id = jobs.id AND NOT removed)
                   FROM jobs WHERE archived = ? ORDER BY changed_utc DESC, id""",
                (int(archived),),
            ).fetchall()
        return tuple(JobLine(i, n, bool(a), count, changed) for i, n, a, changed, count in rows)

    def new_job(self, name: str, settings: dict[str, Any] | None = None) -> str:
        """Make an empty job and return its id."""
        job_id = _new_id()
        with transaction(self.file) as db:
            _insert_job(db, job_id, _clean_name(name), _to_json(settings or {}))
        return job_id

    def job(self, job_id: str) -> Job:
        """The job with all its surfaces; StoreError when there is none of that id."""
        with connection(self.file) as db:
            return _read_job(db, job_id)

    def save_job(
        self,
        job_id: str,
        revision: int,
        *,
        name: str | None = None,
        settings: dict[str, Any] | None = None,
        archived: bool | None = None,
    ) -> int:
        """Change what is given of a job and return its new revision.

        `revision` is the one that was read; StaleEdit when the job has moved on since.
        """
        with transaction(self.file) as db:
            _expect(db, "jobs", job_id, revision, "job")
            values = {
                "name": None if name is None else _clean_name(name),
                "settings": None if settings is None else _to_json(settings),
                "archived": None if archived is None else int(archived),
            }
            _update(db, "jobs", job_id, values)
            _touch(db, job_id)
        return revision + 1

    def copy_job(self, job_id: str, name: str) -> str:
        """Copy a job with its surfaces (photos are shared, not doubled); returns the copy's id."""
        copy_id = _new_id()
        with transaction(self.file) as db:
            job = _read_job(db, job_id)
            _insert_job(db, copy_id, _clean_name(name), _to_json(job.settings))
            for position, surface in enumerate(job.surfaces):
                _insert_surface(db, copy_id, position, surface)
        return copy_id

    # --- surfaces ---

    def add_surface(
        self,
        job_id: str,
        name: str,
        *,
        photo_jpeg: bytes | None = None,
        corrections: Corrections | None = None,
        settings: dict[str, Any] | None = None,
    ) -> str:
        """Put a surface at the end of a job and return its id.

        `photo_jpeg` must already be free of position data (`vision.photo_privacy.without_position`).
        """
        surface_id = _new_id()
        with transaction(self.file) as db:
            count = _one(db, "SELECT count(*) FROM surfaces WHERE job_id = ?", job_id)
            if _one(db, "SELECT count(*) FROM jobs WHERE id = ?", job_id) == 0:
                raise _gone("job")
            if count >= MOST_SURFACES:
                raise StoreError(f"A job holds at most {MOST_SURFACES} surfaces: start a second job.")
            surface = Surface(
                surface_id,
                job_id,
                _clean_name(name),
                None if photo_jpeg is None else _keep_photo(db, photo_jpeg),
                corrections or Corrections(),
                settings or {},
                1,
            )
            _insert_surface(db, job_id, count, surface, surface_id)
            _touch(db, job_id)
        return surface_id

    def surface(self, surface_id: str) -> Surface:
        """One surface as kept now; StoreError when there is none of that id."""
        with connection(self.file) as db:
            rows = list(_read_surfaces(db, "id = ?", surface_id))
        if not rows:
            raise _gone("surface")
        return rows[0]

    def save_surface(
        self,
        surface_id: str,
        revision: int,
        *,
        name: str | None = None,
        corrections: Corrections | None = None,
        settings: dict[str, Any] | None = None,
        photo_jpeg: bytes | None = None,
        removed: bool | None = None,
    ) -> int:
        """Change what is given of a surface, in one transaction, and return its new revision.

        `revision` is the one that was read; StaleEdit, and nothing changed, when the surface has
        moved on since. `removed=False` brings a removed surface back.
        """
        with transaction(self.file) as db:
            _expect(db, "surfaces", surface_id, revision, "surface")
            values = {
                "name": None if name is None else _clean_name(name),
                "corrections": None if corrections is None else _to_json(corrections_to_json(corrections)),
                "settings": None if settings is None else _to_json(settings),
                "photo_sha256": None if photo_jpeg is None else _keep_photo(db, photo_jpeg),
                "removed": None if removed is None else int(removed),
            }
            _update(db, "surfaces", surface_id, values)
            _touch(db, str(_one(db, "SELECT job_id FROM surfaces WHERE id = ?", surface_id)))
        return revision + 1

    def order_surfaces(self, job_id: str, surface_ids: tuple[str, ...]) -> None:
        """Put the surfaces of a job into this order; ids left out keep their places after them."""
        with transaction(self.file) as db:
            rest = db.execute("SELECT id FROM surfaces WHERE job_id = ? ORDER BY position, id", (job_id,))
            kept = [row[0] for row in rest.fetchall()]
            unknown = set(surface_ids) - set(kept)
            if unknown:
                raise _gone("surface")
            ordered = [*surface_ids, *(i for i in kept if i not in surface_ids)]
            db.executemany("UPDATE surfaces SET position = ? WHERE id = ?", list(enumerate(ordered)))
            _touch(db, job_id)

    # --- photos ---

    def photo(self, sha256: str) -> bytes:
        """The JPEG bytes of a kept photo; StoreError when it is not there or damaged."""
        with connection(self.file) as db:
            row = db.execute("SELECT jpeg FROM photos WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise _gone("photo")
        if hashlib.sha256(row[0]).hexdigest() != sha256:
            raise StoreError("The kept photo is damaged on the disk: choose the photo file again.")
        return bytes(row[0])

    # --- readings already made ---

    def reading(self, key: str) -> dict[str, Any] | None:
        """A reading kept under `key` (see `ui.reading_json.reading_key`), or None."""
        with connection(self.file) as db:
            row = db.execute("SELECT reading FROM readings WHERE key = ?", (key,)).fetchone()
        return None if row is None else _from_json(row[0])

    def keep_reading(self, key: str, reading: dict[str, Any]) -> None:
        """Keep a reading so that the photo need not be read again; the oldest make room."""
        with transaction(self.file) as db:
            db.execute(
                "INSERT OR REPLACE INTO readings (key, reading, made_utc) VALUES (?, ?, ?)",
                (key, _to_json(reading), _now()),
            )
            db.execute(
                "DELETE FROM readings WHERE key NOT IN "
                "(SELECT key FROM readings ORDER BY made_utc DESC, rowid DESC LIMIT ?)",
                (KEPT_READINGS,),
            )

    # --- several changes at once ---

    @contextmanager
    def adding_job(self, name: str, settings: dict[str, Any]) -> Iterator[JobBeingAdded]:
        """Add a whole job in one transaction: all of it is there afterwards, or nothing of it."""
        with transaction(self.file) as db:
            job_id = _new_id()
            _insert_job(db, job_id, _clean_name(name), _to_json(settings))
            yield JobBeingAdded(db, job_id)


@dataclass
class JobBeingAdded:
    """The inside of `Store.adding_job`."""

    db: sqlite3.Connection
    job_id: str
    count: int = 0

    def photo(self, jpeg: bytes) -> str:
        """Keep a photo and return its SHA-256."""
        return _keep_photo(self.db, jpeg)

    def surface(
        self, name: str, photo_sha256: str | None, corrections: Corrections, settings: dict[str, Any]
    ) -> None:
        """Put a surface at the end."""
        if self.count >= MOST_SURFACES:
            raise StoreError(f"A job holds at most {MOST_SURFACES} surfaces: split it into two jobs.")
        surface = Surface("", self.job_id, _clean_name(name), photo_sha256, corrections, settings, 1)
        _insert_surface(self.db, self.job_id, self.count, surface)
        self.count += 1


def _insert_job(db: sqlite3.Connection, job_id: str, name: str, settings: str) -> None:
    db.execute(
        "INSERT INTO jobs (id, name, settings, created_utc, changed_utc) VALUES (?, ?, ?, ?, ?)",
        (job_id, name, settings, _now(), _now()),
    )


def _insert_surface(
    db: sqlite3.Connection, job_id: str, position: int, surface: Surface, surface_id: str | None = None
) -> None:
    db.execute(
        "INSERT INTO surfaces (id, job_id, position, name, photo_sha256, corrections, settings) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        (
            surface_id or _new_id(),
            job_id,
            position,
            surface.name,
            surface.photo_sha256,
            _to_json(corrections_to_json(surface.corrections)),
            _to_json(surface.settings),
        ),
    )


def _read_job(db: sqlite3.Connection, job_id: str) -> Job:
    row = db.execute("SELECT name, archived, settings, revision FROM jobs WHERE id = ?", (job_id,)).fetchone()
    if row is None:
        raise _gone("job")
    surfaces = tuple(_read_surfaces(db, "job_id = ? AND NOT removed", job_id))
    return Job(job_id, row[0], bool(row[1]), _from_json(row[2]), row[3], surfaces)


def _read_surfaces(db: sqlite3.Connection, where: str, value: str) -> Iterator[Surface]:
    rows = db.execute(
        "SELECT id, job_id, name, photo_sha256, corrections, settings, revision FROM surfaces "
        f"WHERE {where} ORDER BY position, id",
        (value,),
    ).fetchall()
    for surface_id, job_id, name, sha256, corrections, settings, revision in rows:
        try:
            marks = corrections_from_json(_from_json(corrections))
        except (ValueError, KeyError, TypeError) as fault:
            raise _damaged(name) from fault
        yield Surface(surface_id, job_id, name, sha256, marks, _from_json(settings), revision)


def _keep_photo(db: sqlite3.Connection, jpeg: bytes) -> str:
    sha256 = hashlib.sha256(jpeg).hexdigest()
    db.execute("INSERT OR IGNORE INTO photos (sha256, jpeg) VALUES (?, ?)", (sha256, jpeg))
    return sha256


def _expect(db: sqlite3.Connection, table: str, row_id: str, revision: int, what: str) -> None:
    row = db.execute(f"SELECT revision FROM {table} WHERE id = ?", (row_id,)).fetchone()
    if row is None:
        raise _gone(what)
    if row[0] != revision:
        raise StaleEdit(
            f"This {what} was changed meanwhile in another window, your last change was not kept: look at "
            "what is there now and make it again."
        )


def _update(db: sqlite3.Connection, table: str, row_id: str, values: dict[str, Any]) -> None:
    given = {column: value for column, value in values.items() if value is not None}
    columns = "".join(f"{column} = ?, " for column in given)
    db.execute(f"UPDATE {table} SET {columns}revision = revision + 1 WHERE id = ?", (*given.values(), row_id))


def _touch(db: sqlite3.Connection, job_id: str) -> None:
    db.execute("UPDATE jobs SET changed_utc = ? WHERE id = ?", (_now(), job_id))


def _one(db: sqlite3.Connection, query: str, value: str) -> Any:
    return db.execute(query, (value,)).fetchone()[0]


def _clean_name(name: str) -> str:
    """The name on one line, without control characters; refused when nothing is left or too long."""
    clean = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    if not clean:
        raise StoreError("The name is empty: type one.")
    if len(clean) > LONGEST_NAME:
        raise StoreError(f"The name has {len(clean)} letters: shorten it to {LONGEST_NAME}.")
    return clean


def _to_json(value: dict[str, Any]) -> str:
    try:
        text = json.dumps(value, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
        text.encode("utf-8")
    except (ValueError, TypeError, RecursionError) as fault:
        raise StoreError(f"This cannot be kept ({fault}): undo the last change and make it again.") from fault
    if len(text) > LARGEST_JSON_CHARS:
        raise StoreError("This surface holds too much to be kept: split it into two surfaces.")
    return text


def _from_json(text: str) -> dict[str, Any]:
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


def _gone(what: str) -> StoreError:
    return StoreError(f"There is no such {what} in the store any more: go back to the list of jobs.")


def _new_id() -> str:
    return uuid.uuid4().hex


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")
