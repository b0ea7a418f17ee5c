"""Doors and windows by their framing, on labels drawn from a framing plan, and on a sample photo.

Sizes: a rough opening for a 2 ft 6 in door is 32 x 82 1/2 in, two inches wider and 2 1/2 in higher than the
door (trade handbooks as the trade facts list them, C16). Studs 16 in on centre under two top plates.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from tests.vision.sample_walls import CASES, photo_of
from vision import Reference, read_wall
from vision.extent import Upright
from vision.members import Stretch
from vision.rectify import RectGrid
from vision.rough_openings import RoughOpening, find_rough_openings, with_framing
from vision.wall_picture import WallPicture
from vision.wall_region import Region
from vision.what import WhatMaps

PX = 6  # columns and rows an inch
HIGH, FACE = 97.0, 1.5
PLATES, FLOOR = 3.0, 1.5  # two top plates and one on the floor
DOOR_HEAD = 82.5
Piece = tuple[float, float, float, float]  # left, right, bottom, top in wall inches


def stud(centre: float, bottom: float = FLOOR, top: float = HIGH - PLATES) -> Piece:
    return centre - FACE / 2, centre + FACE / 2, bottom, top


class Wall:
    """A framed wall as the pixels' labels show it."""

    def __init__(self, length: float, floor_plates: Sequence[tuple[float, float]] | None = None) -> None:
        self.length = length
        self.fronts: list[Piece] = []
        self.level: list[Piece] = [(0.0, length, HIGH - PLATES, HIGH)]
        self.full: list[float] = []
        self.plates = [(a, b, 0.0, FLOOR) for a, b in (floor_plates or [(0.0, length)])]

    def stands(self, *centres: float) -> Wall:
        self.full += centres
        self.fronts += [stud(c) for c in centres]
        return self

    def find(self, mirrored: bool = False) -> list[RoughOpening]:
        width, height = round(self.length * PX), round(HIGH * PX)
        names = ("front", "across", "plate", "joint", "side", "wall")
        maps = {name: np.zeros((height, width), np.float32) for name in names}
        lab = np.full((height, width, 3), (40.0, 0.0, 0.0), np.float32)
        rng = np.random.default_rng(5)
        for name, pieces in (
            ("front", self.fronts),
            ("across", self.level + self.plates),
            ("plate", self.plates),
        ):
            for left, right, bottom, top in pieces:
                rows = slice(round((HIGH - top) * PX), round((HIGH - bottom) * PX))
                columns = slice(round(left * PX), round(right * PX))
                maps[name][rows, columns] = 0.95
                lab[rows, columns] = (70.0, 6.0, 24.0)
        lab[..., 0] += rng.normal(0, 1.0, lab.shape[:2])
        if mirrored:
            maps = {name: np.ascontiguousarray(m[:, ::-1]) for name, m in maps.items()}
            lab = np.ascontiguousarray(lab[:, ::-1])
        grid = RectGrid(0.0, 0.0, 1.0, 1.0, width, height)
        region = Region(0.0, 0.0, float(width), float(height))
        picture = WallPicture(region, grid, lab, np.ones((height, width), bool), WhatMaps(**maps))
        at = [self.length - c if mirrored else c for c in self.full]
        return find_rough_openings([whole(c) for c in at], picture, FACE * PX)


def whole(centre: float) -> Upright:
    edges = (centre - FACE / 2) * PX, (centre + FACE / 2) * PX
    return Upright(Stretch(*edges, 1, 0.95, 0.9, 0.9, 3.0, 0.0), 0.0, 1.0, 1.0, True)


def inches(u: Upright) -> tuple[float, float, float]:
    """Middle, foot and top in wall inches."""
    return u.stretch.centre / PX, HIGH * (1 - u.bottom), HIGH * (1 - u.top)


def door_wall() -> Wall:
    """Kings at 30 and 65, a 32 in door between trimmers, a header of two 2x8s, a cripple over it."""
    wall = Wall(112.0, [(0.0, 32.25), (64.25, 112.0)]).stands(0.75, 16.0, 30.75, 65.75, 80.0, 96.0, 111.25)
    wall.fronts += [stud(31.5 + 0.75, top=DOOR_HEAD), stud(65.0 - 0.75, top=DOOR_HEAD)]
    wall.fronts += [stud(48.0, bottom=DOOR_HEAD + 7.25)]
    wall.level += [(31.5, 65.0, DOOR_HEAD, DOOR_HEAD + 7.25)]
    return wall


def window_wall(header: float = 5.5) -> Wall:
    """Kings at 30.75 and 65.75, a window 36 to 78 in high between trimmers, cripples below and above."""
    wall = Wall(112.0).stands(0.75, 16.0, 30.75, 65.75, 80.0, 96.0, 111.25)
    wall.fronts += [stud(31.5 + 0.75, top=78.0), stud(65.0 - 0.75, top=78.0)]
    wall.fronts += [stud(48.0, bottom=78.0 + header), stud(48.0, top=34.5), stud(62.75, top=34.5)]
    wall.level += [(31.5, 65.0, 78.0, 78.0 + header), (33.0, 63.5, 34.5, 36.0)]
    return wall


def test_a_door_is_clear_between_its_trimmers_and_under_its_header() -> None:
    (door,) = door_wall().find()
    assert door.sill == 1.0
    assert (door.left / PX, door.right / PX) == pytest.approx((33.0, 63.5), abs=0.2)
    assert HIGH * (1 - door.head) == pytest.approx(DOOR_HEAD, abs=0.3)
    assert [inches(u) for u in door.trimmers] == [
        pytest.approx((32.25, 0.0, DOOR_HEAD), abs=0.3),
        pytest.approx((64.25, 0.0, DOOR_HEAD), abs=0.3),
    ]
    assert [inches(u) for u in door.cripples] == [pytest.approx((48.0, DOOR_HEAD + 7.25, HIGH), abs=0.3)]


def test_a_window_has_cripples_over_its_header_and_under_its_sill() -> None:
    (window,) = window_wall().find()
    assert HIGH * (1 - window.sill) == pytest.approx(36.0, abs=0.3)
    assert len(window.trimmers) == 2
    assert sorted(inches(u) for u in window.cripples) == [
        pytest.approx((48.0, 0.0, 34.5), abs=0.3),
        pytest.approx((48.0, 83.5, HIGH), abs=0.3),
        pytest.approx((62.75, 0.0, 34.5), abs=0.3),
    ]


def test_a_header_against_the_top_plates_has_no_cripples_over_it() -> None:
    wall = door_wall()
    wall.fronts = [f for f in wall.fronts if f[2] < DOOR_HEAD]
    wall.level[-1] = (31.5, 65.0, DOOR_HEAD, HIGH - PLATES)
    (door,) = wall.find()
    assert HIGH * (1 - door.head) == pytest.approx(DOOR_HEAD, abs=0.3)
    assert door.cripples == ()


def test_a_partition_door_without_trimmers_ends_at_its_kings() -> None:
    """One flat piece over the door, the plate on the floor sawn out: what bears nothing is framed so."""
    wall = Wall(112.0, [(0.0, 31.5), (65.0, 112.0)]).stands(0.75, 16.0, 30.75, 65.75, 80.0, 96.0, 111.25)
    wall.level += [(31.5, 65.0, DOOR_HEAD, DOOR_HEAD + 1.5)]
    wall.fronts += [stud(48.0, bottom=DOOR_HEAD + 1.5)]
    (door,) = wall.find()
    assert door.trimmers == ()
    assert (door.left / PX, door.right / PX) == pytest.approx((31.5, 65.0), abs=0.2)


@pytest.mark.parametrize("wall", [door_wall(), window_wall()])
def test_the_mirrored_wall_has_the_mirrored_opening(wall: Wall) -> None:
    (one,), (other,) = wall.find(), wall.find(mirrored=True)
    assert (wall.length * PX - other.right, wall.length * PX - other.left) == pytest.approx(
        (one.left, one.right), abs=1.5
    )
    assert (other.head, other.sill) == pytest.approx((one.head, one.sill))
    assert len(other.short) == len(one.short)


def test_blocking_between_studs_is_no_opening() -> None:
    wall = Wall(112.0).stands(0.75, *range(16, 112, 16), 111.25)
    for left in range(16, 96, 16):
        wall.level += [(left + 0.75, left + 15.25, 48.0 + left % 32 / 8, 51.5 + left % 32 / 8)]
        wall.level += [(left + 0.75, left + 15.25, 80.0, 81.5)]
    assert wall.find() == []


def test_studs_far_apart_with_nothing_across_are_no_opening() -> None:
    assert Wall(112.0).stands(0.75, 16.0, 30.75, 65.75, 80.0, 111.25).find() == []


def test_a_piece_at_half_height_is_a_sill_or_a_shelf_and_no_door_s_header() -> None:
    wall = Wall(112.0).stands(0.75, 16.0, 30.75, 65.75, 80.0, 96.0, 111.25)
    wall.level += [(31.5, 65.0, 50.0, 55.5)]
    assert wall.find() == []


def test_what_leans_before_a_wall_is_broken_across_and_no_header() -> None:
    """The top rails of two leaning shutters: level, but with a gap between them."""
    wall = door_wall()
    wall.level[-1] = (31.5, 43.0, DOOR_HEAD, DOOR_HEAD + 7.25)
    wall.level += [(53.5, 65.0, DOOR_HEAD, DOOR_HEAD + 7.25)]
    assert wall.find() == []


def test_a_header_shows_where_a_missed_king_stands() -> None:
    wall = window_wall()
    wall.full = [c for c in wall.full if c not in (65.75, 80.0)]
    (window,) = wall.find()
    assert window.right / PX == pytest.approx(63.5, abs=0.4)


def test_a_door_that_the_photo_cuts_off_is_beyond_the_wall_that_is_read() -> None:
    """Places end at the last full-height member there: a board for what lies beyond could not be planned."""
    wall = door_wall()
    wall.length = 60.0
    wall.full = [c for c in wall.full if c < 60.0]
    assert wall.find() == []


def test_short_pieces_seen_before_give_way_to_the_framing() -> None:
    (door,) = door_wall().find()
    scrap = Upright(Stretch(44 * PX, 45.5 * PX, 1, 0.6, 0.5, 0.5, 1.0, 0.0), 0.4, 1.0, 1.0, False)
    apart = Upright(Stretch(88 * PX, 89.5 * PX, 1, 0.6, 0.5, 0.5, 1.0, 0.0), 0.4, 1.0, 1.0, False)
    kings = [whole(30.75), whole(65.75)]
    members = with_framing([kings[0], scrap, kings[1], apart], [door])
    assert scrap not in members
    assert {*kings, apart, *door.short} == set(members)


def test_the_sample_door_is_proposed_as_it_was_framed() -> None:
    """On a sample photo: 32 x 82 1/2 in, its sides within 1/4 in of where they are seen."""
    case = CASES["door_wall"]
    reading = read_wall(photo_of("door_wall"), Reference.on_centre(case.spacing_in))
    (door,) = reading.openings
    assert reading.plane is not None
    corners = np.array(
        [(25.958, 0.0, 0.0), (57.958, 0.0, 0.0), (57.958, DOOR_HEAD, 0.0), (25.958, DOOR_HEAD, 0.0)]
    )
    x, y = reading.plane.to_wall(case.camera.project(corners)).T
    assert door.kind == "door"
    assert (door.left_in, door.right_in) == pytest.approx((x[[0, 3]].mean(), x[1:3].mean()), abs=0.25)
    assert door.top_in == pytest.approx(y[2:].mean(), abs=0.25)
    assert door.right_in - door.left_in == pytest.approx(32.0, abs=0.5)
    assert not door.sure


@pytest.mark.parametrize("up_to", [55.0, DOOR_HEAD])
def test_a_side_face_taken_for_a_front_is_no_second_trimmer(up_to: float) -> None:
    """A door's header rests on one trimmer at each end."""
    wall = door_wall()
    wall.fronts += [(61.6, 63.5, 0.0, up_to)]
    (door,) = wall.find()
    assert [u.stretch.plies for u in door.trimmers] == [1, 1]
    assert door.right / PX == pytest.approx(63.5, abs=0.2)


def test_under_one_plate_a_header_shows_by_what_it_adds_to_it() -> None:
    """A shed's window right under the plate: its studs stand under the header, so all look full-height."""
    wall = Wall(112.0).stands(0.75, 16.0, 32.25, 64.25, 80.0, 96.0, 111.25)
    wall.level = [
        (0.0, 112.0, HIGH - 1.5, HIGH),
        (31.5, 65.0, HIGH - 5.0, HIGH - 1.5),
        (33.0, 63.5, 58.5, 60.0),
    ]
    (window,) = wall.find()
    assert HIGH * (1 - window.head) == pytest.approx(HIGH - 5.0, abs=0.3)
    assert HIGH * (1 - window.sill) == pytest.approx(60.0, abs=0.3)
    assert window.short == ()
    wall.level = [(0.0, 112.0, HIGH - 5.0, HIGH), wall.level[2]]
    assert wall.find() == [], "plates as thick over every bay are plates"


def test_a_high_window_s_sill_is_not_its_header() -> None:
    wall = window_wall()
    wall.level[-1] = (33.0, 63.5, 58.5, 60.0)
    wall.fronts = [f for f in wall.fronts if f[3] != 34.5]
    (window,) = wall.find()
    assert HIGH * (1 - window.head) == pytest.approx(78.0, abs=0.3)
    assert HIGH * (1 - window.sill) == pytest.approx(60.0, abs=0.3)


def test_cripples_tell_a_header_from_a_thicker_plate_over_it() -> None:
    wall = door_wall()
    wall.level += [(31.5, 65.0, HIGH - PLATES - 1.5, HIGH - PLATES)]
    (door,) = wall.find()
    assert HIGH * (1 - door.head) == pytest.approx(DOOR_HEAD, abs=0.3)
    assert len(door.cripples) == 1


def test_the_header_of_a_wide_window_rests_on_two_trimmers_at_each_end() -> None:
    """An 8 ft opening (jack studs of IRC Table R602.7, from memory: two)."""
    wall = Wall(144.0).stands(0.75, 16.0, 22.25, 121.75, 128.0, 143.25)
    wall.level += [(23.0, 121.0, 78.0, 87.25), (26.0, 118.0, 34.5, 36.0)]
    wall.fronts += [stud(at, top=78.0) for at in (23.75, 25.25, 118.75, 120.25)]
    wall.fronts += [stud(at, top=34.5) for at in (48.0, 64.0, 80.0, 96.0)]
    (window,) = wall.find()
    assert [u.stretch.plies for u in window.trimmers] == [2, 2]
    assert (window.left / PX, window.right / PX) == pytest.approx((26.0, 118.0), abs=0.2)
    assert len(window.cripples) == 4
