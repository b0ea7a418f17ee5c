"""Studs bowed along the wall: measured on drawn pictures, told from lens distortion, said in words."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

import sample_images
from tests.benchmarks.cases import Case, own_cases
from tests.vision.drawn_studs import (
    CENTRES_IN,
    FOCAL_PX,
    HEIGHT_PX,
    INCHES_PER_UNIT,
    PRINCIPAL_PX,
    WALL_HEIGHT_IN,
    drawn,
    looking,
    surveyed,
)
from vision import Reference, load_photo, read_wall
from vision.bow import Bows, bow_warnings, measure_bows, shared_bow, with_bows
from vision.curves import trace_members
from vision.directions import ViewDirections
from vision.doubt import widened
from vision.reading import Member
from vision.survey import Survey


def measured(
    view: ViewDirections,
    bows_in: dict[int, float],
    believed: ViewDirections | None = None,
    leans_in: dict[int, float] | None = None,
) -> Bows:
    """Drawn through `view`, read as if the camera were `believed`."""
    return bows_in_picture(drawn(view, bows_in, leans_in), believed or view, surveyed())


def bows_in_picture(picture: NDArray[np.uint8], view: ViewDirections, survey: Survey) -> Bows:
    return measure_bows(trace_members(picture, view, survey), view, survey, INCHES_PER_UNIT)


def test_straight_studs_are_read_as_straight_and_nothing_is_said() -> None:
    bows = measured(looking(), {}, leans_in={16: 0.3, -32: -0.4})
    assert bows.known.all()
    assert np.abs(bows.bow_in).max() < 0.06
    assert bow_warnings(with_bows([member(c) for c in CENTRES_IN], bows)) == []


@pytest.mark.parametrize("bow_in", [0.3, -0.5, 0.9])
def test_a_bowed_stud_is_measured_with_its_side_and_its_neighbours_are_not(bow_in: float) -> None:
    bows = measured(looking(yaw_deg=5.0), {16: bow_in})
    at = CENTRES_IN.index(16)
    assert bows.known[at]
    assert bows.bow_in[at] == pytest.approx(bow_in, abs=0.06)
    assert abs(bows.bow_in[at] - bow_in) < 3 * bows.sigma_in[at]
    assert np.abs(np.delete(bows.bow_in, at)).max() < 0.1


def test_lens_distortion_shared_by_all_studs_is_not_called_a_bow() -> None:
    # The lens bends every line by this k1 and the reading believes in none: 0.18 in at the outer studs.
    lens = looking(k1=0.02)
    bent = -0.02 * 64 * (0.5 * WALL_HEIGHT_IN / INCHES_PER_UNIT) ** 2
    assert abs(bent) > 0.15
    bows = measured(lens, {16: 0.5}, believed=looking())
    at = CENTRES_IN.index(16)
    assert bows.bow_in[at] == pytest.approx(0.5, abs=0.08)
    assert np.abs(np.delete(bows.bow_in, at)).max() < 0.12


def test_a_stud_bowed_one_edge_only_is_not_spoken_of() -> None:
    """A shadow along one side curves one edge; lumber curves both."""
    straight, bowed = drawn(looking(), {}), drawn(looking(), {16: 0.7})
    middle = round(PRINCIPAL_PX[0] + 16 * FOCAL_PX / INCHES_PER_UNIT)
    mixed = straight.copy()
    mixed[:, middle:] = bowed[:, middle:]
    bows = bows_in_picture(mixed, looking(), surveyed())
    assert not bows.known[CENTRES_IN.index(16)]


def test_a_stud_half_hidden_is_not_spoken_of() -> None:
    picture = drawn(looking(), {16: 0.5})
    picture[HEIGHT_PX // 3 :] = 120
    assert not bows_in_picture(picture, looking(), surveyed()).known.any()


@settings(max_examples=8, deadline=None, derandomize=True)
@given(st.sampled_from(CENTRES_IN), st.floats(-0.8, 0.8), st.floats(-6, 6))
def test_the_mirror_image_gives_the_mirrored_bow(centre: int, bow_in: float, yaw_deg: float) -> None:
    picture = drawn(looking(yaw_deg=yaw_deg), {centre: bow_in})
    there = bows_in_picture(picture, looking(yaw_deg=yaw_deg), surveyed())
    back = bows_in_picture(np.ascontiguousarray(picture[:, ::-1]), looking(yaw_deg=-yaw_deg), surveyed(-0.1))
    both = there.known & back.known[::-1]
    assert both.sum() >= len(CENTRES_IN) - 1
    np.testing.assert_allclose(there.bow_in[both], -back.bow_in[::-1][both], atol=0.02)


def bent(case: Case, centre_in: float, bow_in: float) -> NDArray[np.uint8]:
    """A sample photo with one stud and what is beside it shifted along the wall as a bow does."""
    rgb = load_photo(case.photo.read_bytes()).rgb
    height = rgb.shape[0]
    around = [(centre_in + dx, y, 0.0) for dx in (-8, 8) for y in (0, case.height_in)]
    columns = case.camera.project(around)[:, 0]
    first, last = int(columns.min()), int(columns.max())
    px, py = np.meshgrid(np.arange(first, last, dtype=float), np.arange(height, dtype=float))
    at = case.to_wall(np.column_stack([px.ravel(), py.ravel()]))
    u = at[:, 1] / case.height_in - 0.5
    near = np.clip((6.0 - np.abs(at[:, 0] - centre_in)) / 4.0, 0, 1)
    at[:, 0] -= bow_in * np.maximum(1 - 4 * u**2, 0) * near
    from_px = case.camera.project(np.column_stack([at, np.zeros(len(at))])).astype(np.float32)
    x, y = (from_px[:, k].reshape(px.shape) for k in range(2))
    out = rgb.copy()
    out[:, first:last] = cv2.remap(rgb, x, y, cv2.INTER_CUBIC)
    return out


def test_of_a_photographed_wall_only_the_bowed_stud_is_pointed_out() -> None:
    case = next(c for c in own_cases(sample_images.photo_path("long_wall").parent) if c.name == "long_wall")
    truth = sample_images.known_truth("long_wall")["members"]
    stud = min((m for m in case.members if m.kind == "common"), key=lambda m: abs(m.centre_in - 100))
    (own_in,) = (m["bow_in"] for m in truth if m["centre_in"] == stud.centre_in)
    photo = replace(load_photo(case.photo.read_bytes()), rgb=bent(case, stud.centre_in, 0.5))
    (a, b) = case.marks_px
    reading = read_wall(photo, Reference.tape(case.reference_in, a, b, stands_proud_in=case.in_front_in))
    said = [w.message for w in reading.warnings if w.code == "bowed"]
    assert len(said) == 1
    assert "its middle to the right" in said[0]
    bowed = min(reading.members, key=lambda m: abs(m.centre_in - stud.centre_in))
    assert bowed.bow_in == pytest.approx(0.5 + own_in, abs=0.1)
    others = [m.sigma_in for m in reading.members if m is not bowed]
    assert bowed.sigma_in > max(others)


def test_what_the_members_share_follows_the_lens_and_leaves_the_bowed_one_alone() -> None:
    x = np.linspace(-0.5, 0.5, 11)
    gain_in = np.full(11, 0.25 * 0.75**2 * INCHES_PER_UNIT)
    lens_in = -0.008 * x * gain_in
    own_in = np.where(np.arange(11) == 8, 0.6, 0.0)
    known = np.ones(11, bool)
    found_in, sigma_in = shared_bow(x, gain_in, lens_in + own_in, np.full(11, 0.03), known)
    np.testing.assert_allclose(found_in, lens_in, atol=0.03)
    assert (sigma_in < 0.1).all()
    nothing, wide = shared_bow(x, gain_in, lens_in + own_in, np.full(11, 0.03), ~known)
    assert (nothing == 0).all()
    assert wide[0] > sigma_in[0]


def member(centre_in: float, bow_in: float = 0.0) -> Member:
    line = ((480.0, 900.0), (484.0, 60.0))
    return Member(float(centre_in), 0.06, 1.5, 0.0, 1, "full", True, line, 1.5, 94.0, bow_in=bow_in)


def test_a_stud_bowed_more_than_a_quarter_inch_is_pointed_out() -> None:
    no_stud = replace(member(64, 0.6), sure=False, doubts=("faint",))
    far = replace(member(48, -0.4), sure=False, doubts=("wide_error",))
    found = bow_warnings([member(32, 0.2), far, no_stud])
    assert [w.code for w in found] == ["bowed"]
    for words in ("at 48 in", "0.4 in", "middle to the left"):
        assert words in found[0].message
    assert "carry load" in found[0].advice


def test_the_place_of_a_bowed_stud_is_less_sure_since_a_seam_is_straight() -> None:
    bows = Bows(np.array([0.1, -0.5, 0.7]), np.full(3, 0.03), np.array([True, True, False]), np.ones(3, bool))
    usual, bowed, unknown = with_bows([member(16), member(32), member(48)], bows)
    assert (usual.bow_in, usual.sigma_in) == (0.1, 0.06)
    # Root mean square distance of the parabola 0.5 (1 - 4 u^2) from its middle, summed by hand.
    u = np.linspace(-0.5, 0.5, 20001)
    strays = np.sqrt(np.mean((0.5 - 0.5 * (1 - 4 * u**2)) ** 2))
    assert bowed.sigma_in == pytest.approx(np.hypot(0.06, strays), abs=1e-4)
    assert (unknown.bow_in, unknown.sigma_in) == (0.0, 0.06)
    wide = replace(member(32), sure=False, doubts=("odd_width",))
    assert with_bows([wide], Bows(*(np.array([v]) for v in (0.5, 0.03, True, False))))[0].bow_in == 0.0
    assert with_bows([wide], Bows(*(np.array([v]) for v in (0.5, 0.03, True, True))))[0].bow_in == 0.5


def test_a_bowed_stud_stands_at_mid_height_where_a_tape_would_find_it() -> None:
    """A parabola's mean lies a third of its height short of its middle; of an inexact bow, less."""
    bows = Bows(np.array([0.1, -0.6, 0.7]), np.full(3, 0.03), np.array([True, True, False]), np.ones(3, bool))
    right, left, unknown = with_bows([member(16), member(32), member(48)], bows)
    assert 0 < right.centre_in - 16 < 0.1 / 3
    assert 0 < 32 - left.centre_in < 0.6 / 3
    assert unknown.centre_in == 48
    # The wall's length is measured between its end studs, which stay.
    assert with_bows([member(16), member(32), member(48)], bows, (0, 2))[0].centre_in == 16


@pytest.mark.parametrize(("bow_in", "sure"), [(0.3, True), (0.6, False)])
def test_a_stud_that_its_bow_leaves_known_too_badly_for_a_seam_is_not_sure(bow_in: float, sure: bool) -> None:
    bows = Bows(np.array([bow_in]), np.array([0.03]), np.array([True]), np.ones(1, bool))
    (stud,) = widened(with_bows([member(32)], bows), by_spacing=False)
    assert stud.sure is sure
    assert ("wide_error" in stud.doubts) is not sure
