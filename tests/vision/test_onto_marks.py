"""A stud whose edges hardly show, between where it seems to stand and the mark it was set on."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from tests.vision.laid_out import DISTANCE_IN, member, wall
from vision.doubt import judge
from vision.edges import EdgeLine
from vision.onto_marks import HARDLY_PLACED_IN, MARK_SIGMA_IN, onto_marks
from vision.placing import Placed
from vision.survey import Survey

MARKS_IN = [16.0, 32.0, 48.0, 64.0, 80.0]
BURNT_OUT_SIGMA_IN = 0.15


def hardly_seen(index: int, at_in: float) -> tuple[Survey, Placed]:
    """Studs at 16 in between both ends; the one of that index was seen badly, and at `at_in`."""
    middles = [0.75, *MARKS_IN, 89.25]
    middles[index] = at_in
    survey, placed = wall(middles, 90.0)
    members = list(survey.members)
    members[index] = member(at_in, BURNT_OUT_SIGMA_IN)
    sigmas = np.full(len(middles), 0.18)
    return replace(survey, members=tuple(members)), replace(placed, sigma_in=sigmas)


def test_a_burnt_out_stud_is_drawn_to_its_mark_by_the_inverse_of_the_variances() -> None:
    survey, placed = hardly_seen(4, 63.4)
    moved, there = onto_marks(survey, placed, 0, 6)
    by_mark = BURNT_OUT_SIGMA_IN**2 / (BURNT_OUT_SIGMA_IN**2 + MARK_SIGMA_IN**2)
    assert there.centre_in[4] == pytest.approx(63.4 + by_mark * 0.6, abs=0.02)
    assert moved.members[4].x_centre * DISTANCE_IN == pytest.approx(there.centre_in[4])
    assert moved.members[4].width == pytest.approx(survey.members[4].width)
    others = [i for i in range(7) if i != 4]
    assert np.array_equal(there.centre_in[others], placed.centre_in[others])
    assert np.array_equal(there.sigma_in, placed.sigma_in), "that it was set on its mark is likely, not known"


@pytest.mark.parametrize("sigma_in", [0.02, HARDLY_PLACED_IN - 1e-6])
def test_a_stud_whose_edges_are_seen_stays_where_it_is_seen(sigma_in: float) -> None:
    survey, placed = hardly_seen(4, 63.4)
    clear = [*survey.members[:4], member(63.4, sigma_in), *survey.members[5:]]
    survey = replace(survey, members=tuple(clear))
    assert np.array_equal(onto_marks(survey, placed, 0, 6)[1].centre_in, placed.centre_in)


@pytest.mark.parametrize("at_in", [62.9, 57.0])
def test_a_stud_plainly_set_off_the_marks_is_not_drawn_to_one(at_in: float) -> None:
    survey, placed = hardly_seen(4, at_in)
    assert np.array_equal(onto_marks(survey, placed, 0, 6)[1].centre_in, placed.centre_in)


def test_a_mark_that_has_its_stud_draws_no_other_to_it() -> None:
    survey, placed = wall([0.75, *MARKS_IN, 64.9, 89.25], 90.0)
    members = list(survey.members)
    members[6] = member(64.9, BURNT_OUT_SIGMA_IN)
    survey = replace(survey, members=tuple(members))
    assert np.array_equal(onto_marks(survey, placed, 0, 7)[1].centre_in, placed.centre_in)


def test_the_ends_of_a_wall_stand_on_no_mark() -> None:
    survey, placed = hardly_seen(6, 95.5)
    assert np.array_equal(onto_marks(survey, placed, 0, 6)[1].centre_in, placed.centre_in)


def test_studs_on_no_layout_say_nothing_of_the_one_between_them() -> None:
    survey, placed = wall([0.75, 13.0, 31.0, 44.0, 63.4, 70.0, 89.25], 90.0)
    members = list(survey.members)
    members[4] = member(63.4, BURNT_OUT_SIGMA_IN)
    survey = replace(survey, members=tuple(members))
    assert np.array_equal(onto_marks(survey, placed, 0, 6)[1].centre_in, placed.centre_in)


def test_the_farther_the_next_stud_on_the_marks_the_less_they_draw() -> None:
    survey, placed = wall([0.75, 16.0, 32.0, 48.1, 64.0, 159.4, 175.25], 176.0)
    survey = replace(
        survey, members=(*survey.members[:5], member(159.4, BURNT_OUT_SIGMA_IN), survey.members[6])
    )
    far = onto_marks(survey, placed, 0, 6)[1].centre_in[5] - 159.4
    near = onto_marks(*hardly_seen(4, 63.4), 0, 6)[1].centre_in[4] - 63.4
    assert 0.0 < far < near


@pytest.mark.parametrize(("seen_at_in", "doubted"), [(63.4, True), (63.95, False)])
def test_a_stud_that_its_mark_has_moved_is_never_sure(seen_at_in: float, doubted: bool) -> None:
    moved, there = onto_marks(*hardly_seen(4, seen_at_in), 0, 6)
    edge = EdgeLine(moved.members[4].x_left, 0.0, 0.0003, 0.95)
    seen = replace(moved.members[4], left=edge, right=edge)
    there = replace(there, face_in=np.full(7, 1.5))
    sure, doubts = judge(seen, moved, there, SimpleNamespace(model=True), 4, 1.5, False)
    assert (sure, doubts) == ((False, ("edges_unclear",)) if doubted else (True, ()))
