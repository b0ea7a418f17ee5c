"""Which stack each sheet of a plan is taken from, so that no stack is asked for more boards than it holds."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from layout import Plan
from layout.lots import size_name
from layout.plan_types import Sheet
from layout.stack_types import StackPlan

__all__ = ["Held", "held_from_json", "held_to_json", "stack_of_sheets", "stacks_by_surface"]


@dataclass(frozen=True, slots=True)
class Held:
    """Boards of one size in one stack.

    Attributes
    ----------
    size : str
        As `layout.lots.size_name` names it.
    surfaces : tuple of str
        The surfaces they are cut for.
    count, spare : int
        How many there are, and how many of them the plan does not use.
    """

    stack: int
    size: str
    count: int
    surfaces: tuple[str, ...] = ()
    spare: int = 0


def stacks_by_surface(stacks: StackPlan) -> tuple[Held, ...]:
    """What each stack holds and for which surfaces, in the order the stacks are used up."""
    return tuple(
        Held(
            stack.number,
            size_name(lot.kind, lot.thickness_in, lot.width_in, lot.length_in),
            lot.count,
            lot.surfaces,
            lot.spare,
        )
        for stack in stacks.stacks
        for lot in stack.lots
    )


def stack_of_sheets(
    plan: Plan,
    held: tuple[Held, ...],
    taken: Mapping[int, int] | None = None,
    bought: Collection[int] = (),
) -> dict[int, int]:
    """The stack of each sheet, by its id; a sheet that no stack has a board left for is not there.

    Parameters
    ----------
    plan : Plan
    held : tuple of Held
    taken : mapping of int to int or None
        Sheets that were told their stack before: they keep it, and their board is gone from there.
    bought : collection of int
        Sheets that are not on site: no stack is asked for them.

    Notes
    -----
    In hanging order each sheet takes a board meant for the surface that it is first cut for, then any
    other of the plan's boards of its size, and a spare only when those are gone.
    """
    found = dict(taken or {})
    sizes = {sheet.id: _size(sheet) for sheet in plan.sheets}
    left = [each.count for each in held]
    for sheet, stack in found.items():
        _take(left, [n for n, h in enumerate(held) if h.stack == stack and h.size == sizes.get(sheet)])
    wanted = (s for s in plan.sheets if s.cuts and s.id not in found and s.id not in bought)
    for each in sorted(wanted, key=lambda s: min(cut.piece for cut in s.cuts)):
        surface = min(each.cuts, key=lambda cut: cut.piece).surface
        fits = [number for number, hold in enumerate(held) if hold.size == sizes[each.id]]
        meant = [number for number in fits if surface in held[number].surfaces]
        planned = [number for number in (*meant, *fits) if left[number] > held[number].spare]
        number = _take(left, [*planned, *meant, *fits])
        if number is not None:
            found[each.id] = held[number].stack
    return found


def _take(left: list[int], numbers: list[int]) -> int | None:
    """Take a board from the first of these that has one; its number."""
    for number in numbers:
        if left[number] > 0:
            left[number] -= 1
            return number
    return None


def _size(sheet: Sheet) -> str:
    return size_name(sheet.kind, sheet.thickness_in, sheet.width_in, sheet.length_in)


def held_to_json(held: tuple[Held, ...]) -> list[dict[str, Any]]:
    """Plain JSON; `held_from_json` gives the same value back."""
    return [asdict(each) for each in held]


def held_from_json(data: Any) -> tuple[Held, ...]:
    """Read what `held_to_json` wrote; ValueError, TypeError or KeyError for anything else."""
    found = tuple(Held(**{**each, "surfaces": tuple(each["surfaces"])}) for each in data)
    for each in found:
        if not all(type(number) is int for number in (each.stack, each.count, each.spare)):
            raise ValueError("a stack without its numbers")
        if not all(isinstance(text, str) for text in (each.size, *each.surfaces)):
            raise ValueError("a stack without its size")
    return found
