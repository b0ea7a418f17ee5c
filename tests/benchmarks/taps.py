"""Taps, typed characters and seconds of waiting from a photo to its sheet list, for the sample photos.

    python -m tests.benchmarks.taps [--json FILE]

Drives the real app in Chromium at phone size. A photo that lacks a length gets the tape that lies on
the wall: two presses that slide slowly under the magnifier (counted as taps), then the length and the
keyboard's own Enter (counted among the typed characters); the field is never tapped, the keys go where
the app has put them. Each finger settles half a px of the screen beside the mark; `mark_off_px` is how
far off the marks ended, `again` whether the app asks for them again, enlarged. Waiting is the time from
the last tap until the sheet list and the editor are there. The benchmark starts on the screen of
an empty job; every tap from there on is counted, the two of the phone's own picture list included.
"""

from __future__ import annotations

import argparse
import json
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from sample_images import known_truth, photo_path, sample_names
from tests.ui.browser import MARKS_AGAIN, WAIT_MS, AppPage, chromium, running_app
from tests.ui.conftest import SIZES

SLIP_PX = 0.5


def from_photo_to_sheet_list(app: AppPage, name: str) -> dict[str, Any]:
    """One sample photo in a job of its own."""
    app.start_job()
    photo = known_truth(name)
    app.photo_width_px = photo["photo"]["width_px"]
    taps = 2  # the upload button, and the photo in the phone's own list
    begun = time.monotonic()
    app.upload(photo_path(name))
    app.wait_for_editor()
    waiting_s = time.monotonic() - begun
    typed, off_px = 0, []
    reference = photo["reference"]
    marked = not app.studs() or app.step_open("Known length")
    if marked and reference["kind"] == "tape":
        if not app.editor().locator('button[data-name="tape"][aria-pressed="true"]').count():
            app.press("tape")
            taps += 1
        perpx = app.photo_width_px / app.editor().locator(".pane").bounding_box()["width"]
        for mark, slip_px in zip(reference["marks_px"], (SLIP_PX, -SLIP_PX), strict=True):
            app.mark_photo((mark[0] + slip_px * perpx, mark[1]))
            taps += 1
        grips = app.editor().locator(".layer-handles .handle")
        for grip, mark in zip(grips.all(), reference["marks_px"], strict=True):
            at_px = float(grip.get_attribute("cx") or "nan") * perpx
            off_px.append(round(abs(at_px - mark[0] - 0.5) / perpx, 2))
        length = f"{reference['length_in']:g}"
        app.page.keyboard.type(length)
        typed += len(length) + 1
        begun = time.monotonic()
        app.page.keyboard.press("Enter")
        app.wait_for_length()
        waiting_s += time.monotonic() - begun
    listed = app.page.locator("table.plain td.count").count() > 0
    return {
        "photo": name,
        "taps": taps,
        "typed": typed,
        "waiting_s": round(waiting_s, 1),
        "length_marked": marked and reference["kind"] == "tape",
        "mark_off_px": off_px,
        "again": app.page.get_by_text(f"Known length: {MARKS_AGAIN}").count() > 0,
        "sheet_list": listed,
        "to_check": app.count_doubtful(),
        "studs": len(app.studs()),
    }


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("--json", metavar="FILE")
    given = options.parse_args()
    rows = []
    with (
        tempfile.TemporaryDirectory() as folder,
        running_app(Path(folder)) as address,
        sync_playwright() as driver,
    ):
        browser = driver.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        context = browser.new_context(**SIZES["phone"])
        app = AppPage(context.new_page(), address, "phone")
        app.page.set_default_timeout(WAIT_MS)
        for name in sample_names():
            rows.append(from_photo_to_sheet_list(app, name))
            print("  ".join(f"{key}={value}" for key, value in rows[-1].items()), flush=True)
        browser.close()
    if given.json:
        Path(given.json).write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
