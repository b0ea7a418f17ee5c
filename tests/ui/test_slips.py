"""Slips in what is typed on the walk-round: asked about, not believed."""

from __future__ import annotations

import pytest

from ui.opening_text import openings_from_text
from ui.slips import length_slip, opening_slip


@pytest.mark.parametrize("text", ["10", "8", "12.5", "9 1/2"])
def test_a_small_number_without_a_unit_was_meant_in_feet(text: str) -> None:
    assert length_slip(text, "inches").code == "which_unit"


@pytest.mark.parametrize("text", ["10 in", '10"', "8 ft", "8'", "250 mm", "97 1/8", "148", "8' 1\""])
def test_a_length_with_its_unit_or_of_a_usual_wall_is_taken(text: str) -> None:
    assert length_slip(text, "inches") is None


def test_millimetres_typed_where_inches_are_shown_are_asked_about() -> None:
    slip = length_slip("2440", "inches")
    assert (slip.code, slip.values["length"]) == ("too_long", '2440"')


def test_metres_typed_where_millimetres_are_shown_are_asked_about() -> None:
    assert length_slip("3.6", "mm").code == "which_unit_mm"
    assert length_slip("3600", "mm") is None
    assert length_slip("3.6 m", "mm") is None


def test_a_window_across_a_door_is_asked_about_and_one_above_it_is_not() -> None:
    across = openings_from_text("door 34 at 40; window 30 x 44 at 60 up 36")
    assert opening_slip(across, "inches").code == "openings_overlap"
    assert "window 30" in opening_slip(across, "inches").values["other"]
    above = openings_from_text("door 34 at 40; window 30 x 12 at 42 up 84")
    assert opening_slip(above, "inches") is None


def test_a_box_in_a_doorway_is_asked_about_and_one_beside_it_is_not() -> None:
    assert opening_slip(openings_from_text("door 34 at 40; box at 50 up 40"), "inches") is not None
    assert opening_slip(openings_from_text("door 34 at 40; box at 76 up 40"), "inches") is None


def test_two_openings_edge_to_edge_only_touch() -> None:
    assert opening_slip(openings_from_text("door 34 at 40; door 34 at 74"), "inches") is None


def test_a_door_three_inches_wide_was_meant_in_feet() -> None:
    slip = opening_slip(openings_from_text("door 3 at 40"), "inches")
    assert (slip.code, slip.values["side"]) == ("opening_small", '3"')
