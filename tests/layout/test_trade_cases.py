"""The trade's own cases: published figures and common practice, checked on whole plans."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from layout import (
    METRIC_STOCK,
    US_STOCK,
    Board,
    Box,
    Job,
    Member,
    Opening,
    Prefs,
    Rules,
    Surface,
    members_at,
    members_on_spacing,
    mm_to_in,
    plan_job,
    plan_surface,
    plan_to_json,
    rules_for,
)
from layout.board_choice import widest_spacing_in
from layout.rules import (
    RULES,
    allowance_in,
    rule_table,
    seam_keeps_clear_of_openings,
)
from tests.layout.checker import complaints
from tests.layout.common import (
    EIGHT_FOOT_FRAME_IN,
    codes_of,
    sixteen_in_wall,
    wall_no_stud_at_eight_feet,
    wall_with_door,
)

EIGHT_AND_TEN = tuple(b for b in US_STOCK if b.length_in in (96.0, 120.0))


def test_seam_lands_on_the_stud_an_8_ft_board_cannot_reach() -> None:
    """Common practice: with no stud at 96 in, a 10-ft board cut to 112 1/4 in and an 8-ft board."""
    plan = plan_surface(wall_no_stud_at_eight_feet(), EIGHT_AND_TEN)
    lengths = {sheet.id: sheet.length_in for sheet in plan.sheets}
    seams = [seam.position_in for row in plan.surfaces[0].rows for seam in row.seams]
    assert 96.0 not in seams
    row = next(r for r in plan.surfaces[0].rows if r.seams[0].position_in == 112.25)
    left, right = row.pieces
    assert (left.left_in, left.right_in, right.right_in) == (0.0, 112.25, 194.0)
    assert (left.left_end, left.right_end, right.left_end, right.right_end) == (
        "cut", "factory", "factory", "cut",
    )  # fmt: skip
    assert lengths[left.sheet] == 120.0
    assert lengths[right.sheet] == 96.0
    assert plan.score.proved_optimal


def test_two_courses_leave_five_eighths_at_the_floor_of_a_97_1_8_frame() -> None:
    """97 1/8 less 1/2 in of ceiling leaves 5/8 in under two 48-in courses; 1/2 in under 5/8 in."""
    for ceiling_in, gap_in in ((0.5, 0.625), (0.625, 0.5)):
        wall = replace(sixteen_in_wall(120.0), ceiling_board_in=ceiling_in)
        rows = plan_surface(wall).surfaces[0].rows
        assert [row.top_in - row.bottom_in for row in rows] == [48.0, 48.0]
        assert rows[-1].bottom_in == pytest.approx(gap_in)


def test_two_54_in_courses_leave_the_same_gap_in_a_nine_foot_wall() -> None:
    """104 5/8 in stud: 109 1/8 in of frame (JLC; calculation)."""
    wall = replace(sixteen_in_wall(120.0), height_in=109.125, board_width_in=54.0)
    rows = plan_surface(wall).surfaces[0].rows
    assert [row.top_in - row.bottom_in for row in rows] == [54.0, 54.0]
    assert rows[-1].bottom_in == pytest.approx(0.625)


def test_under_a_strapped_ceiling_the_lower_course_is_ripped_at_the_floor() -> None:
    """3/4 in strap and 1/2 in board leave 95 7/8 in, 1/8 in short of two courses (calculation)."""
    wall = replace(sixteen_in_wall(120.0), ceiling_board_in=1.25)
    rows = plan_surface(wall).surfaces[0].rows
    assert rows[0].top_in - rows[0].bottom_in == 48.0
    assert rows[1].top_in - rows[1].bottom_in < 48.0
    assert (rows[1].top_edge, rows[1].bottom_edge) == ("tapered", "ripped")
    assert rows[1].bottom_in == pytest.approx(0.5)


@pytest.mark.parametrize(("at_in", "allowed"), [(64.5, False), (63.5, True), (87.0, True), (99.0, False)])
def test_no_seam_within_six_inches_of_a_door_but_over_its_middle(at_in: float, allowed: bool) -> None:
    """NAVEDTRA 14044 p. 162: 6 in from the edge, or over a cripple toward the middle."""
    from layout.bands import Void

    door = Void(70 * 32, 104 * 32, 0, int(82.5 * 32), 0)
    assert (
        seam_keeps_clear_of_openings(int(at_in * 32), int(48.6 * 32), int(96.6 * 32), (door,), Rules())
        == allowed
    )


def test_a_seam_over_a_wide_opening_lands_on_a_cripple_near_its_middle() -> None:
    opening = Opening("o", 60.0, 180.0, 0.0, 84.0, "other")
    studs = [0.75, 16.0, 32.0, 48.0, 59.0, 181.0, 192.0, 208.0, 224.0, 239.25]
    cripples = [Member(f"c{n}", 72.0 + 16 * n, kind="partial", bottom_in=90.0, top_in=94.0) for n in range(7)]
    wall = Surface(
        "A", 240.0, EIGHT_FOOT_FRAME_IN, (*members_at(studs), *cripples),
        openings=(opening,), ceiling_board_in=0.5,
    )  # fmt: skip
    plan = plan_surface(wall, EIGHT_AND_TEN)
    top = plan.surfaces[0].rows[0]
    assert top.seams
    over = [s for s in top.seams if 60 < s.position_in < 180]
    assert over
    assert all(seam.member_id.startswith("c") for seam in over)
    assert complaints(Job((wall,), EIGHT_AND_TEN), plan_to_json(plan)) == []


def test_a_twelve_foot_board_serves_a_ceiling_12_ft_1_in_long() -> None:
    """Common practice, no source: the wall boards cover 1/2 in at each end."""
    ceiling = Surface(
        "C", 145.0, 96.0, members_on_spacing(145.0, 16.0), kind="ceiling",
        covered_left_in=0.5, covered_right_in=0.5,
    )  # fmt: skip
    plan = plan_surface(ceiling)
    assert {sheet.length_in for sheet in plan.sheets} == {144.0}
    bare = replace(ceiling, covered_left_in=0.0, covered_right_in=0.0)
    assert 144.0 not in {sheet.length_in for sheet in plan_surface(bare).sheets}


@pytest.mark.parametrize(("first", "ends_in"), [("A", 89.5), ("B", 90.0)])
def test_at_an_inside_corner_the_board_hung_later_starts_at_the_face_of_the_first(
    first: str, ends_in: float
) -> None:
    """Common practice, no source: a wall of 12 ft 1/2 in takes a 12-ft board whichever hangs first.

    Hung first it stops 1/2 in short of the corner, where the other wall's board will stand; hung
    later it has 1/2 in less to cover.  A board that is cut anyway runs into the corner, or to the
    face of the board hung first.
    """
    long = replace(sixteen_in_wall(144.5, "A"), corner_left="B")
    short = replace(sixteen_in_wall(90.0, "B"), corner_right="A")
    job = Job((long, short) if first == "A" else (short, long))
    plan = plan_job(job)
    rows, short_rows = (next(s for s in plan.surfaces if s.id == name).rows for name in "AB")
    lengths = {sheet.id: sheet.length_in for sheet in plan.sheets}
    assert [lengths[piece.sheet] for row in rows for piece in row.pieces] == [144.0, 144.0]
    assert {row.pieces[0].left_in for row in rows} == {0.5}
    assert {row.pieces[-1].right_in for row in short_rows} == {ends_in}
    assert complaints(job, plan_to_json(plan)) == []


def test_a_textbook_house_counts_sheets_by_area_and_ours_by_what_is_cut() -> None:
    """Estimating in Building Construction, Example 16-3: 1,184 ft2 of wall is 37 sheets of 4 x 8.

    The naive count divides areas; a plan of real pieces may not need fewer than the area.
    """
    walls_ft2, partitions_ft2, ceiling_ft2 = 148 * 8, 149 * 8 * 2, 24 * 50
    counts = [math.ceil(area / 32) for area in (walls_ft2, partitions_ft2, ceiling_ft2)]
    assert counts == [37, 75, 38]
    assert math.ceil((37 + 75) * 1.05) == 118
    assert math.ceil(38 * 1.05) == 40
    four_by_eight = (Board("regular", 0.5, 48.0, 96.0, 16.0),)
    ceiling = Surface("C", 600.0, 288.0, members_on_spacing(600.0, 16.0), kind="ceiling")
    plan = plan_surface(ceiling, four_by_eight)
    assert len(plan.sheets) >= 37.5
    assert len(plan.sheets) <= 42


def test_a_textbook_partition_takes_87_upright_sheets_a_face() -> None:
    """Same book, Example 16-3: 346 lf, 10 ft high, 4 x 10 upright: 87 a face; + 5 % of both is 183."""
    assert math.ceil(2 * 87 * 1.05) == 183
    partition = Surface("P", 346 * 12.0, 120.5, members_on_spacing(346 * 12.0, 16.0), boards_run="parallel")
    plan = plan_surface(partition, (Board("regular", 0.5, 48.0, 120.0, 20.0),))
    assert len(plan.sheets) == 87
    assert all(row.upright for row in plan.surfaces[0].rows)


def test_allowance_on_common_faces() -> None:
    """1 1/2 in stud 1/8 in, 2 1/2 in strapping 5/8 in, 1 1/4 in steel none (calculations B40-B42)."""
    for face_in, allowance in ((1.5, 0.125), (2.5, 0.625), (1.25, 0.0)):
        assert allowance_in(Member("m", 10.0, face_in=face_in), Rules()) == pytest.approx(allowance)
    # NBS clause 610: a cut end needs 13 + 6 mm, so a 38 mm stud has nothing to spare.
    assert allowance_in(Member("m", 10.0, face_in=mm_to_in(38.0)), rules_for("uk")) == pytest.approx(0.0)


def test_metric_boards_on_400_mm_centres_reach_a_stud() -> None:
    """A 2400 mm board ends on the sixth stud of a 400 mm layout."""
    wall = Surface(
        "A", mm_to_in(4000.0), mm_to_in(2400.0), members_on_spacing(mm_to_in(4000.0), mm_to_in(400.0)),
        thickness_in=mm_to_in(12.5), board_width_in=mm_to_in(1200.0),
    )  # fmt: skip
    plan = plan_surface(wall, METRIC_STOCK, rules_for("uk"))
    assert plan.sheets
    assert complaints(Job((wall,), METRIC_STOCK, rules_for("uk")), plan_to_json(plan)) == []


def test_a_stud_too_uncertain_for_a_seam_is_marked_check_with_a_tape() -> None:
    members = [
        Member(str(n), centre, sigma_in=0.3 if n == 7 else 0.02)
        for n, centre in enumerate([0.75, *(16.0 * k for k in range(1, 15)), 239.25])
    ]
    wall = Surface("A", 240.0, 97.1, tuple(members), ceiling_board_in=0.5)
    plan = plan_surface(wall, EIGHT_AND_TEN)
    assert "7" not in {s.member_id for r in plan.surfaces[0].rows for s in r.seams}
    only = replace(wall, members=tuple(replace(m, sigma_in=0.3) for m in members))
    warned = plan_surface(only, EIGHT_AND_TEN)
    assert "check_with_tape" in codes_of(warned)
    assert not any(s.sure for r in warned.surfaces[0].rows for s in r.seams)


def test_a_wall_without_studs_gets_a_plan_that_asks_for_backing() -> None:
    wall = Surface("A", 240.0, 97.1, (), ceiling_board_in=0.5)
    plan = plan_surface(wall)
    assert "backing_needed" in codes_of(plan)
    assert plan.surfaces[0].rows[0].pieces


def test_a_wall_without_a_short_piece_is_not_said_to_need_one() -> None:
    """8-ft boards over a bay of 92 in: both courses must break at 384 in, and none has a short piece."""
    studs = [0.75, *(16.0 * n for n in range(1, 19)), 384.0, 479.25]
    wall = Surface("A", 480.0, 97.125, members_at(studs), ceiling_board_in=0.5)
    plan = plan_surface(wall, tuple(b for b in US_STOCK if b.length_in == 96.0))
    pieces = [piece for row in plan.surfaces[0].rows for piece in row.pieces]
    assert min(piece.length_in for piece in pieces) >= Rules().min_piece_in
    assert codes_of(plan) & {"short_piece", "seams_not_staggered"} == {"seams_not_staggered"}


def test_a_wall_that_needs_a_short_piece_says_so() -> None:
    """8 ft, 8 ft and 20 in: studs where a longer last piece could end are missing."""
    wall = Surface("A", 212.0, 47.0, members_at([0.75, 96.0, 192.0, 211.25]))
    plan = plan_surface(replace(wall, boards_run="across"), tuple(b for b in US_STOCK if b.length_in == 96.0))
    pieces = [piece for row in plan.surfaces[0].rows for piece in row.pieces]
    assert min(piece.length_in for piece in pieces) < Rules().min_piece_in
    assert "short_piece" in codes_of(plan)


@pytest.mark.parametrize("width_in", [6.0, 9.5, 14.0, 30.0])
def test_returns_and_closets_down_to_six_inches_are_boarded(width_in: float) -> None:
    wall = sixteen_in_wall(width_in)
    plan = plan_surface(wall)
    assert complaints(Job((wall,)), plan_to_json(plan)) == []


def test_an_l_shaped_ceiling_is_boarded_to_its_outline() -> None:
    outline = ((0.0, 0.0), (200.0, 0.0), (200.0, 70.0), (100.0, 70.0), (100.0, 150.0), (0.0, 150.0))
    ceiling = Surface("C", 200.0, 150.0, members_on_spacing(200.0, 16.0), kind="ceiling", outline=outline)
    plan = plan_surface(ceiling)
    assert complaints(Job((ceiling,)), plan_to_json(plan)) == []


def test_every_seam_says_why_it_is_there() -> None:
    plan = plan_surface(sixteen_in_wall(300.0))
    seams = [s for r in plan.surfaces[0].rows for s in r.seams]
    assert seams
    assert all(seam.reason and seam.next_best for seam in seams)


@pytest.mark.parametrize(
    ("market", "kind", "thickness_in", "across", "widest_in"),
    [
        ("us", "wall", 0.5, True, 24.0),
        ("us", "wall", 0.375, True, 16.0),
        ("us", "ceiling", 0.5, False, 16.0),
        ("us", "ceiling", 0.375, False, 0.0),
        ("uk", "wall", mm_to_in(9.5), True, mm_to_in(450.0)),
        ("uk", "wall", mm_to_in(12.5), True, mm_to_in(600.0)),
        ("ca", "wall", mm_to_in(9.5), True, mm_to_in(400.0)),
        ("ca", "wall", mm_to_in(12.7), True, mm_to_in(600.0)),
    ],
)
def test_widest_spacing_by_thickness(
    market: str, kind: str, thickness_in: float, across: bool, widest_in: float
) -> None:
    """IRC Table R702.3.5 (from memory), NHBC 9.2.4 Table 5, CMHC text under OBC 9.29.5.3."""
    assert widest_spacing_in(market, kind, thickness_in, across)[0] == pytest.approx(widest_in)


def test_thin_board_on_wide_framing_is_a_warning_that_names_its_source() -> None:
    wall = Surface(
        "A", 120.0, 97.1, members_on_spacing(120.0, 24.0), thickness_in=0.375, ceiling_board_in=0.5
    )
    found = [w for w in plan_surface(wall).warnings if w.code == "spacing_too_wide"]
    assert found
    assert "R702.3.5" in found[0].message


def test_an_outlet_is_measured_from_the_factory_end_and_the_tapered_edge() -> None:
    plan = plan_surface(wall_with_door())
    holes = [
        (piece, hole)
        for row in plan.surfaces[0].rows
        for piece in row.pieces
        for hole in piece.cutouts
        if hole.id == "outlet"
    ]
    assert len(holes) == 1
    piece, hole = holes[0]
    expected = 30.0 - piece.left_in if hole.end == "left" else piece.right_in - 32.25
    assert hole.from_end_in == pytest.approx(expected)
    assert (piece.left_end if hole.end == "left" else piece.right_end) == "factory"


def test_a_box_at_a_seam_is_cut_out_of_both_pieces() -> None:
    base = sixteen_in_wall(300.0)
    at = plan_surface(base).surfaces[0].rows[0].seams[0].position_in
    wall = replace(base, boxes=(Box("light", at - 2, at + 2, 70.0, 74.0, "light"),))
    row = plan_surface(wall).surfaces[0].rows[0]
    assert sum(len(piece.cutouts) for piece in row.pieces) == 2


def test_a_board_that_is_not_sold_is_named() -> None:
    wall = replace(sixteen_in_wall(100.0), board_kind="moisture")
    plan = plan_surface(wall)
    assert "no_board" in codes_of(plan)
    assert plan.surfaces[0].rows == ()


def test_ceilings_are_hung_before_walls() -> None:
    """NAVEDTRA 14044 p. 164; US Army EN5156."""
    job = Job(
        (
            sixteen_in_wall(100.0),
            Surface("C", 100.0, 90.0, members_on_spacing(100.0, 16.0), kind="ceiling"),
        )
    )
    plan = plan_job(job)
    numbers = {s.id: [p.number for r in s.rows for p in r.pieces] for s in plan.surfaces}
    assert max(numbers["C"]) < min(numbers["A"])


def test_every_rule_is_in_the_table_with_a_sentence_and_a_source() -> None:
    table = rule_table()
    for entry in RULES.values():
        assert entry.sentence.endswith(".")
        assert entry.source
        assert f"`{entry.name}`" in table


def test_the_presets_pull_the_way_they_say() -> None:
    from layout import prefs_for

    wall = sixteen_in_wall(300.0)  # 8 ft of butt joints at 102.00, or 12 ft at 100.00
    few = plan_surface(wall, prefs=prefs_for("fewest_butt_joints"))
    cheap = plan_surface(wall, prefs=prefs_for("lowest_price"))
    assert few.score.butt_joint_ft < cheap.score.butt_joint_ft
    assert cheap.score.sheet_cost < few.score.sheet_cost
    assert Prefs() == prefs_for("balanced")


@pytest.mark.parametrize(
    ("centres", "where"),
    [
        ([0.75, *range(16, 193, 16)], ["right"]),
        ([*range(16, 233, 16), 239.25], ["left"]),
        ([0.75, *range(16, 233, 16), 239.25], []),
    ],
)
def test_a_board_end_with_nothing_behind_it_in_the_corner_is_said(
    centres: list[float], where: list[str]
) -> None:
    """IBC 2508.3: ends on framing, the last one of a course too; 4 ft of board hung free unsaid."""
    wall = Surface("A", 240.0, EIGHT_FOOT_FRAME_IN, members_at(centres), ceiling_board_in=0.5)
    found = [w.message for w in plan_surface(wall).warnings if w.code == "end_without_member"]
    assert [side for side in ("left", "right") for said in found if f"the {side} end" in said] == where
    assert len(found) == len(where)


def test_a_door_at_the_end_of_a_wall_has_its_own_framing() -> None:
    wall = replace(
        sixteen_in_wall(168.0),
        members=members_at([34.75, *range(48, 161, 16), 167.25]),
        openings=(Opening("d", 0.0, 34.0, 0.0, 82.0, "door"),),
    )
    assert "end_without_member" not in codes_of(plan_surface(wall))


def test_two_courses_of_54_in_boards_are_not_told_to_be_54_in_wide() -> None:
    """A 9-ft wall in two courses is what those boards are made for (JLC, precut stud lengths)."""
    wall = replace(sixteen_in_wall(168.0), height_in=109.125)
    assert "high_wall" in codes_of(plan_surface(wall))
    assert "high_wall" not in codes_of(plan_surface(replace(wall, board_width_in=54.0)))


def test_a_wall_that_gets_no_board_is_not_called_boarded_in_the_best_way() -> None:
    wall = replace(sixteen_in_wall(120.0), thickness_in=0.75)
    job = Job((wall, sixteen_in_wall(120.0, "B")))
    assert not plan_job(job).score.proved_optimal
    assert plan_job(Job(job.surfaces[1:])).score.proved_optimal
