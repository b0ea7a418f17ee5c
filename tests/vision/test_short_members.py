"""Where trimmers and cripples stand, and when they are sure."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.vision.sample_walls import CASES, photo_of
from vision import Reference, read_wall
from vision.doubt import _plainly_judged
from vision.extent import Upright
from vision.measured import Measured, beside_king
from vision.members import Stretch
from vision.rectify import RectGrid
from vision.rough_openings import RoughOpening
from vision.survey import Survey
from vision.wall_region import Region

FACE = 1.5  # lengths in inches here: any unit does


def measured(left: float, full: bool, front: float = 0.95) -> Measured:
    up = Upright(Stretch(left, left + FACE, 1, front, 0.3, 0.3, 2.0, 0.0), 0.0, 1.0, 1.0, full)
    return Measured(left, left + FACE, 0.0, 0.0, 97.0, 0.02, FACE, None, None, up)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("off", [-0.4, 0.0, 0.4])
def test_a_trimmer_stands_where_it_is_nailed_to_its_king(side: int, off: float) -> None:
    """Its own edges are off by `off`; the king's run over all the height."""
    king, far = measured(30.0, True), measured(30.0 - side * 16.0, True)
    true = 30.0 + side * FACE
    trimmer = beside_king(measured(true + off, False), [far, king], FACE)
    assert trimmer.x_left == pytest.approx(true + 0.3 * off)
    assert trimmer.x_right - trimmer.x_left == pytest.approx(FACE)


def test_what_stands_apart_from_every_king_stays_where_it_was_seen() -> None:
    cripple = measured(38.0, False)
    assert beside_king(cripple, [measured(30.0, True)], FACE) == cripple
    assert beside_king(cripple, [], FACE) == cripple


@pytest.mark.parametrize(("front", "plain"), [(0.95, True), (0.7, False)])
def test_a_cripple_whose_whole_face_is_seen_needs_no_tape(front: float, plain: bool) -> None:
    cripple = measured(48.0, False, front)
    opening = RoughOpening(33.0, 63.0, 0.15, 1.0, (), (cripple.upright,))
    region, grid = Region(0.0, 0.0, 112.0, 97.0), RectGrid(0.0, 0.0, 1.0, 1.0, 112, 97)
    wall = Survey(region, FACE, (cripple,), grid, None, openings=(opening,))
    assert _plainly_judged(cripple, wall) is plain
    assert not _plainly_judged(cripple, replace(wall, openings=()))


def test_the_short_members_round_the_sample_door_are_those_it_was_framed_with() -> None:
    """By the photo's truth: two trimmers from the floor to the header, three cripples over it."""
    case = CASES["door_wall"]
    reading = read_wall(photo_of("door_wall"), Reference.on_centre(case.spacing_in))
    found = [m for m in reading.members if m.kind == "partial"]
    true = sorted((m for m in case.members if not m.full), key=lambda m: (m.centre_in, -m.bottom_in))
    found.sort(key=lambda m: (round(m.centre_in), -m.bottom_in))
    assert len(found) == len(true) == 5
    for one, framed in zip(found, true, strict=True):
        assert one.centre_in == pytest.approx(framed.centre_in, abs=0.25)
        assert one.top_in == pytest.approx(96.0 if framed.bottom_in > 60 else framed.top_in, abs=0.5)
        assert one.bottom_in == pytest.approx(framed.bottom_in if framed.bottom_in > 60 else 0.0, abs=0.5)
