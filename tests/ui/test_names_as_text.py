"""Names, rooms, suppliers and notes from outside are shown as text on every screen and fetch nothing."""

from __future__ import annotations

import os

import pytest

from layout import Board
from layout.access import Gap, Way
from layout.prices import Supplier
from tests.ui.browser import WAIT_MS, AppPage
from tests.ui.conftest import SIZES
from tests.ui.test_accessibility import open_everything, requests_elsewhere
from ui.buying import Buying, buying_to_json
from ui.by_hand import ByHand
from ui.first_job import make_sample_job
from ui.places import PLACES
from ui.rooms import add_by_hand
from ui.store import Store
from ui.words import Words

EVERYTHING = bool(os.environ.get("SEAMWRIGHT_EVERY_SIZE"))
NAMING = ("job", "walk", "order", "prices")
"""Screens that say most names: what is looked at unless everything is."""
pytestmark = [pytest.mark.browser, pytest.mark.slow]
# An address of no machine (RFC 5737); Markdown's picture, link and emphasis, and HTML's own picture.
MARKUP = "![m](http://192.0.2.9/m.png) [m](http://192.0.2.9/a) **m** <img src=http://192.0.2.9/h.png>"


@pytest.fixture(scope="module")
def marked(app_folder):
    """A job in which everything that has a name is called like that, among others of such names."""
    store = Store(app_folder)
    # photographed walls must be read first, which takes most of a minute: SEAMWRIGHT_EVERY_SIZE=1 has them
    job_id = make_sample_job(store, Words("en")) if EVERYTHING else store.new_job("Basement")
    for surface in store.job(job_id).surfaces:
        settings = {**surface.settings, "room": MARKUP[:75]}
        store.save_surface(surface.surface_id, surface.revision, name=MARKUP, settings=settings)
    job = store.job(job_id)
    yard = Supplier(
        MARKUP[:80], (Board("regular", 0.5, 48.0, 96.0, 14.0), Board("regular", 0.5, 48.0, 144.0, 21.0))
    )
    buying = Buying((yard,), yard.name, ways=(Way(MARKUP[:80], (Gap(MARKUP[:80], 34.0, 80.0, "door"),)),))
    store.save_job(
        job_id, job.revision, name=MARKUP, settings={**job.settings, "buying": buying_to_json(buying)}
    )
    for _ in range(2):
        add_by_hand(store, store.job(job_id), ByHand("studs", 96.0, 97.125), MARKUP, MARKUP[:75])
    store.add_surface(job_id, MARKUP)  # one without framing is named as left out
    store.new_job(MARKUP)
    put_away = store.new_job(MARKUP)
    store.save_job(put_away, 1, archived=True)
    return job_id


def test_names_are_text_on_the_screens_and_fetch_nothing(browser, app_address, marked):
    context = browser.new_context(**SIZES["desk"])
    app = AppPage(context.new_page(), app_address, "marked")
    outside = requests_elsewhere(app.page, app_address)
    found = []
    for place in PLACES:
        if not EVERYTHING and place.name not in NAMING:
            continue
        app.open(f"/{place.address}?job={marked}")
        app.page.wait_for_selector(".st-key-stages", timeout=WAIT_MS)
        app.page.wait_for_timeout(300)
        app.settle()
        open_everything(app)
        app.settle()
        made = app.page.evaluate(
            """() => {
              const all = [];
              const walk = (root) => root.querySelectorAll('*').forEach((n) => {
                all.push(n);
                if (n.shadowRoot) walk(n.shadowRoot);
              });
              walk(document);
              return all.filter((n) => `${n.src || n.href || ''}`.includes('192.0.2.9')
                  || (n.matches('strong, em') && n.innerText === 'm'))
                .map((n) => n.parentElement.outerHTML.slice(0, 200));
            }"""
        )
        found += [(place.name, node) for node in made]
    context.close()
    assert found == []
    assert outside == []
