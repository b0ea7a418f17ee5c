"""Whether a board gets in, against published figures and against polygons moved step by step."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon, box

from layout import Board
from layout.access import (
    Corner,
    Gap,
    Stairs,
    Way,
    boards_that_pass,
    fits_through,
    longest_round,
    longest_through,
    longest_way,
)

SPANS = st.floats(20.0, 120.0)


@pytest.mark.parametrize(
    ("first_in", "second_in", "longest_ft"),
    # the first two are worked examples published on question-and-answer pages of mathematics (a ladder
    # round a corner: 3 and 4 ft, 9 and 6 ft); the others follow from the formula
    [(36.0, 48.0, 9.87), (108.0, 72.0, 21.07), (36.0, 36.0, 101.8 / 12), (36.0, 32.0, 96.1 / 12)],
)
def test_the_longest_thin_board_round_a_corridor_corner(first_in, second_in, longest_ft) -> None:
    assert longest_round(first_in, second_in, 0.0) / 12 == pytest.approx(longest_ft, abs=0.006)


@given(SPANS, SPANS)
@settings(max_examples=40, deadline=None)
def test_without_thickness_the_corner_follows_the_published_formula(a, b) -> None:
    # L = (a^(2/3) + b^(2/3))^(3/2), the moving ladder of calculus books
    assert longest_round(a, b, 0.0) == pytest.approx((a ** (2 / 3) + b ** (2 / 3)) ** 1.5, rel=1e-5)


@given(SPANS, SPANS, st.floats(0.25, 10.0), st.floats(0.0, 30.0), st.floats(0.0, 30.0))
@settings(max_examples=40, deadline=None)
def test_wider_corridors_and_thinner_boards_never_shorten_what_passes(a, b, thick, wider, other) -> None:
    least = longest_round(a, b, thick)
    assert longest_round(a + wider, b + other, thick) >= least - 1e-6
    assert longest_round(a, b, thick / 2) >= least - 1e-6
    assert longest_round(a, b, thick) == pytest.approx(longest_round(b, a, thick), rel=1e-6)


def swept_inside(a_in: float, b_in: float, length_in: float, thick_in: float, turn_deg: float) -> bool:
    """Carry a rectangle round the bend in small turns, its outer edge on both outer walls; inside or not."""
    far = 3000.0
    turn = math.radians(turn_deg)
    along = (-math.cos(turn), math.sin(turn))
    across = (math.sin(turn), math.cos(turn))
    level = Polygon([(-far, 0), (far, 0), (far, b_in), (-far, b_in)])
    sloped = Polygon(
        [
            (-far * along[0], -far * along[1]),
            (far * along[0], far * along[1]),
            (far * along[0] + a_in * across[0], far * along[1] + a_in * across[1]),
            (-far * along[0] + a_in * across[0], -far * along[1] + a_in * across[1]),
        ]
    )
    free = level.union(sloped)
    # the corner of the two outer walls is the origin: nothing lies beyond either
    free = free.intersection(Polygon([(-far, 0), (far, 0), (far, far), (-far, far)]))
    beyond = affinity.rotate(box(-far, -far, far, 0), -turn_deg, origin=(0, 0))
    free = free.difference(beyond).buffer(1e-3)
    for number in range(1, 181):
        angle = turn * number / 181
        at = length_in * math.sin(turn - angle) / math.sin(turn)
        board = affinity.rotate(box(0, -thick_in, length_in, 0), 180 - math.degrees(angle), origin=(0, 0))
        if not free.contains(affinity.translate(board, at, 0.0)):
            return False
    return True


@pytest.mark.parametrize(
    ("a_in", "b_in", "thick_in", "turn_deg"),
    [(36, 48, 0.5, 90), (36, 36, 4, 90), (30, 42, 12, 90), (62.8, 90, 48, 37.8), (70, 84, 54, 40)],
)
def test_a_rectangle_moved_step_by_step_just_passes_and_just_does_not(a_in, b_in, thick_in, turn_deg) -> None:
    longest_in = longest_round(a_in, b_in, thick_in, turn_deg)
    assert swept_inside(a_in, b_in, longest_in * 0.998, thick_in, turn_deg)
    assert not swept_inside(a_in, b_in, longest_in * 1.004, thick_in, turn_deg)


@given(st.floats(10.0, 60.0), st.floats(0.25, 20.0), st.floats(15.0, 60.0), st.floats(15.0, 60.0))
@settings(max_examples=150, deadline=None)
def test_a_rectangle_goes_through_another_as_its_turned_outline_does(p, q, a, b) -> None:
    # turned by t a rectangle takes p cos t + q sin t by p sin t + q cos t: looked for over all turns
    turns = [math.radians(step / 20) for step in range(1801)]
    slack = max(
        min(
            a - (p * math.cos(t) + q * math.sin(t)),
            b - (p * math.sin(t) + q * math.cos(t)),
        )
        for t in turns
    )
    if abs(slack) > 0.02:
        assert fits_through(p, q, a, b) == (slack > 0)


def test_a_window_that_only_meets_the_escape_code_passes_no_board_four_feet_wide() -> None:
    # IRC R310: 5.7 sq ft; 20 in wide then needs 41.04 in, 24 in high then 34.2 in
    for width_in, height_in in ((20.0, 5.7 * 144 / 20.0), (5.7 * 144 / 24.0, 24.0)):
        assert width_in * height_in / 144 == pytest.approx(5.7)
        assert longest_through(Gap("w", width_in, height_in), 48.0, 0.5, 0.0) == 0.0
        assert math.hypot(width_in, height_in) < 48.0


def test_a_board_goes_through_askew_where_upright_it_does_not() -> None:
    assert longest_through(Gap("w", 36.0, 46.0), 48.0, 0.5) == math.inf
    assert not 48.0 <= 46.0
    assert longest_through(Gap("w", 12.0, 46.0), 48.0, 0.5) == 0.0


def test_the_pad_on_the_sill_takes_from_the_height() -> None:
    assert longest_through(Gap("w", 8.0, 49.0), 48.0, 0.5) == math.inf
    assert longest_through(Gap("w", 8.0, 49.0, pad_in=1.5), 48.0, 0.5) == 0.0


@given(st.floats(8.0, 60.0), st.floats(8.0, 60.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0))
@settings(max_examples=60, deadline=None)
def test_what_passes_a_window_passes_a_bigger_one(width_in, height_in, wider_in, higher_in) -> None:
    small = longest_through(Gap("w", width_in, height_in), 48.0, 0.5)
    assert longest_through(Gap("w", width_in + wider_in, height_in + higher_in), 48.0, 0.5) >= small


@given(st.floats(60.0, 100.0), st.floats(80.0, 110.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0))
@settings(max_examples=30, deadline=None)
def test_more_headroom_never_shortens_what_comes_down_the_stairs(headroom, foot, more, higher) -> None:
    low = longest_through(Stairs("s", 36.0, headroom, ceiling_in=foot), 48.0, 0.5)
    high = longest_through(Stairs("s", 36.0, headroom + more, ceiling_in=foot + higher), 48.0, 0.5)
    assert high >= low - 1e-6


def test_stairs_with_less_headroom_square_to_the_slope_than_the_board_is_wide_pass_none() -> None:
    # IRC R311.7: 6 ft 8 in plumb; on a 45 degree flight that is 56.6 in square to it
    steep = {"rise_in": 10.0, "run_in": 10.0}
    assert longest_through(Stairs("s", 36.0, 80.0, **steep), 54.0, 0.5, 0.0) > 0.0
    assert longest_through(Stairs("s", 36.0, 76.0, **steep), 54.0, 0.5, 0.0) == 0.0


def test_a_board_comes_by_the_best_way_and_must_pass_all_of_it() -> None:
    hall = Way("hall", (Gap("door", 32.0, 78.0, "door"), Corner("corner", 36.0, 36.0)))
    window = Way("window", (Gap("window", 36.0, 24.0),))
    longest_in, way, passage = longest_way((hall, window), 48.0, 0.5)
    assert way is hall
    assert passage is hall.passages[1]
    assert 96.0 < longest_in < 101.8
    boards = [Board("regular", 0.5, 48.0, length_in, 10.0) for length_in in (96.0, 120.0, 144.0)]
    assert boards_that_pass(boards, (hall, window)) == (boards[0],)
    assert boards_that_pass(boards, ()) == tuple(boards)
