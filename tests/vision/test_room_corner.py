"""What stands beside the end of a wall, on the next wall's plates, is not this wall's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.vision.laid_out import DISTANCE_IN, FACE_IN, member
from vision.directions import ViewDirections
from vision.rectify import RectGrid, to_rect
from vision.room_corner import without_the_next_wall
from vision.survey import Survey
from vision.wall_ends import LARGE_SIGMA_IN, end_sigma_in
from vision.wall_region import Region

WIDTH_PX, HEIGHT_PX, FOCAL_PX = 1600, 1200, 1150.0
VIEW = ViewDirections(np.eye(3), FOCAL_PX, 0.0, ((WIDTH_PX - 1) / 2, (HEIGHT_PX - 1) / 2), 1.0, 1.0)
CEILING_IN, FLOOR_IN = -45.0, 52.0  # under and over the camera's height
PLATE_IN = 1.5
LEFT_IN, RIGHT_IN = -80.0, 76.0  # the corners of the room


def room(left_in: float = LEFT_IN, right_in: float = RIGHT_IN, *, turns: bool = True) -> NDArray[np.float32]:
    """A wall with its plates between two corners, seen straight on, and both next walls with theirs.

    A point of a next wall, so near the camera that it looks `away` times as far from the middle, is as high
    as the point of this wall on the same ray (Hartley & Zisserman 2004, §8.6).
    """
    y, x = np.mgrid[0:HEIGHT_PX, 0:WIDTH_PX].astype(float)
    at_in = to_rect(VIEW, np.column_stack([x.ravel(), y.ravel()])) * DISTANCE_IN
    away = np.maximum(1.0, np.maximum(at_in[:, 0] / right_in, at_in[:, 0] / left_in)) if turns else 1.0
    height_in = at_in[:, 1] / away
    shade = np.full(len(height_in), 150.0)
    for from_in, to_in, grey in (
        (-1e3, CEILING_IN, 60.0),
        (CEILING_IN, CEILING_IN + PLATE_IN, 215.0),
        (CEILING_IN + PLATE_IN, CEILING_IN + 2 * PLATE_IN, 190.0),
        (FLOOR_IN - PLATE_IN, FLOOR_IN, 205.0),
        (FLOOR_IN, 1e3, 110.0),
    ):
        shade[(height_in >= from_in) & (height_in < to_in)] = grey
    rough = np.random.default_rng(3).normal(0, 4, len(shade))
    return (shade + rough).reshape(HEIGHT_PX, WIDTH_PX).astype(np.float32)


def surveyed(middles_in: list[float], plies: dict[int, int] | None = None) -> Survey:
    """Members with these middles; the wall's rectangle reaches from the first to the last."""
    members = []
    for i, at in enumerate(middles_in):
        m, n = member(at), (plies or {}).get(i, 1)
        half = 0.5 * n * FACE_IN / DISTANCE_IN
        stretch = replace(m.upright.stretch, plies=n)
        members.append(
            replace(
                m,
                x_left=at / DISTANCE_IN - half,
                x_right=at / DISTANCE_IN + half,
                upright=replace(m.upright, stretch=stretch),
            )
        )
    region = Region(members[0].x_left, CEILING_IN / DISTANCE_IN, members[-1].x_right, FLOOR_IN / DISTANCE_IN)
    grid = RectGrid(-1.0, -0.5, 0.001, 0.001, 2000, 1000)
    return Survey(region, FACE_IN / DISTANCE_IN, tuple(members), grid, None)


def middles_in(survey: Survey | None) -> list[float] | None:
    return None if survey is None else [round(m.x_centre * DISTANCE_IN, 2) for m in survey.members]


INNER = [-64.0, -48.0, -32.0, -16.0, 0.0, 16.0, 32.0, 48.0, 64.0]
OWN_LEFT, OWN_RIGHT = LEFT_IN + FACE_IN / 2, RIGHT_IN - FACE_IN / 2


@pytest.mark.parametrize("beyond_in", [2.0, 3.0, 4.0])
def test_the_next_walls_stud_beside_the_left_end_is_left_out(beyond_in: float) -> None:
    seen = surveyed([OWN_LEFT - beyond_in, OWN_LEFT, *INNER, OWN_RIGHT])
    found = without_the_next_wall(VIEW, room(), seen)
    assert middles_in(found) == [OWN_LEFT, *INNER, OWN_RIGHT]


def test_and_at_the_right_end() -> None:
    seen = surveyed([OWN_LEFT, *INNER, OWN_RIGHT, OWN_RIGHT + 2.5])
    found = without_the_next_wall(VIEW, room(), seen)
    assert middles_in(found) == [OWN_LEFT, *INNER, OWN_RIGHT]
    assert found is not None
    assert found.region.right * DISTANCE_IN == pytest.approx(RIGHT_IN)


def test_a_double_in_a_corner_is_one_stud_beside_the_next_walls_first() -> None:
    seen = surveyed([LEFT_IN, *INNER, OWN_RIGHT], {0: 2})
    found = without_the_next_wall(VIEW, room(), seen)
    assert middles_in(found) == [OWN_LEFT, *INNER, OWN_RIGHT]
    assert found is not None
    assert found.members[0].upright.stretch.plies == 1


def test_an_end_cut_so_stays_in_doubt() -> None:
    seen = surveyed([OWN_LEFT - 3.0, OWN_LEFT, *INNER, OWN_RIGHT])
    found = without_the_next_wall(VIEW, room(), seen)
    assert found is not None
    assert end_sigma_in(found, 0, "left") == LARGE_SIGMA_IN
    assert end_sigma_in(found, len(found.members) - 1, "right") == 0.0


@pytest.mark.parametrize("plies", [{}, {0: 2, 1: 1}])
def test_two_studs_of_a_framed_corner_stay_where_the_plates_turn_beyond_them(plies: dict[int, int]) -> None:
    """Both stand on this wall's plates: the next wall begins at the outer one's outer face."""
    first = LEFT_IN + FACE_IN / 2 * plies.get(0, 1)
    seen = surveyed([first, first + 3.0, *INNER, OWN_RIGHT], plies)
    assert without_the_next_wall(VIEW, room(), seen) is None


def test_plates_that_run_on_level_leave_all_as_it_is() -> None:
    seen = surveyed([OWN_LEFT - 3.0, OWN_LEFT, *INNER, OWN_RIGHT])
    assert without_the_next_wall(VIEW, room(turns=False), seen) is None


def test_a_single_stud_at_an_end_is_never_left_out() -> None:
    assert without_the_next_wall(VIEW, room(), surveyed([OWN_LEFT - 3.0, *INNER, OWN_RIGHT])) is None


def test_a_wall_that_the_photo_cuts_off_has_no_corner_there() -> None:
    seen = surveyed([OWN_LEFT - 3.0, OWN_LEFT, *INNER, OWN_RIGHT])
    cut = replace(seen, region=replace(seen.region, cut_left=True))
    assert without_the_next_wall(VIEW, room(), cut) is None
    tapped = replace(seen, region=replace(seen.region, tapped=True))
    assert without_the_next_wall(VIEW, room(), tapped) is None
