"""Electrical boxes beside studs: proposed, never sure; what only looks like one is none."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks.boxes import rims_px
from tests.vision.sample_walls import CASES, photo_of, reading_of
from vision import boxes
from vision.boxes import propose_boxes
from vision.reading import Member, Opening
from vision.wall_plane import WallPlane

PX_PER_IN = 10
WIDE_IN, HIGH_IN = 64.0, 96.0
PLANE = WallPlane(
    1.0,
    (0.0, 0.0),
    0.0,
    0.0,
    ((1 / PX_PER_IN, 0.0, 0.0), (0.0, -1 / PX_PER_IN, HIGH_IN), (0.0, 0.0, 1.0)),
)
STUDS_IN = (16.0, 32.0, 48.0)
WOOD, CONCRETE, BLUE = (200, 170, 120), (135, 135, 130), (40, 80, 170)


def stud(centre_in: float) -> Member:
    line = tuple(map(tuple, PLANE.to_photo([(centre_in, 1.5), (centre_in, 94.5)]).tolist()))
    return Member(centre_in, 0.05, 1.5, 0.0, 1, "full", True, line, 1.5, 94.5, ())


def wall(*patches) -> np.ndarray:
    """A framed wall before concrete, straight on; a patch is left, right, bottom, top (in) and a colour."""
    grain = np.random.default_rng(7).normal(0, 6, (int(HIGH_IN * PX_PER_IN), int(WIDE_IN * PX_PER_IN), 1))
    photo = np.full((*grain.shape[:2], 3), CONCRETE, float) + grain
    for left, right, bottom, top, colour in (
        *((c - 0.75, c + 0.75, 0, HIGH_IN, WOOD) for c in STUDS_IN),
        *patches,
    ):
        rows = slice(round((HIGH_IN - top) * PX_PER_IN), round((HIGH_IN - bottom) * PX_PER_IN))
        photo[rows, round(left * PX_PER_IN) : round(right * PX_PER_IN)] = colour
    return photo.clip(0, 255).astype(np.uint8)


def boxes_on(photo: np.ndarray):
    return propose_boxes(photo, PLANE, tuple(map(stud, STUDS_IN)), HIGH_IN)


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_box_beside_a_stud_is_proposed_and_never_sure(mirrored):
    left = 48.0 - 0.75 - 2.25 if mirrored else 16.75
    (box,) = boxes_on(wall((left, left + 2.25, 44.0, 47.75, BLUE)))
    assert (box.left_in, box.right_in) == pytest.approx((left, left + 2.25), abs=0.3)
    assert (box.bottom_in, box.top_in) == pytest.approx((44.0, 47.75), abs=0.3)
    assert box.kind == "box"
    assert not box.sure


@pytest.mark.parametrize(
    "patch",
    [
        pytest.param((16.75, 31.25, 44.0, 47.75, WOOD), id="blocking from stud to stud"),
        pytest.param((10.0, 19.0, 44.0, 47.75, BLUE), id="a level across the face"),
        pytest.param((22.0, 24.25, 44.0, 47.75, BLUE), id="something in the middle of the bay"),
        pytest.param((16.75, 19.0, 20.0, 70.0, BLUE), id="a pipe beside the stud"),
    ],
)
def test_what_is_no_box_is_not_proposed(patch):
    assert boxes_on(wall(patch)) == ()


def test_bare_bays_hold_no_box():
    assert boxes_on(wall()) == ()


def test_a_box_for_two_devices_is_proposed_as_wide_as_it_is():
    (box,) = boxes_on(wall((16.75, 20.75, 44.0, 47.75, BLUE)))
    assert (box.left_in, box.right_in) == pytest.approx((16.75, 20.75), abs=0.4)


def test_two_boxes_of_one_bay_are_two_and_one_that_fills_a_narrow_bay_is_one():
    both = (16.75, 19.0, 44.0, 47.75, BLUE), (29.0, 31.25, 14.0, 17.75, BLUE)
    assert [round(b.bottom_in) for b in boxes_on(wall(*both))] == [44, 14]
    extra = 16.0 + 1.5 + 2.5  # a stud nailed 2 1/2 in beside another
    photo = wall((16.75, 19.0, 44.0, 47.75, BLUE), (extra - 0.75, extra + 0.75, 0, HIGH_IN, WOOD))
    members = tuple(map(stud, (16.0, extra, 32.0, 48.0)))
    assert len(propose_boxes(photo, PLANE, members, HIGH_IN)) <= 1


def test_without_the_networks_weights_no_box_is_proposed(monkeypatch):
    monkeypatch.setattr(boxes.box_model, "answer", lambda weights, asked: None)
    assert boxes_on(wall((16.75, 19.0, 44.0, 47.75, BLUE))) == ()


@pytest.mark.parametrize("name", ["long_wall", "insulated_wall", "steel_wall"])
def test_the_boxes_of_a_photographed_wall_are_proposed_where_they_are_and_nothing_else(name):
    """Three sample walls, each with all its boxes: how often that holds is the benchmark's matter."""
    reading = reading_of(name)
    proposed: list[Opening] = sorted(
        propose_boxes(photo_of(name).rgb, reading.plane, reading.members, reading.wall.height_in),
        key=lambda box: box.left_in,
    )
    true = sorted(
        (reading.plane.to_wall(rim) for rim in rims_px(CASES[name])), key=lambda rim: rim[:, 0].min()
    )
    assert len(proposed) == len(true)
    for box, rim in zip(proposed, true, strict=True):
        assert (box.left_in, box.right_in) == pytest.approx((rim[:, 0].min(), rim[:, 0].max()), abs=0.4)
        assert (box.bottom_in, box.top_in) == pytest.approx((rim[:, 1].min(), rim[:, 1].max()), abs=0.4)
