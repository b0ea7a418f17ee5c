"""Two known lengths on one photo: fused where they agree, called out where they do not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vision.checks import with_checks
from vision.reading import Member, Reading, Reference, TapeCheck, Wall
from vision.second_reference import with_second_reference
from vision.wall_plane import WallPlane

RELATIVE, DISTANCE_IN, FOCAL_PX = 0.004, 150.0, 1500.0


def reading(assumed: bool = False) -> Reading:
    """A wall of 12 ft seen straight on from 150 in: ten pixels to the inch."""
    plane = WallPlane(
        FOCAL_PX,
        (720.0, 540.0),
        0.0,
        0.0,
        ((DISTANCE_IN, 0.0, 72.0), (0.0, -DISTANCE_IN, 48.0), (0.0, 0.0, 1.0)),
    )
    centres = [0.75, *range(16, 144, 16), 143.25]
    doubts = ("assumed_scale",) if assumed else ()
    members = tuple(
        Member(
            float(c),
            float(np.hypot(0.05, RELATIVE * c)),
            1.5,
            0.0,
            1,
            "full",
            not assumed,
            ((10.0 * c, 1005.0), (10.0 * c, 75.0)),
            1.5,
            93.0,
            doubts,
        )
        for c in centres
    )
    wall = Wall(
        144.0,
        float(np.hypot(0.08, RELATIVE * 144)),
        96.0,
        0.4,
        ((0, 60), (1440, 60), (1440, 1020), (0, 1020)),
    )
    return Reading(1440, 1080, Reference.on_centre(16.0, assumed=assumed), wall, plane, members, (), ())


def test_the_plane_knows_how_far_the_camera_stood() -> None:
    plane = reading().plane
    assert plane is not None
    assert plane.distance_in == pytest.approx(DISTANCE_IN)
    assert plane.moved(1.02).distance_in == pytest.approx(1.02 * DISTANCE_IN)


def test_a_second_length_that_agrees_tightens_every_stud_and_the_wall() -> None:
    before = reading()
    after = with_second_reference(before, Reference.tape(96.2, (100.0, 500.0), (1060.0, 500.0)))
    assert after.warnings == ()
    assert before.wall is not None
    assert after.wall is not None
    assert 144.0 < after.wall.length_in < 144.0 * 96.2 / 96
    assert after.wall.length_sigma_in < 0.6 * before.wall.length_sigma_in
    assert all(a.sigma_in <= b.sigma_in for a, b in zip(after.members, before.members, strict=True))
    assert after.plane is not None
    ends = after.plane.to_wall(np.array([[100.0, 500.0], [1060.0, 500.0]]))
    assert 96.0 < ends[1, 0] - ends[0, 0] <= 96.2


def test_a_second_length_whose_marks_are_set_roughly_counts_for_less() -> None:
    careful, rough = (
        with_second_reference(
            reading(), Reference.tape(96.2, (100.0, 500.0), (1060.0, 500.0), mark_sigma_px=sigma_px)
        )
        for sigma_px in (None, 6.0)
    )
    assert careful.wall is not None
    assert rough.wall is not None
    assert 144.0 < rough.wall.length_in < careful.wall.length_in
    assert rough.wall.length_sigma_in > careful.wall.length_sigma_in


def test_lengths_that_differ_by_half_a_percent_are_called_out_and_tighten_nothing() -> None:
    before = reading()
    after = with_second_reference(before, Reference.tape(96.6, (100.0, 500.0), (1060.0, 500.0)))
    assert [w.code for w in after.warnings] == ["references_disagree"]
    assert "0.6 %" in after.warnings[0].message
    assert all(
        a.sigma_in == pytest.approx(b.sigma_in) for a, b in zip(after.members, before.members, strict=True)
    )
    assert not after.members[-1].sure
    assert after.members[0].sure


@pytest.mark.parametrize("length_in", [9.6, 960.0])
def test_a_length_typed_ten_times_off_is_called_out_and_moves_nothing(length_in: float) -> None:
    before = reading()
    after = with_second_reference(before, Reference.tape(length_in, (100.0, 500.0), (1060.0, 500.0)))
    assert [w.code for w in after.warnings] == ["references_disagree"]
    assert [m.centre_in for m in after.members] == [m.centre_in for m in before.members]
    assert after.wall == before.wall
    assert not any(m.sure for m in after.members), "which of the two is wrong nobody can say"


def test_marks_on_a_level_an_inch_in_front_are_corrected_by_similar_triangles() -> None:
    """A level of 96 in held 1 in in front of faces 150 in away covers 96 x 150 / 149 in on their plane."""
    seen = 96.0 * DISTANCE_IN / (DISTANCE_IN - 1.0)
    marks = ((100.0, 500.0), (100.0 + 10.0 * seen, 500.0))
    naive = with_second_reference(reading(), Reference.tape(96.0, *marks))
    corrected = with_second_reference(reading(), Reference.tape(96.0, *marks, stands_proud_in=1.0))
    assert [w.code for w in naive.warnings] == ["references_disagree"]
    assert corrected.warnings == ()
    assert corrected.wall is not None
    assert corrected.wall.length_in == pytest.approx(144.0, abs=0.02)


def test_a_spacing_checks_the_first_length_and_moves_nothing() -> None:
    before = reading()
    assert with_second_reference(before, Reference.on_centre(16.0)) == before
    odd = with_second_reference(before, Reference.on_centre(16.2))
    assert [w.code for w in odd.warnings] == ["references_disagree"]
    assert [m.centre_in for m in odd.members] == [m.centre_in for m in before.members]
    assert [m.sure for m in odd.members] == [m.centre_in * (1 - 16.0 / 16.2) <= 0.25 for m in before.members]


@given(ratio=st.floats(0.996, 1.004), proud=st.sampled_from([0.0, 0.5, 1.0]))
@settings(max_examples=25, deadline=None)
def test_the_fused_scale_lies_between_the_two(ratio: float, proud: float) -> None:
    length = 96.0 * ratio * (1 - proud / DISTANCE_IN)
    told = Reference.tape(length, (100.0, 500.0), (1060.0, 500.0), stands_proud_in=proud)
    after = with_second_reference(reading(), told)
    assert after.wall is not None
    low, high = sorted((1.0, ratio))
    assert low - 1e-4 <= after.wall.length_in / 144.0 <= high + 1e-4


def test_one_tape_reading_tightens_the_wall_and_settles_an_assumed_spacing() -> None:
    before = reading(assumed=True)
    after = with_checks(before, [TapeCheck(143.25, 143.3)])
    assert all(m.sure for m in after.members)
    assert after.wall is not None
    assert before.wall is not None
    assert after.wall.length_sigma_in < 0.5 * before.wall.length_sigma_in
    kept = with_checks(replace(before, members=before.members), [TapeCheck(104.0, 104.0)])
    assert not any(m.sure for m in kept.members)
    assert [w.code for w in kept.warnings] == ["check_finds_no_member"]


@given(
    x=st.floats(5, 60),
    y=st.floats(10, 80),
    turn=st.floats(0, 6.28),
    k1=st.floats(-0.03, 0.03),
    yaw=st.floats(-20, 20),
)
@settings(max_examples=40, deadline=None)
def test_moving_the_marks_along_the_plane_changes_nothing(
    x: float, y: float, turn: float, k1: float, yaw: float
) -> None:
    """The same 60 in laid anywhere on the faces, in any direction, under a turned camera with a lens."""
    a = np.radians(yaw)
    rotation = np.array([[np.cos(a), 0, -np.sin(a)], [0, 1, 0], [np.sin(a), 0, np.cos(a)]])
    h = np.array([[DISTANCE_IN, 0, 72.0], [0, -DISTANCE_IN, 48.0], [0, 0, 1.0]]) @ rotation
    plane = WallPlane(
        FOCAL_PX, (720.0, 540.0), k1, 0.0, tuple((float(r[0]), float(r[1]), float(r[2])) for r in h)
    )
    start = np.array([x, y])
    end = start + 60.0 * np.array([np.cos(turn), np.sin(turn)])
    px = plane.to_photo(np.array([start, end]))
    told = Reference.tape(60.0, (float(px[0, 0]), float(px[0, 1])), (float(px[1, 0]), float(px[1, 1])))
    after = with_second_reference(replace(reading(), plane=plane), told)
    assert after.wall is not None
    assert after.wall.length_in == pytest.approx(144.0, abs=1e-4)
    assert plane.distance_in == pytest.approx(DISTANCE_IN)
