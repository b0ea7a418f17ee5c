"""Electrical boxes beside studs: proposed by their shape, never sure; what only looks like one is none."""

from __future__ import annotations

import numpy as np
import pytest

from vision.boxes import propose_boxes
from vision.reading import Member
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
