"""Lots: the sheets of a plan, sorted by size and by the room they hang in, ready to be carried."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from layout.lengths import format_length
from layout.plan_types import OrderLine, Plan, Sheet
from layout.stack_types import Lot

__all__ = ["lots_of", "size_name"]

Size = tuple[str, float, float, float]


def size_name(kind: str, thickness_in: float, width_in: float, length_in: float) -> str:
    """A board size as one word that stays the same from plan to plan ("regular-1/2-48-144").

    Examples
    --------
    >>> size_name("regular", 0.5, 48.0, 144.0)
    'regular-1/2-48-144'
    """
    sizes = (thickness_in, width_in, length_in)
    return "-".join([kind, *(format_length(at, "inches", 1 / 32).rstrip('"') for at in sizes)])


def lots_of(
    plan: Plan,
    rooms: Mapping[str, str],
    order: Sequence[OrderLine] | None = None,
    most: int = 10,
) -> tuple[Lot, ...]:
    """Sort the sheets of a plan into lots.

    Parameters
    ----------
    plan : Plan
    rooms : mapping of str to str
        Room of each surface, by its id; a surface that is not there is in the room "".
    order : sequence of OrderLine or None
        What was ordered, when it is more than the plan's own list: the boards beyond those the
        plan uses are spares and go with the largest lot of their size.
    most : int
        Most boards in a lot; larger ones are split evenly.

    Returns
    -------
    tuple of Lot
        Ceiling lots first, then the longest.  All counts together are those of the order.
    """
    kinds = {surface.id: surface.kind for surface in plan.surfaces}
    groups: dict[tuple[Size, str, bool], list[Sheet]] = defaultdict(list)
    for sheet in plan.sheets:
        size = (sheet.kind, sheet.thickness_in, sheet.width_in, sheet.length_in)
        home = rooms.get(_hangs_mostly_on(sheet), "")
        ceiling = any(kinds.get(cut.surface, "wall") != "wall" for cut in sheet.cuts)
        groups[(size, home, ceiling)].append(sheet)
    lots = [
        Lot(
            size_name(*size) + f"@{room}" + ("^" if ceiling else ""),
            *size,
            len(sheets),
            room,
            _surfaces_in_order(sheets),
            ceiling,
        )
        for (size, room, ceiling), sheets in groups.items()
    ]
    for size, spare in _spares(plan, plan.order if order is None else order).items():
        of_size = [lot for lot in lots if (lot.kind, lot.thickness_in, lot.width_in, lot.length_in) == size]
        if of_size:
            # what is hung last can wait for a spare longest
            best = min(of_size, key=lambda lot: (lot.ceiling, -lot.count, lot.id))
            lots[lots.index(best)] = replace(best, count=best.count + spare, spare=spare)
        else:
            lots.append(Lot(size_name(*size) + "@", *size, spare, spare=spare))
    parts = [part for lot in lots for part in _split(lot, most)]
    return tuple(sorted(parts, key=lambda lot: (not lot.ceiling, -lot.length_in, lot.id)))


def _hangs_mostly_on(sheet: Sheet) -> str:
    """The surface that takes most of a sheet."""
    areas: dict[str, float] = defaultdict(float)
    for cut in sheet.cuts:
        areas[cut.surface] += (cut.end_in - cut.start_in) * (cut.high_in - cut.low_in)
    return max(areas, key=lambda surface: areas[surface]) if areas else ""


def _surfaces_in_order(sheets: Sequence[Sheet]) -> tuple[str, ...]:
    cuts = sorted((cut.piece, cut.surface) for sheet in sheets for cut in sheet.cuts)
    return tuple(dict.fromkeys(surface for _, surface in cuts))


def _spares(plan: Plan, order: Sequence[OrderLine]) -> dict[Size, int]:
    used: dict[Size, int] = defaultdict(int)
    for sheet in plan.sheets:
        used[(sheet.kind, sheet.thickness_in, sheet.width_in, sheet.length_in)] += 1
    bought: dict[Size, int] = defaultdict(int)
    for line in order:
        bought[(line.kind, line.thickness_in, line.width_in, line.length_in)] += line.to_buy
    return {size: count - used[size] for size, count in bought.items() if count > used[size]}


def _split(lot: Lot, most: int) -> list[Lot]:
    """A lot as several of at most `most` boards, as even as they can be; spares go last."""
    parts = -(-lot.count // most)
    if parts <= 1:
        return [lot]
    share, rest = divmod(lot.count, parts)
    counts = [share + (number < rest) for number in range(parts)]
    spares = [0] * parts
    left = lot.spare
    for number in reversed(range(parts)):
        spares[number] = min(left, counts[number])
        left -= spares[number]
    return [
        replace(lot, id=f"{lot.id}#{number + 1}", count=count, spare=spares[number])
        for number, count in enumerate(counts)
    ]
