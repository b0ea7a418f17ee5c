"""Buying in the browser: a price list, a corner that boards cannot pass, spares, and the order to send."""

from __future__ import annotations

import csv
import io
import os
import re
from pathlib import Path

import pytest

from layout.accessories import Corners
from tests.ui.browser import AppPage
from tests.ui.conftest import SIZES
from ui.buying import buying_of
from ui.by_hand import ByHand, HandOpening
from ui.rooms import add_by_hand
from ui.store import Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]
WAIT_MS = 60_000
LIST = """kind,thickness,width,length,price
regular,1/2 in,48 in,8 ft,14.20
regular,1/2 in,48 in,12 ft,21.40
"""


@pytest.fixture
def den(app_folder, app_address):
    """A small room entered by hand, and the app over it."""
    store = Store(app_folder)
    job_id = store.new_job("Alder Street <basement>")
    door = HandOpening("door", 12.0, 34.0, 0.0, 82.5)
    for name, openings in (("North wall", ()), ("South wall", (door,))):
        add_by_hand(store, store.job(job_id), ByHand("studs", 192.0, 97.125, openings=openings), name, "Den")
    add_by_hand(store, store.job(job_id), ByHand("joists", 192.0, 132.0), "Ceiling", "Den")
    return store, job_id, app_address


def unfold(app: AppPage, title: str) -> None:
    """Open a folded part of the page and wait until it has stopped moving."""
    app.page.get_by_text(title, exact=True).first.click()
    app.page.wait_for_timeout(600)
    app.settle()


def fill(app: AppPage, label: str, value: str) -> None:
    """Type into a field and leave it."""
    box = app.page.get_by_label(label, exact=True).first
    box.fill(value)
    box.blur()
    app.page.wait_for_timeout(300)
    app.settle()


def download(app: AppPage, name: str) -> bytes:
    """What a button hands out."""
    with app.page.expect_download(timeout=WAIT_MS) as waited:
        app.page.get_by_role("button", name=name).click()
    return Path(waited.value.path()).read_bytes()


def clean(app: AppPage) -> None:
    """The page fits the window, and fingers find its buttons."""
    assert app.sideways_px() <= 0
    assert app.small_targets() == []


# The desk takes as long again: SEAMWRIGHT_EVERY_SIZE=1 runs it too.
@pytest.mark.parametrize("size", ["phone", "desk"] if os.environ.get("SEAMWRIGHT_EVERY_SIZE") else ["phone"])
def test_from_the_price_list_to_the_order_that_is_sent(browser, den, size) -> None:
    store, job_id, address = den
    context = browser.new_context(**SIZES[size], accept_downloads=True)
    page = context.new_page()
    app = AppPage(page, address, f"{size}-buy")

    # the user's own list: what this yard stocks, and its prices
    app.open(f"/prices?job={job_id}")
    page.get_by_role("heading", name="Prices and suppliers").wait_for(timeout=WAIT_MS)
    app.settle()
    fill(app, "Name", "North *yard*")
    fill(app, "What it stocks: one board in a line", LIST)
    page.get_by_role("button", name="Keep this list").click()
    page.get_by_text("The list is kept.").wait_for(timeout=WAIT_MS)
    app.settle()
    assert buying_of(store.job(job_id).settings).chosen == "North *yard*"
    page.get_by_role("button", name="Plan with each of them").click()
    page.locator("table.plain td.count").first.wait_for(timeout=WAIT_MS)
    app.settle()
    clean(app)
    app.shot("prices")

    # the order at these prices
    app.go("Order")
    page.locator("table.plain td.count").first.wait_for(timeout=WAIT_MS)
    app.settle()
    before = app.sheet_list()
    assert "12'" in before
    unfold(app, "Corners of the rooms")
    fill(app, "Outside corners (they get corner bead)", "1")
    page.locator("li", has_text="Corner bead: 1 of").wait_for(timeout=WAIT_MS)
    app.settle()
    # two walls have two inside corners, and one when one is an outside one: nobody typed that number
    assert page.get_by_label("Inside corners from floor to ceiling (they get tape)").input_value() == "1"
    assert buying_of(store.job(job_id).settings).corners == Corners(1)
    unfold(app, "Spares and bundles")
    fill(app, "How many", "0")
    page.wait_for_function(
        "() => !document.querySelector('table.plain').innerText.includes('spare')", timeout=WAIT_MS
    )
    app.settle()

    # a corner in the hall: 12 ft boards do not go round it, and the plan does without them
    app.go("Ways in")
    page.get_by_role("heading", name="Can the boards get in?").wait_for(timeout=WAIT_MS)
    app.settle()
    page.get_by_label("What is it?").first.click()
    page.get_by_role("option", name="Corner of a corridor").click()
    app.settle()
    page.get_by_label("Clear width before the corner").wait_for(timeout=WAIT_MS)
    fill(app, "Clear width before the corner", "36")
    page.get_by_role("button", name="Put it on the way").click()
    page.get_by_text("Of 2 boards on the list 1 get in").wait_for(timeout=WAIT_MS)
    app.settle()
    clean(app)
    app.shot("access")
    app.go("Order")
    page.get_by_text("Left out because they cannot get in").wait_for(timeout=WAIT_MS)
    app.settle()
    after = app.sheet_list()
    assert "12'" not in after
    assert "8'" in after
    clean(app)
    app.shot("order")

    # what is sent is what is shown
    boards = app.sheets_to_buy()
    rows = list(csv.reader(io.StringIO(download(app, "Table (CSV)").decode("utf-8-sig"))))
    assert sum(int(row[0]) for row in rows[1:] if row[0]) == boards
    text = download(app, "Plain text").decode()
    assert "Alder Street <basement>" in text
    assert re.search(rf"{boards} - .* @ 14\.20 = {boards * 14.20:,.2f}", text)
    assert download(app, "To print (PDF)").startswith(b"%PDF-")
    context.close()


def test_a_list_that_cannot_be_read_is_refused_in_words_and_nothing_is_lost(browser, den) -> None:
    store, job_id, address = den
    page = browser.new_context(**SIZES["phone"]).new_page()
    app = AppPage(page, address, "phone-list")
    app.open(f"/prices?job={job_id}")
    page.get_by_role("heading", name="Prices and suppliers").wait_for(timeout=WAIT_MS)
    app.settle()
    fill(app, "Name", "North yard")
    broken = LIST + "regular,1/2 in,48 in,10 ft,cheap\n"
    fill(app, "What it stocks: one board in a line", broken)
    page.get_by_role("button", name="Keep this list").click()
    page.get_by_text("line 4: price: 'cheap' is no price").wait_for(timeout=WAIT_MS)
    assert page.get_by_label("What it stocks: one board in a line").input_value() == broken
    assert buying_of(store.job(job_id).settings).suppliers == ()
