"""Stacks: each lot of boards gets a place at the foot of a wall, with its weight and what it does.

Boards stacked flat on blocks are the safest (GA-801, Handling and Storage of Gypsum Panel Products);
on edge against framing they can topple.  Where the floor leaves no room, they stand on edge: few, at a
lean, held.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from layout.free_wall import free_stretches
from layout.lengths import format_length, format_thickness
from layout.stack_types import Lot, Moved, PlaceWall, Site, Stack, StackPlan, Unplaced
from layout.stacking import HEAP_GAP_IN, assign, capacity, heaps_of, may_lie_together
from layout.weights import board_weight_lb, design_weight_psf, most_boards_on, stack_load_psf

__all__ = [
    "LEAN_FOOT_IN",
    "lean_degrees",
    "lot_limit",
    "plan_stacks",
    "pull_to_plumb_lb",
    "room_load_psf",
    "sign_text",
]

LEAN_FOOT_IN = 6.0
"""How far the foot of leaning boards stands out from the wall: 7 degrees off plumb for a board 48 in
high (common practice, no source)."""
FIT_IN = 1 / 16
MOST_AT_ONCE = 1_500
"""Lots times heaps up to which one assignment is solved within about a second (measured)."""


def lean_degrees(height_in: float, foot_out_in: float = LEAN_FOOT_IN) -> float:
    """How far leaning boards stand off plumb, degrees.

    Examples
    --------
    >>> round(lean_degrees(48.0), 1)
    7.2
    """
    return math.degrees(math.asin(min(1.0, foot_out_in / height_in)))


def pull_to_plumb_lb(weight_lb: float, height_in: float, foot_out_in: float = LEAN_FOOT_IN) -> float:
    """Level pull at the top edge that brings leaning boards upright, from where they fall by themselves.

    Balance of moments about the foot, boards thin and loose: half the weight times the tangent
    of the lean.  It is little: CPWR, Construction Solutions ("Falling or tipping drywall sheets")
    warns that a stack of a thousand pounds may need only a few pounds of pull.

    Examples
    --------
    >>> round(pull_to_plumb_lb(1000.0, 48.0, 0.5), 1)
    5.2
    """
    return 0.5 * weight_lb * math.tan(math.radians(lean_degrees(height_in, foot_out_in)))


def lot_limit(site: Site, thickest_in: float) -> int:
    """Most boards that may be carried to one place here: what stands on edge, and what the floor bears."""
    if site.floor == "slab":
        return site.most_on_edge
    bears = most_boards_on(site.live_load_psf, design_weight_psf(thickest_in))
    return max(1, min(site.most_on_edge, bears))


def plan_stacks(
    lots: tuple[Lot, ...],
    walls: tuple[PlaceWall, ...],
    site: Site | None = None,
    moved: Sequence[Moved] = (),
) -> StackPlan:
    """Give every lot its place.

    Parameters
    ----------
    lots : tuple of Lot
        As `layout.lots.lots_of` sorts them.
    walls : tuple of PlaceWall
        As `layout.free_wall.place_walls` makes them.
    site : Site or None
    moved : sequence of Moved
        What the user has put elsewhere.  A move that cannot be kept (no such wall, in a way,
        over another stack, too much for the place) is given back in `StackPlan.refused`
        with its reason, and the lot is placed like the others.

    Returns
    -------
    StackPlan
        Every board of every lot is in exactly one stack or in `unplaced`; `proved` is False for large
        jobs, which are solved room by room.
    """
    site = site or Site()
    by_id = {wall.id: wall for wall in walls}
    free = {wall.id: free_stretches(wall) for wall in walls}
    kept, refused = _kept_moves(lots, by_id, free, site, moved)
    fixed = [lot.id for _, group in kept for lot in group]
    for move, group in kept:
        free[move.wall] = _without(free[move.wall], move.left_in, move.left_in + _longest(group))
    rest = tuple(lot for lot in lots if lot.id not in fixed)
    stacks = [_stack(by_id[move.wall], move.left_in, move.standing, group, True) for move, group in kept]
    placed, left, proved = _placed(rest, walls, free, site)
    unplaced = tuple(_unplaced(lot, walls) for lot in left)
    return StackPlan(_numbered([*stacks, *placed]), unplaced, tuple(refused), proved)


Free = dict[str, tuple[tuple[float, float], ...]]


def _placed(
    lots: tuple[Lot, ...], walls: tuple[PlaceWall, ...], free: Free, site: Site
) -> tuple[list[Stack], tuple[Lot, ...], bool]:
    """Stacks for these lots on the free stretches, the lots left over, and whether that is proved best.

    A large job is solved room by room; what finds no place in its own room is then given one elsewhere,
    a few lots at a time.  That is not proved to be the best.
    """
    heaps = heaps_of(walls, free, lots, site)
    if len(lots) * len(heaps) <= MOST_AT_ONCE:
        return _assigned(lots, walls, free, site)
    free = dict(free)
    stacks: list[Stack] = []
    homeless: list[Lot] = []
    for room in dict.fromkeys(lot.room for lot in lots):
        mine = tuple(wall for wall in walls if wall.room == room)
        of_room = tuple(lot for lot in lots if lot.room == room)
        for group in _batches(of_room, len(heaps_of(mine, free, of_room, site))):
            found, left, _ = _assigned(group, mine, free, site)
            stacks += found
            homeless += left
            _take(free, found)
    left_over: list[Lot] = []
    for group in _batches(tuple(homeless), len(heaps_of(walls, free, tuple(homeless), site))):
        found, left, _ = _assigned(group, walls, free, site)
        stacks += found
        left_over += left
        _take(free, found)
    return stacks, tuple(left_over), False


def _assigned(
    lots: tuple[Lot, ...], walls: tuple[PlaceWall, ...], free: Free, site: Site
) -> tuple[list[Stack], tuple[Lot, ...], bool]:
    """One assignment, its heaps laid out from the left of their stretches."""
    heaps = heaps_of(walls, free, lots, site)
    chosen, proved = assign(lots, heaps, site)
    stacks: list[Stack] = []
    at: dict[tuple[str, float], float] = {}
    for index in sorted({heap for heap in chosen if heap is not None}, key=lambda i: heaps[i].number):
        heap = heaps[index]
        group = tuple(lot for lot, where in zip(lots, chosen, strict=True) if where == index)
        left_in = at.get((heap.wall.id, heap.stretch[0]), heap.stretch[0])
        stack = _stack(heap.wall, left_in, heap.standing, group, False)
        stacks.append(stack)
        at[(heap.wall.id, heap.stretch[0])] = stack.right_in + HEAP_GAP_IN
    left = tuple(lot for lot, where in zip(lots, chosen, strict=True) if where is None)
    return stacks, left, proved


def _batches(lots: tuple[Lot, ...], heap_count: int) -> list[tuple[Lot, ...]]:
    """Lots in groups small enough for one assignment, in their order."""
    size = max(1, MOST_AT_ONCE // max(1, heap_count))
    return [lots[start : start + size] for start in range(0, len(lots), size)]


def _take(free: Free, stacks: list[Stack]) -> None:
    """Take what these stacks stand on out of the free stretches."""
    for stack in stacks:
        free[stack.wall] = _without(free[stack.wall], stack.left_in, stack.right_in)


def room_load_psf(stacks: Sequence[Stack], room: str, area_sqft: float) -> float:
    """Design weight of all stacks of a room over its whole floor, psf: what a live load is meant for."""
    boards = [(lot, stack) for stack in stacks if stack.room == room for lot in stack.lots]
    weight = sum(
        stack_load_psf(((lot.count, lot.thickness_in),)) * lot.width_in * lot.length_in / 144.0
        for lot, _ in boards
    )
    return weight / area_sqft


def _kept_moves(
    lots: tuple[Lot, ...],
    walls: dict[str, PlaceWall],
    free: dict[str, tuple[tuple[float, float], ...]],
    site: Site,
    moved: Sequence[Moved],
) -> tuple[list[tuple[Moved, tuple[Lot, ...]]], list[tuple[Moved, str]]]:
    """The user's moves that can be kept, lots at the same spot together, and the others with why not."""
    known = {lot.id: lot for lot in lots}
    last = {move.lot: move for move in moved}
    groups: dict[tuple[str, float, str], list[Lot]] = {}
    kept: dict[tuple[str, float, str], Moved] = {}
    refused: list[tuple[Moved, str]] = []
    for lot_id, move in last.items():
        lot = known.get(lot_id)
        if lot is None:
            continue
        spot = (move.wall, move.left_in, move.standing)
        together = [*groups.get(spot, []), lot]
        others = [(kept[s].left_in, groups[s]) for s in groups if s != spot and s[0] == move.wall]
        reason = _why_not(move, together, walls, free, site, others)
        if reason:
            refused.append((move, reason))
        else:
            groups[spot] = together
            kept[spot] = move
    return [(kept[spot], _in_turn(groups[spot])) for spot in groups], refused


def _why_not(
    move: Moved,
    group: list[Lot],
    walls: dict[str, PlaceWall],
    free: dict[str, tuple[tuple[float, float], ...]],
    site: Site,
    others: list[tuple[float, list[Lot]]],
) -> str:
    """Why a lot cannot go where the user wants it; empty when it can.

    One of "no_such_wall", "in_the_way", "over_another", "too_many", "bigger_in_front".
    """
    if move.wall not in walls:
        return "no_such_wall"
    left_in, right_in = move.left_in, move.left_in + _longest(group)
    if not any(low - FIT_IN <= left_in and right_in <= high + FIT_IN for low, high in free[move.wall]):
        return "in_the_way"
    if any(left_in < at + _longest(other) and at < right_in for at, other in others):
        return "over_another"
    share, most = capacity(site, move.standing)
    if len(group) > 1 and sum(share(lot) for lot in group) > most + 1e-9:
        return "too_many"
    if not all(may_lie_together(one, other) for one in group for other in group):
        return "bigger_in_front"
    return ""


def _without(
    stretches: tuple[tuple[float, float], ...], left_in: float, right_in: float
) -> tuple[tuple[float, float], ...]:
    """Free stretches less what a stack takes up, with a gap on either side of it."""
    parts = []
    for low, high in stretches:
        if right_in <= low or left_in >= high:
            parts.append((low, high))
            continue
        parts += [(low, left_in - HEAP_GAP_IN), (right_in + HEAP_GAP_IN, high)]
    return tuple((low, high) for low, high in parts if high > low)


def _stack(wall: PlaceWall, left_in: float, standing: str, lots: tuple[Lot, ...], moved: bool) -> Stack:
    ordered = _in_turn(lots)
    weight_lb = sum(
        lot.count * board_weight_lb(lot.kind, lot.thickness_in, lot.width_in, lot.length_in)
        for lot in ordered
    )
    height_in = max(lot.width_in for lot in ordered)
    thick_in = sum(lot.count * lot.thickness_in for lot in ordered)
    return Stack(
        0,
        wall.id,
        wall.room,
        left_in,
        _longest(ordered),
        height_in if standing == "flat" else LEAN_FOOT_IN + thick_in,
        standing,
        ordered,
        weight_lb,
        stack_load_psf(tuple((lot.count, lot.thickness_in) for lot in ordered)),
        pull_to_plumb_lb(weight_lb, height_in) if standing == "edge" else 0.0,
        moved,
    )


def _in_turn(lots: Sequence[Lot]) -> tuple[Lot, ...]:
    """Lots of a stack as they are taken: ceiling boards first, then the shorter ones lying on top."""
    return tuple(sorted(lots, key=lambda lot: (not lot.ceiling, lot.length_in, lot.width_in, lot.id)))


def _longest(lots: Sequence[Lot]) -> float:
    return max(lot.length_in for lot in lots)


def _numbered(stacks: list[Stack]) -> tuple[Stack, ...]:
    """Stacks with the numbers of their signs: those with ceiling boards first, then along the walls."""
    ordered = sorted(
        stacks, key=lambda s: (not any(lot.ceiling for lot in s.lots), s.room, s.wall, s.left_in)
    )
    return tuple(replace(stack, number=number) for number, stack in enumerate(ordered, start=1))


def _unplaced(lot: Lot, walls: tuple[PlaceWall, ...]) -> Unplaced:
    fits = any(right - left >= lot.length_in for wall in walls for left, right in free_stretches(wall))
    return Unplaced(lot, "no_room" if fits else "no_wall", lot.length_in)


def sign_text(lot: Lot, style: str = "feet_inches") -> str:
    """What a marker writes on the wall for a lot, as short as can be: ``9 - 12' x 48" x 1/2"``."""
    length, width, thick = (
        format_length(lot.length_in, style),
        format_length(lot.width_in, "mm" if style == "mm" else "inches"),
        format_thickness(lot.thickness_in, "mm" if style == "mm" else "inches"),
    )
    return f"{lot.count} - {length} x {width} x {thick}"
