"""The first plan of a surface by itself: which way the boards run, and which rules had to give way.

The rules are eased one by one until there is a plan; every step is a warning.  Seams of
neighbouring courses, and those near openings, break their rule as seldom as can be
(`layout.easing`); the other rules are eased for the whole surface.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from layout.bands import voids_of
from layout.easing import eased_rows
from layout.framing import Surface, Wishes
from layout.job import Job
from layout.lengths import format_length, from_grid, to_grid
from layout.markets import Prefs, Rules
from layout.plan_types import PlanWarning, SurfacePlan
from layout.rows import Span, SurfaceRows, rows_of
from layout.rules import seam_keeps_clear_of_openings
from layout.stations import repriced as station_repriced
from layout.stock import Board, boards_for
from layout.wall_optimum import RowChoice, best_rows, span_cost

__all__ = ["FirstPlan", "first_plan", "made_use_of", "other_way", "repriced", "unstaggered"]


@dataclass(frozen=True, slots=True)
class FirstPlan:
    """Rows of a surface and their cheapest choice, every piece from a sheet of its own.

    `kept` tells whether the seams keep away from those of the partition's other face,
    `strict` whether all rules hold.
    """

    rows: SurfaceRows
    chosen: tuple[RowChoice, ...]
    kept: bool
    strict: bool

    @property
    def cost(self) -> float:
        return sum(choice.cost for choice in self.chosen)

    @property
    def joint_ft(self) -> float:
        """Butt joints, feet; upright boards have them only where one stands on another."""
        if self.rows.upright:
            return from_grid(self.rows.end_joints) / 12.0
        stations = [
            self.rows.segments[number].stations[span.last]
            for choice in self.chosen
            for number, span in choice.spans
        ]
        return sum(from_grid(station.seam_length) for station in stations) / 12.0

    @property
    def rank(self) -> tuple[int, int, float]:
        """What is compared between boards of two widths: seams against the rules before money."""
        eased = self.rows.eased
        return (0, 0, self.cost) if eased is None else (eased.near_openings, eased.unstaggered, self.cost)


def repriced(found: FirstPlan, prefs: Prefs) -> FirstPlan:
    """The same rows and choice at the prices of another aim."""
    rows = found.rows
    segments = tuple(
        replace(part, stations=tuple(station_repriced(s, prefs, rows.upright) for s in part.stations))
        for part in rows.segments
    )
    rows = replace(rows, segments=segments)
    chosen = tuple(
        replace(choice, cost=sum(_laid_cost(rows, number, span, prefs) for number, span in choice.spans))
        for choice in found.chosen
    )
    return replace(found, rows=rows, chosen=chosen)


def _laid_cost(rows: SurfaceRows, number: int, span: Span, prefs: Prefs) -> float:
    segment = rows.segments[number]
    cost = span_cost(rows, span, prefs, segment.forced_length)
    assert cost is not None  # a chosen piece has a board
    return cost + segment.stations[span.last].price


def first_plan(
    surface: Surface, job: Job, blocked: frozenset[int] = frozenset(), away: int = 0
) -> tuple[FirstPlan | None, list[PlanWarning]]:
    """The cheapest first plan of a surface, and what to tell the user about it.

    Boards run across the members.  Where the rules cannot be kept that way but can with
    boards parallel to the members (upright on a wall), and the user left it open, those are
    taken.

    Parameters
    ----------
    blocked : frozenset of int
        Seams of the partition's other face, thirty-seconds along the row.
    away : int
        How far seams keep from those.
    """
    found, notes = _prepare(surface, job, blocked, away)
    if surface.boards_run == "auto" and (found is None or not found.strict) and not _wishes_rows(surface):
        turned = _other_way(surface, job, upright=True)
        if turned is not None:
            note = PlanWarning(
                "boards_turned",
                f"Boards across the members of {surface.name or surface.id} cannot keep the rules; the plan "
                "runs them along the members, where no end needs a member to land on.",
                "Add a stud or backing, or longer boards to the list, to have them across.",
                surface.id,
                "seam_bears_on_member",
            )
            return turned, [note]
    return found, notes


def other_way(found: FirstPlan, job: Job) -> FirstPlan | None:
    """The surface with its boards the other way round, where the user left it open and the rules allow it."""
    surface = found.rows.surface
    if surface.boards_run != "auto" or _wishes_rows(surface):
        return None
    return _other_way(surface, job, upright=not found.rows.upright)


def _wishes_rows(surface: Surface) -> bool:
    return bool(surface.wishes.pins or surface.wishes.row_lengths)


def _other_way(surface: Surface, job: Job, upright: bool) -> FirstPlan | None:
    """The surface with its boards run one way, under all rules, or None."""
    best: FirstPlan | None = None
    for boards in _offers(surface, job):
        rows = rows_of(surface, boards, job.rules, job.prefs, upright)
        chosen, _ = best_rows(rows, job.prefs)
        if chosen is not None:
            found = FirstPlan(rows, chosen, False, True)
            best = found if best is None or found.cost < best.cost else best
    return best


def _longest(surface: Surface, job: Job) -> float | None:
    limits = [m for m in (surface.wishes.max_length_in, job.prefs.board_length_most_in) if m is not None]
    return min(limits) if limits else None


def _offers(surface: Surface, job: Job) -> list[tuple[Board, ...]]:
    """Boards that suit a surface, by their width."""
    widths = (
        sorted({b.width_in for b in job.stock})
        if surface.board_width_in is None
        else [surface.board_width_in]
    )
    kind, thickness_in, longest = surface.board_kind, surface.thickness_in, _longest(surface, job)
    return [
        boards for width in widths if (boards := boards_for(job.stock, kind, thickness_in, width, longest))
    ]


def _width(width_in: float) -> str:
    """A board's width in inches, so written that `in_style` finds all of it: 47-1/4"."""
    return format_length(width_in, "inches", to=1 / 32).replace(" ", "-")


def _no_board(surface: Surface, job: Job) -> PlanWarning:
    longest_in = _longest(surface, job)
    size = f"{format_length(surface.thickness_in, to=1 / 32)} thick"
    remedy = "Add that board to the list, or choose another thickness, kind or width."
    # Where boards of another width would suit, it is the width that nobody sells.
    others = _offers(replace(surface, board_width_in=None), job)
    if others and surface.board_width_in is not None:
        wanted_in = surface.board_width_in
        near_in = min((boards[0].width_in for boards in others), key=lambda width: abs(width - wanted_in))
        size += f" and {_width(wanted_in)} wide"
        remedy = f"Add that board to the list, or choose boards {_width(near_in)} wide."
    return PlanWarning(
        "no_board",
        f"No {surface.board_kind} board {size} for {surface.name or surface.id}"
        " is in the list of boards that can be bought"
        + (f" up to {format_length(longest_in)} long." if longest_in is not None else "."),
        remedy,
        surface.id,
    )


def _prepare(
    surface: Surface, job: Job, blocked: frozenset[int] = frozenset(), away: int = 0
) -> tuple[FirstPlan | None, list[PlanWarning]]:
    """Rows of a surface and their cheapest choice, rules eased one by one until there is one."""
    rules, prefs = job.rules, job.prefs
    offers = _offers(surface, job)
    if not offers:
        return None, [_no_board(surface, job)]
    upright = surface.boards_run == "parallel"
    facings = [(blocked, True), (frozenset[int](), False)] if blocked else [(blocked, True)]
    for facing, kept in facings:
        for eased, backing, in_line, notes in _stages(surface, rules):
            if blocked and kept and (backing or eased is not rules):
                break
            best: FirstPlan | None = None
            for boards in offers:
                rows = rows_of(surface, boards, eased, prefs, upright, backing)
                if in_line:
                    found = eased_rows(rows, rules, prefs)
                else:
                    chosen, _ = best_rows(rows, prefs, facing, away)
                    found = None if chosen is None else (rows, chosen)
                if found is not None:
                    one = FirstPlan(*found, kept, eased is rules and not backing)
                    best = one if best is None or one.rank < best.rank else best
            if best is not None:
                if not kept:
                    notes = [*notes, _facing_note(surface)]
                return best, notes
    return _without_wishes(surface, job, blocked, away)


def _without_wishes(
    surface: Surface, job: Job, blocked: frozenset[int], away: int
) -> tuple[FirstPlan | None, list[PlanWarning]]:
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


def _stages(surface: Surface, rules: Rules) -> list[tuple[Rules, bool, bool, list[PlanWarning]]]:
    """The rules, then the rules eased step by step: (rules, whether with new backing, whether seams
    that cannot be staggered may be so, what to tell the user).  Which seams those are is told by
    `unstaggered` of the finished plan.
    """
    name = surface.name or surface.id
    shorter = replace(rules, min_piece_in=min(rules.min_piece_in, 12.0))
    closer = replace(shorter, opening_clearance_in=0.0)
    short = PlanWarning(
        "short_piece",
        f"{name} needs a piece shorter than {format_length(rules.min_piece_in)} at a seam.",
        "Add a stud or solid backing where a longer piece could end, or buy longer boards.",
        surface.id,
        "no_sliver_at_a_seam",
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
        (rules, False, False, []),
        (shorter, False, False, [short]),
        (shorter, False, True, [short]),
        (closer, False, True, [short, close]),
        (rules, True, False, []),
        (closer, True, True, [short, close]),
    ]


CLOSE_IN = 1 / 16
"""Two roundings to 1/32 in, by which a distance in inches may be less than the rule's."""


def made_use_of(note: PlanWarning, rows: SurfaceRows, plan: SurfacePlan, rules: Rules) -> bool:
    """Whether a finished plan needed what a note of an eased rule allowed it.

    Rules are eased one on top of the other, so that a later one may have made an earlier
    one needless.  Every other note stays.
    """
    if note.code == "short_piece":
        return any(
            piece.length_in < rules.min_piece_in - CLOSE_IN
            and any(s.position_in in (piece.left_in, piece.right_in) for s in row.seams)
            for row in plan.rows
            for piece in row.pieces
        )
    if note.code == "seam_near_opening":
        voids = voids_of(rows.surface, rows.frame)
        return any(
            not seam_keeps_clear_of_openings(to_grid(seam.position_in), band.low, band.high, voids, rules)
            for band, row in zip(rows.bands, plan.rows, strict=True)
            for seam in row.seams
        )
    return True


def unstaggered(plan: SurfacePlan, rules: Rules) -> list[PlanWarning]:
    """A note for every pair of seams of neighbouring rows of a finished plan that is not staggered."""
    if not rules.on("seams_of_neighbouring_rows_are_staggered"):
        return []
    return [
        PlanWarning(
            "seams_not_staggered",
            f"The seam at {format_length(a.position_in)} in row {number} of {plan.name or plan.id} and "
            f"the one at {format_length(b.position_in)} in row {number + 1} cannot be "
            f"{format_length(rules.stagger_in)} apart.",
            "Add a stud or solid backing, or buy longer boards.",
            plan.id,
            "seams_of_neighbouring_rows_are_staggered",
        )
        for number, (one, two) in enumerate(pairwise(plan.rows), start=1)
        for a in one.seams
        for b in two.seams
        if abs(a.position_in - b.position_in) < rules.stagger_in - CLOSE_IN
    ]


def _facing_note(surface: Surface) -> PlanWarning:
    return PlanWarning(
        "seams_on_both_faces",
        f"Seams of {surface.name or surface.id} may lie on the same stud as seams of its other face.",
        "Buy longer boards, or accept it: the partition is a little weaker and lets more sound through.",
        surface.id,
        "seams_of_opposite_faces_differ",
    )
