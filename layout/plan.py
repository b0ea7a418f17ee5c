"""Plan a job: framing in, seams, sheets, order and the proof of how good it is out."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from layout.assemble import Placement, UsedSheet, assemble
from layout.board_choice import board_warnings, row_warnings
from layout.corners import corners_settled
from layout.first_plan import alternative, first_plan, made_use_of, unstaggered
from layout.framing import Surface
from layout.job import Job
from layout.job_optimum import GOOD_GAP, solve_job
from layout.lengths import from_grid, to_grid
from layout.markets import Prefs, Rules
from layout.order import ordered
from layout.plan_types import Plan, PlanWarning, Score, SurfacePlan
from layout.reasons import explained, pins_against_rules, wishes_for_nothing
from layout.rows import BACKING_PRICE, Span, SurfaceRows
from layout.stock import US_STOCK, Board
from layout.wall_optimum import RowChoice, span_cost

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
    alone = replace(surface, opposite_of="", corner_left="", corner_right="")
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
        Seconds after which the best plan so far is returned with its bound.  None ends by
        work done alone, so that the same job always gets the same plan.
    progress : callable or None
        Called as ``progress(fraction, text)``.
    stop : callable or None
        Asked now and then; when it returns True the best plan so far is returned.
    share : bool
        False to use no off-cut of one surface on another; the bound is then one for plans
        that do so.
    gap : float
        Relative gap between cost and bound that is good enough; 0 asks for the proof.

    Returns
    -------
    Plan
        Always a plan: where the rules cannot be kept, its warnings say which, where, and
        what to do.  A surface that cannot be boarded at all has no rows and a warning.
    """
    started = time.monotonic()
    job = corners_settled(job)
    if not job.rules.on("factory_ends_meet_at_seams"):
        job = replace(job, prefs=replace(job.prefs, cut_end_charge=0.0))
    prepared: list[SurfaceRows] = []
    first: list[tuple[RowChoice, ...]] = []
    warnings: list[PlanWarning] = []
    empty: list[SurfacePlan] = []
    faces: dict[str, int] = {}
    alternatives: dict[str, str] = {}
    opposite: list[tuple[int, int]] = []
    away = to_grid(job.rules.opposite_stagger_in)
    for number, surface in enumerate(job.surfaces):
        partners = _partners(job, surface)
        known = [faces[p] for p in partners if p in faces]
        avoid = [_seams_seen_from_behind(prepared[k], first[k]) for k in known]
        blocked = frozenset(at for seams in avoid for at in seams)
        if not job.rules.on("seams_of_opposite_faces_differ"):
            blocked, known = frozenset(), []
        found, notes = first_plan(surface, job, blocked, away)
        warnings += notes
        if found is None:
            empty.append(
                SurfacePlan(surface.id, (), surface.name, surface.kind, surface.width_in, surface.height_in)
            )
            continue
        rows, chosen, kept = found.rows, found.chosen, found.kept
        alternatives[surface.id] = alternative(found, job)
        warnings += (*wishes_for_nothing(rows), *pins_against_rules(rows))
        warnings += row_warnings(surface, tuple(from_grid(band.height) for band in rows.bands), rows.upright)
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
    surfaces, made, score, seam_notes = assemble(tuple(prepared), solved.sheets, job.rules, job.prefs)
    surfaces = tuple(explained(plan, rows, job.prefs) for plan, rows in zip(surfaces, prepared, strict=True))
    for rows in prepared:
        warnings += board_warnings(rows.surface, job.rules, rows.upright)
    of_surface = {plan.id: (rows, plan) for plan, rows in zip(surfaces, prepared, strict=True)}
    warnings = [
        note
        for note in warnings
        if note.surface not in of_surface or made_use_of(note, *of_surface[note.surface], job.rules)
    ]
    warnings += [note for plan in surfaces for note in unstaggered(plan, job.rules)]
    backing = sum(1 for plan in surfaces for r in plan.rows for s in r.seams if not s.member_id)
    bound = max(0.0, solved.bound - backing * BACKING_PRICE)
    score = bounded(score, bound)
    surfaces = tuple(replace(plan, alternative=alternatives[plan.id]) for plan in surfaces)
    by_id = {plan.id: plan for plan in (*surfaces, *empty)}
    return Plan(
        tuple(by_id[s.id] for s in job.surfaces),
        made,
        ordered(made, job.extra),
        score,
        (*warnings, *seam_notes),
        solved.stopped,
    )


def bounded(score: Score, bound: float) -> Score:
    """A score with its bound.

    A bound above the plan's own cost, by more than rounding, is none: nothing is then said
    to be proved.
    """
    rounding = 1e-6 * max(1.0, score.total)
    if bound > score.total + rounding:
        return replace(score, lower_bound=0.0, proved_optimal=False)
    bound = min(bound, score.total)
    return replace(score, lower_bound=bound, proved_optimal=score.total - bound <= rounding)


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
