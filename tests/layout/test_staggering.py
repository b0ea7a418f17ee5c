"""Staggering: only the seams that cannot be staggered line up, and only they bear the note."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import numpy as np
import pytest

from layout import (
    US_STOCK,
    Job,
    Opening,
    Pin,
    Plan,
    Prefs,
    Surface,
    Wishes,
    members_at,
    plan_job,
    plan_surface,
    plan_to_json,
)
from layout.first_plan import first_plan
from layout.joint_bound import joint_bound
from layout.master import build_master
from layout.relaxation import relax
from tests.layout.checker import complaints
from tests.layout.common import codes_of, sixteen_in_wall

EIGHT_FOOT_BOARDS = tuple(b for b in US_STOCK if b.length_in == 96.0)


def _lined_up(plan: Plan) -> list[tuple[float, float]]:
    """Pairs of seams of neighbouring rows less than 15 in apart."""
    return [
        (a.position_in, b.position_in)
        for surface in plan.surfaces
        for one, two in itertools.pairwise(surface.rows)
        for a in one.seams
        for b in two.seams
        if abs(a.position_in - b.position_in) < 14.9
    ]


def _notes(plan: Plan) -> list[str]:
    return [note.message for note in plan.warnings if note.code == "seams_not_staggered"]


def _wide_last_bay(length_in: float = 360.0, surface_id: str = "A") -> Surface:
    """Studs at 16 in, and none in the last 8 ft: both courses of 8-ft boards must break where it begins."""
    last = length_in - 96.0
    studs = [0.75, *np.arange(16.0, last - 8.0, 16.0), last, length_in - 0.75]
    return Surface(
        surface_id, length_in, 97.125, members_at(studs), ceiling_board_in=0.5, boards_run="across"
    )


def test_one_seam_that_cannot_be_staggered_leaves_the_others_staggered() -> None:
    plan = plan_surface(_wide_last_bay(), EIGHT_FOOT_BOARDS)
    assert _lined_up(plan) == [(264.0, 264.0)]
    assert min(len(row.seams) for row in plan.surfaces[0].rows) >= 3
    assert complaints(Job((_wide_last_bay(),), EIGHT_FOOT_BOARDS), plan_to_json(plan)) == []


def test_the_note_stands_only_at_the_seam_that_cannot_be_staggered() -> None:
    (note,) = _notes(plan_surface(replace(_wide_last_bay(), name="north wall"), EIGHT_FOOT_BOARDS))
    assert note == (
        "The seam at 22' in row 1 of north wall and the one at 22' in row 2 cannot be 1' 3\" apart."
    )


def test_two_seams_that_the_user_puts_on_one_stud_leave_the_others_staggered() -> None:
    wall = replace(sixteen_in_wall(384.0), wishes=Wishes(pins=(Pin(0, "7"), Pin(1, "7"))))
    plan = plan_surface(wall, EIGHT_FOOT_BOARDS)
    assert _lined_up(plan) == [(96.0, 96.0)]
    assert len(_notes(plan)) == 1


def test_a_wall_that_can_be_staggered_has_no_such_note_beside_one_that_cannot() -> None:
    job = Job((_wide_last_bay(), sixteen_in_wall(120.0, "B")), EIGHT_FOOT_BOARDS)
    plan = plan_job(job)
    assert len(_lined_up(plan)) == len(_notes(plan)) == 1
    assert complaints(job, plan_to_json(plan)) == []


def test_no_seam_is_put_beside_a_window_to_have_others_staggered() -> None:
    """NAVEDTRA 14044 p. 162: 6 in from the edge; a crack starts there sooner than at two seams in one line.

    The lower course has to break at 240 in, 5 in beside a window.  At its other end it could break
    at 96 in beside another window, or at 112 in under the seam that is asked for.
    """
    studs = [0.75, *np.arange(96.0, 241.0, 16.0), 359.25]
    windows = (Opening("1", 100.0, 136.0, 10.0, 40.0), Opening("2", 245.0, 281.0, 10.0, 40.0))
    wall = Surface(
        "A", 360.0, 97.125, members_at(studs), ceiling_board_in=0.5, boards_run="across", openings=windows,
        wishes=Wishes(pins=(Pin(0, "3"),)),
    )  # fmt: skip
    plan = plan_surface(wall, tuple(b for b in US_STOCK if b.length_in in (96.0, 120.0)))
    upper, lower = ([seam.position_in for seam in row.seams] for row in plan.surfaces[0].rows)
    assert 112.0 in upper
    assert 96.0 not in lower
    assert _lined_up(plan) == [(112.0, 112.0), (240.0, 240.0)]
    assert "seam_near_opening" in {note.code for note in plan.warnings}


def _layouts(length_in: float, studs: list[float]) -> list[tuple[float, ...]]:
    """All ways to break a course of 8-ft boards; a piece that ends at a seam is at least 12 in long."""
    found = []
    for count in range(len(studs) + 1):
        for seams in itertools.combinations(studs, count):
            ends = (0.0, *seams, length_in)
            pieces = [b - a for a, b in itertools.pairwise(ends)]
            corners = [(n == 0) + (n == len(pieces) - 1) for n in range(len(pieces))]
            fit = all(p - 0.125 * c <= 96.0 for p, c in zip(pieces, corners, strict=True))
            if fit and (not seams or min(pieces) >= 12.0):
                found.append(seams)
    return found


def _boards(pieces: list[float]) -> int:
    """Fewest 8-ft boards that yield the pieces."""
    best = len(pieces)

    def put(number: int, rooms: list[float]) -> None:
        nonlocal best
        if len(rooms) >= best:
            return
        if number == len(pieces):
            best = len(rooms)
            return
        for at, room in enumerate(rooms):
            if pieces[number] <= room + 1e-9:
                put(number + 1, [*rooms[:at], room - pieces[number], *rooms[at + 1 :]])
        put(number + 1, [*rooms, 96.0 - pieces[number]])

    put(0, [])
    return best


def _fewest(length_in: float, studs: list[float]) -> tuple[int, int]:
    """Fewest pairs of seams in one line on two courses, and fewest boards with so few."""
    best = (len(studs) ** 2, 0)
    for top, bottom in itertools.product(_layouts(length_in, studs), repeat=2):
        pairs = sum(abs(a - b) < 15.0 for a in top for b in bottom)
        if pairs > best[0]:
            continue
        pieces = []
        for seams in (top, bottom):
            ends = (0.0, *seams, length_in)
            lengths = [b - a for a, b in itertools.pairwise(ends)]
            lengths[0] -= 0.125
            lengths[-1] -= 0.125
            pieces += lengths
        boards = _boards(sorted(pieces, reverse=True))
        best = min(best, (pairs, boards)) if best[1] else (pairs, boards)
    return best


SPARSE = (2, 28, 37, 40, 45, 47, 84, 92, 98, 117, 152, 162, 173, 185)
"""Seeds of walls that lack a stud here and there, so that two courses cannot be staggered everywhere."""


@pytest.mark.parametrize("seed", SPARSE)
def test_as_few_seams_are_in_one_line_as_trying_all_of_them_finds(seed: int) -> None:
    rng = random.Random(seed)
    length_in = float(rng.randint(150, 270))
    studs = [float(at) for at in range(16, int(length_in) - 12, 16) if rng.random() < 0.5]
    wall = Surface("A", length_in, 96.625, members_at([0.75, *studs, length_in - 0.75]), boards_run="across")
    prefs = Prefs(joint_price_per_ft=0.0, cut_end_charge=0.0)
    plan = plan_job(Job((wall,), EIGHT_FOOT_BOARDS, prefs=prefs))
    pairs, boards = _fewest(length_in, studs)
    assert len(_lined_up(plan)) == len(_notes(plan)) == pairs > 0
    least = boards * EIGHT_FOOT_BOARDS[0].price
    assert plan.score.lower_bound <= least + 1e-6
    assert plan.score.sheet_cost >= least - 1e-6
    if plan.score.proved_optimal:
        assert plan.score.sheet_cost == pytest.approx(least)


def test_one_bound_for_walls_solved_apart_holds_where_seams_are_let_go() -> None:
    """Two clusters, each with a wall that cannot be staggered at one place."""
    job = Job((_wide_last_bay(264.0, "A"), _wide_last_bay(232.0, "B")), EIGHT_FOOT_BOARDS)
    masters = []
    for surface in job.surfaces:
        found, _ = first_plan(surface, job)
        assert found is not None
        assert found.rows.eased is not None
        assert found.rows.eased.unstaggered == 1
        masters.append(build_master((found.rows,), job.prefs.cut_end_charge))
    relaxed = [relax(master, np.inf) for master in masters]
    total = plan_job(job).score.total
    bound = joint_bound(masters, relaxed)
    assert 0.9 * total < bound <= total + 1e-6


def test_both_faces_of_a_partition_keep_their_seams_apart() -> None:
    """A BC trade manual, section 9.5 part 3: not on the same stud on both sides."""
    front = sixteen_in_wall(300.0, "F")
    back = replace(front, id="B", opposite_of="F")
    job = Job((front, back))
    plan = plan_job(job)
    assert "seams_on_both_faces" not in codes_of(plan)
    assert complaints(job, plan_to_json(plan)) == []
