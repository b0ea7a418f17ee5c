"""One more tape reading: what it does to the members, and which one to take next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vision.checks import apply_checks, best_next_reading
from vision.reading import Member, TapeCheck


def stud(centre_in: float, sigma_in: float, sure: bool = True) -> Member:
    line = ((10 * centre_in, 900.0), (10 * centre_in, 100.0))
    return Member(centre_in, sigma_in, 1.5, 0.0, 1, "full", sure, line, 1.5, 94.0)


def wall(relative_sigma: float = 0.004) -> list[Member]:
    """Studs 16 in on centre over 12 ft, their doubt growing along the wall with the scale's."""
    centres = [0.75, *range(16, 144, 16), 143.25]
    return [stud(float(c), float(np.hypot(0.05, relative_sigma * c))) for c in centres]


def test_a_far_tape_reading_moves_every_stud_in_proportion() -> None:
    """The photo read everything 0.4 % short: the tape says 128.5 in where it said 128."""
    before = wall()
    after, warnings, factor = apply_checks(before, [TapeCheck(128.0, 128.5)])
    assert warnings == []
    assert 1.003 < factor < 128.5 / 128 + 1e-9
    np.testing.assert_allclose([m.centre_in for m in after], [factor * m.centre_in for m in before])
    assert abs(after[8].centre_in - 128.5) < abs(before[8].centre_in - 128.5)


def test_a_tape_reading_tightens_every_stud_and_the_far_ones_most() -> None:
    before = wall()
    after, _, _ = apply_checks(before, [TapeCheck(128.0, 128.1)])
    assert all(a.sigma_in <= b.sigma_in for a, b in zip(after, before, strict=True))
    gained = [b.sigma_in - a.sigma_in for a, b in zip(after, before, strict=True)]
    assert after[9].sigma_in < 0.5 * before[9].sigma_in
    assert gained[9] > gained[4] > gained[1] > 0


def test_two_tape_readings_tighten_more_than_one() -> None:
    one, _, _ = apply_checks(wall(), [TapeCheck(128.0, 128.1)])
    two, _, _ = apply_checks(wall(), [TapeCheck(128.0, 128.1), TapeCheck(112.0, 112.1)])
    assert two[9].sigma_in < one[9].sigma_in


def test_the_mean_is_weighted_by_inverse_variance() -> None:
    """Photo 1.000 with 0.4 % of doubt, tape 1.004 with 0.1 %: weights 1 to 16, mean 1 + 0.004 x 16 / 17."""
    members = [stud(60.0, 0.24), stud(100.0, 0.4)]
    after, _, factor = apply_checks(members, [TapeCheck(100.0, 100.4, sigma_in=0.1)])
    assert factor == pytest.approx(1 + 0.004 * 16 / 17, abs=2e-6)
    assert after[1].centre_in == pytest.approx(100.376, abs=0.001)


def test_a_reading_that_disagrees_by_more_than_half_a_percent_is_called_out() -> None:
    members = [replace(m, sigma_in=0.05) for m in wall()]
    _, quiet, _ = apply_checks(members, [TapeCheck(128.0, 128.5)])
    _, loud, _ = apply_checks(members, [TapeCheck(128.0, 129.5)])
    assert quiet == []
    assert [w.code for w in loud] == ["references_disagree"]
    assert "1.2 %" in loud[0].message
    assert loud[0].advice


def test_a_reading_to_the_wrong_stud_is_not_averaged_in_and_leaves_the_far_studs_in_doubt() -> None:
    """150 in read where the photo has 160: half of each would be right for neither."""
    before = [*wall()[:-1], stud(160.0, 0.3)]
    after, warnings, factor = apply_checks(before, [TapeCheck(160.0, 150.0)])
    assert factor == 1.0
    assert [m.centre_in for m in after] == [m.centre_in for m in before]
    assert "6.2 %, so it was not used" in warnings[0].message
    assert [m.sure for m in after] == [True] + [False] * (len(after) - 1)
    assert after[-1].doubts == ("lengths_disagree",)


def test_a_reading_settles_a_guessed_spacing_however_far_off_it_was() -> None:
    """24 in on centre taken for 16: the tape says half as much again."""
    after, _, factor = apply_checks(wall(), [TapeCheck(128.0, 192.0)], guessed=True)
    assert factor == pytest.approx(1.5, abs=0.05)
    assert all(m.sure for m in after)


def test_a_reading_near_no_stud_is_named_and_changes_nothing() -> None:
    before = wall()
    after, warnings, factor = apply_checks(before, [TapeCheck(104.0, 104.0)])
    assert [w.code for w in warnings] == ["check_finds_no_member"]
    assert "104.0" in warnings[0].message
    assert (after, factor) == (before, 1.0)


def test_a_reading_to_the_first_stud_says_nothing_of_the_scale() -> None:
    before = wall()
    after, warnings, factor = apply_checks(before, [TapeCheck(0.75, 0.8)])
    assert [w.code for w in warnings] == ["check_finds_no_member"]
    assert (after, factor) == (before, 1.0)


def test_without_readings_nothing_changes() -> None:
    assert apply_checks(wall(), []) == (wall(), [], 1.0)
    assert apply_checks([], [TapeCheck(16.0, 16.0)]) == ([], [], 1.0)


@given(scale=st.floats(0.985, 1.015), at=st.integers(3, 9), relative_sigma=st.floats(0.001, 0.01))
@settings(max_examples=50, deadline=None)
def test_positions_move_towards_the_tape_never_past_it(scale: float, at: int, relative_sigma: float) -> None:
    before = wall(relative_sigma)
    here = before[at].centre_in
    after, _, factor = apply_checks(before, [TapeCheck(here, here * scale)])
    low, high = sorted((1.0, scale))
    assert low - 1e-12 <= factor <= high + 1e-12
    assert all(a.sigma_in <= b.sigma_in for a, b in zip(after, before, strict=True))


def test_the_next_reading_goes_to_a_far_stud_that_is_sure() -> None:
    members = wall()
    assert best_next_reading(members) == len(members) - 1
    doubtful = [*members[:-1], replace(members[-1], sure=False)]
    assert best_next_reading(doubtful) == len(members) - 2
    partial = [*members[:-1], replace(members[-1], kind="partial")]
    assert best_next_reading(partial) == len(members) - 2


def test_there_is_no_next_reading_on_a_wall_of_fewer_than_two_studs() -> None:
    assert best_next_reading([]) is None
    assert best_next_reading([stud(48.0, 0.1)]) is None
