"""How long a job of 400 surfaces and 200 photos takes to open, beside bare SQLite on the same file.

python tests/benchmarks/large_job.py
"""

from __future__ import annotations

import os
import resource
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from ui.corrections import Corrections, StudMark
from ui.store import Store

SURFACES, PHOTOS, PHOTO_BYTES, STUDS = 400, 200, 3_000_000, 25


def main() -> None:
    """Build the job in a scratch folder and print the times."""
    line = ((100.0, 2000.0), (101.5, 100.0))
    marks = Corrections(studs=tuple(StudMark(f"mark-{n}", line, line) for n in range(STUDS)))
    with tempfile.TemporaryDirectory() as folder:
        store = Store(folder)
        job_id = store.new_job("House")
        for number in range(SURFACES):
            photo = os.urandom(PHOTO_BYTES) if number < PHOTOS else None
            store.add_surface(job_id, f"Surface {number}", photo_jpeg=photo, corrections=marks)
        del store

        def bare() -> None:
            with sqlite3.connect(Path(folder) / "seamwright.db") as db:
                rows = db.execute("SELECT * FROM surfaces WHERE job_id = ?", (job_id,)).fetchall()
            assert len(rows) == SURFACES

        bare_s = best_of(bare)
        open_s = best_of(lambda: Store(folder).job(job_id))
        first = Store(folder).job(job_id).surfaces[0]
        photo_s = best_of(lambda: Store(folder).photo(str(first.photo_sha256)))
        revision = first.revision

        def save() -> None:
            nonlocal revision
            revision = Store(folder).save_surface(first.surface_id, revision, corrections=marks)

        save_s = best_of(save)
    print(f"{SURFACES} surfaces with {STUDS} marks each, {PHOTOS} photos of {PHOTO_BYTES / 1e6:.0f} MB")
    print(f"open the job      {1000 * open_s:8.1f} ms   {open_s / bare_s:6.1f} x bare SQLite, same rows")
    print(f"fetch one photo   {1000 * photo_s:8.1f} ms")
    print(f"save one surface  {1000 * save_s:8.1f} ms")
    print(f"peak memory       {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:8.0f} MB")


def best_of(job: Callable[[], object], times: int = 5) -> float:
    """Least seconds of a few runs."""
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        job()
        taken.append(time.perf_counter() - started)
    return min(taken)


if __name__ == "__main__":
    main()
