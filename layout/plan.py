"""Plan a job: framing in, seams, sheets, order and the proof of how good it is out."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from layout.assemble import Placement, UsedSheet, assemble
from layout.board_choice import board_warnings
from layout.framing import Surface, Wishes
from layout.job import Job
from layout.job_optimum import GOOD_GAP, solve_job
from layout.lengths import format_length, to_grid
from layout.markets import Prefs, Rules
from layout.plan_types import Plan, PlanWarning, SurfacePlan
from layout.reasons import explained
from layout.rows import BACKING_PRICE, Span, SurfaceRows, rows_of
from layout.stock import US_STOCK, Board, boards_for
from layout.wall_optimum import RowChoice, best_rows, span_cost

__all__ = ["Progress", "plan_job", "plan_surface"]

Progress = Callable[[float, str], None]
"""Called with the done fraction (0 to 1) and a short text."""


def plan_surface(
    surface: Surface,
    stock: tuple[Board, ...] = US_STOCK,
    rules: Rules | None = None,
    prefs: Prefs | None = None,
) -> Plan:
    """Plan one surface by itself: the job of that one surface."""
    alone = replace(surface, opposite_of="")
    return plan_job(Job((alone,), stock, rules or Rules(), prefs or Prefs()))


def plan_job(
    job: Job,
    time_limit_s: float | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    share: bool = True,
    gap: float = GOOD_GAP,
) -> Plan:
    """Plan all surfaces of a job together.

    Parameters
    ----------
    job : Job
    time_limit_s : float or None
        Seconds after which the best plan so far is returned with its bound.
    progress : callable or None
        Called as ``progress(fraction, text)``.
    stop : callable or None
        Asked now and then; when it returns True the best plan so far is returned.
    share : bool
        False to use no off-cut of one surface on another (no bound is proved then).
    gap : float
        Relative gap between cost and bound that is good enough; 0 asks for the proof.

    Returns
    -------
    Plan
        Always a plan: where the rules cannot be kept, its warnings say which, where, and
        what to do.  A surface that cannot be boarded at all has no rows and a warning.
    """
    started = time.monotonic()
    prepared: list[SurfaceRows] = []
    first: list[tuple[RowChoice, ...]] = []
    warnings: list[PlanWarning] = []
    empty: list[SurfacePlan] = []
    faces: dict[str, int] = {}
    opposite: list[tuple[int, int]] = []
    away = to_grid(job.rules.opposite_stagger_in)
    for number, surface in enumerate(job.surfaces):
        partners = _partners(job, surface)
        known = [faces[p] for p in partners if p in faces]
        avoid = [_seams_seen_from_behind(prepared[k], first[k]) for k in known]
        blocked = frozenset(at for seams in avoid for at in seams)
        if not job.rules.on("seams_of_opposite_faces_differ"):
            blocked, known = frozenset(), []
        found, notes = _prepare(surface, job, blocked, away)
        warnings += notes
        if found is None:
            empty.append(
                SurfacePlan(surface.id, (), surface.name, surface.kind, surface.width_in, surface.height_in)
            )
            continue
        rows, chosen, kept = found
        if kept:
            opposite += [(k, len(prepared)) for k in known]
        faces[surface.id] = len(prepared)
        prepared.append(rows)
        first.append(chosen)
        if progress is not None:
            progress(0.1 * (number + 1) / len(job.surfaces), surface.name or surface.id)
    own = tuple(
        _sheets_of_their_own(n, rows, chosen, job.prefs)
        for n, (rows, chosen) in enumerate(zip(prepared, first, strict=True))
    )
    left = None if time_limit_s is None else max(0.0, time_limit_s - (time.monotonic() - started))
    solved = solve_job(
        tuple(prepared),
        own,
        tuple(sum(choice.cost for choice in chosen) for chosen in first),
        job.prefs.cut_end_charge,
        tuple(opposite),
        away,
        left,
        None if progress is None else lambda done: progress(0.1 + 0.9 * done, "sheets"),
        stop,
        share,
        gap,
    )
    surfaces, made, order, score, seam_notes = assemble(tuple(prepared), solved.sheets, job.rules, job.prefs)
    surfaces = tuple(explained(plan, rows, job.prefs) for plan, rows in zip(surfaces, prepared, strict=True))
    for rows in prepared:
        warnings += board_warnings(rows.surface, job.rules, rows.upright)
    backing = sum(1 for plan in surfaces for r in plan.rows for s in r.seams if not s.member_id)
    bound = max(0.0, solved.bound - backing * BACKING_PRICE)
    bound = min(bound, score.total)
    score = replace(
        score, lower_bound=bound, proved_optimal=score.total - bound <= 1e-6 * max(1.0, score.total)
    )
    by_id = {plan.id: plan for plan in (*surfaces, *empty)}
    return Plan(
        tuple(by_id[s.id] for s in job.surfaces),
        made,
        order,
        score,
        (*warnings, *seam_notes),
        solved.stopped,
    )


def _partners(job: Job, surface: Surface) -> tuple[str, ...]:
    """Ids of the surfaces that are the other face of this one."""
    return tuple(
        other.id
        for other in job.surfaces
        if other.id != surface.id and (other.opposite_of == surface.id or surface.opposite_of == other.id)
    )


def _seams_seen_from_behind(rows: SurfaceRows, chosen: tuple[RowChoice, ...]) -> tuple[int, ...]:
    """Seams of a face as places along the other face of the partition."""
    return tuple(rows.frame.s_span - at for choice in chosen for at in choice.seams)


def _prepare(
    surface: Surface, job: Job, blocked: frozenset[int] = frozenset(), away: int = 0
) -> tuple[tuple[SurfaceRows, tuple[RowChoice, ...], bool] | None, list[PlanWarning]]:
    """Rows of a surface and their cheapest choice, rules eased one by one until there is one.

    The third value tells whether the seams keep away from `blocked`, the seams of the
    partition's other face.
    """
    rules, prefs = job.rules, job.prefs
    limits = [m for m in (surface.wishes.max_length_in, prefs.board_length_most_in) if m is not None]
    longest = min(limits) if limits else None
    widths = (
        sorted({b.width_in for b in job.stock})
        if surface.board_width_in is None
        else [surface.board_width_in]
    )
    offers = [
        boards
        for width in widths
        if (boards := boards_for(job.stock, surface.board_kind, surface.thickness_in, width, longest))
    ]
    if not offers:
        return None, [
            PlanWarning(
                "no_board",
                f"No {surface.board_kind} board {format_length(surface.thickness_in, to=1 / 32)} thick"
                f" for {surface.name or surface.id} is in the list of boards that can be bought"
                + (f" up to {format_length(longest)} long." if longest is not None else "."),
                "Add that board to the list, or choose another thickness, kind or width.",
                surface.id,
            )
        ]
    upright = surface.boards_run == "parallel"
    facings = [(blocked, True), (frozenset[int](), False)] if blocked else [(blocked, True)]
    for facing, kept in facings:
        for eased, backing, notes in _stages(surface, rules):
            if blocked and kept and (backing or eased is not rules):
                break
            best: tuple[float, SurfaceRows, tuple[RowChoice, ...]] | None = None
            for boards in offers:
                rows = rows_of(surface, boards, eased, prefs, upright, backing)
                chosen, _ = best_rows(rows, prefs, facing, away)
                if chosen is not None:
                    cost = sum(choice.cost for choice in chosen)
                    if best is None or cost < best[0]:
                        best = (cost, rows, chosen)
            if best is not None:
                if not kept:
                    notes = [*notes, _facing_note(surface)]
                return (best[1], best[2], kept), notes
    return _without_wishes(surface, job, blocked, away)


def _without_wishes(
    surface: Surface, job: Job, blocked: frozenset[int], away: int
) -> tuple[tuple[SurfaceRows, tuple[RowChoice, ...], bool] | None, list[PlanWarning]]:
    """A plan without the wish that makes it impossible, and a warning that names it."""
    wishes = surface.wishes
    singly = [
        *(
            (
                replace(wishes, pins=tuple(p for p in wishes.pins if p != pin)),
                f"the seam pinned on member {pin.member_id} in row {pin.row + 1}",
            )
            for pin in wishes.pins
        ),
        *(
            (
                replace(wishes, row_lengths=tuple(r for r in wishes.row_lengths if r != pair)),
                f"row {pair[0] + 1} from {format_length(pair[1])} boards",
            )
            for pair in wishes.row_lengths
        ),
        (replace(wishes, forbidden_members=()), "the members ruled out"),
        (Wishes(max_length_in=wishes.max_length_in), "the wishes together"),
    ]
    for eased, words in singly:
        if eased == wishes:
            continue
        found, notes = _prepare(replace(surface, wishes=eased), job, blocked, away)
        if found is not None:
            warning = PlanWarning(
                "wish_impossible",
                f"{surface.name or surface.id} cannot be boarded with {words}; the plan leaves that out.",
                "Change that wish, add a stud or backing, or add another board to the list.",
                surface.id,
            )
            return found, [warning, *notes]
    return None, [
        PlanWarning(
            "no_plan",
            f"{surface.name or surface.id} cannot be boarded under the rules given.",
            "Add a longer board to the list, or framing where boards can end.",
            surface.id,
        )
    ]


def _stages(surface: Surface, rules: Rules) -> list[tuple[Rules, bool, list[PlanWarning]]]:
    """The rules, then the rules eased step by step, each with what to tell the user."""
    name = surface.name or surface.id
    shorter = replace(rules, min_piece_in=min(rules.min_piece_in, 12.0))
    unstaggered = replace(shorter, stagger_in=0.0)
    closer = replace(unstaggered, opening_clearance_in=0.0)
    short = PlanWarning(
        "short_piece",
        f"{name} needs a piece shorter than {format_length(rules.min_piece_in)} at a seam.",
        "Add a stud or solid backing where a longer piece could end, or buy longer boards.",
        surface.id,
        "no_sliver_at_a_seam",
    )
    stagger = PlanWarning(
        "seams_not_staggered",
        f"The seams of neighbouring rows of {name} cannot all be {format_length(rules.stagger_in)} apart.",
        "Add a stud or solid backing, or buy longer boards.",
        surface.id,
        "seams_of_neighbouring_rows_are_staggered",
    )
    close = PlanWarning(
        "seam_near_opening",
        f"A seam of {name} has to lie within {format_length(rules.opening_clearance_in)} of an "
        "opening's edge, where cracks start.",
        "Add a stud farther from the opening, or buy longer boards.",
        surface.id,
        "seam_keeps_clear_of_openings",
    )
    return [
        (rules, False, []),
        (shorter, False, [short]),
        (unstaggered, False, [short, stagger]),
        (closer, False, [short, stagger, close]),
        (rules, True, []),
        (closer, True, [stagger, close]),
    ]


def _facing_note(surface: Surface) -> PlanWarning:
    return PlanWarning(
        "seams_on_both_faces",
        f"Seams of {surface.name or surface.id} may lie on the same stud as seams of its other face.",
        "Buy longer boards, or accept it: the partition is a little weaker and lets more sound through.",
        surface.id,
        "seams_of_opposite_faces_differ",
    )


def _sheets_of_their_own(
    number: int, rows: SurfaceRows, chosen: tuple[RowChoice, ...], prefs: Prefs
) -> tuple[UsedSheet, ...]:
    """Every piece from a sheet of its own, the cheapest that makes it."""
    return tuple(
        _own_sheet(rows, number, segment, span, prefs) for choice in chosen for segment, span in choice.spans
    )


def _own_sheet(rows: SurfaceRows, surface: int, segment: int, span: Span, prefs: Prefs) -> UsedSheet:
    forced = rows.segments[segment].forced_length
    wanted = span_cost(rows, span, prefs, forced)
    for board in rows.boards:
        single = replace(rows, boards=(board,))
        if span_cost(single, span, prefs, forced) == wanted:
            along, across = (span.height, span.length) if rows.upright else (span.length, span.height)
            return UsedSheet(board, (Placement(surface, segment, span, 0, along, 0, across),))
    raise AssertionError("a chosen piece has no board")  # span_cost was not None when chosen
