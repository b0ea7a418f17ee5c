# ruff: noqa: E501 (the browser's own lines)
"""Driving the real app in headless Chromium: the server, the page, and what is waited for."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.ui.hands import Finger, Mouse

ROOT = Path(__file__).parents[2]
SHOTS = ROOT / "tests" / "screenshots"
EVERYTHING = bool(os.environ.get("SEAMWRIGHT_EVERY_SIZE"))
STAGES = {
    "1 Measure": ("Walls", "Walk-round", "This wall"),
    "2 Buy": ("Order", "Prices", "Ways in"),
    "3 Build": ("Stacks", "Delivery", "Hanging"),
}
"""The places under each stage of the job, by their titles in English."""
PAGE_TITLES = {"Order": "What to buy"}
"""The heading of the page, where the stage has no second row of links."""
MARKS_AGAIN = "set its marks again"
"""What the step of the known length says where its marks were not set with care."""
REST_MS = 150
WAIT_MS = 150_000  # a shared, busy machine is slow to draw the first wall


def chromium() -> str:
    """Path of the system's Chromium; the test is skipped without one, except on the build machine."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found:
        return found
    if os.environ.get("CI", "").lower() in ("1", "true", "yes"):
        pytest.fail("No Chromium on this machine: install the distribution's package chromium.")
    pytest.skip("no Chromium on this machine")


@contextmanager
def running_app(data_folder: Path, port: int = 0, script: str = "ui/app.py") -> Iterator[str]:
    """The app on that port of this machine (a free one by default), with a store of its own; yields its
    address. Leaving it stops the server."""
    if not port:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
    command = [sys.executable, "-m", "streamlit", "run", script, "--server.headless=true"]
    server = subprocess.Popen(
        [*command, f"--server.port={port}"],
        cwd=ROOT,
        env={**os.environ, "SEAMWRIGHT_DATA": str(data_folder)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{address}/_stcore/health", timeout=2).read()
                break
            except OSError:
                time.sleep(0.1)
        else:
            raise RuntimeError("the app did not start")
        yield address
    finally:
        server.terminate()
        server.wait(20)


class AppPage:
    """The app as a user sees it: what can be pressed, and what is waited for."""

    def __init__(self, page, address, name):
        self.page = page
        self.address = address
        self.name = name
        self.hand = Finger(page) if page.evaluate("navigator.maxTouchPoints") else Mouse(page)

    def open(self, path="/"):
        self.page.goto(self.address + path)

    def shot(self, what, *, whole=True):
        """A picture of the screen for people to look at; no test does, so only where everything is asked for."""
        self.settle()
        if not EVERYTHING:
            return
        SHOTS.mkdir(exist_ok=True)
        size = self.page.viewport_size
        if whole:  # the page scrolls inside the app's own frame: a tall window shows all of it
            tall = self.page.evaluate("document.querySelector('[data-testid=\"stMain\"]').scrollHeight")
            self.page.set_viewport_size({"width": size["width"], "height": max(size["height"], tall)})
        self.page.screenshot(path=SHOTS / f"{self.name}-{what}.png")
        if whole:
            self.page.set_viewport_size(size)

    def settle(self):
        """Wait until the server has answered everything, the page wears our styles, and it stays so for a
        moment: between two runs of the script the page looks at rest for an instant."""
        self.page.wait_for_function(
            """([token, rest_ms]) => {
              const busy = '[data-testid="stStatusWidget"], [data-testid="stSpinner"]';
              const quiet = document.getElementById("own-rules") && !document.querySelector(busy)
                && document.querySelector('[data-test-script-state="notRunning"]');
              const now = performance.now();
              if (!quiet || window.seenAtRest?.token !== token) window.seenAtRest = { token, since: now };
              return quiet && now - window.seenAtRest.since >= rest_ms;
            }""",
            arg=[time.monotonic_ns(), REST_MS],
            timeout=WAIT_MS,
        )

    def editor(self):
        return self.page.locator(".editor")

    def wait_for_editor(self):
        self.page.wait_for_selector(".editor .tools button", timeout=WAIT_MS)
        self.page.wait_for_function(
            "() => { const e = [...document.querySelectorAll('*')].map(n => n.shadowRoot?.querySelector('img.photo'))"
            ".find(Boolean); return e && e.complete && e.naturalWidth > 0; }",
            timeout=WAIT_MS,
        )
        self.settle()

    def press(self, name):
        """Press a button of the editor by its name in the page (`data-name`)."""
        button = self.editor().locator(f'button[data-name="{name}"]')
        button.click(timeout=WAIT_MS)

    def card(self):
        return self.editor().locator(".card").inner_text()

    def studs(self):
        """Accessible values of all studs, left to right: number -> place text; one question for all of them,
        since it is asked over and over while an answer is waited for."""
        return dict(
            self.editor()
            .locator(".layer-studs .hit")
            .evaluate_all(
                "nodes => nodes.map(n => [n.getAttribute('aria-label'), n.getAttribute('aria-valuetext')])"
            )
        )

    def start_job(self):
        """An empty job, beside the sample one."""
        self.open("/walls")
        self.page.get_by_text("Other jobs", exact=True).wait_for(timeout=WAIT_MS)
        self.settle()  # a press on what is about to be drawn anew is lost
        self.page.get_by_text("Other jobs", exact=True).click(timeout=WAIT_MS)
        self.page.get_by_role("button", name="Start a new job").wait_for(timeout=WAIT_MS)
        self.settle()
        self.page.get_by_role("button", name="Start a new job").click()
        # the job that was open may have the same name: only the new one has no walls
        self.page.get_by_text("No walls yet. Take a photo").wait_for(timeout=WAIT_MS)
        self.settle()

    def upload(self, path):
        self.page.wait_for_selector('input[type="file"]', state="attached", timeout=WAIT_MS)
        self.settle()
        self.page.set_input_files('input[type="file"]', path)

    def stud(self, label):
        return self.editor().locator(f'.layer-studs .hit[aria-label^="{label}"]').first

    def place_in(self, label):
        return float(self.stud(label).get_attribute("aria-valuenow"))

    def places_in(self):
        """Places of all studs, inches from the left end."""
        return (
            self.editor()
            .locator(".layer-studs .hit")
            .evaluate_all("nodes => nodes.map(n => Number(n.getAttribute('aria-valuenow')))")
        )

    def gap_px(self, one, other):
        """How far apart two studs are drawn."""
        a, b = self.stud(one).bounding_box(), self.stud(other).bounding_box()
        return abs(a["x"] + a["width"] / 2 - b["x"] - b["width"] / 2)

    def badge_shapes(self):
        """The drawing commands of the badges by the kind of their studs."""
        return dict(
            self.editor()
            .locator(".layer-labels .badge")
            .evaluate_all(
                "nodes => nodes.map(n => [n.parentNode.classList[0], n.getAttribute('d').replace(/[^a-zA-Z]/g, '')])"
            )
        )

    def count_doubtful(self):
        return sum("not sure" in label for label in self.studs())

    def wait_for(self, holds, wait_s=60):
        """Wait until `holds()` is true; the app's answer is what ends the wait."""
        end = time.monotonic() + wait_s
        while not holds():
            if time.monotonic() > end:
                raise AssertionError(f"waited {wait_s} s in vain; the card says: {self.card()}")
            self.page.wait_for_timeout(50)

    def settle_edit(self):
        """Wait for keys held back by the editor to be sent and answered."""
        self.page.wait_for_timeout(400)
        self.settle()

    def bottom_px(self, part):
        """How far down the window a part of the editor reaches."""
        box = self.editor().locator(part).bounding_box()
        return box["y"] + box["height"]

    def zoom_out(self):
        button = self.editor().locator('button[data-name="zoom-out"]')
        while button.is_enabled():
            button.click()

    def step_open(self, name):
        """Whether a step of the wall is still open, as the list of steps says."""
        node = self.page.locator("ol.steps li").filter(has_text=name)
        return None if node.count() != 1 else "open" in (node.get_attribute("class") or "")

    def wait_for_length(self):
        """Wait until the wall is read by a given length, however well its marks are set."""
        said = re.compile(f"Known length: (done|{MARKS_AGAIN})")
        self.page.locator("ol.steps li").filter(has_text=said).wait_for(timeout=WAIT_MS)
        self.settle()

    def choose(self, text):
        self.page.get_by_text(text, exact=True).first.click()
        self.settle()

    def sheet_list(self):
        """The text of the list of sheets."""
        return self.page.locator("table.plain").first.inner_text()

    def sheets_to_buy(self):
        counts = self.page.locator("table.plain").first.locator("td.count").all_inner_texts()
        return sum(int(count) for count in counts)

    def go(self, place):
        link = self.page.get_by_role("link", name=place, exact=True)
        if link.count() == 0:  # it belongs to another stage of the job
            stage = next(each for each, places in STAGES.items() if place in places)
            self.page.get_by_role("link", name=stage, exact=True).click()
            link.or_(self.page.get_by_role("heading", name=PAGE_TITLES.get(place, place))).first.wait_for()
            self.settle()
        if link.count():
            link.click()
        self.page.wait_for_timeout(200)
        self.settle()

    def open_wall_named(self, name):
        self.page.get_by_role("button", name="Open").first.wait_for()
        self.settle()
        line = f"//p[normalize-space(.)='{name}']/ancestor::*[.//button][1]"
        self.page.locator(f"xpath={line}//button").first.click()

    def focused_label(self):
        return self.page.evaluate(
            "() => { let n = document.activeElement; while (n?.shadowRoot?.activeElement) n = n.shadowRoot.activeElement;"
            " return n?.getAttribute('aria-label') || ''; }"
        )

    def sideways_px(self):
        """How far the page could be scrolled sideways."""
        return self.page.evaluate(
            "() => Math.max(...[document.documentElement, document.querySelector('[data-testid=\"stMain\"]')]"
            ".map(n => n.scrollWidth - n.clientWidth))"
        )

    def small_targets(self):
        """Buttons and the like less than 44 px wide or high that can be seen, with their sizes."""
        return self.page.evaluate(
            """() => {
              const all = [];
              const walk = (root) => root.querySelectorAll('*').forEach((n) => {
                all.push(n);
                if (n.shadowRoot) walk(n.shadowRoot);
              });
              walk(document);
              return all.filter((n) => n.matches('button, summary, a[href], label[data-baseweb="radio"]')).map((n) => {
                const b = n.getBoundingClientRect();
                return [n.innerText || n.getAttribute('aria-label') || n.dataset.testid || '?', Math.round(b.width), Math.round(b.height), n.checkVisibility()];
              }).filter(([, w, h, seen]) => seen && w > 1 && h > 1 && (w < 43.5 || h < 43.5));
            }"""
        )

    def tap_photo(self, point_px):
        """Tap a pixel of the photo, at zoom 1."""
        self.hand.tap(*self.pane_point(*point_px))
        self.page.wait_for_timeout(50)

    def mark_photo(self, point_px):
        """Mark a pixel of the photo with care, at zoom 1."""
        self.hand.settle(*self.pane_point(*point_px))
        self.page.wait_for_timeout(50)

    def middle_of(self, locator):
        """Middle of a node on the screen (not the page)."""
        locator.scroll_into_view_if_needed()
        box = locator.bounding_box()
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def pane_point(self, x_px, y_px):
        """Screen place of a photo pixel, at zoom 1."""
        pane = self.editor().locator(".pane")
        pane.scroll_into_view_if_needed()
        box = pane.bounding_box()
        size = self.editor().locator("img.photo").evaluate("i => [i.naturalWidth, i.naturalHeight]")
        share = self.photo_width_px or size[0]
        k = box["width"] / share
        return box["x"] + (x_px + 0.5) * k, box["y"] + (y_px + 0.5) * k

    photo_width_px = None
