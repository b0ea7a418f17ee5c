"""Which of two studs close together at a corner ends the wall: the marks are counted from its outer face."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.vision.laid_out import wall
from vision.next_walls_stud import without_next_walls
from vision.placing import Placed
from vision.survey import Survey


def middles_left(survey: Survey, placed: Placed) -> list[float] | None:
    """Middles of the members that stay, inches from where the wall's left end was read; None: all do."""
    own = without_next_walls(survey, placed, 0, len(survey.members) - 1)
    if own is None:
        return None
    at = dict(zip((id(m) for m in survey.members), placed.centre_in, strict=True))
    return [float(at[id(m)]) for m in own.members]


def test_the_next_walls_stud_is_left_out_where_the_marks_are_counted_from_the_one_behind_it() -> None:
    """The end stud's outer face is at 2 1/2, the others stand at 16, 32 and so on from there."""
    own = [3.25, 18.5, 34.4, 50.6, 66.5, 81.75]
    assert middles_left(*wall([0.75, *own], 82.5)) == own


def test_the_same_at_the_right_end() -> None:
    own = [0.75, 15.5, 31.6, 47.5, 63.4, 78.75]  # marks at 16 from a right end at 79 1/2
    assert middles_left(*wall([*own, 82.0], 82.75)) == own


@pytest.mark.parametrize("gap_in", [2.0, 3.0, 4.5])
def test_a_corner_framed_with_two_studs_stays_where_the_marks_are_counted_from_its_outer_one(
    gap_in: float,
) -> None:
    assert middles_left(*wall([0.75, 0.75 + gap_in, 16.0, 32.1, 47.9, 64.0, 89.25], 90.0)) is None


@pytest.mark.parametrize("first_mark_in", [3.0, 4.0, 5.5])
def test_a_stud_on_a_mark_close_to_an_end_leaves_the_end_as_it_is(first_mark_in: float) -> None:
    """Laid out from the other end, the last mark falls close to this one, and a stud is set on it."""
    middles = [first_mark_in + 16.0 * k for k in range(5)]
    assert middles_left(*wall([0.75, *middles], middles[-1] + 16.0)) is None


def test_studs_side_by_side_at_an_end_are_no_such_pair() -> None:
    assert middles_left(*wall([0.75, 2.25, 17.5, 33.5, 49.5, 65.5, 80.0], 81.0)) is None


def test_where_the_photo_cuts_the_wall_off_the_marks_are_not_asked() -> None:
    survey, placed = wall([0.75, 3.25, 18.5, 34.5, 50.5, 66.5, 81.75], 82.5)
    cut = replace(survey, region=replace(survey.region, cut_left=True))
    assert middles_left(survey, placed) is not None
    assert middles_left(cut, placed) is None


def test_two_studs_are_no_layout() -> None:
    assert middles_left(*wall([0.75, 3.25, 18.5, 34.5, 40.0], 41.0)) is None
