"""One job on a phone, from a photo to a spoiled board: every screen hands on what the one before it held."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.ui.browser import WAIT_MS, AppPage
from tests.ui.conftest import SIZES
from ui import site_store
from ui.buying import buying_of
from ui.delivery_view import counted
from ui.hanging_site import hanging_of
from ui.site_plan import room_of
from ui.store import Job, Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]
LIST = """kind,thickness,width,length,price
regular,1/2 in,48 in,8 ft,14.20
regular,1/2 in,48 in,12 ft,21.40
"""


@pytest.fixture
def whole(browser, app_folder, app_address):
    """A phone on the app, and its store."""
    context = browser.new_context(**SIZES["phone"], accept_downloads=True)
    yield AppPage(context.new_page(), app_address, "whole"), Store(app_folder)
    context.close()


def kept(app: AppPage, store: Store, holds: Callable[[Job], bool]) -> Job:
    """The job as soon as the store holds what was entered."""
    for _ in range(WAIT_MS // 100):
        if holds(newest_job(store)):
            break
        app.page.wait_for_timeout(100)
    app.settle()
    job = newest_job(store)
    assert holds(job)
    return job


def newest_job(store: Store) -> Job:
    """The job of this test: the last one that was changed."""
    return store.job(store.jobs()[0].job_id)


def fill(app: AppPage, label: str, value: str) -> None:
    box = app.page.get_by_label(label, exact=True).first
    box.fill(value)
    box.blur()
    app.settle()


def measure(app: AppPage, store: Store, what: str, length: str, height: str) -> None:
    """Enter one surface of the walk-round, and wait until the job has it."""
    from playwright.sync_api import expect

    before = len(newest_job(store).surfaces)
    app.page.get_by_text(what, exact=True).click()
    for label, value in (
        ("Length", length),
        ("Height (ceiling: the other side)", height),
        ("Room", "Den"),
    ):
        fill(app, label, value)
    app.page.get_by_role("button", name="Add it").click()
    # the form empties at once; what is typed before the server has answered stays
    length_box = app.page.get_by_label("Length", exact=True)
    expect(length_box).to_have_value("", timeout=WAIT_MS)
    length_box.fill("7 ft")
    job = kept(app, store, lambda job: len(job.surfaces) == before + 1)
    # the page that says so is the one with the empty form for the next surface
    app.page.get_by_text(f"“{job.surfaces[-1].name}” was added.").wait_for(timeout=WAIT_MS)
    app.settle()
    assert length_box.input_value() == "7 ft"


def fits(app: AppPage) -> None:
    """The page fits the phone, and fingers find its buttons."""
    assert app.sideways_px() <= 0
    assert app.small_targets() == []


def test_from_a_photo_to_a_spoiled_board(whole, wall_photo) -> None:
    app, store = whole
    page = app.page

    # a photo, put in its room; two surfaces with a tape
    app.start_job()
    app.upload(wall_photo.path)
    app.wait_for_editor()
    page.get_by_text("Name, room, photo, remove").click()
    page.get_by_label("Room", exact=True).wait_for()
    fill(app, "Room", "Den")
    kept(app, store, lambda job: bool(job.surfaces) and room_of(job.surfaces[0]) == "Den")
    app.go("Walk-round")
    measure(app, store, "Wall: studs", "16 ft", "97 1/8")
    measure(app, store, "Ceiling: joists", "16 ft", "11 ft")

    # the user's own list, and the order at its prices
    app.go("Prices")
    fill(app, "Name", "North yard")
    fill(app, "What it stocks: one board in a line", LIST)
    page.get_by_role("button", name="Keep this list").click()
    job = kept(app, store, lambda job: buying_of(job.settings).chosen == "North yard")
    app.go("Order")
    page.get_by_role("button", name="Table (CSV)").wait_for(timeout=WAIT_MS)
    app.settle()
    ordered = app.sheets_to_buy()
    with page.expect_download(timeout=WAIT_MS) as waited:
        page.get_by_role("button", name="Table (CSV)").click()
    table = Path(waited.value.path()).read_text("utf-8-sig")
    rows = [row for row in csv.reader(io.StringIO(table)) if row[0].isdecimal()]
    assert sum(int(row[0]) for row in rows) == ordered
    assert sum(int(row[6]) for row in rows) == 2, "two of the longest are spare"

    # the walk-round, the stacks and the delivery hold the same boards
    app.go("Walk-round")
    page.get_by_text(f"{ordered} to buy (see Order)").wait_for(timeout=WAIT_MS)
    app.go("Stacks")
    page.get_by_text("Stack 1: Den").wait_for(timeout=WAIT_MS)
    app.settle()
    counts = page.locator("table.plain td.count").all_inner_texts()
    assert sum(int(count) for count in counts) == ordered
    app.go("Delivery")
    page.get_by_role("button", name="Count against this order").click()
    page.locator(".tally .one").first.wait_for(timeout=WAIT_MS)
    page.context.set_offline(True)
    for _ in range(3):
        page.locator(".tally .one").first.click()
    page.context.set_offline(False)
    page.locator('.state[data-waiting="0"]').wait_for(timeout=WAIT_MS)
    placed, _ = site_store.part(store, job.job_id, "delivery")
    day = counted(store, job.job_id, placed or {})
    assert sum(tally.ordered.count for tally in day.tallies) == ordered
    assert sum(tally.arrived for tally in day.tallies) == 3
    fits(app)

    # ceiling first; one board hangs, the next is spoiled and gets another sheet
    app.go("Hanging")
    page.get_by_role("button", name="Begin hanging").click()
    page.locator(".cards .piece").first.wait_for(timeout=WAIT_MS)
    app.settle()
    assert "Den: Ceiling" in page.locator("details.card summary").first.inner_text()
    page.locator('.piece[data-piece="1"] .hung').click()
    spoiled = page.locator('.piece[data-piece="2"]')
    spoiled.locator(".spoil").click()
    spoiled.locator(".piece_only").click()
    spoiled.locator(".moved").wait_for(timeout=WAIT_MS)
    page.locator('.state[data-waiting="0"]').wait_for(timeout=WAIT_MS)
    work = hanging_of(store, job.job_id)
    assert work is not None
    assert work.progress.hung == {1}
    assert work.moved == {2}
    fits(app)
