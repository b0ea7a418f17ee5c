"""Plan a job: framing in, seams, sheets, order and the proof of how good it is out."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from layout.assemble import Placement, UsedSheet, assemble
from layout.framing import Surface
from layout.job import Job
from layout.lengths import format_length, to_grid
from layout.markets import Prefs, Rules
from layout.plan_types import Plan, PlanWarning, SurfacePlan
from layout.rows import Span, SurfaceRows, rows_of
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

    Returns
    -------
    Plan
        Always a plan: where the rules cannot be kept, its warnings say which, where, and
        what to do.  A surface that cannot be boarded at all has no rows and a warning.
    """
    started = time.monotonic()
    del started
    prepared: list[SurfaceRows] = []
    choices: list[tuple[RowChoice, ...]] = []
    warnings: list[PlanWarning] = []
    empty: list[SurfacePlan] = []
    for number, surface in enumerate(job.surfaces):
        if stop is not None and stop():
            break
        found, notes = _prepare(surface, job)
        warnings += notes
        if found is None:
            empty.append(
                SurfacePlan(surface.id, (), surface.name, surface.kind, surface.width_in, surface.height_in)
            )
        else:
            prepared.append(found[0])
            choices.append(found[1])
        if progress is not None:
            progress((number + 1) / len(job.surfaces), surface.name or surface.id)
    sheets = _one_sheet_each(tuple(prepared), choices, job.prefs)
    surfaces, made, order, score, notes = assemble(tuple(prepared), sheets, job.rules, job.prefs)
    by_id = {plan.id: plan for plan in (*surfaces, *empty)}
    return Plan(
        tuple(by_id[s.id] for s in job.surfaces if s.id in by_id),
        made,
        order,
        score,
        (*warnings, *notes),
    )


def _prepare(
    surface: Surface, job: Job
) -> tuple[tuple[SurfaceRows, tuple[RowChoice, ...]] | None, list[PlanWarning]]:
    """Rows of a surface and their cheapest choice, rules eased one by one until there is one."""
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
    for stage, (eased, backing, notes) in enumerate(_stages(surface, rules)):
        best: tuple[float, SurfaceRows, tuple[RowChoice, ...]] | None = None
        for boards in offers:
            rows = rows_of(surface, boards, eased, prefs, upright, backing)
            chosen, _ = best_rows(rows, prefs)
            if chosen is not None:
                cost = sum(choice.cost for choice in chosen)
                if best is None or cost < best[0]:
                    best = (cost, rows, chosen)
        if best is not None:
            return (best[1], best[2]), notes
    del stage
    return None, [
        PlanWarning(
            "no_plan",
            f"{surface.name or surface.id} cannot be boarded under the rules and wishes given.",
            "Remove a pinned seam or a forced length, or add a longer board to the list.",
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


def _one_sheet_each(
    all_rows: tuple[SurfaceRows, ...], choices: list[tuple[RowChoice, ...]], prefs: Prefs
) -> tuple[UsedSheet, ...]:
    """Every piece from a sheet of its own, the cheapest that makes it."""
    sheets = []
    for number, (rows, chosen) in enumerate(zip(all_rows, choices, strict=True)):
        for choice in chosen:
            for segment, span in choice.spans:
                sheets.append(_own_sheet(rows, number, segment, span, prefs))
    return tuple(sheets)


def _own_sheet(rows: SurfaceRows, surface: int, segment: int, span: Span, prefs: Prefs) -> UsedSheet:
    forced = rows.segments[segment].forced_length
    wanted = span_cost(rows, span, prefs, forced)
    for board in rows.boards:
        single = replace(rows, boards=(board,))
        if span_cost(single, span, prefs, forced) == wanted:
            along, across = (span.height, span.length) if rows.upright else (span.length, span.height)
            return UsedSheet(board, (Placement(surface, segment, span, 0, along, 0, across),))
    raise AssertionError("a chosen piece has no board")  # span_cost was not None when chosen


def board_length_grid(board: Board) -> int:
    """A board's length in whole thirty-seconds, rounded down."""
    return to_grid(board.length_in, "down")
