"""Plan a job: framing in, seams, sheets, order and the proof of how good it is out."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from layout.assemble import Placement, UsedSheet, assemble
from layout.board_choice import board_warnings, row_warnings
from layout.corners import corners_settled
from layout.first_plan import FirstPlan, first_plan, made_use_of, other_way, repriced, unstaggered
from layout.framing import Surface
from layout.job import Job
from layout.job_optimum import GOOD_GAP, Found, cost_of, solve_job
from layout.lengths import from_grid, to_grid
from layout.markets import PRESETS, Prefs, Rules, prefs_for, wants_lowest_price
from layout.merging import merged
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

    Where the lowest price is asked for, the job is also planned for the other aims, and of all
    these plans the one is given whose sheets cost least.

    Returns
    -------
    Plan
        Always a plan: where the rules cannot be kept, its warnings say which, where, and
        what to do.  A surface that cannot be boarded at all has no rows and a warning.
    """
    started = time.monotonic()
    job = corners_settled(job)
    rivals = tuple(_charged(other, job.rules) for other in _rivals(job.prefs))
    job = replace(job, prefs=_charged(job.prefs, job.rules))
    runs = len(rivals) + 1
    answers: list[_Solved] = []

    def left() -> float | None:
        if time_limit_s is None:
            return None
        return max(0.0, time_limit_s - (time.monotonic() - started)) / (runs - len(answers))

    def step() -> Progress | None:
        done = len(answers)
        return None if progress is None else lambda part, text: progress((done + part) / runs, text)

    for prefs in rivals:
        other = _prepared(replace(job, prefs=prefs), step())
        found = _solved(other, left(), step(), stop, share, max(gap, GOOD_GAP))
        at_ours = replace(other, job=job, found=tuple(repriced(one, job.prefs) for one in other.found))
        answers.append(_Solved(at_ours, replace(found.found, bound=0.0)))
    mine = _prepared(job, step())
    alike = [one.prepared.choices == mine.choices for one in answers]
    begin = [one.found.sheets for one, same in zip(answers, alike, strict=True) if same]
    cheapest = min(begin, key=lambda sheets: cost_of(mine.rows, sheets, job.prefs.cut_end_charge), default=())
    answer = _solved(mine, left(), step(), stop, share, gap, cheapest)
    stopped = answer.found.stopped or any(one.found.stopped for one in answers)
    plans = [_finished(answer)]
    for one, same in zip(answers, alike, strict=True):
        bound = answer.found.bound if same else 0.0
        plans.append(_finished(_Solved(one.prepared, replace(one.found, bound=bound))))
    kept = [len(one.prepared.opposite) for one in (answer, *answers)]
    # Rules before money.  Among equals it is the first, that of the aim asked for, and mostly the only one.
    best = min(
        range(runs),
        key=lambda n: (-kept[n], round(plans[n].score.sheet_cost, 6), round(plans[n].score.total, 6)),
    )
    return replace(plans[best], stopped=stopped)


def _charged(prefs: Prefs, rules: Rules) -> Prefs:
    """A cut end costs nothing where the rule about them is switched off."""
    return prefs if rules.on("factory_ends_meet_at_seams") else replace(prefs, cut_end_charge=0.0)


def _rivals(prefs: Prefs) -> tuple[Prefs, ...]:
    """Other aims whose plans are compared: where the lowest price is asked for, none may be cheaper."""
    if not wants_lowest_price(prefs):
        return ()
    others = (prefs_for(preset) for preset in PRESETS if not wants_lowest_price(prefs_for(preset)))
    return tuple(replace(other, board_length_most_in=prefs.board_length_most_in) for other in others)


@dataclass(frozen=True)
class _Prepared:
    """First plans of the surfaces that can be boarded, and what is said of all of them."""

    job: Job
    found: tuple[FirstPlan, ...]
    warnings: tuple[PlanWarning, ...]
    empty: tuple[SurfacePlan, ...]
    opposite: tuple[tuple[int, int], ...]

    @property
    def rows(self) -> tuple[SurfaceRows, ...]:
        return tuple(one.rows for one in self.found)

    @property
    def choices(self) -> tuple[tuple[SurfaceRows, ...], tuple[tuple[int, int], ...]]:
        """What plans can be chosen from: two aims that agree in it may share plan and bound."""
        return self.rows, self.opposite


@dataclass(frozen=True)
class _Solved:
    prepared: _Prepared
    found: Found


def _prepared(job: Job, progress: Progress | None) -> _Prepared:
    """A first plan of every surface by itself."""
    prepared: list[FirstPlan] = []
    warnings: list[PlanWarning] = []
    empty: list[SurfacePlan] = []
    faces: dict[str, int] = {}
    opposite: list[tuple[int, int]] = []
    away = to_grid(job.rules.opposite_stagger_in)
    for number, surface in enumerate(job.surfaces):
        partners = _partners(job, surface)
        known = [faces[p] for p in partners if p in faces]
        avoid = [_seams_seen_from_behind(prepared[k].rows, prepared[k].chosen) for k in known]
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
        rows = found.rows
        warnings += (*wishes_for_nothing(rows), *pins_against_rules(rows))
        warnings += row_warnings(surface, tuple(from_grid(band.height) for band in rows.bands), rows.upright)
        if found.kept:
            opposite += [(k, len(prepared)) for k in known]
        faces[surface.id] = len(prepared)
        prepared.append(found)
        if progress is not None:
            progress(0.1 * (number + 1) / len(job.surfaces), surface.name or surface.id)
    return _Prepared(job, tuple(prepared), tuple(warnings), tuple(empty), tuple(opposite))


def _solved(
    prepared: _Prepared,
    time_limit_s: float | None,
    progress: Progress | None,
    stop: Callable[[], bool] | None,
    share: bool,
    gap: float,
    start: tuple[UsedSheet, ...] = (),
) -> _Solved:
    """Seams and sheets of all surfaces together."""
    job = prepared.job
    own = tuple(
        _sheets_of_their_own(n, one.rows, one.chosen, job.prefs) for n, one in enumerate(prepared.found)
    )
    found = solve_job(
        prepared.rows,
        own,
        tuple(one.cost for one in prepared.found),
        job.prefs.cut_end_charge,
        prepared.opposite,
        to_grid(job.rules.opposite_stagger_in),
        time_limit_s,
        None if progress is None else lambda done: progress(0.1 + 0.9 * done, "sheets"),
        stop,
        share,
        gap,
        start,
        wants_lowest_price(job.prefs),
    )
    return _Solved(prepared, found)


def _finished(solved: _Solved) -> Plan:
    """Pieces, sheets, reasons and notes of what was chosen."""
    prepared, job = solved.prepared, solved.prepared.job
    all_rows = prepared.rows
    surfaces, made, score, seam_notes = assemble(all_rows, solved.found.sheets, job.rules, job.prefs)
    surfaces = tuple(explained(plan, rows, job.prefs) for plan, rows in zip(surfaces, all_rows, strict=True))
    warnings = list(prepared.warnings)
    for rows in all_rows:
        warnings += board_warnings(rows.surface, job.rules, rows.upright, len(rows.bands))
    of_surface = {plan.id: (rows, plan) for plan, rows in zip(surfaces, all_rows, strict=True)}
    warnings = [
        note
        for note in warnings
        if note.surface not in of_surface or made_use_of(note, *of_surface[note.surface], job.rules)
    ]
    warnings += [note for plan in surfaces for note in unstaggered(plan, job.rules)]
    backing = sum(1 for plan in surfaces for r in plan.rows for s in r.seams if not s.member_id)
    bound = max(0.0, solved.found.bound - backing * BACKING_PRICE)
    score = bounded(score, bound)
    if prepared.empty:
        # What is not boarded is not boarded in the best way.
        score = replace(score, proved_optimal=False)
    surfaces = tuple(
        replace(plan, alternative=_alternative(one, job, score))
        for plan, one in zip(surfaces, prepared.found, strict=True)
    )
    by_id = {plan.id: plan for plan in (*surfaces, *prepared.empty)}
    return Plan(
        tuple(by_id[s.id] for s in job.surfaces),
        made,
        ordered(made, job.extra),
        score,
        (*warnings, *seam_notes),
        solved.found.stopped,
    )


def _alternative(found: FirstPlan, job: Job, score: Score) -> str:
    """What the boards the other way round would cost, this surface by itself; "" where they cannot be."""
    other = other_way(found, job)
    if other is None:
        return ""
    as_it_is = f"this way {_by_itself(found, job.prefs):.2f}, with {found.joint_ft:.1f} ft."
    if len(job.surfaces) == 1:
        as_it_is = f"as planned {score.total:.2f}, with {score.butt_joint_ft:.1f} ft."
    way = "upright" if found.rows.surface.kind == "wall" else "along the members"
    return (
        f"Boards {'across the members' if found.rows.upright else way}: {_by_itself(other, job.prefs):.2f} "
        f"for this surface by itself, with {other.joint_ft:.1f} ft of butt joints; {as_it_is}"
    )


def _by_itself(found: FirstPlan, prefs: Prefs) -> float:
    """What a first plan costs when its off-cuts are used on the surface itself."""
    sheets = _sheets_of_their_own(0, found.rows, found.chosen, prefs)
    _, saved = merged((found.rows,), sheets, prefs.cut_end_charge)
    return found.cost - saved


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
