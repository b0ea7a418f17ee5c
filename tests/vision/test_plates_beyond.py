"""A wall that the map of "this wall" ends too early goes on where its plates and studs do."""

from __future__ import annotations

import numpy as np
import pytest

from vision import plates_beyond
from vision.directions import ViewDirections
from vision.plates_beyond import as_far_as_its_plates
from vision.rectify import RectGrid
from vision.wall_region import Region
from vision.what import WhatMaps

WIDTH_PX, HEIGHT_PX, FOCAL_PX = 801, 401, 800.0
TOP_PX, BOTTOM_PX, PLATE_PX, FACE_PX = 80, 320, 8, 6
VIEW = ViewDirections(np.eye(3), FOCAL_PX, 0.0, ((WIDTH_PX - 1) / 2, (HEIGHT_PX - 1) / 2), 1.0, 1.0)
EXTENT = (-0.5, 0.5)


def units(x_px: float) -> float:
    return (x_px - (WIDTH_PX - 1) / 2) / FOCAL_PX


def found(left_px: float, right_px: float, **cut: bool) -> Region:
    """The rectangle as the map of "this wall" has it."""
    top, bottom = ((y - (HEIGHT_PX - 1) / 2) / FOCAL_PX for y in (TOP_PX, BOTTOM_PX))
    return Region(units(left_px), top, units(right_px), bottom, **cut)


def maps(
    plate_px: tuple[int, int],
    studs_px: list[int],
    *,
    bends_at_px: int | None = None,
    plates: tuple[bool, bool] = (True, True),
    jumps_px: tuple[int, int] = (WIDTH_PX, 0),
    hidden_px: tuple[int, int] = (0, 0),
) -> WhatMaps:
    """Straight on: both plates between two columns, and studs; from a corner on the plates run inwards, from
    the first of `jumps_px` on they lie so many pixels higher; something hides them between two columns."""
    front, plate = (np.zeros((HEIGHT_PX, WIDTH_PX), np.float32) for _ in range(2))
    for x in range(*plate_px):
        bent = 0 if bends_at_px is None else round(0.3 * max(0, x - bends_at_px))
        up = jumps_px[1] if x >= jumps_px[0] else 0
        if hidden_px[0] <= x < hidden_px[1]:
            continue
        if plates[0]:
            plate[TOP_PX + bent - up : TOP_PX + bent - up + PLATE_PX, x] = 1.0
        if plates[1]:
            plate[BOTTOM_PX - bent - up - PLATE_PX : BOTTOM_PX - bent - up, x] = 1.0
    for x in studs_px:
        front[TOP_PX + PLATE_PX : BOTTOM_PX - PLATE_PX, x : x + FACE_PX] = 1.0
    nothing = np.zeros_like(front)
    return WhatMaps(front, plate, plate, nothing, nothing, nothing)


STUDS = list(range(100, 701, 60))


@pytest.mark.parametrize("plates", [(True, True), (True, False), (False, True)])
def test_a_wall_that_a_post_seems_to_end_goes_on_as_far_as_its_plates(plates: tuple[bool, bool]) -> None:
    region = as_far_as_its_plates(found(100, 400), maps((100, 706), STUDS, plates=plates), VIEW, 1.0, EXTENT)
    assert region.right == pytest.approx(units(706), abs=0.01)
    assert region.left == pytest.approx(units(100), abs=1e-6)


def test_to_the_left_as_to_the_right() -> None:
    region = as_far_as_its_plates(found(400, 706), maps((100, 706), STUDS), VIEW, 1.0, EXTENT)
    assert region.left == pytest.approx(units(100), abs=0.01)
    assert region.right == pytest.approx(units(706), abs=1e-6)


def test_round_a_corner_it_does_not_go_on() -> None:
    before = found(100, 400)
    seen = maps((100, 706), STUDS, bends_at_px=400)
    assert as_far_as_its_plates(before, seen, VIEW, 1.0, EXTENT) == before


def test_a_plate_without_studs_is_a_beam_or_a_shelf() -> None:
    before = found(100, 400)
    seen = maps((100, 706), [x for x in STUDS if x < 400])
    assert as_far_as_its_plates(before, seen, VIEW, 1.0, EXTENT) == before


def test_a_little_more_of_a_plate_is_left_to_the_closer_look() -> None:
    before = found(100, 680)
    assert as_far_as_its_plates(before, maps((100, 706), STUDS), VIEW, 1.0, EXTENT) == before


def test_a_wall_whose_plates_the_photo_cuts_off_stays_as_it_was_found() -> None:
    before = found(100, 400, cut_top=True, cut_bottom=True)
    assert as_far_as_its_plates(before, maps((100, 706), STUDS), VIEW, 1.0, EXTENT) == before


@pytest.mark.parametrize("jump_px", [5, 8, 11])
def test_a_wall_behind_or_before_it_is_another_though_its_plates_are_level_too(jump_px: int) -> None:
    """5 of 240 px of height are 2 in of an 8 ft wall."""
    before = found(100, 400)
    seen = maps((100, 706), STUDS, jumps_px=(400, jump_px))
    assert as_far_as_its_plates(before, seen, VIEW, 1.0, EXTENT) == before


def test_behind_a_beam_that_hides_both_plates_the_wall_goes_on_where_both_do() -> None:
    region = as_far_as_its_plates(
        found(100, 400), maps((100, 706), STUDS, hidden_px=(390, 440)), VIEW, 1.0, EXTENT
    )
    assert region.right == pytest.approx(units(706), abs=0.01)


@pytest.mark.parametrize(
    "how",
    [
        {"plates": (True, False)},
        {"plates": (False, True)},
        {"hidden_px": (390, 480)},
        {"jumps_px": (400, 8)},
        {"bends_at_px": 400},
    ],
)
def test_one_plate_or_a_wider_gap_or_a_wall_out_of_line_is_not_enough_behind_a_beam(how) -> None:
    before = found(100, 400)
    seen = maps((100, 706), STUDS, **{"hidden_px": (390, 440), **how})
    assert as_far_as_its_plates(before, seen, VIEW, 1.0, EXTENT) == before


def test_plates_that_only_begin_where_the_wall_ends_are_not_its_own() -> None:
    before = found(100, 400)
    assert as_far_as_its_plates(before, maps((402, 706), STUDS), VIEW, 1.0, EXTENT) == before


def test_a_narrow_find_in_a_wide_photo_is_looked_at_no_finer_than_needed(monkeypatch) -> None:
    sizes = []
    monkeypatch.setattr(plates_beyond, "sample", lambda image, view, grid, scale: _sized(sizes, grid))
    as_far_as_its_plates(found(390, 430), maps((100, 706), STUDS), VIEW, 1.0, (-1.4, 1.4))
    assert max(sizes) < 3e6


def _sized(sizes: list[int], grid: RectGrid) -> np.ndarray:
    sizes.append(grid.width * grid.height)
    return np.zeros((grid.height, grid.width), np.float32)
