"""How long a job of 400 surfaces and 200 photos takes to open: from the store, and on the walls' screen.

    python -m tests.benchmarks.large_job [--no-browser]

The store is measured beside bare SQLite on the same file, the screen beside that of a job of one wall.
The photos have 12 megapixels and were read before; half of the surfaces were entered by hand.
"""

from __future__ import annotations

import resource
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from sample_images import known_truth, sample_names
from tests.benchmarks.served import PHOTO_PX, Served, served, twelve_megapixels
from ui.by_hand import ByHand
from ui.corrections import Corrections, ReferenceMark, StudMark
from ui.reading_json import reading_key, reading_to_json
from ui.rooms import add_by_hand
from ui.store import Store
from vision import load_photo, read_wall
from vision.photo_privacy import without_position

SURFACES, PHOTOS, PHOTOS_A_ROOM = 400, 200, 8


def make_job(store: Store, surfaces: int, photos: int) -> str:
    """A job with its photos and their readings kept, as after a long week of work."""
    job_id = store.new_job(f"House of {surfaces} surfaces")
    jpeg = without_position(twelve_megapixels())
    photo = load_photo(jpeg)
    known = known_truth(sample_names()[0])
    times = PHOTO_PX[0] / known["photo"]["width_px"]
    start, end = ((float(x) * times, float(y) * times) for x, y in known["reference"]["marks_px"])
    reference = ReferenceMark("tape", float(known["reference"]["length_in"]), "14'", start, end)
    reading = reading_to_json(read_wall(photo, reference=reference.for_reading()))
    marks = Corrections(studs=(StudMark("mark-1", ((900.0, 2600.0), (905.0, 500.0))),), reference=reference)
    for number in range(photos):
        # another file with the same pixels: a comment before the first segment (ITU-T T.81, B.2.4.5)
        note = f"{number:06d}".encode()
        own = jpeg[:2] + b"\xff\xfe" + (2 + len(note)).to_bytes(2, "big") + note + jpeg[2:]
        surface_id = store.add_surface(
            job_id,
            f"Wall {number}",
            photo_jpeg=own,
            corrections=marks,
            settings={"room": f"Room {number // PHOTOS_A_ROOM}"},
        )
        sha256 = str(store.surface(surface_id).photo_sha256)
        store.keep_reading(reading_key(sha256, reference.for_reading()), reading)
    job = store.job(job_id)
    for number in range(surfaces - photos):
        hand = ByHand("studs", 100.0 + number, 97.125)
        add_by_hand(store, job, hand, f"Wall {photos + number}", f"Room {number // PHOTOS_A_ROOM}")
    return job_id


def from_the_store(folder: Path, job_id: str) -> None:
    """Time the store's own work."""

    def bare() -> None:
        with sqlite3.connect(folder / "seamwright.db") as db:
            rows = db.execute("SELECT * FROM surfaces WHERE job_id = ?", (job_id,)).fetchall()
        assert len(rows) == SURFACES

    bare_s = best_of(bare)
    open_s = best_of(lambda: Store(folder).job(job_id))
    first = Store(folder).job(job_id).surfaces[0]
    photo_s = best_of(lambda: Store(folder).photo(str(first.photo_sha256)))
    revision = first.revision

    def save() -> None:
        nonlocal revision
        revision = Store(folder).save_surface(first.surface_id, revision, corrections=first.corrections)

    save_s = best_of(save)
    print(f"{SURFACES} surfaces, {PHOTOS} photos, {(folder / 'seamwright.db').stat().st_size / 1e6:.0f} MB")
    print(
        f"store: open the job     {1000 * open_s:8.1f} ms   {open_s / bare_s:6.1f} x bare SQLite, same rows"
    )
    print(f"store: fetch one photo  {1000 * photo_s:8.1f} ms")
    print(f"store: save one surface {1000 * save_s:8.1f} ms")
    print(f"peak memory             {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:8.0f} MB")


def on_the_screen(folder: Path, small_id: str, large_id: str) -> None:
    """Time the walls' screen and one wall's in a browser, in a fresh server and again."""
    from playwright.sync_api import sync_playwright

    from tests.ui.browser import chromium

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        with served(folder) as server:
            for screen in ("walls", "wall"):
                opened(browser, server, small_id, screen)  # the server's own warming up
                small_s, small_cpu_s = opened(browser, server, small_id, screen)
                for which in ("at first", "again"):
                    large_s, cpu_s = opened(browser, server, large_id, screen)
                    print(
                        f"/{screen:5s} {which:8s} {large_s:6.2f} s, server {cpu_s:5.2f} s of one core;"
                        f" {large_s / small_s:4.1f} x a job of one wall"
                        f" ({small_s:.2f} s, {small_cpu_s:.2f} s)"
                    )
            print(f"server's peak memory {server.peak_mb():6.0f} MB")
        browser.close()


def opened(browser: object, server: Served, job_id: str, screen: str) -> tuple[float, float]:
    """Seconds until that screen can be used, and the server's processor seconds for it."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})  # type: ignore[attr-defined]
    page = context.new_page()
    cpu_s, begun = server.cpu_s(), time.perf_counter()
    page.goto(f"{server.address}/{screen}?job={job_id}")
    if screen == "wall":
        page.wait_for_selector(".editor .tools button", timeout=300_000)
    else:
        page.get_by_role("button", name="Open").first.wait_for(timeout=300_000)
        page.wait_for_function(
            "() => document.querySelector('[data-test-script-state=\"notRunning\"]')"
            " && [...document.querySelectorAll('img.small')].slice(0, 5).every((i) => i.complete)",
            timeout=300_000,
        )
    taken_s = time.perf_counter() - begun
    used_s = server.cpu_s() - cpu_s
    context.close()
    return taken_s, used_s


def best_of(job: Callable[[], object], times: int = 5) -> float:
    """Least seconds of a few runs."""
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        job()
        taken.append(time.perf_counter() - started)
    return min(taken)


def main() -> None:
    """Build the jobs in a scratch folder and print the times."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = Store(folder)
        small_id, large_id = make_job(store, 1, 1), make_job(store, SURFACES, PHOTOS)
        from_the_store(folder, large_id)
        if "--no-browser" not in sys.argv:
            on_the_screen(folder, small_id, large_id)


if __name__ == "__main__":
    main()
