"""Stacks in the browser: ways kept free, a stud in the way, a stack moved."""

from __future__ import annotations

import pytest

from tests.ui.browser import AppPage
from tests.ui.conftest import SIZES
from ui import site_store
from ui.by_hand import ByHand, HandOpening
from ui.rooms import add_by_hand
from ui.site_stacks import read_choices
from ui.store import Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]
WAIT_MS = 60_000


@pytest.fixture
def den(app_folder, app_address):
    """A small room entered by hand, and the app over it."""
    store = Store(app_folder)
    job_id = store.new_job("Alder Street basement")
    door = HandOpening("door", 12.0, 34.0, 0.0, 82.5)
    window = HandOpening("window", 60.0, 36.0, 44.0, 36.0)
    for name, length_in, openings in (("North wall", 250.25, (window,)), ("South wall", 250.25, (door,))):
        hand = ByHand("studs", length_in, 97.125, openings=openings)
        add_by_hand(store, store.job(job_id), hand, name, "Den *1*")
    add_by_hand(store, store.job(job_id), ByHand("joists", 250.25, 132.0), "Ceiling", "Den *1*")
    return store, job_id, app_address


def unfold(app: AppPage, title: str) -> None:
    """Open a folded part of the page and wait until it has stopped moving."""
    app.page.get_by_text(title).first.click()
    app.page.wait_for_timeout(600)
    app.settle()


def test_a_stud_comes_out_only_of_a_wall_that_carries_nothing_and_a_window_is_kept_free(browser, den) -> None:
    store, job_id, address = den
    context = browser.new_context(**SIZES["phone"])
    page = context.new_page()
    app = AppPage(page, address, "phone-site")
    app.open(f"/stacks?job={job_id}")
    page.get_by_text("Stack 1: Den *1*").wait_for(timeout=WAIT_MS)
    app.settle()
    app.shot("stacks")
    assert app.sideways_px() <= 0
    assert app.small_targets() == []

    # a stud comes out only of a wall that is known to carry nothing
    unfold(app, "A stud stands in the way")
    page.get_by_text("Leave every stud where it is. Ask a builder").wait_for(timeout=WAIT_MS)
    page.get_by_text("Somebody who can judge it says: nothing").click()
    page.get_by_text("could come out for the day").wait_for(timeout=WAIT_MS)

    # the window the boards come in by is kept free from here on
    unfold(app, "Keep a way free, and free floor")
    page.get_by_role("button", name="Boards come in by the window").click()
    page.get_by_text("is kept free").wait_for(timeout=WAIT_MS)
    choices = read_choices(site_store.part(store, job_id, "stacks")[0] or {})
    assert choices.walkways == {"North wall": ((60.0, 96.0),)}
    app.settle()
    context.close()


def test_a_stack_is_moved_and_a_move_into_the_door_is_refused(browser, den) -> None:
    store, job_id, address = den
    page = browser.new_context(**SIZES["desk"]).new_page()
    app = AppPage(page, address, "desk-move")
    for left, wanted in (("5in", "in a way or run past the end"), ("52in", None)):
        app.open(f"/stacks?job={job_id}")
        page.get_by_text("Stack 1: Den *1*").wait_for(timeout=WAIT_MS)
        app.settle()
        unfold(app, "Move it")
        box = page.get_by_label("From the left end of the wall").first
        box.fill(left)
        box.blur()
        app.settle()
        wall = page.get_by_label("Wall", exact=True).first
        wall.click()
        page.get_by_role("option", name="Den *1*: South wall").click()
        app.settle()
        page.get_by_role("button", name="Put it there").first.click()
        app.settle()
        if wanted:
            page.get_by_text(wanted).first.wait_for(timeout=WAIT_MS)
    for _ in range(100):
        kept, _revision = site_store.part(store, job_id, "stacks")
        moved = {(move.wall, move.left_in) for move in read_choices(kept or {}).moved}
        if moved == {("South wall", 52.0)}:
            break
        page.wait_for_timeout(100)
    assert moved == {("South wall", 52.0)}
    page.context.close()
