"""How much of the window the wall editor gives to the photo and to its tools."""

from __future__ import annotations

from pathlib import Path

import pytest

pytestmark = pytest.mark.browser
GEOMETRY = Path(__file__).parents[2] / "ui" / "wall_editor" / "geometry.js"


@pytest.fixture(scope="module")
def pane_for(browser):
    """The editor's own rule: photo width over height, and the room there is, to the photo's size."""
    page = browser.new_page()
    page.set_content("")
    page.add_script_tag(path=GEOMETRY)

    def asked(aspect: float, width_px: float, height_px: float) -> tuple[float, float, bool]:
        room = [aspect, width_px, height_px, height_px + 244]
        pane = page.evaluate("([aspect, w, h, all]) => paneFor(aspect, w, h, all)", room)
        return pane["width"], pane["width"] / aspect, pane["beside"]

    yield asked
    page.close()


@pytest.mark.parametrize("aspect", [0.75, 1.0, 1.1, 4 / 3, 16 / 9, 3.0])
@pytest.mark.parametrize("height_px", [420, 522, 654, 1000])
def test_a_photo_of_any_shape_leaves_room_for_its_tools(pane_for, aspect, height_px):
    wide, high, beside = pane_for(aspect, 818, height_px)
    if beside:
        assert high <= height_px + 0.1
        assert 818 - wide >= 240, "buttons beside it"
    else:
        assert high + 232 <= max(height_px, 532) + 0.1, "buttons below it"
    assert high >= 250 or wide >= 560, "and it is large enough to work on"


def test_on_a_phone_the_photo_has_all_the_width(pane_for):
    assert pane_for(0.75, 331, 450) == (331, pytest.approx(441.3, abs=0.1), False)


def test_in_a_narrow_window_photo_and_tools_fit_once_the_page_is_scrolled(pane_for):
    wide, high, beside = pane_for(1.0, 630, 524)
    assert (wide, beside) == (high, False)
    assert high + 232 <= 768


def test_a_long_wall_lies_across_with_its_tools_below(pane_for):
    wide, _, beside = pane_for(3.0, 818, 654)
    assert (wide, beside) == (818, False)
