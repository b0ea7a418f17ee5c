"""Long walls in several photos: joined through shared studs, refused where the overlap does not match."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vision.advice import warning
from vision.joining import Joined, JoiningError, as_reading, join_readings
from vision.reading import Member, Opening, Reading, Reference, Wall
from vision.wall_plane import WallPlane

OWN_IN, RELATIVE = 0.06, 0.003
# Middles of the studs of one wall of 211 in: 16 in on centre, with a window's trimmers and kings.
WALL = (0.75, 16, 32, 48, 60.5, 64, 96, 99.5, 112, 128, 144, 160, 176, 192, 210.25)


def part(first: int, last: int, middles: tuple[float, ...] = WALL, scale: float = 1.0) -> Reading:
    """What a photo of the studs `first` to `last` reads, its zero at the first one's left face."""
    zero = middles[first] - 0.75
    members = tuple(
        Member(
            (x - zero) * scale,
            float(np.hypot(OWN_IN, RELATIVE * (x - zero))),
            1.5,
            0.0,
            1,
            "full",
            True,
            ((10 * (x - zero), 900.0), (10 * (x - zero), 100.0)),
            1.5,
            94.0,
        )
        for x in middles[first : last + 1]
    )
    length = (middles[last] + 0.75 - zero) * scale
    corners = ((0.0, 100.0), (10 * length, 100.0), (10 * length, 900.0), (0.0, 900.0))
    sigma = float(np.hypot(OWN_IN, RELATIVE * length))
    plane = WallPlane(1000.0, (0.0, 0.0), 0.0, 0.0, ((100.0, 0.0, 0.0), (0.0, -100.0, 90.0), (0.0, 0.0, 1.0)))
    return Reading(
        4000,
        3000,
        Reference.on_centre(16.0),
        Wall(length, sigma, 97.0, 0.4, corners),
        plane,
        members,
        (),
        (),
    )


def middles_of(joined: Joined) -> list[float]:
    return [m.centre_in for m in joined.members]


def test_a_long_wall_is_joined_through_the_studs_in_both_photos() -> None:
    joined = join_readings([part(0, 9), part(3, 14)])
    np.testing.assert_allclose(middles_of(joined), WALL, atol=1e-6)
    assert joined.wall.length_in == pytest.approx(211.0)
    assert joined.seen_in == ((0,),) * 3 + ((0, 1),) * 7 + ((1,),) * 5
    assert joined.offsets_in[1] == pytest.approx(47.25)
    # The second photo's pixels lead to inches of the whole wall.
    assert joined.planes[1].to_wall(np.array([7.5, 500.0]))[0] == pytest.approx(0.75 + 47.25)


def test_a_box_above_another_stays_one_of_two_and_a_box_in_both_photos_is_one() -> None:
    outlet, switch = (Opening("box", 65.0, 67.25, low, low + 3.75) for low in (12.0, 44.0))
    left = replace(part(0, 9), boxes=(outlet, switch))
    right = replace(part(3, 14), boxes=(replace(outlet, left_in=65.0 - 47.25, right_in=67.25 - 47.25),))
    boxes = as_reading(join_readings([left, right])).boxes
    assert [(round(b.left_in, 6), round(b.bottom_in, 6)) for b in boxes] == [(65.0, 12.0), (65.0, 44.0)]


def test_a_box_stays_over_its_pixels_when_its_photo_is_brought_to_the_other_ones_scale() -> None:
    right = part(3, 14, scale=1.004)
    box = Opening("box", 80.0, 82.25, 44.0, 47.75)
    corner_px = right.plane.to_photo(np.array([[80.0, 44.0], [82.25, 47.75]]))
    joined = join_readings([part(0, 9), replace(right, boxes=(box,))])
    (low, high) = joined.planes[1].to_wall(corner_px)
    (moved,) = as_reading(joined).boxes
    assert (moved.left_in, moved.bottom_in) == pytest.approx(tuple(low), abs=1e-6)
    assert (moved.right_in, moved.top_in) == pytest.approx(tuple(high), abs=1e-6)
    assert moved.bottom_in < 43.95


def test_three_photos_make_one_wall() -> None:
    joined = join_readings([part(0, 7), part(3, 11), part(6, 14)], same=[None, (4, 1)])
    np.testing.assert_allclose(middles_of(joined), WALL, atol=1e-6)
    assert joined.wall.length_in == pytest.approx(211.0)


def test_even_spacing_fits_in_several_ways_and_is_asked_about() -> None:
    even = tuple(0.75 + 16.0 * k for k in range(12))
    with pytest.raises(JoiningError, match=r"more than one way.*which stud is in both"):
        join_readings([part(0, 6, even), part(4, 11, even)])
    joined = join_readings([part(0, 6, even), part(4, 11, even)], same=[(5, 1)])
    np.testing.assert_allclose(middles_of(joined), even, atol=1e-6)


def test_an_overlap_that_does_not_match_is_refused_with_the_reason() -> None:
    with pytest.raises(JoiningError, match=r"do not match.*at least three studs"):
        join_readings([part(0, 1), part(3, 6)])
    with pytest.raises(JoiningError, match="the studs beside them stand elsewhere"):
        join_readings([part(0, 9), part(3, 14)], same=[(5, 1)])


def test_a_photo_that_was_refused_is_named() -> None:
    with pytest.raises(JoiningError, match="Photo 2 cannot be joined"):
        join_readings([part(0, 9), replace(part(3, 14), refused=True)])


def test_references_that_differ_by_half_a_percent_or_more_are_called_out() -> None:
    quiet = join_readings([part(0, 9), part(3, 14, scale=1.003)])
    loud = join_readings([part(0, 9), part(3, 14, scale=1.008)])
    assert [w.code for w in quiet.warnings] == []
    assert [w.code for w in loud.warnings] == ["references_disagree"]
    assert "0.8 %" in loud.warnings[0].message


def test_a_guessed_spacing_is_no_reference_to_disagree_with() -> None:
    guessed = part(3, 14, scale=1.017)
    guessed = replace(guessed, reference=replace(guessed.reference, assumed=True))
    assert [w.code for w in join_readings([part(0, 9), guessed]).warnings] == []


def test_a_photo_without_one_sure_stud_does_not_speak_for_the_whole_wall() -> None:
    unsure = [replace(m, sure=False, doubts=("edges_unclear",)) for m in part(3, 14).members]
    right = replace(part(3, 14), members=tuple(unsure), warnings=(warning("none_sure"),))
    joined = join_readings([part(0, 9), right])
    assert any(m.sure for m in joined.members)
    assert [w.code for w in joined.warnings] == []


@given(first=st.integers(1, 5), last=st.integers(8, 12), scale=st.floats(0.997, 1.003))
@settings(max_examples=25, deadline=None)
def test_another_photo_never_widens_what_the_first_one_knew(first: int, last: int, scale: float) -> None:
    alone = part(0, last)
    joined = join_readings([alone, part(first, 14, scale=scale)], same=[(first, 0)])
    for m, before in zip(joined.members, alone.members, strict=False):
        assert m.sigma_in <= before.sigma_in + 1e-9
    # Beyond the first photo the doubt is never less than that of its own edges.
    assert all(m.sigma_in >= 0.03 for m in joined.members)


@given(first=st.integers(2, 5), last=st.integers(8, 12), scale=st.floats(0.998, 1.002))
@settings(max_examples=25, deadline=None)
def test_distances_are_the_same_in_the_mirror(first: int, last: int, scale: float) -> None:
    joined = join_readings([part(0, last), part(first, 14, scale=scale)], same=[(first, 0)])
    back = tuple(211.0 - x for x in reversed(WALL))
    mirrored = join_readings(
        [part(0, 14 - first, back, scale), part(14 - last, 14, back)], same=[(14 - first, last - first)]
    )
    there = np.diff(middles_of(joined))
    np.testing.assert_allclose(there, np.diff(middles_of(mirrored))[::-1], atol=0.02)


def test_no_stud_is_sure_where_the_left_photo_does_not_know_its_own_left_end() -> None:
    left = part(0, 9)
    lost = replace(
        left,
        members=tuple(
            replace(m, sigma_in=float(np.hypot(m.sigma_in, 1.0)), sure=False, doubts=("wide_error",))
            for m in left.members
        ),
    )
    joined = join_readings([lost, part(3, 14)])
    assert not any(m.sure for m in joined.members[1:])


def test_a_length_given_for_one_photo_settles_the_other_ones_guessed_spacing() -> None:
    guessed = replace(
        part(3, 14),
        reference=Reference.on_centre(16.0, assumed=True),
        members=tuple(replace(m, sure=False, doubts=("assumed_scale",)) for m in part(3, 14).members),
    )
    joined = join_readings([part(0, 9), guessed])
    assert not any("assumed_scale" in m.doubts for m in joined.members)
    both = replace(part(0, 9), reference=Reference.on_centre(16.0, assumed=True))
    assert any("assumed_scale" in m.doubts for m in join_readings([both, guessed]).members)
