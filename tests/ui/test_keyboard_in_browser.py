"""The whole job by the keyboard alone: no finger, no mouse, no focus set from outside."""

from __future__ import annotations

import re

import pytest

from tests.ui.browser import WAIT_MS, AppPage
from tests.ui.conftest import SIZES

pytestmark = [pytest.mark.browser, pytest.mark.slow]
MOST_TABS = 150
FOCUSED = """() => {
  let n = document.activeElement;
  while (n?.shadowRoot?.activeElement) n = n.shadowRoot.activeElement;
  return n === document.body ? "" : (n.getAttribute("aria-label") || n.innerText || "").trim();
}"""


def tab_to(page, name: str) -> None:
    """Press Tab until what is focused has a name that begins like that."""
    passed = []
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        lines = [line.strip() for line in page.evaluate(FOCUSED).splitlines() if line.strip()]
        passed.append(lines[-1] if lines else "")
        if len(lines) <= 2 and re.match(name, passed[-1]):  # an icon's name may stand before it
            return
    raise AssertionError(f"{name!r} cannot be reached by Tab; passed {list(dict.fromkeys(passed))}")


def enter(app: AppPage, name: str) -> None:
    tab_to(app.page, name)
    app.page.keyboard.press("Enter")


def choose_file(page, name: str, path) -> None:
    """Open the chooser of files by the key; once more where a late drawing of the page took the focus."""
    from playwright.sync_api import TimeoutError

    for _ in range(3):
        # from the top of the page: with many other jobs the focus stays among them, and after a try in vain
        # it is past the photo's chooser; the next one down there is for a packed job
        tab_to(page, "Skip to main content")
        tab_to(page, name)
        try:
            with page.expect_file_chooser(timeout=15_000) as chooser:
                page.keyboard.press("Enter")
        except TimeoutError:
            continue
        chooser.value.set_files(path)
        return
    raise AssertionError(f"{name!r} opens no chooser of files")


def arrows(app: AppPage, key: str, times: int = 1) -> None:
    for _ in range(times):
        app.page.keyboard.press(key)
    app.settle_edit()


def test_the_whole_job_by_keyboard_alone(browser, app_address, wall_photo):
    context = browser.new_context(**SIZES["desk"])
    page = context.new_page()
    page.set_default_timeout(WAIT_MS)
    app = AppPage(page, app_address, "keys")
    app.open("/walls")
    page.get_by_text("Other jobs", exact=True).wait_for()
    app.settle()
    enter(app, "Other jobs")
    enter(app, "Start a new job")
    page.get_by_role("heading", name="New job").wait_for()
    page.get_by_text("No walls yet. Take a photo").wait_for()
    app.settle()

    # a photo, and the spacing of its studs
    choose_file(page, "Upload", wall_photo.path)
    app.wait_for_editor()
    for width, height in ((1280, 900), (1366, 768), (1440, 900)):
        page.set_viewport_size({"width": width, "height": height})
        app.settle()
        lowest = max(app.bottom_px(part) for part in (".pane", ".card", ".tools", ".extras"))
        assert lowest <= height, f"the photo and its tools are seen at once at {width} x {height}"
    enter(app, "16 in on centre")
    app.wait_for(lambda: app.step_open("Known length") is False, 120)
    app.wait_for_editor()

    # studs are moved by the tape's own step, added, removed; a doubtful one is kept
    found = len(app.studs())
    tab_to(page, "Stud 3")
    before_in = app.place_in("Stud 3")
    arrows(app, "ArrowRight", 8)
    assert app.place_in("Stud 3") == pytest.approx(before_in + 8 / 16, abs=0.011)
    assert app.focused_label().startswith("Stud 3")
    arrows(app, "Shift+ArrowLeft")
    assert app.place_in("Stud 3") == pytest.approx(before_in - 8 / 16, abs=0.011)
    page.keyboard.press("Insert")
    app.wait_for(lambda: len(app.studs()) == found + 1)
    app.settle_edit()
    tab_to(page, "Stud 3")
    page.keyboard.press("Delete")
    app.wait_for(lambda: len(app.studs()) == found)
    app.settle_edit()
    tab_to(page, "Stud 2")
    page.keyboard.press("Control+z")
    app.wait_for(lambda: len(app.studs()) == found + 1)
    for letter in "rc":  # no command of the page around the editor
        page.keyboard.press(letter)
    assert page.get_by_role("dialog").count() == 0
    doubtful = app.count_doubtful()
    if doubtful:
        enter(app, "Stud .*, not sure")  # the key that says: it is right
        app.wait_for(lambda: app.count_doubtful() == doubtful - 1)
    app.settle_edit()

    # the boards over the photo, on and off
    enter(app, "Boards")
    app.wait_for(lambda: app.editor().locator(".board").count() >= 2)
    page.keyboard.press("Enter")
    app.wait_for(lambda: app.editor().locator(".board").count() == 0)

    # what to buy, the count at the window, the cards
    enter(app, "2 Buy")
    page.locator("table.plain td.count").first.wait_for()
    app.settle()
    enter(app, "3 Build")
    page.get_by_text("Stack 1").first.wait_for()
    app.settle()
    enter(app, "Delivery$")
    enter_when_there(app, "Count against this order")
    page.locator(".tally .one").first.wait_for()
    app.settle()
    enter(app, "Hanging$")
    enter_when_there(app, "Begin hanging")
    page.locator(".cards .piece").first.wait_for()
    app.settle()
    enter(app, "It hangs")
    page.locator(".cards .piece.up").first.wait_for()
    context.close()


def enter_when_there(app: AppPage, name: str) -> None:
    app.page.get_by_role("button", name=name).wait_for()
    app.settle()
    enter(app, name)
