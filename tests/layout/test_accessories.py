"""What goes with the boards, against figures from estimating books and sums made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import Job, Opening, Prefs, Surface, members_on_spacing, plan_job
from layout.accessories import (
    Corners,
    accessories_of,
    bead_pieces_in,
    compound_gal,
    joints_of,
    tape_rolls,
)
from layout.order import SpareRule, make_order
from layout.stock import US_STOCK, Board
from tests.layout.common import room, sixteen_in_wall


def one_board(kind: str, length_in: float, on_centre_in: float) -> tuple[Job, object]:
    """A surface that one board covers."""
    surface = Surface(
        "A", length_in, 48.0, members_on_spacing(length_in, on_centre_in), kind=kind, floor_gap_in=0.0
    )
    job = Job((surface,), (Board("regular", 0.5, 48.0, length_in, 15.0),))
    return job, plan_job(job)


@pytest.mark.parametrize(
    ("kind", "length_in", "on_centre_in", "screws"),
    # counted by hand from the spacings of NAVEDTRA 14044 p. 164 and IRC Table R702.3.5, 3/8 in from edges:
    # lines of framing x screws in a line; they bracket the textbook's 1,000 to 1,000 sq ft
    [
        ("wall", 96.0, 16.0, 7 * 4),
        ("ceiling", 96.0, 16.0, 7 * 5),
        ("ceiling", 144.0, 16.0, 10 * 5),
        ("wall", 96.0, 24.0, 5 * 5),
        ("ceiling", 144.0, 24.0, 7 * 5),
    ],
)
def test_screws_of_one_board_are_those_counted_by_hand(kind, length_in, on_centre_in, screws) -> None:
    job, plan = one_board(kind, length_in, on_centre_in)
    found = accessories_of(plan, job.surfaces, make_order(plan.sheets))
    (line,) = found.screws
    assert line.needed == screws
    # 1/2 in board and 5/8 in into the wood (IRC R702.3.5.1)
    assert line.length_in == 1.125
    assert line.to_buy % 100 == 0
    assert line.to_buy >= screws * 1.05


def test_screws_lie_near_the_textbooks_thousand_to_a_thousand_square_feet() -> None:
    # Dagostino & Peterson p. 203: 1,000 screws to 1,000 sq ft; a real room has more ends and strips
    job = room(1)
    plan = plan_job(job)
    found = accessories_of(plan, job.surfaces, make_order(plan.sheets))
    assert 800 < found.screws[0].needed / found.area_sqft * 1000 < 1250


def test_tape_is_rounded_to_rolls_as_the_textbook_does() -> None:
    # the same page: 7,000 sq ft, 2,660 ft of joints, 10 % more, rolls of 50 ft: 59 rolls
    assert tape_rolls(2660.0, 50.0) == 59


def test_compound_is_a_range_that_holds_the_published_figures() -> None:
    # the same page has 35 gallons for 7,000 sq ft; a trade handbook about 9.4 to 1,000 (from memory)
    least, most = compound_gal(7000.0)
    assert least <= 35.0 <= most
    assert least <= 9.4 * 7 <= most


def test_corner_bead_is_cut_from_eight_and_ten_foot_pieces() -> None:
    assert bead_pieces_in((96.0, 96.0, 96.0)) == ((96.0, 3),)
    assert bead_pieces_in((97.125,)) == ((120.0, 1),)
    assert bead_pieces_in((130.0,)) == ((96.0, 1), (120.0, 1))
    assert bead_pieces_in(()) == ()


def test_joints_of_a_wall_measured_by_hand() -> None:
    # 16 ft of wall in two rows of 16 ft boards: one tapered joint of 16 ft, no butt joint
    wall = sixteen_in_wall(192.0)
    plan = plan_job(Job((wall,), (Board("regular", 0.5, 48.0, 192.0, 30.0),)))
    joints, inside = joints_of(plan, Corners(inside=0))
    assert (joints.tapered_ft, joints.mixed_ft, joints.butt_ft) == (pytest.approx(16.0), 0.0, 0.0)
    assert (joints.corner_ft, joints.ceiling_ft, inside) == (0.0, 0.0, 0)
    # from 8 ft boards each row has a seam of the board's width: 2 x 4 ft
    plan = plan_job(Job((wall,), tuple(b for b in US_STOCK if b.length_in in (96.0, 120.0))))
    assert joints_of(plan)[0].butt_ft == pytest.approx(
        sum(s.length_in for r in plan.surfaces[0].rows for s in r.seams) / 12
    )
    assert joints_of(plan)[0].butt_ft == pytest.approx(8.0)


def test_upright_boards_meet_at_tapered_edges_and_end_to_end_only_on_a_wall_higher_than_they_are() -> None:
    """Four boards of 4 x 8 ft: 3 joints of 8 ft; on a wall of 10 ft, 16 ft of board ends above them."""
    eight_foot = tuple(b for b in US_STOCK if b.length_in == 96.0)
    wall = sixteen_in_wall(192.0, boards_run="parallel")
    plan = plan_job(Job((wall,), eight_foot))
    joints, _ = joints_of(plan)
    assert (joints.tapered_ft, joints.mixed_ft, joints.butt_ft) == (24.0, 0.0, 0.0)
    assert plan.score.butt_joint_ft == 0.0
    plan = plan_job(Job((replace(wall, height_in=121.0),), eight_foot))
    joints, _ = joints_of(plan)
    assert joints.butt_ft == pytest.approx(16.0)
    assert plan.score.butt_joint_ft == pytest.approx(16.0)
    assert plan.score.total == pytest.approx(
        plan.score.sheet_cost + 16.0 * Prefs().joint_price_per_ft
        + plan.score.cut_ends_at_seams * Prefs().cut_end_charge
    )  # fmt: skip
    assert plan.score.lower_bound > plan.score.sheet_cost
    long_joints_ft = sum(s.length_in for row in plan.surfaces[0].rows for s in row.seams) / 12.0
    assert joints.tapered_ft + joints.mixed_ft == pytest.approx(long_joints_ft)
    assert (joints.mixed_ft > 0.0) == (plan.score.cut_ends_at_seams > 0)


def test_over_a_doorway_as_high_as_the_lower_course_upright_boards_meet_nothing_end_to_end() -> None:
    """16 ft of wall, 3 ft of it over a doorway that ends where the courses meet: 13 ft of ends."""
    door = Opening("door", 80.0, 116.0, 0.0, 120.5 - 96.0, "door")
    wall = replace(sixteen_in_wall(192.0, openings=(door,), boards_run="parallel"), height_in=121.0)
    plan = plan_job(Job((wall,), tuple(b for b in US_STOCK if b.length_in == 96.0)))
    assert plan.score.butt_joint_ft == pytest.approx(13.0)
    assert joints_of(plan)[0].butt_ft == pytest.approx(13.0, abs=0.05)


def test_a_room_of_four_walls_has_four_corners_and_tape_along_its_ceiling() -> None:
    job = room(2)
    plan = plan_job(job)
    joints, inside = joints_of(plan)
    assert inside == 4
    assert joints.corner_ft == pytest.approx(4 * 97.125 / 12)
    assert joints.ceiling_ft == pytest.approx(sum(s.width_in for s in job.surfaces if s.kind == "wall") / 12)
    # an outside corner takes bead in the place of tape
    joints, inside = joints_of(plan, Corners(outside=1))
    assert inside == 3
    # a ceiling of another room gives these walls no joint
    assert joints_of(plan, None, {"C": "Attic"})[0].ceiling_ft == 0.0


def test_tools_follow_from_the_order() -> None:
    wall = sixteen_in_wall(144.0)
    tall = Job((wall,), (Board("regular", 0.5, 54.0, 144.0, 27.0),))
    tall = Job((Surface("A", 144.0, 109.125, wall.members, board_width_in=54.0),), tall.stock)
    plan = plan_job(tall)
    tools = accessories_of(plan, tall.surfaces, make_order(plan.sheets, SpareRule("none"))).tools
    # a 54 in board is wider than a 48 in square; 54 x 144 x 1/2 weighs 86.4 lb at 1.6 psf
    assert tools == ("square_54", "two_people")
    job = room(1)
    plan = plan_job(job)
    tools = accessories_of(plan, job.surfaces, make_order(plan.sheets)).tools
    assert "square_48" in tools
    assert "panel_lift" in tools


def test_the_outer_edges_of_a_boxed_in_duct_get_bead_unless_the_user_says_how_much() -> None:
    """Worked by hand: underside and one face meet along 10 ft, underside and two faces twice along 14 ft."""
    sides = {
        "duct under": 120.0,
        "duct face": 120.0,
        "beam under": 168.0,
        "beam near": 168.0,
        "beam far": 168.0,
    }
    surfaces = tuple(
        Surface(name, long_in, 14.0, members_on_spacing(long_in, 16.0), kind="soffit")
        for name, long_in in sides.items()
    )
    job = Job((*surfaces, Surface("alone", 100.0, 14.0, members_on_spacing(100.0, 16.0), kind="soffit")))
    plan = plan_job(job, 0.0)
    order = make_order(plan.sheets)
    found = accessories_of(plan, job.surfaces, order)
    assert found.soffit_edges_in == (120.0, 168.0, 168.0)
    # 10 ft from one piece; 14 ft from one of 10 ft and one of 8 ft
    assert found.bead_pieces == ((96.0, 2), (120.0, 3))
    rooms = {"duct under": "Den", "duct face": "Hall"}
    assert accessories_of(plan, job.surfaces, order, None, rooms).soffit_edges_in == (168.0, 168.0)
    told = accessories_of(plan, job.surfaces, order, Corners(extra_bead_in=96.0))
    assert (told.soffit_edges_in, told.bead_pieces) == ((), ((96.0, 1),))
    assert accessories_of(plan, job.surfaces, order, Corners(extra_bead_in=0.0)).bead_pieces == ()
