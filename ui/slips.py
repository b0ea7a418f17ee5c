"""Slips of the finger when a surface is typed in: what is asked about before it is believed.

A wall 10 in long is possible, but who types a bare 10 means feet. So a number without a unit is only
taken where it gives a wall that people board; with its unit it is taken as it stands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations

from layout import LengthError, format_length, parse_length_in
from ui.by_hand import HandOpening
from ui.opening_text import openings_to_text

__all__ = ["Slip", "length_slip", "opening_slip"]

LEAST_BARE_IN, MOST_BARE_IN = 24.0, 480.0
"""A side of a wall or ceiling typed without a unit is taken between 2 and 40 ft (by judgement)."""
NARROWEST_IN = {"door": 12.0, "window": 6.0}
"""A rough opening narrower than this was meant in feet (by judgement)."""
TOUCH_IN = 1 / 16
"""Openings that share less than this only touch: a tape shows no more."""


@dataclass(frozen=True)
class Slip:
    """What to ask: its words are under ``walk.<code>``, filled in with `values`."""

    code: str
    values: dict[str, str] = field(default_factory=dict)


def length_slip(text: str, style: str) -> Slip | None:
    """What to ask about the side of a surface; None where there is nothing to ask.

    Examples
    --------
    >>> length_slip("10", "inches").code
    'which_unit'
    >>> length_slip("10 in", "inches"), length_slip("148 1/2", "inches")
    (None, None)
    """
    length_in = parse_length_in(text, "mm" if style == "mm" else "in")
    if not LEAST_BARE_IN <= length_in <= MOST_BARE_IN and not _names_its_unit(text):
        values = {"text": text.strip(), "length": format_length(length_in, style)}
        if length_in > MOST_BARE_IN:
            return Slip("too_long", values)
        return Slip("which_unit_mm" if style == "mm" else "which_unit", values)
    return None


def _names_its_unit(text: str) -> bool:
    """Whether a length is the same whatever a number without a unit would mean."""
    try:
        return parse_length_in(text, "in") == parse_length_in(text, "mm")
    except LengthError:  # as inches too long, or with a decimal comma, which millimetres alone have
        return False


def opening_slip(openings: Sequence[HandOpening], style: str) -> Slip | None:
    """What to ask about openings and boxes: one too narrow to be one, or two that lie over each other.

    A window above a door is none; they only share a stretch of the wall.
    """
    for each in openings:
        if min(each.width_in, each.height_in) < NARROWEST_IN.get(each.kind, 0.0):
            side_in = min(each.width_in, each.height_in)
            return Slip(
                "opening_small",
                {"part": openings_to_text((each,), style), "side": format_length(side_in, style)},
            )
    for one, other in combinations(openings, 2):
        if _shared_in(one, other) > TOUCH_IN:
            return Slip(
                "openings_overlap",
                {"one": openings_to_text((one,), style), "other": openings_to_text((other,), style)},
            )
    return None


def _shared_in(one: HandOpening, other: HandOpening) -> float:
    """How far two openings reach into each other; 0 or less when they do not."""
    return min(
        min(one.left_in + one.width_in, other.left_in + other.width_in) - max(one.left_in, other.left_in),
        min(one.bottom_in + one.height_in, other.bottom_in + other.height_in)
        - max(one.bottom_in, other.bottom_in),
    )
