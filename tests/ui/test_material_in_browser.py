"""Saying wood or steel in the browser: of a photographed wall and of one measured with a tape."""

from __future__ import annotations

import pytest

from tests.ui.browser import AppPage
from tests.ui.conftest import SIZES
from ui.material import material_of
from ui.store import Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]
WAIT_MS = 60_000


@pytest.fixture
def shop(request, browser, app_folder, app_address):
    """The app at one size, and its store."""
    context = browser.new_context(**SIZES[request.param])
    yield AppPage(context.new_page(), app_address, request.param), Store(app_folder)
    context.close()


def say(app: AppPage, name: str) -> None:
    """Choose what the surface is framed with."""
    app.page.get_by_role("radio", name=name, exact=True).click()


def kept(store: Store) -> list[str]:
    """What the surfaces of the newest job are framed with."""
    return [material_of(each.settings) for each in store.job(store.jobs()[0].job_id).surfaces]


@pytest.mark.parametrize("shop", ["phone"], indirect=True)
def test_a_wall_said_to_be_steel_is_read_anew_and_the_choice_can_be_taken_back(shop, wall_photo) -> None:
    app, store = shop
    app.start_job()
    app.upload(wall_photo.path)
    app.wait_for_editor()
    app.settle()
    before = app.places_in()
    say(app, "Steel")
    app.wait_for(lambda: kept(store) == ["steel"])
    app.wait_for(lambda: app.places_in() != before)
    app.settle()
    assert app.sideways_px() <= 1
    assert app.small_targets() == []
    say(app, "Wood")
    app.wait_for(lambda: kept(store) == ["timber"])
    app.wait_for(lambda: app.places_in() == before)


@pytest.mark.parametrize("shop", ["desk"], indirect=True)
def test_a_wall_measured_with_a_tape_is_of_what_was_said_and_so_is_the_next(shop) -> None:
    app, store = shop
    app.start_job()
    app.go("Walk-round")
    say(app, "Steel")
    for count in (1, 2):
        box = app.page.get_by_label("Length", exact=True)
        box.fill("12 ft")
        box.press("Enter")
        app.wait_for(lambda count=count: kept(store) == ["steel"] * count)
        app.settle()
    app.wait_for(lambda: app.page.get_by_text("· steel").count() == 2)
    app.page.get_by_role("button", name="Change").first.click()
    app.page.get_by_role("button", name="Save the change").wait_for(timeout=WAIT_MS)
    app.settle()
    say(app, "Wood")
    app.page.get_by_role("button", name="Save the change").click()
    app.wait_for(lambda: kept(store) == ["timber", "steel"])
