"""A wall too long for one photo, in the real app at phone size."""

from __future__ import annotations

import pytest

from tests.ui.browser import WAIT_MS
from tests.ui.long_wall import WIDTH_PX, long_wall_photos

pytestmark = [pytest.mark.browser, pytest.mark.slow]
ONE = "Wall too long for one photo?"


def numbers(app):
    """The numbers of the studs that the editor shows, at one moment: the photo may be changing."""
    labels = (
        app.editor()
        .locator(".layer-studs .hit")
        .evaluate_all("nodes => nodes.map(node => node.getAttribute('aria-label'))")
    )
    return [int(label.split(",")[0].removeprefix("Stud ")) for label in labels]


def expander(app, title):
    return app.page.locator('[data-testid="stExpander"]').filter(has_text=title)


@pytest.mark.parametrize("app", ["phone"], indirect=True)
def test_two_photos_of_a_long_wall_are_one_wall_and_a_second_length_checks_the_first(app, tmp_path):
    left, right, truth = long_wall_photos(tmp_path)
    app.photo_width_px = WIDTH_PX
    app.start_job()
    app.upload(left)
    app.wait_for_editor()
    alone = numbers(app)
    app.page.get_by_text(ONE, exact=True).click(timeout=WAIT_MS)
    app.settle()
    expander(app, ONE).locator('input[type="file"]').set_input_files(right, timeout=WAIT_MS)
    app.page.get_by_text("One wall from 2 photos").wait_for(timeout=WAIT_MS)
    app.wait_for_editor()

    # the photo that came is looked at: its studs go on where the first one's end
    count = len(truth["members"])
    app.wait_for(lambda: numbers(app)[:1] > [1] and numbers(app)[-1:] == [count])
    app.settle()
    assert app.places_in()[-1] == pytest.approx(truth["members"][-1]["centre_in"], abs=1.0)
    assert app.sideways_px() <= 0
    assert app.small_targets() == []

    # everything is there after a reload; the other photo is one press away
    app.page.reload()
    app.wait_for_editor()
    app.page.get_by_text("One wall from 2 photos").wait_for(timeout=WAIT_MS)
    app.wait_for(lambda: numbers(app) == alone)
    app.settle()
    app.page.get_by_text("Photo 2", exact=True).click(timeout=WAIT_MS)
    app.wait_for(lambda: numbers(app)[:1] > [1] and numbers(app)[-1:] == [count])
    app.settle()

    # taken away again, the wall is what its own photo shows
    app.page.get_by_text("Photos of this wall (2)", exact=True).click(timeout=WAIT_MS)
    app.settle()
    app.page.get_by_role("button", name="Take photo 2 away").click(timeout=WAIT_MS)
    app.page.get_by_text(ONE, exact=True).wait_for(timeout=WAIT_MS)
    app.wait_for_editor()
    app.wait_for(lambda: numbers(app) == alone)
    app.settle()

    # two lengths that do not agree are called out in plain words
    for again, (height_px, text) in enumerate(((820, "8 ft 10"), (460, "8 ft"))):
        app.press("second" if again else "tape")
        for x_px in (160, 1000):
            app.mark_photo((x_px, height_px))
        app.wait_for(lambda: app.editor().locator("input").count() == 1)
        app.editor().locator("input").fill(text)
        app.press("use")
        if not again:
            app.wait_for_length()
            app.press("tape")
    app.page.get_by_text("The two references differ by").wait_for(timeout=WAIT_MS)
