"""Why a seam is where it is, and the next best place, in words."""

from __future__ import annotations

from dataclasses import replace

from layout.lengths import format_length, from_grid
from layout.markets import Prefs
from layout.plan_types import PlanWarning, Row, Seam, SurfacePlan
from layout.rows import Segment, Span, Station, SurfaceRows
from layout.wall_optimum import span_cost

__all__ = ["explained", "pins_against_rules", "wishes_for_nothing"]

WORDS = {
    "forbidden": "you ruled it out",
    "seam_bears_on_member": "its face is too narrow for two board ends",
    "member_reaches": "it does not reach along the whole seam",
    "seam_keeps_clear_of_openings": "it is too close to the edge of an opening",
}


PINNED = {
    "seam_bears_on_member": "pin_without_bearing",
    "member_reaches": "pin_without_bearing",
    "seam_keeps_clear_of_openings": "pin_near_opening",
}
"""Codes of the warnings for a seam that is kept against a rule because the user asked for it."""


def explained(plan: SurfacePlan, rows: SurfaceRows, prefs: Prefs) -> SurfacePlan:
    """The same plan with a reason and a next best place at every seam."""
    return replace(
        plan,
        rows=tuple(
            replace(row, seams=tuple(_explained(plan, number, row, seam, rows, prefs) for seam in row.seams))
            for number, row in enumerate(plan.rows)
        ),
    )


def wishes_for_nothing(rows: SurfaceRows) -> tuple[PlanWarning, ...]:
    """A warning for each wish that means no place of the plan: no such row, or a stud in a doorway."""
    surface, wishes = rows.surface, rows.surface.wishes
    there = {
        (segment.row, surface.members[station.member].id)
        for segment in rows.segments
        for station in segment.stations
        if station.member >= 0
    }
    lost = [
        f"the seam pinned on member {pin.member_id} in row {pin.row + 1}"
        for pin in wishes.pins
        if (pin.row, pin.member_id) not in there
    ]
    lost += [
        f"row {row + 1} from {format_length(length_in)} boards"
        for row, length_in in wishes.row_lengths
        if row >= len(rows.bands)
    ]
    return tuple(
        PlanWarning(
            "wish_impossible",
            f"{surface.name or surface.id} cannot be boarded with {words}; the plan leaves that out.",
            "Change that wish, add a stud or backing, or add another board to the list.",
            surface.id,
        )
        for words in lost
    )


def pins_against_rules(rows: SurfaceRows) -> tuple[PlanWarning, ...]:
    """A warning for each seam that the user asked for where a rule would have none."""
    surface = rows.surface
    return tuple(
        PlanWarning(
            PINNED.get(refusal.rule, "pin_ruled_out"),
            f"The seam you asked for on member {surface.members[refusal.member].id} in row "
            f"{refusal.row + 1} of {surface.name or surface.id} is kept, but {WORDS[refusal.rule]}.",
            "Take that wish back, or accept a joint that may crack.",
            surface.id,
            "" if refusal.rule == "forbidden" else refusal.rule,
        )
        for refusal in rows.refusals
        if refusal.pinned
    )


def _explained(plan: SurfacePlan, number: int, row: Row, seam: Seam, rows: SurfaceRows, prefs: Prefs) -> Seam:
    left = next(p for p in row.pieces if abs(p.right_in - seam.position_in) < 0.05)
    right = next(p for p in row.pieces if abs(p.left_in - seam.position_in) < 0.05)
    where = format_length(seam.position_in)
    if not seam.member_id:
        return replace(
            seam, reason=f"No member can carry a seam within a board's length; put backing in at {where}."
        )
    if seam.pinned:
        reason = f"You asked for the seam on member {seam.member_id}, {where} from the corner."
    else:
        reason = f"Member {seam.member_id} is centred {where} from the corner and carries both board ends"
        reason += (
            ", which are both factory ends."
            if seam.factory_ends == 2
            else f"; {2 - seam.factory_ends} of them is cut, because the pieces lie between two seams."
            if seam.factory_ends == 1
            else "; both are cut."
        )
    return replace(
        seam,
        reason=reason,
        next_best=_next_best(plan, number, seam, rows, prefs, left.left_in, right.right_in),
    )


def _next_best(
    plan: SurfacePlan,
    number: int,
    seam: Seam,
    rows: SurfaceRows,
    prefs: Prefs,
    start_in: float,
    end_in: float,
) -> str:
    """The best other member for this one seam, all other seams left as they are."""
    segment = next(
        s
        for s in rows.segments
        if s.row == number and from_grid(s.start) < seam.position_in < from_grid(s.end)
    )
    first = _nearest(segment, start_in)
    last = _nearest(segment, end_in)
    here = _nearest(segment, seam.position_in)
    spans = {(s.first, s.last): s for s in segment.spans}
    now = _pair_cost(rows, segment, spans, prefs, first, here, last)
    others = [
        other.position_in
        for near in (number - 1, number + 1)
        if 0 <= near < len(plan.rows)
        for other in plan.rows[near].seams
    ]
    best: tuple[float, Station] | None = None
    for at in range(first + 1, last):
        station = segment.stations[at]
        if station.member < 0 or station.member == segment.stations[here].member:
            continue
        if any(abs(from_grid(station.at) - o) < from_grid(rows.stagger) for o in others):
            continue
        cost = _pair_cost(rows, segment, spans, prefs, first, at, last)
        if cost is not None and (best is None or cost < best[0]):
            best = (cost, station)
    if best is None:
        refused = [
            r
            for r in rows.refusals
            if r.row == number and not r.pinned and from_grid(r.at) != seam.position_in
        ]
        if refused:
            close = min(refused, key=lambda r: abs(from_grid(r.at) - seam.position_in))
            member = rows.surface.members[close.member]
            return (
                "No other member can take this seam with the rest of the plan as it is; for example "
                f"member {member.id} at {format_length(member.centre_in)}: {WORDS[close.rule]}."
            )
        return "No other member can take this seam with the rest of the plan as it is."
    member = rows.surface.members[best[1].member]
    place = f"member {member.id} at {format_length(member.centre_in)}"
    if now is None or best[0] - now < 0.005:
        return (
            f"Next best: {place}, at no more for these two boards, but the off-cuts or the "
            "neighbouring row's seams suit the plan less."
        )
    return f"Next best: {place}, for {best[0] - now:.2f} more."


def _pair_cost(
    rows: SurfaceRows,
    segment: Segment,
    spans: dict[tuple[int, int], Span],
    prefs: Prefs,
    first: int,
    middle: int,
    last: int,
) -> float | None:
    pair = spans.get((first, middle)), spans.get((middle, last))
    if pair[0] is None or pair[1] is None:
        return None
    costs = [span_cost(rows, span, prefs, segment.forced_length) for span in pair if span]
    if any(cost is None for cost in costs):
        return None
    return sum(cost for cost in costs if cost is not None) + segment.stations[middle].price


def _nearest(segment: Segment, place_in: float) -> int:
    return min(
        range(len(segment.stations)),
        key=lambda n: abs(from_grid(segment.stations[n].at) - place_in),
    )
