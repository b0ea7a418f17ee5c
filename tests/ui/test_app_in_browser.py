"""The whole job in the real app, at phone size by touch and at desk size by mouse and keyboard."""

from __future__ import annotations

import os

import pytest

from tests.ui.browser import MARKS_AGAIN, WAIT_MS, running_app
from tests.ui.conftest import window

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def at(*sizes):
    """Run a test at these window sizes."""
    return pytest.mark.parametrize("app", sizes, indirect=True)


def open_wall(app, photo):
    """Upload a photo, tap the wall's four corners if the app asks for them, and wait for the studs."""
    app.photo_width_px = photo.width_px
    app.start_job()
    app.upload(photo.path)
    app.wait_for_editor()
    if not app.studs():
        for corner in photo.corners_px:
            app.tap_photo(corner)
        app.press("read")
        app.wait_for(lambda: len(app.studs()) > 4)
    app.press("studs")  # with no length given, the tape is asked for first


@pytest.fixture(scope="module")
def first_address(browser, tmp_path_factory):
    """An app that nobody has used: its store is empty, nothing was uploaded."""
    with running_app(tmp_path_factory.mktemp("first")) as address:
        yield address


@pytest.fixture
def first_app(request, browser, first_address):
    with window(browser, first_address, request.param) as shown:
        yield shown


def at_first(*sizes):
    """Run a test in the unused app at these window sizes."""
    return pytest.mark.parametrize("first_app", sizes, indirect=True)


@at_first("phone", "tablet")
def test_the_app_opens_on_a_sample_wall_with_its_boards_counted(first_app):
    app = first_app
    app.open("/")
    app.page.wait_for_selector('.editor .tools button, [data-testid="stFileUploader"]', timeout=60_000)
    if app.page.locator(".editor").count() == 0:
        pytest.skip("no sample photos are installed")
    app.wait_for_editor()
    app.wait_for(lambda: app.step_open("Known length") is False)
    app.wait_for(lambda: len(app.studs()) > 4)
    app.wait_for(lambda: app.sheets_to_buy() > 0)
    app.shot("0-first")
    # an address without a screen: one sentence, the wall as it was, a way on
    app.open("/nowhere")
    app.page.get_by_text("There is no page at that address.").wait_for(timeout=60_000)
    app.wait_for_editor()
    app.wait_for(lambda: app.page.get_by_role("dialog").count() == 0)
    app.page.get_by_role("link", name="To the walls of this job").click()
    app.page.get_by_text("Other jobs", exact=True).first.wait_for(timeout=60_000)
    app.open("/wall")
    app.wait_for_editor()
    assert app.page.get_by_text("There is no page at that address.").count() == 0


@at_first("phone")
def test_boxes_found_in_the_photo_are_announced_and_accepted_one_by_one(first_app):
    app = first_app
    app.open("/walls")
    app.page.wait_for_selector('.editor, [data-testid="stFileUploader"]', timeout=60_000)
    app.settle()
    if app.page.get_by_text("Wall D", exact=True).count() == 0:
        pytest.skip("no sample photos are installed")
    app.open_wall_named("Wall A")
    app.wait_for_editor()
    announced = app.page.get_by_text("electrical boxes were found in the photo and are not cut out yet")
    announced.wait_for()
    found = int(announced.inner_text().split()[0])
    app.press("opening")
    for left in range(found - 1, -1, -1):
        if left == found - 1:
            app.press("next-opening")  # after each the next is shown
        app.press("keep")
        app.settle_edit()
        if left > 1:
            assert announced.inner_text().startswith(f"{left} ")
    assert app.step_open("Openings") is None  # nothing of it is left to do
    assert app.page.get_by_text("not cut out yet").count() == 0
    for _ in range(found):
        app.press("undo")
        app.settle_edit()
    assert announced.inner_text().startswith(f"{found} ")


# The desk takes as long again: SEAMWRIGHT_EVERY_SIZE=1 runs it too; the whole job by keyboard is at a desk.
@at(*(("phone", "desk") if os.environ.get("SEAMWRIGHT_EVERY_SIZE") else ("phone",)))
def test_from_a_photo_to_a_sheet_list_and_everything_is_there_after_closing(app, wall_photo, browser):
    open_wall(app, wall_photo)
    app.shot("1-studs")
    found = len(app.studs())

    # a doubtful stud is looked at and kept
    doubtful = app.count_doubtful()
    if doubtful:
        app.press("next")
        app.shot("2-doubt")
        app.press("keep")
        app.wait_for(lambda: app.count_doubtful() == doubtful - 1)
        app.press("done")
        app.zoom_out()

    # one is dragged, nudged by the tape's own step, removed, and brought back
    x, y = app.middle_of(app.stud("Stud 4"))
    before_in = app.place_in("Stud 4")
    app.hand.drag((x, y), (x + 10, y))
    app.wait_for(lambda: app.place_in("Stud 4") > before_in + 1)
    app.settle()
    dragged_in = app.place_in("Stud 4")
    for _ in range(4):
        app.press("right")
    app.settle_edit()
    assert app.place_in("Stud 4") == pytest.approx(dragged_in + 4 / 16, abs=0.011)
    app.press("remove")
    app.wait_for(lambda: len(app.studs()) == found - 1)
    app.press("undo")
    app.wait_for(lambda: len(app.studs()) == found)
    assert app.place_in("Stud 4") == pytest.approx(dragged_in + 4 / 16, abs=0.011)

    # one is added on the bare wall
    app.settle()
    x2, y2 = app.middle_of(app.stud("Stud 2"))
    x3, _ = app.middle_of(app.stud("Stud 3"))
    app.hand.tap((x2 + x3) / 2, y2)
    app.press("add-here")
    app.wait_for(lambda: len(app.studs()) == found + 1)
    app.press("done")

    # an opening is marked
    app.press("opening")
    x, y = app.middle_of(app.editor().locator(".pane"))
    app.hand.drag((x - 20, y - 30), (x + 20, y + 30))
    app.wait_for(lambda: app.editor().locator(".layer-openings .own").count() == 1)
    app.shot("3-opening")
    # each kind of stud has a badge of its own shape, for who cannot tell the colours apart
    shapes = app.badge_shapes()
    assert "own" in shapes
    assert len(set(shapes.values())) == len(shapes)

    # a length between two marks becomes the scale
    app.press("tape")
    on_px = app.photo_width_px / app.editor().locator(".pane").bounding_box()["width"]
    for mark in wall_photo.marks_px:
        app.mark_photo((mark[0] + 0.5 * on_px, mark[1]))
    app.wait_for(lambda: app.editor().locator("input").count() == 1)
    for grip, mark in zip(app.editor().locator(".handle").all(), wall_photo.marks_px, strict=True):
        assert float(grip.get_attribute("cx")) == pytest.approx((mark[0] + 0.5) / on_px, abs=1.0)
    app.page.keyboard.type("no length")  # the field waits for it: it need not be tapped
    app.press("use")
    app.wait_for(lambda: app.editor().locator(".problem").count() == 1)
    app.shot("4-length-refused")
    app.editor().locator("input").fill(f"{wall_photo.marks_in / 12:g} ft")
    app.press("use")
    app.wait_for(lambda: app.step_open("Known length") is False)

    # boards over the photo; the width changes the list at once
    app.press("studs")
    app.press("boards")
    app.wait_for(lambda: app.editor().locator(".board").count() >= 2)
    app.shot("5-boards")
    list_before = app.sheet_list()
    used = next(length for length in ("12'", "10'", "8'") if f'{length} × 48"' in list_before)
    app.choose("54 in")
    app.wait_for(lambda: '× 54"' in app.sheet_list())
    app.settle()
    app.choose("48 in")
    app.wait_for(lambda: app.sheet_list() == list_before)
    app.settle()  # the list stands before the lengths of the other width are gone
    app.choose(used)  # this length cannot be bought
    app.wait_for(lambda: f'{used} × 48"' not in app.sheet_list())
    app.settle()
    app.choose(used)
    app.wait_for(lambda: app.sheet_list() == list_before)

    # a second wall; the order counts both
    kept = app.studs()
    app.go("Order")
    one_wall = app.sheets_to_buy()
    app.go("Walls")
    app.shot("6-walls")
    app.upload(wall_photo.path)
    app.wait_for_editor()
    app.go("Order")
    app.shot("7-order")
    assert one_wall > 0

    # the browser is closed; another one finds everything
    other = browser.new_context(viewport={"width": 1000, "height": 800})
    page = other.new_page()
    again = type(app)(page, app.address, app.name + "-again")
    again.open("/walls")
    again.settle()
    again.open_wall_named("Wall A")
    again.wait_for_editor()
    assert again.studs() == kept
    other.close()


@at("desk")
def test_two_edits_in_quick_succession_are_both_kept(app, wall_photo):
    open_wall(app, wall_photo)
    app.stud("Stud 2").focus()
    first, second = app.place_in("Stud 2"), app.place_in("Stud 3")
    app.page.keyboard.press("Shift+ArrowRight")
    app.stud("Stud 3").focus()
    app.page.keyboard.press("Shift+ArrowRight")
    app.settle_edit()
    app.page.reload()
    app.wait_for_editor()
    assert app.place_in("Stud 2") == pytest.approx(first + 1, abs=0.011)
    assert app.place_in("Stud 3") == pytest.approx(second + 1, abs=0.011)


@at("phone")
def test_a_file_that_is_no_picture_is_refused_in_one_sentence(app, tmp_path):
    fake = tmp_path / "wall.jpg"
    fake.write_text("this is not a picture")
    app.start_job()
    app.upload(fake)
    app.page.get_by_text("is not a JPEG, PNG, WebP or HEIC picture").wait_for(timeout=20_000)
    # of another kind by its name: the browser itself refuses it, in words that can be read
    for name in ("plan.pdf", "list.txt"):
        (tmp_path / name).write_text("neither is this")
        app.upload(tmp_path / name)
        app.page.get_by_text("This file is no picture. Choose a photo").wait_for(timeout=20_000)
    app.settle()
    refused = app.page.locator('[data-testid="stFileChip"][aria-invalid="true"]')
    assert refused.get_by_text("list.txt").count() == 1
    assert refused.count() == 1  # the one before has made room
    assert "Traceback" not in app.page.inner_text("body")
    assert app.page.get_by_role("button", name="Open").count() == 0


@at("phone")
def test_nothing_scrolls_sideways_and_targets_are_big_enough_for_a_thumb(app, wall_photo):
    open_wall(app, wall_photo)
    for place in ("Walls", "This wall", "Order"):
        app.go(place)
        assert app.sideways_px() <= 0, place
        assert app.small_targets() == [], place


@at("phone")
def test_a_tap_beside_a_stud_draws_the_mark_onto_its_face(app, wall_photo):
    open_wall(app, wall_photo)
    found = len(app.studs())
    sure = list(app.studs())[2]  # any will do: with no length given all are doubtful
    stood_in = app.place_in(sure)
    x, y = app.middle_of(app.stud(sure))
    app.hand.tap(x, y)
    app.press("remove")
    app.wait_for(lambda: len(app.studs()) == found - 1)
    app.settle_edit()
    x, y = x, app.middle_of(app.editor().locator(".pane"))[1]
    app.hand.tap(x + 4, y)  # on a phone 4 px are about two inches of wall
    app.press("add-here")
    app.wait_for(lambda: len(app.studs()) == found)
    app.settle_edit()
    assert min(abs(place - stood_in) for place in app.places_in()) < 0.3


@at("phone")
def test_two_fingers_bring_the_photo_closer_and_not_the_page(app, wall_photo):
    open_wall(app, wall_photo)
    wide = app.stud("Stud 5").bounding_box()["width"]
    gap = app.gap_px("Stud 4", "Stud 5")
    centre = app.middle_of(app.editor().locator(".pane"))
    app.hand.pinch(centre, 80, 200)
    app.wait_for(lambda: app.gap_px("Stud 4", "Stud 5") > 1.8 * gap)
    assert app.page.evaluate("visualViewport.scale") == pytest.approx(1.0)
    assert wide > 0
    app.zoom_out()
    assert app.gap_px("Stud 4", "Stud 5") == pytest.approx(gap, abs=1)


@at("phone", "desk")
def test_a_corner_does_not_jump_to_the_finger_and_a_slow_finger_sets_it_finer(app, wall_photo):
    open_wall(app, wall_photo)
    app.press("corners")
    corner = app.editor().locator(".handle").first

    def place():
        return [float(corner.get_attribute(name)) for name in ("cx", "cy")]

    # a finger's first 9 px are a slip and no drag yet; how quick the quick ones come is the machine's matter
    quick, slow = ((15, 41), (9, 14.5)) if app.name == "phone" else ((39, 41), (39, 41))
    for steps, pause_ms, (least, most) in ((2, 0, quick), (80, 30, slow)):
        before, (x, y) = place(), app.middle_of(corner)
        app.hand.drag((x + 8, y + 7), (x + 48, y + 7), steps, pause_ms)
        app.wait_for(lambda before=before: place() != before)
        went_px = [now - then for now, then in zip(place(), before, strict=True)]
        assert least <= went_px[0] <= most
        assert went_px[1] == pytest.approx(0, abs=0.1), "it was taken hold of beside its middle"


@at("phone", "desk")
def test_marks_tapped_with_a_finger_on_a_small_picture_are_asked_for_again(app, wall_photo):
    open_wall(app, wall_photo)
    app.press("tape")
    on_px = app.photo_width_px / app.editor().locator(".pane").bounding_box()["width"]
    slip_px = 2 if app.name == "phone" else 0.5  # a fingertip beside it, a mouse
    for mark in wall_photo.marks_px:
        app.tap_photo((mark[0] + slip_px * on_px, mark[1]))
    app.wait_for(lambda: app.editor().locator("input").count() == 1)
    for grip, mark in zip(app.editor().locator(".handle").all(), wall_photo.marks_px, strict=True):
        assert float(grip.get_attribute("cx")) == pytest.approx((mark[0] + 0.5) / on_px, abs=1.0)
    app.page.keyboard.type(f"{wall_photo.marks_in:g}")
    app.page.keyboard.press("Enter")
    if app.name == "phone":
        app.page.get_by_text(f"Known length: {MARKS_AGAIN}").wait_for(timeout=WAIT_MS)
        app.settle()
        assert app.page.get_by_text("two marks were set on a small picture or in haste").is_visible()
        assert app.count_doubtful() == len(app.studs())
        app.press("to-marks")
        for end in range(2):
            app.hand.hold(*app.middle_of(app.editor().locator(".handle").nth(end)))
            app.settle_edit()
    app.wait_for(lambda: app.step_open("Known length") is False)
    app.settle()
    assert app.count_doubtful() < 0.5 * len(app.studs())
