"""What the column network's word changes in how sure a stud and a wall's end are."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import pytest

from vision.columns import ColumnShares
from vision.doubt import WIDE_SIGMA_IN, _plainly_judged
from vision.extent import Upright
from vision.measured import Measured
from vision.members import Stretch
from vision.rectify import RectGrid
from vision.survey import Survey
from vision.wall_ends import LARGE_SIGMA_IN, end_sigma_in
from vision.wall_region import Region
from vision.what import WhatMaps

FACE_PX, COLUMNS, ROWS, STEP = 20, 700, 200, 0.0005
END, NEXT = 20, 340  # left edges of the end stud and of the next one, columns


def shares(*faces: tuple[int, float]) -> ColumnShares:
    """What the network says of faces (left edge, share of full-height face)."""
    full, left, right = np.full(COLUMNS, 0.01), np.zeros(COLUMNS), np.zeros(COLUMNS)
    for at, share in faces:
        full[at : at + FACE_PX] = share
        left[at], right[at + FACE_PX] = 0.95, 0.95
    return ColumnShares(full, np.zeros(COLUMNS), left, right)


def member(left: int, edges: float = 0.9) -> Measured:
    up = Upright(Stretch(left, left + FACE_PX, 1, 0.99, edges, edges, 3.0, 0.0), 0.0, 1.0, 1.0, True)
    a, b = left * STEP, (left + FACE_PX) * STEP
    return Measured(a, b, 0.0, 0.0, ROWS * STEP, 0.0003, b - a, None, None, up)


def wall(judged: ColumnShares | None, edges: float = 0.9) -> Survey:
    """Two studs; the pixels show some front face outside the first: perhaps a further ply."""
    front = np.zeros((ROWS, COLUMNS), np.float32)
    front[:, 2:18] = 0.6
    full = np.ones_like(front)
    maps = WhatMaps(front, full, full, 0 * front, 0 * front, full)
    grid = RectGrid(0.0, 0.0, STEP, STEP, COLUMNS, ROWS)
    region = Region(END * STEP, 0.0, 0.9 * COLUMNS * STEP, ROWS * STEP)
    studs = (member(END, edges), member(NEXT))
    return Survey(region, FACE_PX * STEP, studs, grid, maps, judged=judged)


def test_a_perhaps_further_ply_makes_the_end_doubtful_without_the_networks_word() -> None:
    assert end_sigma_in(wall(None), 0, "left") == LARGE_SIGMA_IN


def test_the_network_that_sees_nothing_outside_the_end_stud_settles_the_end() -> None:
    assert end_sigma_in(wall(shares((END, 0.99), (NEXT, 0.99))), 0, "left") < 0.2


def test_the_network_that_sees_a_face_outside_too_leaves_the_end_doubtful() -> None:
    beside = shares((0, 0.6), (END, 0.99), (NEXT, 0.99))
    assert end_sigma_in(wall(beside), 0, "left") == LARGE_SIGMA_IN


@pytest.mark.parametrize(("of_this_wall", "doubtful"), [(1.0, True), (0.1, False)])
def test_a_face_seen_four_inches_beyond_the_first_stud_and_not_taken_leaves_the_end_in_doubt(
    of_this_wall: float, doubtful: bool
) -> None:
    """The first stud of a corner was left out once: every place was 4 in off, and called sure."""
    survey = wall(shares((NEXT - 3 * FACE_PX, 0.8), (NEXT, 0.99)))
    assert survey.maps is not None
    survey.maps.front[:] = 0.0
    survey.maps.wall[:, : NEXT - FACE_PX] = of_this_wall
    alone = replace(survey, members=survey.members[1:])
    assert (end_sigma_in(alone, 0, "left") == LARGE_SIGMA_IN) is doubtful


def test_a_picture_that_ends_just_beyond_the_end_stud_has_room_for_no_other_stud() -> None:
    """Less than half a face was to be seen there once, and the reading broke off."""
    survey = wall(shares((12, 0.99), (NEXT, 0.99)))
    assert survey.maps is not None
    survey.maps.front[:] = 0.0
    assert end_sigma_in(replace(survey, members=(member(12), member(NEXT))), 0, "left") < 0.2


def test_an_end_stud_whose_edges_no_gradient_shows_is_placed_less_surely_though_the_network_knows_it() -> (
    None
):
    judged = shares((END, 0.99), (NEXT, 0.99))
    clear, unclear = (end_sigma_in(wall(judged, edges=e), 0, "left") for e in (0.9, 0.35))
    assert clear < unclear < WIDE_SIGMA_IN


def test_an_end_stud_that_neither_edges_nor_the_network_show_leaves_every_place_in_doubt() -> None:
    judged = shares((NEXT, 0.99))
    survey = wall(judged, edges=0.35)
    assert survey.maps is not None
    survey.maps.front[:] = 0.0
    hardly = replace(survey.members[0].upright.stretch, front=0.75)
    end = replace(survey.members[0], upright=replace(survey.members[0].upright, stretch=hardly))
    assert end_sigma_in(replace(survey, members=(end, survey.members[1])), 0, "left") > WIDE_SIGMA_IN


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_wall_whose_end_stud_shows_its_inner_edge_alone_may_go_on_behind_a_board(
    side: Literal["left", "right"],
) -> None:
    """A board hung over the first 32 in of a wall hides the outer half of the stud it ends on."""
    judged = shares((END, 0.99), (NEXT, 0.99))
    survey, index = wall(judged, edges=0.35), 0 if side == "left" else 1
    assert survey.maps is not None
    survey.maps.front[:] = 0.0
    end = survey.members[index]
    seen = (
        {"edge_left": 0.0, "edge_right": 0.45} if side == "left" else {"edge_left": 0.45, "edge_right": 0.0}
    )
    covered = replace(end, upright=replace(end.upright, stretch=replace(end.upright.stretch, **seen)))
    members = [covered if i == index else m for i, m in enumerate(survey.members)]
    assert end_sigma_in(replace(survey, members=tuple(members)), index, side) > WIDE_SIGMA_IN


@pytest.mark.parametrize(("beside", "sigma_in"), [(0.6, LARGE_SIGMA_IN), (0.1, 0.0)])
def test_an_end_double_with_more_front_face_beside_it_may_be_one_stud_and_something_else(
    beside: float, sigma_in: float
) -> None:
    """A steel stud and what stood beside it were read as a double: every place was 1 1/2 in off."""
    survey = wall(shares((END, 0.99), (NEXT, 0.99), (NEXT + FACE_PX, 0.99)))
    assert survey.maps is not None
    survey.maps.front[:, NEXT - 2 * FACE_PX : NEXT] = beside
    survey.maps.side[:] = 0.2
    end = survey.members[1]
    two = replace(end.upright.stretch, right=NEXT + 2 * FACE_PX, plies=2)
    double = replace(end, x_right=end.x_right + FACE_PX * STEP, upright=replace(end.upright, stretch=two))
    assert end_sigma_in(replace(survey, members=(survey.members[0], double)), 1, "right") == sigma_in


@pytest.mark.parametrize(("share", "plain"), [(0.995, True), (0.9, False)])
def test_only_a_face_the_network_has_no_doubt_of_is_plain(share: float, plain: bool) -> None:
    survey = wall(shares((END, 0.99), (NEXT, share)))
    assert _plainly_judged(survey.members[1], survey) is plain


def test_a_face_one_of_whose_edges_the_network_does_not_see_is_not_plain() -> None:
    judged = shares((END, 0.99), (NEXT, 0.995))
    judged.right[NEXT + FACE_PX] = 0.5
    survey = wall(judged)
    assert not _plainly_judged(survey.members[1], survey)
