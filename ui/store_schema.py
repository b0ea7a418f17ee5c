"""The store's file: where it lies, how it is opened, its tables and how old ones are brought up.

Every fault of SQLite or the file system leaves here as a `StoreError` with one sentence.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

FOLDER_VARIABLE = "SEAMWRIGHT_DATA"
FILE_NAME = "seamwright.db"
WAIT_FOR_OTHERS_S = 10.0


class StoreError(Exception):
    """The store cannot do what was asked; the text says why and what to do."""


class StaleEdit(StoreError):  # noqa: N818 - an event to be met, not a fault of the program
    """Somebody else (another tab or device) changed the same thing since it was read."""


# One script per version: MIGRATIONS[0] makes version 1 from an empty file, MIGRATIONS[1] makes 2
# from 1, and so on. A script that was ever released is never edited.
MIGRATIONS = (
    """
    CREATE TABLE jobs (
        id TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        settings TEXT NOT NULL,
        archived INTEGER NOT NULL DEFAULT 0,
        revision INTEGER NOT NULL DEFAULT 1,
        created_utc TEXT NOT NULL,
        changed_utc TEXT NOT NULL
    ) STRICT;
    CREATE TABLE photos (
        sha256 TEXT PRIMARY KEY,
        jpeg BLOB NOT NULL
    ) STRICT;
    CREATE TABLE surfaces (
        id TEXT PRIMARY KEY,
        job_id TEXT NOT NULL REFERENCES jobs (id),
        position INTEGER NOT NULL,
        name TEXT NOT NULL,
        photo_sha256 TEXT REFERENCES photos (sha256),
        corrections TEXT NOT NULL,
        settings TEXT NOT NULL,
        removed INTEGER NOT NULL DEFAULT 0,
        revision INTEGER NOT NULL DEFAULT 1
    ) STRICT;
    CREATE INDEX surfaces_of_job ON surfaces (job_id, position);
    CREATE TABLE readings (
        key TEXT PRIMARY KEY,
        reading TEXT NOT NULL,
        made_utc TEXT NOT NULL
    ) STRICT;
    """,
    # What happens on site: things kept once per job (the order placed, the stacks, the plan being
    # hung), and what was counted or ticked off, one row for each tap, never changed afterwards.
    """
    CREATE TABLE job_parts (
        job_id TEXT NOT NULL REFERENCES jobs (id),
        part TEXT NOT NULL,
        value TEXT NOT NULL,
        revision INTEGER NOT NULL DEFAULT 1,
        PRIMARY KEY (job_id, part)
    ) STRICT;
    CREATE TABLE site_events (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        job_id TEXT NOT NULL REFERENCES jobs (id),
        log TEXT NOT NULL,
        id TEXT NOT NULL,
        event TEXT NOT NULL,
        arrived_utc TEXT NOT NULL,
        UNIQUE (job_id, log, id)
    ) STRICT;
    """,
    # A long wall in several photos: each further photo is a row of its own, with its own marks.
    """
    ALTER TABLE surfaces ADD COLUMN part_of TEXT REFERENCES surfaces (id);
    CREATE INDEX photos_of_surface ON surfaces (part_of) WHERE part_of IS NOT NULL;
    """,
)
LATEST_VERSION = len(MIGRATIONS)


def data_folder() -> Path:
    """The user's data folder: SEAMWRIGHT_DATA, or the place the operating system keeps for such data.

    Linux: XDG Base Directory Specification; macOS: Application Support; Windows: LOCALAPPDATA.
    """
    stated = os.environ.get(FOLDER_VARIABLE)
    if stated:
        return Path(stated).expanduser()
    home = Path.home()
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "Seamwright"
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / "Seamwright"
    xdg = os.environ.get("XDG_DATA_HOME", "")
    return (Path(xdg) if os.path.isabs(xdg) else home / ".local" / "share") / "seamwright"


def prepare(file: Path) -> None:
    """Make the folder and the file if need be, and bring its tables to the latest version.

    Before tables of an older version change, the whole store is copied to
    ``seamwright.db.version-N`` beside it.

    Raises
    ------
    StoreError
        No right to write there, disk full, damaged file, or made by a newer version.
    """
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise StoreError(
            f"The folder {file.parent} cannot be made ({fault.strerror}): give a folder you may write to "
            f"in the variable {FOLDER_VARIABLE}."
        ) from fault
    with connection(file) as db:
        if _version(db) == LATEST_VERSION:
            return
        db.execute("PRAGMA journal_mode = WAL")
    with connection(file) as db:
        before = _version(db)
        _refuse_newer(before, file)
        if 0 < before < LATEST_VERSION:
            with closing(sqlite3.connect(f"{file}.version-{before}")) as copy:
                db.backup(copy)
    with transaction(file) as db:
        # Read again: another process may have brought it up since.
        version = _version(db)
        for script in MIGRATIONS[version:]:
            for statement in script.split(";"):
                if statement.strip():
                    db.execute(statement)
        db.execute(f"PRAGMA user_version = {LATEST_VERSION}")


def _version(db: sqlite3.Connection) -> int:
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def _refuse_newer(version: int, file: Path) -> None:
    if version > LATEST_VERSION:
        raise StoreError(
            f"The store {file} was written by a newer version of this program: update the program "
            "(the store was left as it is)."
        )


@contextmanager
def connection(file: Path) -> Iterator[sqlite3.Connection]:
    """A connection for reading, closed at the end; faults become `StoreError`."""
    try:
        with closing(sqlite3.connect(file, timeout=WAIT_FOR_OTHERS_S, isolation_level=None)) as db:
            db.execute("PRAGMA foreign_keys = ON")
            # With WAL, FULL syncs the log at each commit: an answered edit survives a power cut.
            db.execute("PRAGMA synchronous = FULL")
            yield db
    except sqlite3.Error as fault:
        raise StoreError(_sentence(fault, file)) from fault


@contextmanager
def transaction(file: Path) -> Iterator[sqlite3.Connection]:
    """A connection inside one write transaction: all of it is kept, or on any exception none."""
    with connection(file) as db:
        db.execute("BEGIN IMMEDIATE")
        try:
            yield db
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
        db.execute("COMMIT")


def _sentence(fault: sqlite3.Error, file: Path) -> str:
    code = getattr(fault, "sqlite_errorcode", 0) & 0xFF
    if code == sqlite3.SQLITE_FULL:
        return (
            f"The disk that holds {file.parent} is full, nothing was changed: free some space and try again."
        )
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return (
            f"The store {file} cannot be written, nothing was changed: allow writing there, or give another "
            f"folder in the variable {FOLDER_VARIABLE}."
        )
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return "The store is in use by another program, nothing was changed: try again in a moment."
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return (
            f"The store {file} is damaged or no store: move it aside, then put a copy of yours in its place "
            "or start again without it."
        )
    return f"The store {file} could not be used ({fault}): check the disk and try again."
