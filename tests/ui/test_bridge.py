"""What was read becomes the framing to board, and the boards lie on the photo where the wall is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import walls

from layout.framing import JobError
from layout.plan_types import CutOut, Piece, Row, Seam, SurfacePlan
from ui.bridge import NoWallError, board_shapes_px, in_file_px, surface_from_reading
from vision.reading import Opening


def test_every_stud_keeps_its_place_its_doubt_and_its_number() -> None:
    reading = walls.reading()
    doubtful = replace(reading.members[3], sure=False, sigma_in=0.4, plies=2, face_in=3.0)
    reading = replace(reading, members=(*reading.members[:3], doubtful, *reading.members[4:]))
    surface = surface_from_reading(reading, "A", name="North wall", board_width_in=54.0)
    assert (surface.id, surface.name, surface.board_width_in) == ("A", "North wall", 54.0)
    assert (surface.width_in, surface.height_in) == (194.0, 97.125)
    assert [m.id for m in surface.members] == [str(n) for n in range(1, 11)]
    assert [m.centre_in for m in surface.members] == [m.centre_in for m in reading.members]
    fourth = surface.members[3]
    assert (fourth.sure, fourth.sigma_in, fourth.plies, fourth.face_in) == (False, 0.4, 2, 3.0)


def test_studs_are_numbered_from_the_left_whatever_their_order() -> None:
    reading = walls.reading()
    shuffled = replace(reading, members=reading.members[::-1])
    assert surface_from_reading(shuffled, "A") == surface_from_reading(reading, "A")


def test_a_cripple_keeps_its_reach_and_a_full_stud_has_none() -> None:
    reading = walls.reading((0.75, 96.0, 193.25))
    cripple = walls.stud(112.0, kind="partial", reach=(82.5, 95.6))
    surface = surface_from_reading(replace(reading, members=(*reading.members, cripple)), "A")
    assert [(m.kind, m.bottom_in, m.top_in) for m in surface.members] == [
        ("full", None, None),
        ("full", None, None),
        ("partial", 82.5, 95.6),
        ("full", None, None),
    ]


def test_openings_go_along_and_an_unaccepted_one_says_so() -> None:
    door = Opening("door", 60.0, 98.0, 0.0, 82.5, sure=True)
    window = Opening("window", 20.0, 50.0, 36.0, 80.0, sure=False)
    surface = surface_from_reading(walls.reading(openings=(door, window)), "A")
    assert [(o.kind, o.left_in, o.sure) for o in surface.openings] == [
        ("window", 20.0, False),
        ("door", 60.0, True),
    ]


def test_an_end_stud_read_a_hair_outside_stands_flush_with_the_end() -> None:
    surface = surface_from_reading(walls.reading((0.5, 96.0, 193.6)), "A")
    assert [m.centre_in for m in surface.members] == [0.75, 96.0, 193.25]


def test_a_stud_far_outside_the_corners_is_told_to_the_user() -> None:
    with pytest.raises(JobError, match="outside the surface"):
        surface_from_reading(walls.reading((0.75, 96.0, 230.0)), "A")


def test_a_photo_without_a_wall_cannot_be_boarded() -> None:
    with pytest.raises(NoWallError, match="four corners"):
        surface_from_reading(replace(walls.reading(), wall=None), "A")
    with pytest.raises(NoWallError):
        surface_from_reading(replace(walls.reading(), plane=None), "A")


def two_boards() -> SurfacePlan:
    """The lower row of the 16 ft 2 in wall: a 10-ft board cut to 112 1/4 in, then 81 3/4 in."""
    hole = CutOut("o", "outlet", "rectangle", 130.0, 132.0, 14.0, 18.0)
    pieces = (
        Piece(0.0, 112.25, "cut", "factory", 1, number=1, bottom_in=0.5, top_in=48.0),
        Piece(112.25, 194.0, "factory", "cut", 2, (hole,), number=2, bottom_in=0.5, top_in=48.0),
    )
    seam = Seam(112.25, "7", True, 0.75, 47.5, 2)
    return SurfacePlan("A", (Row(0.5, 48.0, 48.0, pieces, (seam,)),), width_in=194.0, height_in=97.125)


def test_boards_lie_on_the_photo_where_opencv_projects_them() -> None:
    shapes = board_shapes_px(two_boards(), walls.plane())
    first = np.array(shapes.pieces[0].outline_px)
    corners = walls.by_opencv(np.array([(0.0, 0.5), (112.25, 0.5), (112.25, 48.0), (0.0, 48.0)]))
    for corner in corners:
        assert np.hypot(*(first - corner).T).min() < 1e-6
    label = walls.by_opencv(np.array([(112.25 / 2, 24.25)]))[0]
    assert shapes.pieces[0].label_px == pytest.approx(tuple(label), abs=1e-6)


def test_straight_edges_bend_with_the_lens() -> None:
    outline = np.array(board_shapes_px(two_boards(), walls.plane()).pieces[0].outline_px)
    # On a chord between the two ends the middle of the lower edge would lie pixels away.
    ends, middle = (
        walls.by_opencv(np.array([(0.0, 0.5), (112.25, 0.5)])),
        walls.by_opencv(np.array([(56.0, 0.5)])),
    )
    along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    away = middle[0] - ends[0]
    assert abs(along[0] * away[1] - along[1] * away[0]) > 2.0
    assert np.hypot(*(outline - middle[0]).T).min() < 2.0 * np.hypot(*(outline[1] - outline[0]))
    assert len(outline) == 2 * 29 + 2 * 12


def test_the_seam_is_drawn_up_the_stud_it_lands_on() -> None:
    (seam,) = board_shapes_px(two_boards(), walls.plane()).seams
    ends = walls.by_opencv(np.array([(112.25, 0.5), (112.25, 48.0)]))
    assert np.array([seam.line_px[0], seam.line_px[-1]]) == pytest.approx(ends, abs=1e-6)
    assert (seam.member_id, seam.sure) == ("7", True)


def test_a_cut_out_is_drawn_inside_its_piece() -> None:
    second = board_shapes_px(two_boards(), walls.plane()).pieces[1]
    (hole,) = second.cutouts_px
    xs, ys = np.array(second.outline_px).T
    assert all(xs.min() < x < xs.max() and ys.min() < y < ys.max() for x, y in hole)


def test_a_photo_of_a_part_of_the_wall_shows_the_boards_there_with_their_full_lengths() -> None:
    shapes = board_shapes_px(two_boards(), walls.plane(), (80.0, 128.0))
    reach = [walls.plane().to_wall(piece.outline_px)[:, 0] for piece in shapes.pieces]
    assert [(x.min(), x.max()) for x in reach] == [
        pytest.approx((80.0, 112.25), abs=1e-6),
        pytest.approx((112.25, 128.0), abs=1e-6),
    ]
    assert [piece.length_in for piece in shapes.pieces] == [112.25, 81.75]
    assert shapes.pieces[1].cutouts_px == ()
    assert len(shapes.seams) == 1
    (left,) = board_shapes_px(two_boards(), walls.plane(), (-1.0, 100.0)).pieces
    assert left.number == 1
    assert board_shapes_px(two_boards(), walls.plane(), (-1.0, 100.0)).seams == ()


def test_rows_that_run_up_the_drawing_exchange_the_two_axes() -> None:
    piece = Piece(0.0, 96.0, "factory", "factory", 1, number=1, bottom_in=48.0, top_in=96.0)
    plan = SurfacePlan("C", (Row(48.0, 96.0, 48.0, (piece,), direction="y"),))
    outline = board_shapes_px(plan, walls.plane()).pieces[0].outline_px
    back = walls.plane().to_wall(outline)
    assert back.min(axis=0) == pytest.approx([48.0, 0.0], abs=1e-6)
    assert back.max(axis=0) == pytest.approx([96.0, 96.0], abs=1e-6)


def test_figures_of_a_shrunk_photo_are_printed_in_the_pixels_of_its_file() -> None:
    reading = walls.reading()
    printed = in_file_px(reading, 2)
    assert (printed.width_px, printed.height_px) == (8000, 6000)
    x, y = reading.members[0].front_px[0]
    # Centre of the top-left pixel of the shrunk photo = corner between the file's first four pixels.
    assert printed.members[0].front_px[0] == pytest.approx((2 * x + 0.5, 2 * y + 0.5))
    assert in_file_px(reading, 1) is reading
