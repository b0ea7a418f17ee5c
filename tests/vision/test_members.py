"""Members are chosen as the best set over the whole wall: no stud twice, no side face as a second stud."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from vision.best_apart import Integral, best_apart
from vision.candidate_edges import candidate_edges
from vision.face_width import face_width_px
from vision.members import LEAST_GAP, Stretch, select_members
from vision.ply_cues import PlyCues

FACE_PX = 20.0
COLUMNS = 700


class DrawnWall:
    """Evidence along a wall as a clear photo gives it: share of front face, edges, joints, side faces."""

    def __init__(self) -> None:
        self.front = np.full(COLUMNS, 0.03)
        self.share = np.zeros(COLUMNS)
        self.joint = np.zeros(COLUMNS)
        self.side = np.zeros(COLUMNS)
        self.foot = 0.0

    def face(self, left: int, plies: int = 1, front: float = 0.95) -> DrawnWall:
        right = left + round(plies * FACE_PX)
        self.front[left:right] = front
        for edge in (left, right):
            self.edge(edge, 0.9)
        for k in range(1, plies):
            self.joint[left + round(k * FACE_PX)] = 0.8
            self.edge(left + round(k * FACE_PX), 0.5)
        return self

    def edge(self, column: int, share: float) -> None:
        # An edge between two columns lies half a column before the first of the new ones.
        self.share[column - 1 : column + 1] = np.maximum(self.share[column - 1 : column + 1], share * 0.9)
        self.share[column] = max(self.share[column], share)

    def members(self) -> list[Stretch]:
        cues = PlyCues(self.joint, self.side, np.zeros(COLUMNS), 132 / 1.5 * FACE_PX, 3.5 / 1.5 * FACE_PX)
        flat = np.zeros(COLUMNS)
        return select_members(self.front, self.share, flat, FACE_PX, cues, self.foot)


def test_each_stud_of_an_open_wall_is_read_once_where_it_stands() -> None:
    wall = DrawnWall()
    at = [40, 190, 340, 490, 640]
    for left in at:
        wall.face(left)
    found = wall.members()
    assert [m.plies for m in found] == [1] * 5
    np.testing.assert_allclose([m.centre for m in found], np.array(at) + 0.5 * FACE_PX, atol=1.0)
    np.testing.assert_allclose([m.width for m in found], FACE_PX, atol=1.5)


def test_a_doubled_stud_with_its_joint_is_one_group_of_two_plies() -> None:
    wall = DrawnWall().face(100).face(300, plies=2).face(560)
    # Right of the camera's foot a member shows its side to the left, as wide as the view allows.
    wall.foot = 0.0
    for left in (100, 300, 560):
        shows = round(left * (3.5 / 1.5 * FACE_PX) / (132 / 1.5 * FACE_PX + 3.5 / 1.5 * FACE_PX))
        wall.side[left - shows : left] = 0.9
    found = wall.members()
    assert [m.plies for m in found] == [1, 2, 1]
    assert found[1].centre == pytest.approx(320, abs=1.0)


def test_a_tripled_corner_is_counted_as_three_plies() -> None:
    wall = DrawnWall().face(100).face(300, plies=3).face(560)
    for left in (100, 300, 560):
        wall.side[left - round(left * 0.026) : left] = 0.9
    assert [m.plies for m in wall.members()] == [1, 3, 1]


def test_a_side_face_beside_its_own_front_is_no_second_stud() -> None:
    """The stud far to the right shows its side to the camera, and the side is lit like a front."""
    wall = DrawnWall().face(100).face(330).face(600)
    wall.front[585:600] = 0.55  # the side face, half taken for a front
    wall.edge(585, 0.8)
    found = wall.members()
    assert [m.plies for m in found] == [1, 1, 1]
    assert found[2].centre == pytest.approx(610, abs=1.5)


def test_a_side_face_as_wide_as_a_face_is_no_second_ply_without_a_joint() -> None:
    wall = DrawnWall().face(100).face(330).face(600)
    wall.front[580:600] = 0.8
    wall.edge(580, 0.8)
    found = wall.members()
    assert [m.plies for m in found] == [1, 1, 1]
    assert found[2].left >= 578


def test_nothing_is_read_on_a_bare_wall() -> None:
    assert DrawnWall().members() == []


def test_a_scratch_with_no_front_face_beside_it_is_no_stud() -> None:
    wall = DrawnWall().face(100).face(560)
    for column in (300, 320):
        wall.edge(column, 0.9)
    assert [round(m.centre) for m in wall.members()] == [110, 570]


def test_the_face_width_is_that_of_single_studs_not_of_doubles() -> None:
    wall = DrawnWall()
    for left, plies in ((40, 2), (190, 1), (300, 1), (420, 1), (560, 2)):
        wall.face(left, plies)
    assert face_width_px(wall.front) == pytest.approx(FACE_PX, abs=1)


def test_a_photo_with_one_stud_tells_no_typical_width() -> None:
    assert face_width_px(DrawnWall().face(300).front) is None


def test_edges_are_found_between_columns() -> None:
    share = np.zeros(60)
    share[29:32] = (0.4, 0.8, 0.6)  # a parabola through these peaks 0.167 right of column 30
    cols, weight = candidate_edges(share, np.full(60, 0.05), FACE_PX)
    k = int(np.argmax(weight))
    assert cols[k] == pytest.approx(30 + 1 / 6, abs=1e-6)
    assert np.all(np.diff(cols) >= 0)


def best_by_trying_all(
    left: NDArray[np.float64], right: NDArray[np.float64], score: NDArray[np.float64], gap: float
) -> float:
    """Largest total score of any set of stretches that keep `gap` apart, by trying every set."""
    best = 0.0
    for size in range(1, len(left) + 1):
        for picked in combinations(range(len(left)), size):
            order = sorted(picked, key=lambda k: left[k])
            if all(left[b] - right[a] >= gap for a, b in pairwise(order)):
                best = max(best, float(score[list(picked)].sum()))
    return best


stretches = st.lists(
    st.tuples(st.integers(0, 60), st.integers(4, 25), st.floats(0.1, 6.0)), min_size=1, max_size=8
)


@given(drawn=stretches, gap=st.integers(0, 10))
@settings(max_examples=80, deadline=None)
def test_no_other_choice_of_members_scores_better(drawn: list[tuple[int, int, float]], gap: int) -> None:
    """Weighted interval scheduling against exhaustive search (Kleinberg & Tardos 2005, section 6.1)."""
    left = np.array([d[0] for d in drawn], float)
    right = left + np.array([d[1] for d in drawn], float)
    score = np.array([d[2] for d in drawn])
    none = np.zeros(len(left))
    chosen = best_apart(left, right, score, float(gap), 0.0, none, none + 1)
    assert np.all(np.diff(left[chosen]) > 0)
    assert np.all(left[chosen][1:] - right[chosen][:-1] >= gap)
    assert score[chosen].sum() == pytest.approx(best_by_trying_all(left, right, score, float(gap)))


def test_nothing_to_choose_from_gives_no_members() -> None:
    none = np.zeros(0)
    assert len(best_apart(none, none, none, LEAST_GAP * FACE_PX, 0.0, none, none)) == 0


def test_a_stretch_where_the_neighbours_side_must_show_is_given_up() -> None:
    """Two stretches 10 columns apart, far right of the camera: the outer one must show 30 columns of side."""
    left, right = np.array([500.0, 530.0]), np.array([520.0, 550.0])
    score, shows = np.array([3.0, 4.0]), np.array([28.0, 30.0])
    shows_none_of_its_own, shows_its_own = np.array([0.0, 1.0]), np.array([1.0, 1.0])
    one = best_apart(left, right, score, 8.0, 0.0, shows, shows_none_of_its_own)
    both = best_apart(left, right, score, 8.0, 0.0, shows, shows_its_own)
    assert list(one) == [1]
    assert list(both) == [0, 1]


def test_a_stud_that_reaches_beyond_its_neighbours_side_face_is_kept() -> None:
    """The last two studs of a wall, 10 columns apart: the outer one's side face shows over 20 columns."""
    left, right = np.array([500.0, 530.0]), np.array([520.0, 550.0])
    score, shows, none_seen = np.array([3.0, 4.0]), np.array([19.0, 20.0]), np.array([0.0, 1.0])
    assert list(best_apart(left, right, score, 8.0, 0.0, shows, none_seen)) == [0, 1]


def test_two_studs_with_only_front_face_between_them_are_one_stud_and_its_side() -> None:
    left, right, score = np.array([100.0, 128.0]), np.array([120.0, 148.0]), np.array([3.0, 4.0])
    none = np.zeros(2)
    for share, chosen in ((0.9, [1]), (0.1, [0, 1])):
        front = np.full(300, share)
        found = best_apart(left, right, score, 8.0, 0.0, none, none + 1, (Integral(front), 20.0))
        assert list(found) == chosen
