"""Leftovers: what is still free on the sheets of a plan, and how a piece can be cut from it.

All in inches on the sheet as it lies: start/end along its length, low/high across its width.  The long
edges (low 0 and high the width) are tapered, the short ends (start 0 and end the length) are factory ends.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass, replace

from layout.plan_types import Cut, Sheet

__all__ = ["Area", "Leftover", "Need", "Placing", "leftovers_of", "placings", "rest_of"]

SMALLEST_IN = 2.0
"""Scraps narrower or shorter than this are dust."""
CLOSE_IN = 1 / 64

Area = tuple[float, float, float, float]
"""start, end, low, high."""


@dataclass(frozen=True, slots=True)
class Leftover:
    """A rectangle of a sheet that nothing is cut from; `sheet` 0 stands for a sheet not in the plan yet."""

    sheet: int
    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    area: Area


@dataclass(frozen=True, slots=True)
class Need:
    """A piece that has lost its board.

    Attributes
    ----------
    along_in, across_in : float
        Along and across the sheet it is cut from.
    taper_low, taper_high : bool
        Which of its edges must be tapered, as it lies on a sheet that is not turned.
    seam_left, seam_right : bool
        Which of its ends meet another piece: factory ends are wanted there.
    """

    piece: int
    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    along_in: float
    across_in: float
    taper_low: bool
    taper_high: bool
    seam_left: bool = False
    seam_right: bool = False


@dataclass(frozen=True, slots=True)
class Placing:
    """One way to cut a piece from a leftover; `cut_ends` counts cut ends at seams."""

    area: Area
    turned: bool
    left_factory: bool
    right_factory: bool
    cut_ends: int


def leftovers_of(sheets: Iterable[Sheet], gone: Iterable[tuple[int, Area]]) -> tuple[Leftover, ...]:
    """What is free on these sheets, apart from the areas that are gone (spoiled).

    The sheet is divided along its length where cuts begin and end; in each part what lies across
    is free between them, and neighbouring parts that are free alike are one.
    """
    spoiled = list(gone)
    found = []
    for sheet in sheets:
        taken = [(c.start_in, c.end_in, c.low_in, c.high_in) for c in sheet.cuts]
        taken += [area for number, area in spoiled if number == sheet.id]
        for area in _free(sheet, taken):
            found.append(
                Leftover(sheet.id, sheet.kind, sheet.thickness_in, sheet.width_in, sheet.length_in, area)
            )
    return tuple(found)


def placings(need: Need, leftover: Leftover) -> tuple[Placing, ...]:
    """The ways a piece can be cut from a leftover, the fewest cut ends at seams first."""
    if (
        need.kind != leftover.kind
        or abs(need.thickness_in - leftover.thickness_in) > CLOSE_IN
        or need.along_in > leftover.area[1] - leftover.area[0] + CLOSE_IN
        or need.across_in > leftover.area[3] - leftover.area[2] + CLOSE_IN
    ):
        return ()
    start, end, low, high = leftover.area
    found = set()
    for at in {start, max(start, end - need.along_in)}:
        for across in {low, max(low, high - need.across_in)}:
            area = (at, min(end, at + need.along_in), across, min(high, across + need.across_in))
            for turned in (False, True):
                placing = _placing(need, leftover, area, turned)
                if placing is not None:
                    found.add(placing)
    return tuple(sorted(found, key=lambda p: (p.cut_ends, p.turned, p.area)))


def rest_of(leftover: Leftover, area: Area) -> tuple[Leftover, ...]:
    """What is left of a leftover once an area is cut from it: along it, then across."""
    start, end, low, high = leftover.area
    parts = [
        (start, area[0], low, high),
        (area[1], end, low, high),
        (area[0], area[1], low, area[2]),
        (area[0], area[1], area[3], high),
    ]
    return tuple(replace(leftover, area=part) for part in parts if _big_enough(part))


def _placing(need: Need, leftover: Leftover, area: Area, turned: bool) -> Placing | None:
    start, end, low, high = area
    at_low, at_high = low <= CLOSE_IN, high >= leftover.width_in - CLOSE_IN
    at_start, at_end = start <= CLOSE_IN, end >= leftover.length_in - CLOSE_IN
    if turned:
        at_low, at_high, at_start, at_end = at_high, at_low, at_end, at_start
    if (need.taper_low and not at_low) or (need.taper_high and not at_high):
        return None
    cut_ends = (need.seam_left and not at_start) + (need.seam_right and not at_end)
    return Placing(area, turned, at_start, at_end, cut_ends)


def _free(sheet: Sheet, taken: list[Area]) -> list[Area]:
    ends = sorted({0.0, sheet.length_in, *(t[0] for t in taken), *(t[1] for t in taken)})
    open_parts: dict[tuple[float, float], float] = {}
    found: list[Area] = []
    last = 0.0
    for left, right in itertools.pairwise(ends):
        if right - left <= CLOSE_IN:
            continue
        here = _gaps(sheet.width_in, [t for t in taken if t[0] < right - CLOSE_IN and left + CLOSE_IN < t[1]])
        for across, began in list(open_parts.items()):
            if across not in here:
                found.append((began, last, *across))
                del open_parts[across]
        for across in here:
            open_parts.setdefault(across, left)
        last = right
    found += [(began, last, *across) for across, began in open_parts.items()]
    return [area for area in found if _big_enough(area)]


def _gaps(width_in: float, taken: list[Area]) -> list[tuple[float, float]]:
    gaps, at = [], 0.0
    for low, high in sorted((t[2], t[3]) for t in taken):
        if low > at + CLOSE_IN:
            gaps.append((at, low))
        at = max(at, high)
    if at < width_in - CLOSE_IN:
        gaps.append((at, width_in))
    return gaps


def _big_enough(area: Area) -> bool:
    return area[1] - area[0] >= SMALLEST_IN and area[3] - area[2] >= SMALLEST_IN


def area_of(cut: Cut) -> Area:
    """Where a cut lies on its sheet."""
    return (cut.start_in, cut.end_in, cut.low_in, cut.high_in)
