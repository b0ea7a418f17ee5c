"""Every sort of surface that gets boarded: high walls, returns, ceilings either way, soffits, both faces."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layout import (
    METRIC_STOCK,
    Board,
    Box,
    Job,
    Opening,
    Pin,
    Plan,
    Surface,
    Wishes,
    members_at,
    members_on_spacing,
    mm_to_in,
    plan_job,
    plan_surface,
    plan_to_json,
    rules_for,
)
from tests.layout.checker import complaints
from tests.layout.common import EIGHT_FOOT_FRAME_IN, sixteen_in_wall

EIGHT_FOOT_BOARDS = (Board("regular", 0.5, 48.0, 96.0, 16.0),)


def _codes(plan: Plan) -> list[str]:
    return [warning.code for warning in plan.warnings]


def _sound(job: Job) -> Plan:
    plan = plan_job(job)
    assert complaints(job, plan_to_json(plan)) == []
    return plan


def test_an_inch_too_much_for_two_rows_is_not_silently_a_sliver() -> None:
    """97 in to board, 48-in rows: 1 in is over the 7/8 in a floor gap may be, so a strip is left."""
    wall = replace(sixteen_in_wall(120.0), height_in=97.0, ceiling_board_in=0.0)
    plan = _sound(Job((wall,)))
    assert len(plan.surfaces[0].rows) == 3
    assert "thin_row" in _codes(plan)
    assert all(row.top_in - row.bottom_in >= 6.0 for row in plan.surfaces[0].rows)
    bigger_gap = _sound(Job((replace(wall, floor_gap_in=1.0),)))
    assert len(bigger_gap.surfaces[0].rows) == 2
    assert "thin_row" not in _codes(bigger_gap)


@pytest.mark.parametrize(("height_in", "rows"), [(109.125, 3), (121.125, 3), (145.0, 3), (170.0, 4)])
def test_high_walls_take_three_rows_or_more(height_in: float, rows: int) -> None:
    plan = _sound(Job((replace(sixteen_in_wall(200.0), height_in=height_in),)))
    laid = plan.surfaces[0].rows
    assert len(laid) == rows
    assert laid[0].top_in == pytest.approx(height_in - 0.5)
    assert laid[-1].bottom_edge == "ripped" or laid[-1].top_in - laid[-1].bottom_in == 48.0


def test_the_width_that_costs_least_is_taken_when_left_open() -> None:
    """A 9-ft wall: two 54-in rows need no third (a builders' magazine, on 54-in board)."""
    wall = replace(sixteen_in_wall(120.0), height_in=109.125, board_width_in=None)
    plan = _sound(Job((wall,)))
    assert {row.board_width_in for row in plan.surfaces[0].rows} == {54.0}


def test_metric_wall_with_1200_mm_boards_in_two_rows() -> None:
    wall = Surface(
        "A", mm_to_in(3550.0), mm_to_in(2425.0), members_on_spacing(mm_to_in(3550.0), mm_to_in(600.0)),
        thickness_in=mm_to_in(12.5), board_width_in=mm_to_in(1200.0), ceiling_board_in=mm_to_in(12.5),
    )  # fmt: skip
    plan = _sound(Job((wall,), METRIC_STOCK, rules_for("uk")))
    assert [round((r.top_in - r.bottom_in) * 25.4) for r in plan.surfaces[0].rows] == [1200, 1200]


@pytest.mark.parametrize("run", ["up", "along"])
def test_ceiling_rows_run_across_joists_of_either_direction(run: str) -> None:
    span = 190.5 if run == "up" else 130.25
    ceiling = Surface(
        "C", 190.5, 130.25, members_on_spacing(span, 16.0), kind="ceiling", members_run=run
    )  # fmt: skip
    plan = _sound(Job((ceiling,)))
    assert {row.direction for row in plan.surfaces[0].rows} == {"x" if run == "up" else "y"}


@pytest.mark.parametrize("run", ["up", "along"])
def test_an_l_shaped_ceiling_is_boarded_whichever_way_the_strapping_runs(run: str) -> None:
    outline = ((0.0, 0.0), (200.0, 0.0), (200.0, 70.0), (100.0, 70.0), (100.0, 150.0), (0.0, 150.0))
    members = members_on_spacing(200.0 if run == "up" else 150.0, 16.0, face_in=2.5)
    ceiling = Surface("C", 200.0, 150.0, members, kind="ceiling", outline=outline, members_run=run)
    plan = _sound(Job((ceiling,)))
    need = (200 * 70 + 100 * 80) / 144
    bought = sum(sheet.width_in * sheet.length_in for sheet in plan.sheets) / 144
    assert need <= bought <= 1.35 * need


def test_a_thin_last_row_of_a_ceiling_is_said() -> None:
    ceiling = Surface("C", 144.0, 99.0, members_on_spacing(144.0, 16.0), kind="ceiling")
    assert "thin_row" in _codes(_sound(Job((ceiling,))))


@pytest.mark.parametrize("width_in", [6.0, 7.25, 11.25, 15.5, 23.0])
def test_a_closet_return_comes_from_an_off_cut_of_its_neighbour(width_in: float) -> None:
    neighbour = sixteen_in_wall(104.0, "N")
    alone = plan_surface(neighbour)
    both = _sound(Job((neighbour, sixteen_in_wall(width_in, "R"))))
    # 104 in of wall leaves off-cuts of 4 in only from 9-ft boards, so longer ones are bought:
    # never a whole sheet more for each of the return's two rows.
    assert both.score.sheet_cost < alone.score.sheet_cost + 2 * 16.0
    assert len(both.surfaces[1].rows) == 2


def test_boxes_in_one_board_are_each_measured() -> None:
    boxes = tuple(Box(f"b{n}", 20.0 + 24 * n, 22.25 + 24 * n, 12.0, 16.0) for n in range(4))
    plan = _sound(Job((replace(sixteen_in_wall(110.0), boxes=boxes),)))
    holes = [hole for row in plan.surfaces[0].rows for piece in row.pieces for hole in piece.cutouts]
    assert sorted(hole.id for hole in holes) == ["b0", "b1", "b2", "b3"]


def test_a_duct_boxed_in_a_soffit_and_its_face_share_a_sheet() -> None:
    under = Surface("under", 120.0, 20.0, members_on_spacing(120.0, 16.0), kind="soffit")
    face = Surface("face", 120.0, 12.0, members_on_spacing(120.0, 16.0), kind="soffit")
    plan = _sound(Job((under, face)))
    assert len(plan.sheets) == 1


def test_windows_of_every_size_get_pieces_round_them() -> None:
    for left, right, bottom, top in ((50, 62, 60, 72), (40, 112, 30, 82), (30, 130, 10, 96.5)):
        wall = replace(
            sixteen_in_wall(160.0), openings=(Opening("w", left, right, bottom, top, "window"),)
        )  # fmt: skip
        _sound(Job((wall,)))


def test_the_second_face_of_a_partition_keeps_clear_of_the_first_in_a_whole_job() -> None:
    front = sixteen_in_wall(226.0, "F")
    job = Job((front, sixteen_in_wall(90.0, "N"), replace(front, id="K", opposite_of="F")))
    plan = _sound(job)
    assert "seams_on_both_faces" not in _codes(plan)


def test_boards_stand_upright_where_rows_could_not_keep_the_rules() -> None:
    """One stud between the corners: both rows would need it for their seam; upright edges meet on it."""
    wall = Surface("A", 96.0, 90.5, members_at([0.75, 48.0, 95.25]))
    boards = (Board("regular", 0.5, 48.0, 90.0, 15.0),)
    plan = _sound(Job((wall,), boards))
    assert "boards_turned" in _codes(plan)
    assert all(row.upright for row in plan.surfaces[0].rows)
    across = plan_surface(replace(wall, boards_run="across"), boards)
    assert "seams_not_staggered" in _codes(across)


def test_the_other_way_round_is_always_told_with_its_price() -> None:
    plan = plan_surface(replace(sixteen_in_wall(120.0), height_in=120.5))
    assert "upright" in plan.surfaces[0].alternative
    upright = plan_surface(replace(sixteen_in_wall(120.0), height_in=120.5, boards_run="parallel"))
    assert upright.surfaces[0].alternative == ""
    assert upright.score.butt_joint_ft == 0.0


def test_the_two_ways_round_are_compared_as_they_would_be_bought() -> None:
    """A closet return of 24 in takes one sheet either way, not two the way that is planned."""
    (laid,) = plan_surface(sixteen_in_wall(24.0)).surfaces
    assert laid.alternative == (
        "Boards upright: 16.00 for this surface by itself, with 0.0 ft of butt joints; "
        "as planned 16.00, with 0.0 ft."
    )
    two = plan_job(Job((sixteen_in_wall(24.0, "A"), sixteen_in_wall(24.0, "B"))))
    assert {one.alternative.split("; ")[1] for one in two.surfaces} == {"this way 16.00, with 0.0 ft."}


def test_an_upright_board_that_fits_from_floor_to_ceiling_is_hung_whole() -> None:
    """8-ft boards under a 97 1/8 in frame with 1/2 in of ceiling leave the same 5/8 in at the floor."""
    wall = replace(sixteen_in_wall(144.0), boards_run="parallel", height_in=EIGHT_FOOT_FRAME_IN)
    plan = _sound(Job((wall,)))
    assert len(plan.sheets) == 3
    assert {sheet.length_in for sheet in plan.sheets} == {96.0}
    assert plan.surfaces[0].rows[0].bottom_in == pytest.approx(0.625)


def test_a_textbook_house_walls_by_area_and_by_what_is_cut() -> None:
    """Estimating in Building Construction, Example 16-3: 148 lf x 8 ft is 1,184 sq ft, 37 sheets.

    The same 148 lf as a house of 50 by 24 ft: no plan of real pieces needs fewer than the area
    asks for, and sharing off-cuts keeps it within 5 %, the example's own allowance (39).
    """
    walls = tuple(sixteen_in_wall(12.0 * ft, f"W{n}") for n, ft in enumerate((50, 24, 50, 24)))
    plan = _sound(Job(walls, EIGHT_FOOT_BOARDS))
    assert 37 <= len(plan.sheets) <= 39


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        (Wishes(row_lengths=((0, 200.0),)), "row 1 from"),
        (Wishes(row_lengths=((1, 60.0),)), "row 2 from"),
    ],
)
def test_the_wish_that_makes_a_plan_impossible_is_the_one_named(wishes: Wishes, words: str) -> None:
    plan = plan_surface(replace(sixteen_in_wall(194.0), wishes=wishes))
    named = [w.message for w in plan.warnings if w.code == "wish_impossible"]
    assert named
    assert words in named[0]


def test_a_pin_that_leaves_a_short_piece_is_kept_and_the_short_piece_is_said() -> None:
    plan = plan_surface(replace(sixteen_in_wall(194.0), wishes=Wishes(pins=(Pin(0, "2"),))))
    assert "2" in [seam.member_id for seam in plan.surfaces[0].rows[0].seams]
    assert "short_piece" in _codes(plan)


def test_a_seam_asked_for_beside_a_door_is_kept_and_the_rule_it_breaks_is_said() -> None:
    """NAVEDTRA 14044 p. 162: 6 in from the edge of an opening; the stud at 64 in is 5 in from this one."""
    door = Opening("d", 69.0, 103.0, 0.0, 82.5, "door")
    wall = replace(sixteen_in_wall(160.0), openings=(door,), wishes=Wishes(pins=(Pin(0, "5"),)))
    plan = _sound(Job((wall,)))
    assert 64.0 in [seam.position_in for seam in plan.surfaces[0].rows[0].seams]
    (said,) = [w for w in plan.warnings if w.code == "pin_near_opening"]
    assert "member 5 in row 1 of A" in said.message
    assert said.rule == "seam_keeps_clear_of_openings"


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        (Wishes(pins=(Pin(5, "5"),)), "member 5 in row 6"),
        (Wishes(pins=(Pin(1, "7"),)), "member 7 in row 2"),
        (Wishes(row_lengths=((2, 96.0),)), "row 3 from 8' boards"),
    ],
)
def test_a_wish_for_a_row_or_a_place_that_is_not_there_is_named(wishes: Wishes, words: str) -> None:
    """Two rows only, and the stud at 96 in stands where the doorway leaves no board in the lower one."""
    door = Opening("d", 80.0, 114.0, 0.0, 82.5, "door")
    plan = _sound(Job((replace(sixteen_in_wall(160.0), openings=(door,), wishes=wishes),)))
    assert [w.code for w in plan.warnings if words in w.message] == ["wish_impossible"]


def test_a_seam_asked_for_on_a_stud_ruled_out_is_kept_and_said() -> None:
    wishes = Wishes(pins=(Pin(0, "5"),), forbidden_members=("5",))
    plan = _sound(Job((replace(sixteen_in_wall(160.0), wishes=wishes),)))
    assert [w.code for w in plan.warnings] == ["pin_ruled_out"]


@pytest.mark.parametrize("side", ["top", "bottom"])
def test_rows_start_at_the_side_that_was_asked_for(side: str) -> None:
    ceiling = Surface(
        "C", 144.0, 120.0, members_on_spacing(144.0, 16.0), kind="ceiling", rows_from=side
    )  # fmt: skip
    first = _sound(Job((ceiling,))).surfaces[0].rows[0]
    assert (first.top_in == 120.0) == (side == "top")
    assert first.top_in - first.bottom_in == 48.0


L_SHAPED = ((0.0, 0.0), (240.0, 0.0), (240.0, 100.0), (120.0, 100.0), (120.0, 200.0), (0.0, 200.0))


@pytest.mark.parametrize("run", ["up", "along"])
def test_a_board_that_goes_round_the_corner_of_a_room_is_notched(run: str) -> None:
    """What of a board would stand in the wall is a cut-out, with its place from end and edge."""
    ceiling = Surface(
        "C",
        240.0,
        200.0,
        members_on_spacing(240.0 if run == "up" else 200.0, 16.0),
        kind="ceiling",
        members_run=run,
        outline=L_SHAPED,
    )
    plan = _sound(Job((ceiling,)))
    beyond = 0.0
    for row in plan.surfaces[0].rows:
        for piece in row.pieces:
            whole = piece.length_in * piece.height_in
            holes = sum((c.right_in - c.left_in) * (c.top_in - c.bottom_in) for c in piece.cutouts)
            beyond += whole - holes
            assert {c.kind for c in piece.cutouts} <= {"notch"}
    assert any(piece.cutouts for row in plan.surfaces[0].rows for piece in row.pieces)
    assert beyond == pytest.approx(240.0 * 100.0 + 120.0 * 100.0, abs=240.0 / 8)


def test_a_notch_is_measured_from_the_factory_end_and_the_tapered_edge() -> None:
    """Beside a stairwell: the wall's low part ends at 100 in, 2 in above the course line."""
    steps = ((0.0, 0.0), (160.0, 0.0), (160.0, 200.0), (100.0, 200.0), (100.0, 100.0), (0.0, 100.0))
    wall = Surface("A", 160.0, 200.0, members_on_spacing(160.0, 16.0), outline=steps, floor_gap_in=1.0)
    notched = [p for row in _sound(Job((wall,))).surfaces[0].rows for p in row.pieces if p.cutouts]
    assert len(notched) == 1
    (notch,) = notched[0].cutouts
    assert (notch.left_in, notch.right_in) == (notched[0].left_in, 100.0)
    assert (notch.bottom_in, notch.top_in) == (100.0, notched[0].top_in)
    assert notch.edge == "top"
    assert notch.from_edge_in == 0.0
