"""From picture units to inches: a tape between two marks, and the spacing the studs were laid out at."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from vision.scale import Scale, scale_from_face, scale_from_marks, scale_from_spacing, with_layout

DISTANCE_IN = 132.0  # the camera's distance to the wall: 11 ft, which is the scale in inches a unit
BOTH_SPACINGS = (16.0, 24.0)


def laid_out(length_in: float, spacing_in: float) -> NDArray[np.float64]:
    """Stud centres of a wall laid out from its left end: end studs half a face in, marks on centre.

    Studs stand at 16, 32, 48 in (layout mark 15 1/4 in to the near edge: NAVEDTRA 14044, p. 36).
    """
    marks = np.arange(spacing_in, length_in - 2.0, spacing_in)
    return np.concatenate([[0.75], marks, [length_in - 0.75]])


def test_a_ten_foot_tape_gives_the_scale() -> None:
    span = 120.0 / DISTANCE_IN
    scale = scale_from_marks(np.array([-0.3, 0.1]), np.array([-0.3 + span, 0.1]), 120.0, 1 / 16, 0.0005)
    assert scale is not None
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN, rel=1e-12)


def test_a_tape_across_the_wall_at_a_slant_gives_the_same_scale() -> None:
    a, b = np.array([10.0, 20.0]) / DISTANCE_IN, np.array([100.0, 80.0]) / DISTANCE_IN
    scale = scale_from_marks(a, b, float(np.hypot(90, 60)), 1 / 16, 0.0005)
    assert scale is not None
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN, rel=1e-12)


@pytest.mark.parametrize("proud_in", [0.5, 1.0, 3.5])
def test_marks_standing_proud_of_the_studs_do_not_stretch_the_wall(proud_in: float) -> None:
    """A point z before the wall is drawn larger by distance / (distance - z) (pinhole camera)."""
    nearer = DISTANCE_IN - proud_in
    a, b = np.array([-50.0, 3.0]) / nearer, np.array([46.0, 3.0]) / nearer
    told = scale_from_marks(a, b, 96.0, 1 / 16, 0.0005, stands_proud_in=proud_in)
    untold = scale_from_marks(a, b, 96.0, 1 / 16, 0.0005)
    assert told is not None
    assert untold is not None
    assert told.inches_per_unit == pytest.approx(DISTANCE_IN, rel=1e-12)
    assert untold.inches_per_unit == pytest.approx(DISTANCE_IN - proud_in, rel=1e-12)


def test_two_marks_on_one_spot_give_no_scale() -> None:
    assert scale_from_marks(np.array([0.1, 0.2]), np.array([0.1, 0.2]), 96.0, 1 / 16, 0.0005) is None


def test_the_doubt_of_a_tape_is_what_many_tries_scatter_by() -> None:
    """First-order propagation (GUM, JCGM 100:2008, 5.1.2) against ten thousand simulated tapes."""
    rng = np.random.default_rng(11)
    mark, length_sigma, proud_sigma, tries = 0.0008, 1 / 16, 0.06, 10_000
    ends = np.array([[0.0, 0.0], [96.0 / DISTANCE_IN, 0.0]])
    stated = scale_from_marks(ends[0], ends[1], 96.0, length_sigma, mark)
    assert stated is not None
    moved = ends[None] + rng.normal(0, mark, (tries, 2, 2))
    span = np.hypot(*(moved[:, 1] - moved[:, 0]).T)
    scales = (96.0 + rng.normal(0, length_sigma, tries)) / span + rng.normal(0, proud_sigma, tries)
    assert stated.relative_sigma == pytest.approx(np.std(scales) / DISTANCE_IN, rel=0.05)


@pytest.mark.parametrize("spacing_in", BOTH_SPACINGS)
def test_16_and_24_in_are_told_apart_by_the_width_of_the_faces(spacing_in: float) -> None:
    x = laid_out(196.0, spacing_in) / DISTANCE_IN
    scale = scale_from_spacing(x, BOTH_SPACINGS, 1.5 / DISTANCE_IN)
    assert scale is not None
    assert scale.spacing_in == spacing_in
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN, rel=1e-6)


def test_end_studs_stand_off_the_layout_and_do_no_harm() -> None:
    x = laid_out(150.0, 16.0) / DISTANCE_IN
    scale = scale_from_spacing(x, (16.0,), 1.5 / DISTANCE_IN)
    assert scale is not None
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN, rel=1e-6)
    assert (scale.on_layout, scale.studs) == (len(x) - 2, len(x))


def test_a_king_and_trimmer_beside_a_window_do_not_spoil_the_layout() -> None:
    added = np.array([52.25, 53.75, 90.25, 91.75])
    x = np.sort(np.concatenate([laid_out(196.0, 16.0), added])) / DISTANCE_IN
    scale = scale_from_spacing(x, BOTH_SPACINGS, 1.5 / DISTANCE_IN)
    assert scale is not None
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN, rel=1e-3)


def test_doubled_studs_fill_their_marks_and_fix_nothing() -> None:
    """Three doubles on the layout, two of them read as the one ply to the left, one stud moved off it."""
    seen = np.array([0.0, 15.97, 32.02, 47.27, 64.0, 79.2, 99.2, 112.2, 127.97])
    weights = np.where(seen == 64.0, 0.0, 1.0)
    scale = scale_from_spacing(seen / DISTANCE_IN, (16.0,), 1.5 / DISTANCE_IN, weights=weights)
    assert scale is not None
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN, rel=2e-3)


def test_studs_an_eighth_off_their_marks_keep_the_scale_within_its_doubt() -> None:
    rng = np.random.default_rng(2)
    off = []
    for _ in range(40):
        x = (laid_out(196.0, 16.0) + rng.normal(0, 0.12, 14)) / DISTANCE_IN
        scale = scale_from_spacing(x, (16.0,), 1.5 / DISTANCE_IN)
        assert scale is not None
        off.append((scale.inches_per_unit / DISTANCE_IN - 1) / scale.relative_sigma)
    assert np.mean(np.abs(off) < 2) >= 0.9
    assert np.sqrt(np.mean(np.square(off))) < 1.5


@pytest.mark.parametrize("centres", [[], [0.1], [0.1, 0.22, 0.34]])
def test_fewer_than_four_studs_give_no_layout(centres: list[float]) -> None:
    assert scale_from_spacing(np.array(centres), BOTH_SPACINGS, 1.5 / DISTANCE_IN) is None


def test_studs_at_no_even_spacing_give_no_layout() -> None:
    x = np.array([0.75, 9.3, 31.1, 38.0, 71.7]) / DISTANCE_IN
    assert scale_from_spacing(x, (16.0,), 1.5 / DISTANCE_IN) is None


def test_the_faces_alone_give_a_scale_of_six_percent() -> None:
    scale = scale_from_face(1.5 / DISTANCE_IN, 1.5)
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN)
    assert scale.relative_sigma >= 0.05


def sharpened(marks_off: float, rough: float, relative_sigma: float = 0.0015) -> Scale:
    """A tape's scale, `marks_off` too long, over studs at 16 in on centre."""
    x = laid_out(176.0, 16.0) / DISTANCE_IN
    tape = Scale(DISTANCE_IN * (1 + marks_off), relative_sigma)
    return with_layout(tape, x, np.ones(len(x)), 0.0, rough)


def test_a_layout_sharpens_a_tape_that_agrees_with_it() -> None:
    scale = sharpened(0.002, rough=0.004)
    assert abs(scale.inches_per_unit / DISTANCE_IN - 1) < 0.001
    assert scale.relative_sigma < 0.001
    assert scale.off_layout == 0


def test_marks_that_put_the_studs_beside_every_usual_spacing_leave_the_scale_in_doubt() -> None:
    """0.8 % off: neither at 16 in nor at 400 mm, which is 1.6 % less."""
    scale = sharpened(-0.008, rough=0.004)
    assert scale.inches_per_unit == pytest.approx(DISTANCE_IN * 0.992)
    assert abs(scale.off_layout) == pytest.approx(0.008, abs=0.001)
    assert scale.relative_sigma > 0.005


def test_a_short_tape_cannot_tell_16_in_from_400_mm() -> None:
    plain, short = sharpened(0.001, rough=0.004), sharpened(0.001, rough=0.03)
    assert short.inches_per_unit == plain.inches_per_unit
    assert plain.relative_sigma < 0.001
    assert short.relative_sigma > 0.005
