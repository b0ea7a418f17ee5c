"""Screws: how far apart along a member, and how many a piece of board takes there."""

from __future__ import annotations

import math

from layout.checks import JobError
from layout.lengths import mm_to_in

__all__ = ["EDGE_IN", "screw_length_in", "screw_spacing_in", "screws_on_member"]

EDGE_IN = 0.375
"""Screws keep 3/8 in from ends and edges (a residential code guide, p. 15; GA-216 agrees, from memory)."""
PENETRATION_IN = 0.625
"""Into wood, at least (IRC R702.3.5.1)."""
STOCK_LENGTHS_IN = (1.125, 1.25, 1.625, 2.0, 2.5)
"""Lengths such screws are sold in (common practice, no source)."""
WIDE_FRAMING_IN = 16.5
"""Beyond 16 in on centre (and what framing wanders) walls take the closer spacing."""


def screw_spacing_in(kind: str, on_centre_in: float, market: str = "us") -> float:
    """Most that screws may stand apart along a member.

    Ceilings 12 in; walls 16 in, but 12 in where the framing is wider than 16 in (NAVEDTRA 14044
    p. 164; IRC Table R702.3.5 in the copy at hand; CMHC: 400 mm on walls if supports are at 400 mm
    or less, else 300).  United Kingdom: 230 mm on ceilings, 300 mm on walls (NBS clause 610).

    Examples
    --------
    >>> screw_spacing_in("wall", 16.0), screw_spacing_in("wall", 24.0), screw_spacing_in("ceiling", 16.0)
    (16.0, 12.0, 12.0)
    """
    if market == "uk":
        return mm_to_in(300.0 if kind == "wall" else 230.0)
    return 16.0 if kind == "wall" and on_centre_in <= WIDE_FRAMING_IN else 12.0


def screws_on_member(height_in: float, spacing_in: float) -> int:
    """How many screws a member takes across a piece: one 3/8 in from either edge, the rest between.

    Examples
    --------
    >>> screws_on_member(48.0, 16.0), screws_on_member(48.0, 12.0)
    (4, 5)
    """
    if spacing_in <= 0.0:
        raise JobError("spacing_in", "must be more than nothing.")
    between_in = height_in - 2 * EDGE_IN
    if between_in <= 0.0:
        return 1
    return math.ceil(between_in / spacing_in - 1e-9) + 1


def screw_length_in(thickness_in: float) -> float:
    """The shortest screw on sale that goes 5/8 in into wood behind this board.

    Examples
    --------
    >>> screw_length_in(0.5), screw_length_in(0.625)
    (1.125, 1.25)
    """
    needed_in = thickness_in + PENETRATION_IN
    return next((length for length in STOCK_LENGTHS_IN if length >= needed_in - 1e-9), needed_in)
