"""Saying where the house is in the browser, and what the screens then offer and show."""

from __future__ import annotations

import pytest

from layout import mm_to_in
from tests.ui.browser import AppPage, running_app
from tests.ui.conftest import SIZES
from ui.by_hand import SETTING as BY_HAND
from ui.by_hand import ByHand
from ui.market import SETTING, market_of, market_to_json
from ui.rooms import add_by_hand
from ui.store import Job, Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def house(request, browser, tmp_path):
    """A store of its own, and the app over it at one size."""
    with running_app(tmp_path) as address:
        context = browser.new_context(**SIZES[request.param])
        yield AppPage(context.new_page(), address, request.param), Store(tmp_path)
        context.close()


def the_job(store: Store) -> Job:
    return store.job(store.jobs()[0].job_id)


def where_it_is(app: AppPage, country: str) -> None:
    """Open the walls' page and say there where the house is."""
    app.go("Walls")
    if not app.page.get_by_text("Where the house is").is_visible():
        app.choose("Name, country, units")
    app.choose(country)


def add_a_wall(app: AppPage, store: Store, length: str, count: int) -> dict:
    """Type one more wall of the walk-round; what is kept of it."""
    box = app.page.get_by_label("Length", exact=True)
    box.fill(length)
    box.press("Enter")
    app.wait_for(lambda: len(the_job(store).surfaces) == count)
    app.settle()
    return the_job(store).surfaces[-1].settings[BY_HAND]


@pytest.mark.parametrize("house", ["phone"], indirect=True)
def test_a_house_said_to_be_in_the_uk_is_typed_and_shown_in_its_units(house) -> None:
    app, store = house
    app.start_job()
    where_it_is(app, "United Kingdom")
    app.wait_for(lambda: market_of(the_job(store).settings) == "uk")
    app.settle()
    assert app.page.get_by_role("radio", name="millimetres").is_checked()
    assert "units" not in the_job(store).settings, "the user has not chosen them"
    assert app.sideways_px() <= 1
    assert app.small_targets() == []
    app.go("Walk-round")
    typed = add_a_wall(app, store, "4800", 1)
    assert typed["length_in"] == pytest.approx(mm_to_in(4800.0))
    assert typed["height_in"] == pytest.approx(mm_to_in(2400.0))
    assert typed["spacing_in"] == pytest.approx(mm_to_in(400.0))
    assert "× 1200 × 12.5 mm" in app.sheet_list()
    # the same form elsewhere proposes what is usual there, not what the last wall had
    where_it_is(app, "United States")
    app.wait_for(lambda: market_of(the_job(store).settings) == "us")
    app.go("Walk-round")
    typed = add_a_wall(app, store, "12 ft", 2)
    assert (typed["height_in"], typed["spacing_in"]) == (97.125, 16.0)
    assert '× 48" × 1/2"' in app.sheet_list()


@pytest.mark.parametrize("house", ["desk"], indirect=True)
def test_a_width_not_sold_there_is_said_where_boards_are_counted_and_another_chosen_for_it(house) -> None:
    app, store = house
    job_id = store.new_job("Terrace", {SETTING: market_to_json("uk")})
    moist = {"board_width": "48in", "board_kind": "moisture"}
    add_by_hand(store, store.job(job_id), ByHand("studs", 144.0, 96.0), "Bath wall", "Bath", moist)
    add_by_hand(store, store.job(job_id), ByHand("studs", 144.0, 96.0), "Front", "Lounge")
    for path in ("/walk", "/order"):
        app.open(f"{path}?job={job_id}")
        said = app.page.get_by_text("Boards 48 in wide are not usual in the United Kingdom")
        said.wait_for()
        assert "these get none: Bath wall. Choose 1200 mm or 900 mm" in said.inner_text()
    app.settle()
    app.choose("Kind, width and thickness of the boards")
    box = app.page.get_by_role("combobox", name="Width")
    box.scroll_into_view_if_needed()
    app.page.wait_for_timeout(500)  # a list closes when the page scrolls under it
    box.click()
    app.page.get_by_role("option", name="1200 mm").click()
    app.settle()
    app.page.get_by_role("button", name="Use it there").click()
    app.wait_for(lambda: the_job(store).surfaces[0].settings["board_width"] == "1200mm")
    said.wait_for(state="detached")
    app.settle()
    assert the_job(store).surfaces[0].settings["board_kind"] == "moisture", "only the width was chosen anew"
    assert "moisture" in app.sheet_list()


@pytest.mark.parametrize("house", ["phone"], indirect=True)
def test_a_market_of_a_newer_release_is_said_on_every_screen_and_chosen_again(house) -> None:
    app, store = house
    job_id = store.new_job("Terrace", {SETTING: {"version": 9, "name": "uk"}})
    add_by_hand(store, store.job(job_id), ByHand("studs", 144.0, 96.0), "Front", "Lounge")
    for path in ("/walk", "/order", "/stacks"):
        app.open(f"{path}?job={job_id}")
        app.page.get_by_text("Where the house of this job is cannot be read: choose it again").wait_for()
    where_it_is(app, "United Kingdom")
    app.wait_for(lambda: the_job(store).settings[SETTING] == market_to_json("uk"))
    app.go("Walk-round")
    assert "× 1200 × 12.5 mm" in app.sheet_list()
