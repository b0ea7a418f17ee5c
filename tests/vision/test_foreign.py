"""Pipes among studs: told by their colour and their lost edge, and only by both together."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vision.columns import ColumnShares
from vision.extent import Upright
from vision.foreign import drop_foreign, left_out
from vision.members import Stretch

FACE_PX = 12
LUMBER, COPPER, BLUE_PIPE = (65.0, 8.0, 22.0), (45.0, 28.0, 38.0), (40.0, 10.0, -45.0)


def upright(left: int, edges: tuple[float, float] = (0.9, 0.9)) -> Upright:
    stretch = Stretch(left, left + FACE_PX, 1, 0.9, *edges, 2.5, 0.0)
    return Upright(stretch, 0.0, 1.0, 1.0, True)


def picture(members: list[Upright], colours: list[tuple[float, float, float]]) -> np.ndarray:
    """Banded Lab colours (48, W, 3) of a grey wall with one colour per member."""
    bands = np.full((48, 900, 3), (40.0, 0.0, 0.0), np.float32)
    for u, colour in zip(members, colours, strict=True):
        bands[:, int(u.stretch.left) : int(u.stretch.right) + 1] = colour
    return bands


def test_copper_pipe_between_studs_is_left_out():
    members = [upright(x) for x in (20, 180, 340, 500, 660)]
    members.insert(2, upright(250, edges=(0.0, 0.95)))
    kept = drop_foreign(members, picture(members, [LUMBER] * 2 + [COPPER] + [LUMBER] * 3))
    assert [u.stretch.left for u in kept] == [20, 180, 340, 500, 660]


def test_painted_stud_with_both_edges_stays():
    members = [upright(x) for x in (20, 180, 340, 500, 660)]
    assert drop_foreign(members, picture(members, [LUMBER] * 2 + [COPPER] + [LUMBER] * 2)) == members


def test_stud_of_the_lumber_s_colour_with_one_edge_stays():
    members = [upright(x, (0.0, 0.95) if x == 340 else (0.9, 0.9)) for x in (20, 180, 340, 500, 660)]
    assert drop_foreign(members, picture(members, [LUMBER] * 5)) == members


def test_stud_half_behind_a_yellow_level_stays():
    members = [upright(x, (0.0, 0.95) if x == 340 else (0.9, 0.9)) for x in (20, 180, 340, 500, 660)]
    bands = picture(members, [LUMBER] * 5)
    bands[24:, 340:353] = (75.0, 5.0, 80.0)
    assert drop_foreign(members, bands) == members


def test_two_or_three_members_do_not_say_what_colour_the_lumber_is():
    members = [upright(20), upright(180, (0.0, 0.9)), upright(340)]
    assert drop_foreign(members, picture(members, [LUMBER, COPPER, LUMBER])) == members


def test_pipe_beside_a_stud_goes_and_the_stud_stays():
    members = [upright(x) for x in (20, 180, 340, 500, 660)]
    pair = Stretch(340, 340 + 2 * FACE_PX, 2, 0.9, 0.1, 0.1, 4.0, 0.0)
    members[2] = Upright(pair, 0.0, 1.0, 1.0, True)
    bands = picture(members, [LUMBER] * 5)
    bands[:, 340 + FACE_PX : 341 + 2 * FACE_PX] = BLUE_PIPE
    kept = drop_foreign(members, bands)
    assert [(u.stretch.left, u.stretch.right, u.stretch.plies) for u in kept][2] == (340, 340 + FACE_PX, 1)


def test_odd_coloured_face_that_the_network_is_sure_of_stays_in_doubt():
    members = [upright(x) for x in (20, 180, 340, 500, 660)]
    members[2] = upright(340, edges=(0.9, 0.1))
    bands = picture(members, [LUMBER] * 2 + [COPPER] + [LUMBER] * 2)
    none, sure = np.zeros(900), np.ones(900)
    kept = drop_foreign(members, bands, ColumnShares(sure, none, sure, sure))
    assert [u.odd_colour for u in kept] == [False, False, True, False, False]
    assert len(drop_foreign(members, bands, ColumnShares(none, none, none, none))) == 4


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 4), st.floats(0, 1), st.floats(0, 1))
def test_studs_all_of_one_lumber_all_stay(which: int, left: float, right: float):
    members = [upright(x) for x in (20, 180, 340, 500, 660)]
    members[which] = upright(int(members[which].stretch.left), (left, right))
    assert drop_foreign(members, picture(members, [LUMBER] * 5)) == members


def test_bright_blue_pipe_is_left_out_though_both_its_edges_show():
    members = [upright(x) for x in (20, 180, 250, 340, 500, 660)]
    kept = drop_foreign(members, picture(members, [LUMBER] * 2 + [BLUE_PIPE] + [LUMBER] * 3))
    assert [u.stretch.left for u in kept] == [20, 180, 340, 500, 660]


def group(left: int, colours: list[tuple[float, float, float]]) -> tuple[Upright, dict[int, tuple]]:
    """Faces side by side read as one group, and the colour of each by its left edge."""
    right = left + FACE_PX * len(colours)
    stretch = Stretch(left, right, len(colours), 0.9, 0.9, 0.9, 2.5 * len(colours), 0.0)
    return Upright(stretch, 0.0, 1.0, 1.0, True), {left + FACE_PX * k: c for k, c in enumerate(colours)}


@pytest.mark.parametrize("pipe_first", [True, False])
def test_pipe_that_touches_a_stud_is_no_second_ply(pipe_first: bool):
    members = [upright(x) for x in (20, 180, 340, 500)]
    both, colours = group(660, [COPPER, LUMBER] if pipe_first else [LUMBER, COPPER])
    bands = picture(members, [LUMBER] * 4)
    for left, colour in colours.items():
        bands[:, left : left + FACE_PX] = colour
    stud = drop_foreign([*members, both], bands)[-1].stretch
    assert stud.plies == 1
    assert (stud.left, stud.right) == ((672, 684) if pipe_first else (660, 672))
    # Only the pipe is taken out of the picture, not the stud it touches.
    ((first, end),) = left_out([*members, both], drop_foreign([*members, both], bands), 4.0)
    assert (first, end) == ((656, 673) if pipe_first else (672, 689))


def test_what_a_whole_pipe_leaves_out_is_the_pipe_with_a_margin():
    members = [upright(x) for x in (20, 180, 250, 340, 500, 660)]
    kept = drop_foreign(members, picture(members, [LUMBER] * 2 + [BLUE_PIPE] + [LUMBER] * 3))
    assert left_out(members, kept, 4.0) == [(246, 267)]


def test_doubled_stud_of_one_lumber_stays_doubled():
    members = [upright(x) for x in (20, 180, 340, 500)]
    both, _ = group(660, [LUMBER, LUMBER])
    assert drop_foreign([*members, both], picture([*members, both], [LUMBER] * 5)) == [*members, both]


@pytest.mark.parametrize(("share", "kept"), [(0.998, True), (0.8, False)])
def test_stud_of_redder_wood_with_a_lost_edge_stays_where_the_network_is_sure(share: float, kept: bool):
    members = [upright(x, (0.0, 0.95) if x == 340 else (0.9, 0.9)) for x in (20, 180, 340, 500, 660)]
    full, left, right = np.full(900, 0.01), np.zeros(900), np.zeros(900)
    for u in members:
        a, b = int(u.stretch.left), int(u.stretch.right)
        full[a : b + 1], left[a], right[b] = share, 0.95, 0.95
    judged = ColumnShares(full, np.zeros(900), left, right)
    colours = [LUMBER] * 2 + [COPPER] + [LUMBER] * 2
    left = {u.stretch: u.odd_colour for u in drop_foreign(members, picture(members, colours), judged)}
    assert left.pop(members[2].stretch, None) is (True if kept else None), "kept in doubt, or gone"
    assert not any(left.values())
