"""A face whose two edges are not a stud's width apart hangs on the better seen one."""

from hypothesis import given, settings
from hypothesis import strategies as st

from vision.edges import EdgeLine
from vision.measured import face_about_better_edge, is_chosen_edge

FACE = 0.01


def placed(pos: list[float], shares: tuple[float, float], columns: tuple[float, float]) -> list[float]:
    return face_about_better_edge(pos, shares, columns, FACE, FACE)


def test_edge_that_shows_over_the_whole_height_carries_the_face():
    left, right = placed([0.2, 0.2 + 1.4 * FACE], (1.0, 0.4), (1.0, 0.0))
    assert abs(left - 0.2) < 0.03 * FACE
    assert abs(right - left - FACE) < 1e-9


def test_face_of_a_stud_s_width_stays_where_it_was_seen():
    seen = [0.2, 0.2 + 1.05 * FACE]
    assert placed(seen, (1.0, 0.2), (1.0, 0.0)) == seen


def test_edge_against_what_is_behind_the_wall_wins_where_both_are_seen_alike():
    right_of_foot = placed([0.2, 0.2 + 1.4 * FACE], (0.8, 0.8), (0.8, 0.8))
    assert right_of_foot[1] - (0.2 + 1.4 * FACE) > 0.2 - right_of_foot[0] - 0.4 * FACE
    assert sum(right_of_foot) / 2 > 0.2 + 0.7 * FACE


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-0.6, 0.6),
    st.floats(0.5, 1.5),
    st.tuples(st.floats(0, 1), st.floats(0, 1)),
    st.tuples(st.floats(0, 1), st.floats(0, 1)),
)
def test_mirrored_face_is_placed_as_its_mirror_image(x, width, shares, columns):
    seen = [x, x + width * FACE]
    here = placed(seen, shares, columns)
    there = placed([-seen[1], -seen[0]], shares[::-1], columns[::-1])
    assert abs(here[0] + there[1]) < 1e-12
    assert abs(here[1] + there[0]) < 1e-12


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 1.5), st.tuples(st.floats(0, 1), st.floats(0, 1)))
def test_centre_never_leaves_what_the_two_edges_allow(width, shares):
    left, right = placed([0.1, 0.1 + width * FACE], shares, shares)
    centre = 0.5 * (left + right)
    a, b = sorted((0.1 + 0.5 * FACE, 0.1 + (width - 0.5) * FACE))
    assert a - 1e-12 <= centre <= b + 1e-12


def edge(x_mid: float, share: float, slope: float = 0.0) -> EdgeLine:
    return EdgeLine(x_mid, slope, 0.02 * FACE, share)


def test_fit_that_followed_a_shadow_beside_the_edge_is_not_that_edge():
    assert not is_chosen_edge(edge(0.2 + 0.3 * FACE, 0.5), 0.2, 0.95, 0.0, FACE)
    assert is_chosen_edge(edge(0.2 + 0.05 * FACE, 0.5), 0.2, 0.95, 0.0, FACE)


def test_fit_over_the_whole_height_may_move_a_clear_edge_a_little_further():
    moved = 0.2 + 0.12 * FACE
    assert is_chosen_edge(edge(moved, 0.95), 0.2, 0.9, 0.0, FACE)
    assert not is_chosen_edge(edge(moved, 0.5), 0.2, 0.9, 0.0, FACE)
    assert not is_chosen_edge(edge(moved, 0.95, slope=0.05), 0.2, 0.9, 0.0, FACE)
