"""A spoiled board: cut again from what is left, from a spare, and only then from a new sheet."""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout import Board, Job, Opening, Plan, Surface, members_on_spacing, plan_job
from layout.checks import JobError
from layout.leftovers import leftovers_of
from layout.repair import repair
from tests.layout.common import room, sixteen_in_wall, wall_no_stud_at_eight_feet


def size_of(sheet):
    return (sheet.kind, sheet.thickness_in, sheet.width_in, sheet.length_in)


def on_hand(plan: Plan, spare: int = 0) -> dict:
    """What came: the sheets of the plan, and so many spares of each size."""
    return {size: count + spare for size, count in Counter(map(size_of, plan.sheets)).items()}


def pieces_of(plan: Plan) -> dict:
    return {p.number: p for s in plan.surfaces for row in s.rows for p in row.pieces}


def complaints(before: Plan, after: Plan, gone) -> list[str]:
    """What is wrong with a repaired plan, told from the sheets alone."""
    found = []
    cuts = [(sheet, cut) for sheet in after.sheets for cut in sheet.cuts]
    if sorted(cut.piece for _, cut in cuts) != sorted(pieces_of(before)):
        found.append("a piece is cut twice or never")
    for sheet, cut in cuts:
        if cut.start_in < -1e-6 or cut.end_in > sheet.length_in + 1e-6:
            found.append(f"piece {cut.piece} hangs over the end of its sheet")
        if cut.low_in < -1e-6 or cut.high_in > sheet.width_in + 1e-6:
            found.append(f"piece {cut.piece} hangs over the edge of its sheet")
    for sheet in after.sheets:
        areas = [(c.start_in, c.end_in, c.low_in, c.high_in) for c in sheet.cuts]
        areas += [area for number, area in gone if number == sheet.id]
        for one, other in combinations(areas, 2):
            apart = one[1] <= other[0] + 0.02 or other[1] <= one[0] + 0.02
            apart = apart or one[3] <= other[2] + 0.02 or other[3] <= one[2] + 0.02
            if not apart:
                found.append(f"two things lie on each other on sheet {sheet.id}")
    after_pieces = pieces_of(after)
    for number, piece in pieces_of(before).items():
        now = after_pieces[number]
        if (now.left_in, now.right_in, now.bottom_in, now.top_in) != (
            piece.left_in,
            piece.right_in,
            piece.bottom_in,
            piece.top_in,
        ):
            found.append(f"piece {number} has moved")
    by_piece = {cut.piece: (sheet, cut) for sheet, cut in cuts}
    standing = {p.number for s in after.surfaces for row in s.rows if row.upright for p in row.pieces}
    for number, piece in after_pieces.items():
        sheet, cut = by_piece[number]
        if piece.sheet != sheet.id:
            found.append(f"piece {number} names another sheet than it is cut from")
        whole = cut.end_in - cut.start_in >= sheet.length_in - 0.1
        ends = {piece.left_end, piece.right_end}
        if ends == {"factory"} and not whole and number not in standing:
            found.append(f"piece {number} claims two factory ends of a cut sheet")
    return found


JOBS = (
    room(1),
    Job((wall_no_stud_at_eight_feet(), sixteen_in_wall(100.0, "B"), sixteen_in_wall(14.0, "C"))),
    # boards that stand, a window, an L-shaped ceiling with joists along it
    Job(
        (
            sixteen_in_wall(84.0, "A", boards_run="parallel"),
            sixteen_in_wall(130.0, "B", boards_run="parallel"),
        )
    ),
    Job((sixteen_in_wall(168.0, openings=(Opening("1", 60.0, 100.0, 36.0, 80.0, "window"),)),)),
    Job(
        (
            Surface(
                "C",
                150.5,
                180.25,
                members_on_spacing(180.25, 16.0),
                kind="ceiling",
                members_run="along",
                outline=((0, 0), (150.5, 0), (150.5, 90), (75, 90), (75, 180.25), (0, 180.25)),
            ),
        )
    ),
)


@lru_cache
def planned(number: int) -> Plan:
    return plan_job(JOBS[number], time_limit_s=1.0)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, len(JOBS) - 1), st.data())
def test_any_spoiled_piece_is_cut_again_and_nothing_else_moves(number: int, data: st.DataObject) -> None:
    plan = planned(number)
    numbers = sorted(pieces_of(plan))
    gone: tuple = ()
    hand = on_hand(plan, data.draw(st.integers(0, 1)))
    for _ in range(data.draw(st.integers(1, 3))):
        spoiled = data.draw(st.sampled_from(numbers))
        hung = data.draw(st.sets(st.sampled_from(numbers)))
        fixed = repair(plan, spoiled, hung, hand, gone, data.draw(st.booleans()))
        assert complaints(plan, fixed.plan, fixed.gone) == []
        for hung_piece in hung - {spoiled}:
            assert pieces_of(fixed.plan)[hung_piece] == pieces_of(plan)[hung_piece]
        used = Counter(size_of(sheet) for sheet in fixed.plan.sheets if sheet.id not in fixed.bought)
        assert all(
            used[size] <= max(hand.get(size, 0), Counter(map(size_of, plan.sheets))[size]) for size in used
        )
        plan, gone = fixed.plan, fixed.gone


def test_a_spare_is_taken_before_a_sheet_is_bought() -> None:
    job = Job((wall_no_stud_at_eight_feet(),))
    plan = plan_job(job)
    longest = max(pieces_of(plan).values(), key=lambda piece: piece.length_in)
    with_spare = repair(plan, longest.number, (), on_hand(plan, 1))
    assert (len(with_spare.spares), with_spare.bought) == (1, ())
    without = repair(plan, longest.number, (), on_hand(plan))
    assert (without.spares, len(without.bought)) == ((), 1)


def test_a_short_piece_is_cut_from_what_is_left_over() -> None:
    # 12-ft boards only: 44 in of each are left behind a wall of 100 in, enough for a strip of 14 in
    job = Job(
        (sixteen_in_wall(100.0, "A"), sixteen_in_wall(14.0, "B")),
        stock=(Board("regular", 0.5, 48.0, 144.0, 24.0),),
    )
    plan = plan_job(job)
    small = next(p for p in pieces_of(plan).values() if p.length_in < 15.0)
    fixed = repair(plan, small.number, (), on_hand(plan))
    assert (fixed.spares, fixed.bought) == ((), ())
    assert fixed.moved[0][0] == small.number


def test_a_sheet_dropped_whole_takes_its_other_pieces_along_but_not_those_that_hang() -> None:
    job = room(1)
    plan = plan_job(job)
    sheet = next(s for s in plan.sheets if len(s.cuts) >= 2)
    first, *others = (cut.piece for cut in sheet.cuts)
    all_lost = repair(plan, first, (), on_hand(plan, 2), whole_sheet=True)
    assert {piece for piece, _ in all_lost.moved} == {first, *others}
    assert all(number != sheet.id for _, number in all_lost.moved)
    one_hangs = repair(plan, first, {others[0]}, on_hand(plan, 2), whole_sheet=True)
    assert others[0] not in {piece for piece, _ in one_hangs.moved}


def test_the_free_parts_and_the_cuts_make_up_the_whole_sheet() -> None:
    plan = plan_job(room(1))
    for sheet in plan.sheets:
        cut = sum((c.end_in - c.start_in) * (c.high_in - c.low_in) for c in sheet.cuts)
        free = sum((a.area[1] - a.area[0]) * (a.area[3] - a.area[2]) for a in leftovers_of((sheet,), ()))
        # scraps under 2 in are left out
        slack = 2.0 * (sheet.length_in + sheet.width_in)
        assert (
            sheet.length_in * sheet.width_in - slack <= cut + free <= sheet.length_in * sheet.width_in + 1e-6
        )


def test_a_piece_nobody_planned_cannot_be_spoiled() -> None:
    with pytest.raises(JobError, match="no piece 99"):
        repair(plan_job(Job((sixteen_in_wall(100.0),))), 99, (), {})
