"""A wall ends with a member where its plates end."""

from __future__ import annotations

import numpy as np
import pytest

from vision.extent import Upright
from vision.implied_ends import add_implied_ends, cut_off_neighbours
from vision.members import Stretch
from vision.rectify import RectGrid
from vision.wall_region import Region
from vision.what import WhatMaps

WIDTH, HEIGHT, FACE_PX = 400, 200, 10.0
GRID = RectGrid(0.0, 0.0, 1.0, 1.0, WIDTH, HEIGHT)
REGION = Region(20.0, 0.0, 380.0, float(HEIGHT))


def maps(top: tuple[int, int], bottom: tuple[int, int], wall: tuple[int, int] = (20, 380)) -> WhatMaps:
    """What is seen, with each plate and the wall from one column to another."""
    plate = np.zeros((HEIGHT, WIDTH), np.float32)
    plate[:6, top[0] : top[1]] = 1.0
    plate[-6:, bottom[0] : bottom[1]] = 1.0
    inside = np.zeros((HEIGHT, WIDTH), np.float32)
    inside[:, wall[0] : wall[1]] = 1.0
    nothing = np.zeros((HEIGHT, WIDTH), np.float32)
    return WhatMaps(nothing, plate, plate, nothing, nothing, inside)


def studs(*lefts: float, plies: int = 1) -> list[Upright]:
    """Full-height members; the last one has `plies`."""
    out = []
    for k, left in enumerate(lefts):
        n = plies if k == len(lefts) - 1 else 1
        out.append(
            Upright(Stretch(left, left + n * FACE_PX, n, 0.9, 0.9, 0.9, 3.0 * n, 0.0), 0.0, 1.0, 1.0, True)
        )
    return out


def implied(found: list[Upright]) -> list[float]:
    return [u.stretch.right for u in found if u.implied]


FRONT = np.full((48, WIDTH), 0.5, np.float32)  # much of everything is hidden


def test_plates_that_run_on_past_the_last_stud_seen_end_with_a_hidden_one() -> None:
    found = add_implied_ends(
        studs(20, 100, 200, 300), REGION, GRID, maps((20, 380), (20, 330)), FRONT, FACE_PX
    )
    assert implied(found) == [pytest.approx(380, abs=1.0)]
    assert found[-1].full
    assert found[-1].hidden_end


def test_no_stud_is_added_where_the_last_one_stands_at_the_plates_end() -> None:
    found = add_implied_ends(studs(20, 200, 370), REGION, GRID, maps((20, 380), (20, 380)), FRONT, FACE_PX)
    assert implied(found) == []


def test_no_stud_is_added_where_the_bottom_plate_ends_with_the_last_one() -> None:
    """The top plate that runs on is the next wall's."""
    found = add_implied_ends(
        studs(20, 200, 300), REGION, GRID, maps((20, 380), (20, 310), (20, 380)), FRONT, FACE_PX
    )
    assert implied(found) == []


def test_no_stud_is_added_where_the_photo_cuts_the_wall() -> None:
    cut = Region(20.0, 0.0, 380.0, float(HEIGHT), cut_right=True)
    found = add_implied_ends(studs(20, 100, 300), cut, GRID, maps((20, 380), (20, 380)), FRONT, FACE_PX)
    assert implied(found) == []


def test_the_next_walls_studs_are_cut_off_an_end_group() -> None:
    found = cut_off_neighbours(
        studs(20, 200, 350, plies=3), REGION, GRID, maps((20, 400), (20, 361)), FACE_PX
    )
    assert found[-1].stretch.plies == 1
    assert (found[-1].stretch.left, found[-1].stretch.right) == (350, 360)


def test_the_next_walls_stud_beside_the_end_stud_goes() -> None:
    found = cut_off_neighbours(studs(20, 200, 350, 362), REGION, GRID, maps((20, 361), (20, 400)), FACE_PX)
    assert [u.stretch.left for u in found] == [20, 200, 350]


def test_on_the_left_too() -> None:
    left = studs(8, 20, 200, 370)
    found = cut_off_neighbours(left, REGION, GRID, maps((19, 380), (0, 380)), FACE_PX)
    assert [u.stretch.left for u in found] == [20, 200, 370]


def test_a_double_at_the_end_that_stands_on_both_plates_stays() -> None:
    found = cut_off_neighbours(
        studs(20, 200, 360, plies=2), REGION, GRID, maps((20, 380), (20, 380)), FACE_PX
    )
    assert found[-1].stretch.plies == 2


def test_where_a_plate_is_hidden_nothing_is_cut_off() -> None:
    found = cut_off_neighbours(
        studs(20, 200, 360, plies=2), REGION, GRID, maps((20, 380), (20, 300)), FACE_PX
    )
    assert found[-1].stretch.plies == 2


def test_bare_plates_alone_imply_no_stud() -> None:
    nothing = np.zeros((48, WIDTH), np.float32)
    found = add_implied_ends(
        studs(20, 100, 200, 300), REGION, GRID, maps((20, 380), (20, 330)), nothing, FACE_PX
    )
    assert implied(found) == []
