"""The store: jobs, their surfaces and photos, in one SQLite file in the user's data folder.

Each public method is one transaction. What a method has answered is on the disk; what it has
refused has changed nothing.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ui.corrections import Corrections
from ui.corrections_json import corrections_to_json
from ui.store_rows import (
    Job,
    JobLine,
    Surface,
    clean_name,
    expect_revision,
    from_json,
    from_left,
    gone,
    insert_job,
    insert_surface,
    keep_photo,
    new_id,
    now_utc,
    one_value,
    place_of,
    read_job,
    read_surfaces,
    to_json,
    touch_job,
    update,
)
from ui.store_schema import FILE_NAME, StaleEdit, StoreError, connection, data_folder, prepare, transaction

__all__ = ["Job", "JobBeingAdded", "JobLine", "StaleEdit", "Store", "StoreError", "Surface"]

MOST_SURFACES = 2_000
MOST_PHOTOS = 8
"""Photos of one wall."""
KEPT_READINGS = 2_000
MOST_KEYS = 500
"""Keys in one question; SQLite takes at least 999 values (its limit SQLITE_MAX_VARIABLE_NUMBER)."""


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
                          (SELECT count(*) FROM surfaces
                           WHERE job_id = jobs.id AND NOT removed AND part_of IS NULL)
                   FROM jobs WHERE archived = ? ORDER BY changed_utc DESC, id""",
                (int(archived),),
            ).fetchall()
        return tuple(JobLine(i, n, bool(a), count, changed) for i, n, a, changed, count in rows)

    def new_job(self, name: str, settings: dict[str, Any] | None = None) -> str:
        """Make an empty job and return its id."""
        job_id = new_id()
        with transaction(self.file) as db:
            insert_job(db, job_id, clean_name(name), to_json(settings or {}))
        return job_id

    def job(self, job_id: str) -> Job:
        """The job with all its surfaces; StoreError when there is none of that id."""
        with connection(self.file) as db:
            return read_job(db, job_id)

    def changed_utc(self, job_id: str) -> str:
        """When the job or one of its surfaces was last changed: a cheap way to notice other devices."""
        with connection(self.file) as db:
            row = db.execute("SELECT changed_utc FROM jobs WHERE id = ?", (job_id,)).fetchone()
        if row is None:
            raise gone("job")
        return str(row[0])

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
            expect_revision(db, "jobs", job_id, revision, "job")
            values = {
                "name": None if name is None else clean_name(name),
                "settings": None if settings is None else to_json(settings),
                "archived": None if archived is None else int(archived),
            }
            update(db, "jobs", job_id, values)
            touch_job(db, job_id)
        return revision + 1

    def copy_job(self, job_id: str, name: str) -> str:
        """Copy a job with its surfaces (photos are shared, not doubled); returns the copy's id."""
        copy_id = new_id()
        with transaction(self.file) as db:
            job = read_job(db, job_id)
            insert_job(db, copy_id, clean_name(name), to_json(job.settings))
            for position, surface in enumerate(job.surfaces):
                insert_surface(db, copy_id, position, surface)
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
        more: tuple[Surface, ...] = (),
    ) -> str:
        """Put a surface at the end of a job and return its id.

        `photo_jpeg` must already be free of position data (`vision.photo_privacy.without_position`).
        `more` holds further photos of the wall as they are kept already, to be copied.
        """
        surface_id = new_id()
        with transaction(self.file) as db:
            count = one_value(db, "SELECT count(*) FROM surfaces WHERE job_id = ?", job_id)
            if one_value(db, "SELECT count(*) FROM jobs WHERE id = ?", job_id) == 0:
                raise gone("job")
            if count >= MOST_SURFACES:
                raise StoreError(f"A job holds at most {MOST_SURFACES} surfaces: start a second job.")
            surface = Surface(
                surface_id,
                job_id,
                clean_name(name),
                None if photo_jpeg is None else keep_photo(db, photo_jpeg),
                corrections or Corrections(),
                settings or {},
                1,
                more=more,
            )
            insert_surface(db, job_id, count, surface, surface_id)
            touch_job(db, job_id)
        return surface_id

    def surface(self, surface_id: str) -> Surface:
        """One surface, or a further photo of one, as kept now; StoreError when there is none of that id."""
        with connection(self.file) as db:
            rows = list(read_surfaces(db, "id = ?", surface_id))
            parts = tuple(read_surfaces(db, "part_of = ? AND NOT removed", surface_id))
            walls = [wall for row in rows if row.part_of for wall in read_surfaces(db, "id = ?", row.part_of)]
        if not rows:
            raise gone("surface")
        if walls:
            return replace(rows[0], wall_settings=walls[0].settings)
        return replace(rows[0], more=from_left(parts, rows[0].settings)) if parts else rows[0]

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
            expect_revision(db, "surfaces", surface_id, revision, "surface")
            values = {
                "name": None if name is None else clean_name(name),
                "corrections": None if corrections is None else to_json(corrections_to_json(corrections)),
                "settings": None if settings is None else to_json(settings),
                "photo_sha256": None if photo_jpeg is None else keep_photo(db, photo_jpeg),
                "removed": None if removed is None else int(removed),
            }
            update(db, "surfaces", surface_id, values)
            touch_job(db, str(one_value(db, "SELECT job_id FROM surfaces WHERE id = ?", surface_id)))
        return revision + 1

    def add_photo(self, surface_id: str, revision: int, photo_jpeg: bytes, *, left: bool = False) -> str:
        """Add a further photo to a wall, beyond those it has on the right (or left); returns its id.

        `revision` is the wall's; StaleEdit when the wall has moved on since. It rises by one.
        """
        part_id = new_id()
        with transaction(self.file) as db:
            expect_revision(db, "surfaces", surface_id, revision, "surface")
            wall = next(iter(read_surfaces(db, "id = ? AND part_of IS NULL", surface_id)), None)
            if wall is None or wall.photo_sha256 is None:
                raise gone("photo")
            places = [
                place_of(p.settings) for p in read_surfaces(db, "part_of = ? AND NOT removed", surface_id)
            ]
            if len(places) + 1 >= MOST_PHOTOS:
                raise StoreError(f"A wall has at most {MOST_PHOTOS} photos: take one away first.")
            place = min([0, *places]) - 1 if left else max([0, *places]) + 1
            part = Surface(
                part_id,
                wall.job_id,
                wall.name,
                keep_photo(db, photo_jpeg),
                Corrections(),
                {"place": place},
                1,
            )
            position = int(one_value(db, "SELECT position FROM surfaces WHERE id = ?", surface_id))
            insert_surface(db, wall.job_id, position, part, part_id, surface_id)
            update(db, "surfaces", surface_id, {})
            touch_job(db, wall.job_id)
        return part_id

    def take_photo_away(self, surface_id: str, revision: int, part_id: str) -> None:
        """Take a further photo away from a wall, whose `revision` this is; it rises by one."""
        with transaction(self.file) as db:
            expect_revision(db, "surfaces", surface_id, revision, "surface")
            wall = next(iter(read_surfaces(db, "id = ?", surface_id)))
            if part_id not in {p.surface_id for p in read_surfaces(db, "part_of = ?", surface_id)}:
                raise gone("photo")
            update(db, "surfaces", part_id, {"removed": 1})
            update(db, "surfaces", surface_id, {})
            touch_job(db, wall.job_id)

    def order_surfaces(self, job_id: str, surface_ids: tuple[str, ...]) -> None:
        """Put the surfaces of a job into this order; ids left out keep their places after them."""
        with transaction(self.file) as db:
            rest = db.execute(
                "SELECT id FROM surfaces WHERE job_id = ? AND part_of IS NULL ORDER BY position, id",
                (job_id,),
            )
            kept = [row[0] for row in rest.fetchall()]
            unknown = set(surface_ids) - set(kept)
            if unknown:
                raise gone("surface")
            ordered = [*surface_ids, *(i for i in kept if i not in surface_ids)]
            db.executemany("UPDATE surfaces SET position = ? WHERE id = ?", list(enumerate(ordered)))
            touch_job(db, job_id)

    # --- photos ---

    def photo(self, sha256: str) -> bytes:
        """The JPEG bytes of a kept photo; StoreError when it is not there or damaged."""
        with connection(self.file) as db:
            row = db.execute("SELECT jpeg FROM photos WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise gone("photo")
        if hashlib.sha256(row[0]).hexdigest() != sha256:
            raise StoreError("The kept photo is damaged on the disk: choose the photo file again.")
        return bytes(row[0])

    # --- readings already made ---

    def reading(self, key: str) -> dict[str, Any] | None:
        """A reading kept under `key` (see `ui.reading_json.reading_key`), or None."""
        return self.readings((key,)).get(key)

    def readings(self, keys: Collection[str]) -> dict[str, dict[str, Any]]:
        """The readings kept under any of these keys, by their keys."""
        wanted, found = tuple(keys), {}
        if not wanted:
            return {}
        with connection(self.file) as db:
            for at in range(0, len(wanted), MOST_KEYS):
                few = wanted[at : at + MOST_KEYS]
                marks = ",".join("?" * len(few))
                rows = db.execute(f"SELECT key, reading FROM readings WHERE key IN ({marks})", few).fetchall()
                found.update({key: from_json(text) for key, text in rows})
        return found

    def keep_reading(self, key: str, reading: dict[str, Any]) -> None:
        """Keep a reading so that the photo need not be read again; the oldest make room."""
        with transaction(self.file) as db:
            db.execute(
                "INSERT OR REPLACE INTO readings (key, reading, made_utc) VALUES (?, ?, ?)",
                (key, to_json(reading), now_utc()),
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
            job_id = new_id()
            insert_job(db, job_id, clean_name(name), to_json(settings))
            yield JobBeingAdded(db, job_id)


@dataclass
class JobBeingAdded:
    """The inside of `Store.adding_job`."""

    db: sqlite3.Connection
    job_id: str
    count: int = 0

    def photo(self, jpeg: bytes) -> str:
        """Keep a photo and return its SHA-256."""
        return keep_photo(self.db, jpeg)

    def surface(
        self,
        name: str,
        photo_sha256: str | None,
        corrections: Corrections,
        settings: dict[str, Any],
        more: tuple[tuple[str, Corrections, dict[str, Any]], ...] = (),
    ) -> None:
        """Put a surface at the end; `more` holds the further photos of a wall: digest, marks, settings."""
        if self.count + len(more) >= MOST_SURFACES:
            raise StoreError(f"A job holds at most {MOST_SURFACES} surfaces: split it into two jobs.")
        name = clean_name(name)
        parts = tuple(Surface("", self.job_id, name, *part, revision=1) for part in more)
        surface = Surface("", self.job_id, name, photo_sha256, corrections, settings, 1, more=parts)
        insert_surface(self.db, self.job_id, self.count, surface)
        self.count += 1 + len(parts)
