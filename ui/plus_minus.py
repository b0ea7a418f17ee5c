"""How places along a wall and their doubt are printed."""

from __future__ import annotations

import math

from layout.lengths import format_length, in_to_mm, mm_to_in

SIGMAS_SHOWN = 2.0
"""The ± that people see is two standard deviations: about 19 of 20 lie within."""


def along_wall(length_in: float, style: str) -> str:
    """A place along the wall: whole inches and fractions as a tape shows them, or millimetres."""
    return format_length(length_in, "mm" if style == "mm" else "inches")


def plus_minus(sigma_in: float, style: str) -> str:
    """ "± 1/8\\"" for a standard deviation: two of them, rounded UP to the tape's next step."""
    spread_in = SIGMAS_SHOWN * sigma_in
    if style == "mm":
        return "± " + format_length(mm_to_in(max(1, math.ceil(in_to_mm(spread_in) - 1e-9))), "mm")
    steps = max(1, math.ceil(spread_in * 16 - 1e-9))
    return "± " + format_length(steps / 16, "inches")
