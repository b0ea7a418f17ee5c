"""The left end of a wall by the marks its studs stand on: Bayes' rule by hand, and what it may not do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.vision.laid_out import DISTANCE_IN, wall
from vision.layout_end import end_by_layout, right_double_doubted, with_end_at
from vision.placing import Placed
from vision.survey import Survey


def test_a_hidden_corner_stud_is_placed_by_studs_at_16_from_it() -> None:
    """The corner was read 1.6 in too far right, so the studs seem to stand at 14.4, 30.4 and so on."""
    survey, placed = wall([14.4, 30.4, 46.4, 62.4, 78.4, 89.0], 90.0)
    found = end_by_layout(survey, placed, None, 5)
    assert found is not None
    assert found.shift_in == pytest.approx(-1.6, abs=0.01)


def test_an_end_seen_near_its_mark_stays_and_is_surer() -> None:
    survey, placed = wall([15.9, 32.0, 47.9, 64.1, 80.0, 89.0], 90.0)
    found = end_by_layout(survey, placed, None, 5)
    assert found is not None
    assert found.shift_in == 0.0
    assert found.sigma_in < 0.75


def test_marks_counted_from_the_right_end_say_nothing_of_the_left() -> None:
    length_in = 90.0
    middles = [length_in - 16.0 * k for k in (5, 4, 3, 2, 1)]
    survey, placed = wall([*middles, length_in - 0.75], length_in)
    assert end_by_layout(survey, placed, None, 5) is None


def test_an_end_that_the_photo_shows_well_is_not_asked_about() -> None:
    survey, placed = wall([0.75, 17.4, 33.4, 49.4, 65.4, 89.25], 90.0)
    assert end_by_layout(survey, placed, 0, 5) is None


def with_double_at_end(middles_in: list[float], length_in: float) -> tuple[Survey, Placed]:
    """A wall whose first member, 3 in wide from its left end, was read as two side by side."""
    survey, placed = wall([1.5, *middles_in, length_in - 0.75], length_in)
    end = survey.members[0]
    face = survey.face
    stretch = end.upright.stretch
    two = replace(stretch, right=stretch.left + 2 * (stretch.right - stretch.left), plies=2)
    double = replace(end, x_left=0.0, x_right=2 * face, upright=replace(end.upright, stretch=two))
    return replace(survey, members=(double, *survey.members[1:])), placed


def test_a_double_at_the_end_that_the_marks_would_have_single_is_single() -> None:
    """The outer face was the next wall's first stud: the others stand at 17.5, 33.5 and so on from it."""
    survey, placed = with_double_at_end([17.5, 33.5, 49.5, 65.5, 81.5], 94.0)
    found = end_by_layout(survey, placed, 0, 6)
    assert found is not None
    assert found.shift_in == pytest.approx(1.5, abs=0.01)
    end = with_end_at(survey, placed, 0, found.shift_in).members[0]
    assert end.upright.stretch.plies == 1
    assert (end.x_left * DISTANCE_IN, end.x_right * DISTANCE_IN) == pytest.approx((1.5, 3.0))


def test_a_double_at_the_end_is_single_but_in_doubt_where_the_marks_may_be_counted_from_the_other_end() -> (
    None
):
    length_in = 97.5  # from the right end all stand at 16, 32 and so on
    survey, placed = with_double_at_end([17.5, 33.5, 49.5, 65.5, 81.5], length_in)
    found = end_by_layout(survey, placed, 0, 6)
    assert found is not None
    assert found.shift_in == pytest.approx(1.5, abs=0.01)
    assert found.sigma_in > 0.5
    assert "ply_unclear" in found.doubts


def mirrored(survey: Survey, placed: Placed) -> tuple[Survey, Placed]:
    """The same wall seen from behind: its double ends it on the right."""
    end = survey.members[-1].x_right
    turned = [replace(m, x_left=end - m.x_right, x_right=end - m.x_left) for m in reversed(survey.members)]
    at = placed.length_in - placed.centre_in[::-1]
    return replace(survey, members=tuple(turned)), replace(placed, centre_in=at)


def test_a_double_at_the_right_end_is_in_doubt_where_the_marks_would_have_it_single() -> None:
    survey, placed = mirrored(*with_double_at_end([17.5, 33.5, 49.5, 65.5, 81.5], 94.0))
    assert right_double_doubted(survey, placed, 0, 6)
    assert not right_double_doubted(survey, placed, 0, None)


def test_a_double_at_the_right_end_that_the_marks_are_counted_from_is_not_doubted() -> None:
    survey, placed = mirrored(*with_double_at_end([16.1, 31.9, 48.0, 64.0, 80.1], 94.0))
    assert not right_double_doubted(survey, placed, 0, 6)


def test_a_double_at_the_end_that_the_marks_are_counted_from_is_not_asked_about() -> None:
    survey, placed = with_double_at_end([16.1, 31.9, 48.0, 64.0, 80.1], 94.0)
    assert end_by_layout(survey, placed, 0, 6) is None


def test_two_studs_are_no_layout() -> None:
    survey, placed = wall([14.4, 30.4, 44.0], 45.0)
    assert end_by_layout(survey, placed, None, 2) is None


def test_the_first_stud_of_half_a_wall_is_no_end() -> None:
    """The photo begins at a stud: the nearest mark is its own middle, half a face in."""
    survey, placed = wall([16.75, 32.75, 48.75, 64.75, 80.75, 95.0], 96.0, cut_left=True)
    assert end_by_layout(survey, placed, None, 5) is None


def test_moving_the_end_moves_its_stud_and_no_other() -> None:
    survey, placed = wall([0.75, 16.0, 32.0], 33.0)
    moved = with_end_at(survey, placed, 0, -1.5)
    shift = [
        (m.x_centre - q.x_centre) * DISTANCE_IN for m, q in zip(moved.members, survey.members, strict=True)
    ]
    assert shift == pytest.approx([-1.5, 0.0, 0.0], abs=1e-9)
    bare = with_end_at(survey, placed, None, 2.0)
    assert bare.region.left * DISTANCE_IN == pytest.approx(2.0)
    assert bare.members == survey.members
