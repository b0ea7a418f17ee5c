"""One more tape reading: what it does to the members, and which one to take next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vision.checks import best_next_reading, fuse_checks, with_checks
from vision.error_parts import error_parts
from vision.reading import Member, Opening, Reading, Reference, TapeCheck, Wall, Warning
from vision.wall_plane import WallPlane


def stud(centre_in: float, sigma_in: float, sure: bool = True) -> Member:
    line = ((10 * centre_in, 900.0), (10 * centre_in, 100.0))
    return Member(centre_in, sigma_in, 1.5, 0.0, 1, "full", sure, line, 1.5, 94.0)


def wall(relative_sigma: float = 0.004) -> list[Member]:
    """Studs 16 in on centre over 12 ft, their doubt growing along the wall with the scale's."""
    centres = [0.75, *range(16, 144, 16), 143.25]
    return [stud(float(c), float(np.hypot(0.05, relative_sigma * c))) for c in centres]


def reading_of(members: list[Member], guessed: bool = False, *codes: str) -> Reading:
    """As a photo would be read: ten pixels to the inch; refused where its last warning says why."""
    plane = WallPlane(1.0, (0.0, 0.0), 0.0, 0.0, ((0.1, 0.0, 0.0), (0.0, -0.1, 96.0), (0.0, 0.0, 1.0)))
    far = max((m.centre_in for m in members), default=0.0) + 0.75
    corners = ((0.0, 0.0), (10 * far, 0.0), (10 * far, 960.0), (0.0, 960.0))
    return Reading(
        1600,
        1000,
        Reference.on_centre(16.0, assumed=guessed),
        Wall(far, 0.004 * far + 0.1, 97.0, 0.3, corners),
        plane,
        tuple(members),
        (Opening("window", 41.0, 72.0, 36.0, 84.0),),
        tuple(Warning(code, "…", "…") for code in codes),
        "loose_scale" in codes,
    )


def fused(
    members: list[Member], checks: list[TapeCheck], guessed: bool = False
) -> tuple[list[Member], list[Warning], float]:
    """Members, warnings, and by what all lengths are multiplied."""
    found = fuse_checks(reading_of(members, guessed), checks)
    return found.members, found.warnings, found.factor


def test_a_far_tape_reading_moves_every_stud_in_proportion() -> None:
    """The photo read everything 0.4 % short: the tape says 128.5 in where it said 128."""
    before = wall()
    after, warnings, factor = fused(before, [TapeCheck(128.0, 128.5)])
    assert warnings == []
    assert 1.003 < factor < 128.5 / 128 + 1e-9
    ratios = [a.centre_in / b.centre_in for a, b in zip(after, before, strict=True) if b.centre_in > 30]
    np.testing.assert_allclose(ratios, factor, atol=4e-4)
    assert abs(after[8].centre_in - 128.5) < abs(before[8].centre_in - 128.5)


def test_a_tape_reading_tightens_every_stud_and_the_far_ones_most() -> None:
    before = wall()
    after, _, _ = fused(before, [TapeCheck(128.0, 128.1)])
    assert all(a.sigma_in <= b.sigma_in for a, b in zip(after, before, strict=True))
    gained = [b.sigma_in - a.sigma_in for a, b in zip(after, before, strict=True)]
    assert after[9].sigma_in < 0.5 * before[9].sigma_in
    assert gained[9] > gained[4] > gained[1] > 0


def test_two_tape_readings_tighten_more_than_one() -> None:
    one, _, _ = fused(wall(), [TapeCheck(128.0, 128.1)])
    two, _, _ = fused(wall(), [TapeCheck(128.0, 128.1), TapeCheck(112.0, 112.1)])
    assert two[9].sigma_in < one[9].sigma_in


def test_the_difference_is_shared_out_by_variance() -> None:
    """The photo's scale is known to 0.4 % (0.4 in at 100 in), the stud's own place to 0.04 in, the tape to
    0.1 in: of 0.4 in the scale takes 0.16 / (0.16 + 0.0016 + 0.01), worked by hand."""
    members = [stud(60.0, 0.24), stud(100.0, 0.4)]
    after, _, factor = fused(members, [TapeCheck(100.0, 100.4, sigma_in=0.1)])
    total = 0.4**2 + 0.04**2 + 0.1**2
    assert factor == pytest.approx(1 + 0.004 * 0.4**2 / total, abs=2e-6)
    assert after[1].centre_in == pytest.approx(100 + 0.4 * (0.4**2 + 0.04**2) / total, abs=1e-4)
    assert after[1].sigma_in == pytest.approx((1 / (1 / (total - 0.01) + 1 / 0.01)) ** 0.5, abs=1e-3)


def test_a_left_end_read_wrong_is_told_from_a_wrong_scale_by_two_readings() -> None:
    """The photo has the left end 0.3 in off: both readings say 0.3 in more, near and far."""
    before = [
        replace(m, sigma_in=float(np.hypot(0.3, m.sigma_in)) if k else 0.05) for k, m in enumerate(wall())
    ]
    after, _, factor = fused(before, [TapeCheck(32.0, 32.3), TapeCheck(128.0, 128.3)])
    assert factor == pytest.approx(1.0, abs=1e-3)
    moved = [a.centre_in - b.centre_in for a, b in zip(after, before, strict=True)]
    assert abs(moved[0]) < 0.05
    np.testing.assert_allclose(moved[1:], 0.3, atol=0.06)


def test_a_reading_that_disagrees_by_more_than_half_a_percent_is_called_out() -> None:
    members = [replace(m, sigma_in=0.2) for m in wall()]
    _, quiet, _ = fused(members, [TapeCheck(128.0, 128.5)])
    _, loud, _ = fused(members, [TapeCheck(128.0, 129.5)])
    assert quiet == []
    assert [w.code for w in loud] == ["references_disagree"]
    assert "1.2 %" in loud[0].message
    assert loud[0].advice


def test_where_the_photo_is_very_sure_less_than_half_a_percent_is_called_out() -> None:
    members = [replace(m, sigma_in=0.05) for m in wall()]
    after, loud, _ = fused(members, [TapeCheck(128.0, 128.5)])
    assert [w.code for w in loud] == ["references_disagree"]
    assert [m.sigma_in for m in after] == [m.sigma_in for m in members]


def test_a_reading_to_the_wrong_stud_is_not_averaged_in_and_leaves_the_far_studs_in_doubt() -> None:
    """150 in read where the photo has 160: half of each would be right for neither."""
    before = [*wall()[:-1], stud(160.0, 0.3)]
    after, warnings, factor = fused(before, [TapeCheck(160.0, 150.0)])
    assert factor == 1.0
    assert [m.centre_in for m in after] == [m.centre_in for m in before]
    assert "6.2 %, so it was not used" in warnings[0].message
    assert [m.sure for m in after] == [True] + [False] * (len(after) - 1)
    assert after[-1].doubts == ("lengths_disagree",)


def test_a_reading_settles_a_guessed_spacing_however_far_off_it_was() -> None:
    """24 in on centre taken for 16: the tape says half as much again."""
    after, warnings, factor = fused(wall(), [TapeCheck(128.0, 192.0)], guessed=True)
    assert warnings == []
    assert factor == pytest.approx(1.5, abs=0.002)
    assert all(m.sure for m in after)


def test_a_reading_that_makes_a_guessed_spacing_an_odd_one_is_called_out() -> None:
    """16 in taken from the photo, 17.4 in by the tape: no wall is framed so."""
    _, warnings, _ = fused(wall(), [TapeCheck(128.0, 139.0)], guessed=True)
    assert [w.code for w in warnings] == ["references_disagree"]


def test_a_reading_near_no_stud_is_named_and_changes_nothing() -> None:
    before = wall()
    after, warnings, factor = fused(before, [TapeCheck(104.0, 104.0)])
    assert [w.code for w in warnings] == ["check_finds_no_member"]
    assert "104.0" in warnings[0].message
    assert (after, factor) == (before, 1.0)


def test_a_reading_to_the_first_stud_says_nothing_of_the_scale() -> None:
    before = wall()
    after, warnings, factor = fused(before, [TapeCheck(0.75, 0.8)])
    assert [w.code for w in warnings] == ["check_finds_no_member"]
    assert (after, factor) == (before, 1.0)


def test_without_readings_nothing_changes() -> None:
    assert fused(wall(), []) == (wall(), [], 1.0)
    assert fused([], [TapeCheck(16.0, 16.0)]) == ([], [], 1.0)


@given(scale=st.floats(0.985, 1.015), at=st.integers(3, 9), relative_sigma=st.floats(0.001, 0.01))
@settings(max_examples=50, deadline=None)
def test_positions_move_towards_the_tape_never_past_it(scale: float, at: int, relative_sigma: float) -> None:
    before = wall(relative_sigma)
    here = before[at].centre_in
    after, _, factor = fused(before, [TapeCheck(here, here * scale)])
    low, high = sorted((1.0, scale))
    assert low - 1e-12 <= factor <= high + 1e-12
    assert all(a.sigma_in <= b.sigma_in for a, b in zip(after, before, strict=True))


def test_a_reading_that_settles_the_places_leaves_no_stud_in_doubt_about_its_own() -> None:
    """Every stud was in doubt for want of a scale, and so was the wall as a whole."""
    far = [m.doubted("wide_error") if m.sigma_in > 0.2 else m.doubted("wall_unclear") for m in wall()]
    hidden = [*far[:3], far[3].doubted("edges_unclear"), *far[4:]]
    before = reading_of(hidden, False, "short_reference", "none_sure")
    after = with_checks(before, [TapeCheck(128.0, 128.1)])
    assert [k for k, m in enumerate(after.members) if not m.sure] == [3]
    assert after.members[3].doubts == ("edges_unclear",)
    assert after.warnings == ()


def test_a_reading_that_disagrees_leaves_every_doubt() -> None:
    doubted = [m.doubted("wide_error") for m in wall(0.0005)]
    after = with_checks(reading_of(doubted), [TapeCheck(128.0, 129.5)])
    assert all("wide_error" in m.doubts for m in after.members)


def test_a_reading_answers_the_refusal_for_want_of_a_scale() -> None:
    loose = reading_of([m.doubted("wide_error") for m in wall(0.006)], False, "few_on_layout", "loose_scale")
    assert loose.refused
    after = with_checks(loose, [TapeCheck(128.0, 128.4)])
    assert not after.refused
    assert after.warnings == ()
    near = with_checks(loose, [TapeCheck(16.0, 16.1)])  # 1/16 in of 16 in is no scale
    assert near.refused
    assert near.warnings[-1].code == "loose_scale"


def test_a_guess_that_a_tape_settled_leaves_the_walls_end_no_surer_than_its_last_stud() -> None:
    before = reading_of(wall(), True, "assumed_spacing")
    after = with_checks(before, [TapeCheck(128.0, 128.1)])
    assert before.wall is not None
    assert after.wall is not None
    assert after.wall.length_sigma_in < before.wall.length_sigma_in
    assert after.wall.length_sigma_in >= after.members[-1].sigma_in


def test_wall_opening_and_plane_go_with_the_studs() -> None:
    before = reading_of([replace(m, sigma_in=float(np.hypot(0.2, m.sigma_in))) for m in wall()])
    after = with_checks(before, [TapeCheck(128.0, 128.6)])
    assert before.wall is not None
    assert after.wall is not None
    assert after.plane is not None
    found = fuse_checks(before, [TapeCheck(128.0, 128.6)])
    assert after.wall.length_in == pytest.approx(found.factor * before.wall.length_in + found.offset_in)
    assert after.wall.length_sigma_in < before.wall.length_sigma_in
    assert after.openings[0].left_in == pytest.approx(found.factor * 41.0 + found.offset_in)
    assert after.openings[0].top_in == pytest.approx(found.factor * 84.0)
    at = after.plane.to_wall(np.array([(410.0, 500.0)]))[0]
    was = before.plane.to_wall(np.array([(410.0, 500.0)]))[0] if before.plane else at
    assert at[0] == pytest.approx(found.factor * was[0] + found.offset_in)


def test_the_next_reading_goes_to_a_far_single_stud_that_is_sure() -> None:
    """Not to the last one, which stands in a corner, nor to a double, whose middle nobody marks."""
    members = wall()
    last = len(members) - 1
    assert best_next_reading(members) == last - 1
    doubtful = replace(members[-2], sure=False)
    assert best_next_reading([*members[:-2], doubtful, members[-1]]) in (last, last - 2)
    double = replace(members[-2], plies=2)
    assert best_next_reading([*members[:-2], double, members[-1]]) in (last, last - 2)
    partial = replace(members[-2], kind="partial")
    assert best_next_reading([*members[:-2], partial, members[-1]]) in (last, last - 2)


def test_the_next_reading_goes_nearer_where_the_left_end_is_what_is_not_known() -> None:
    """The left end is known to half an inch, the scale to 0.1 %: each stud tells as much of the end."""
    far = wall(0.001)
    members = [replace(m, sigma_in=float(np.hypot(0.5, m.sigma_in))) if k else m for k, m in enumerate(far)]
    worse_far = [replace(m, sigma_in=float(np.hypot(0.004 * m.centre_in, m.sigma_in))) for m in members]
    asked, asked_far = best_next_reading(members), best_next_reading(worse_far)
    assert asked is not None
    assert asked_far is not None
    assert asked <= asked_far
    after, _, _ = fused(members, [TapeCheck(members[asked].centre_in, members[asked].centre_in)])
    for k in range(2, len(members) - 1):  # no other single reading leaves less
        other, _, _ = fused(members, [TapeCheck(members[k].centre_in, members[k].centre_in)])
        assert sum(m.sigma_in**2 for m in after) <= sum(m.sigma_in**2 for m in other) + 0.01


def test_there_is_no_next_reading_on_a_wall_of_fewer_than_two_studs() -> None:
    assert best_next_reading([]) is None
    assert best_next_reading([stud(48.0, 0.1)]) is None


def test_what_a_sigma_is_made_of_does_not_hang_on_the_order_of_the_studs() -> None:
    studs = [replace(m, sigma_in=float(np.hypot(0.2, m.sigma_in))) if k else m for k, m in enumerate(wall())]
    there, back = error_parts(studs), error_parts(studs[::-1])
    assert there.origin_in == pytest.approx(0.2, abs=0.02)
    assert there.relative == pytest.approx(0.004, rel=0.01)
    assert (there.relative, there.origin_in) == pytest.approx((back.relative, back.origin_in))
    np.testing.assert_allclose(there.own_in, back.own_in[::-1])
