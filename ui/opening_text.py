"""Doors, windows and electrical boxes as one writes them down while walking: ``door 34 at 40``,
``window 32 x 44 at 56 up 36``, ``box at 30 up 12``.

The words for the kind, "at" and "up" are taken in English and in Spanish; each length is read by
`layout.parse_length_in`. Several openings are parted by ";" or by a new line.
"""

from __future__ import annotations

import re

from layout import LengthError, format_length, parse_length_in
from ui.by_hand import DOOR_HEIGHT_IN, HandOpening

_KINDS = {
    "door": "door",
    "window": "window",
    "box": "box",
    "puerta": "door",
    "ventana": "window",
    "caja": "box",
}
BOX_IN = (2.25, 3.75)
"""Width and height of a box for one switch or outlet (common practice, no source)."""
_SHAPE = re.compile(
    r"(?P<kind>\w+)(?:\s+(?P<width>.+?)(?:\s*[x×]\s*(?P<height>.+?))?)?\s+(?:at|a)\s+(?P<left>.+?)"
    r"(?:\s+(?:up|sobre)\s+(?P<bottom>.+))?",
    re.IGNORECASE,
)
LONGEST_TEXT = 2_000


class OpeningTextError(ValueError):
    """The text is no opening; `part` is what could not be read."""

    def __init__(self, part: str) -> None:
        self.part = part
        super().__init__(
            f"{part!r} is no opening: write kind, width x height, how far from the left end, and for a "
            "window or a box how high its bottom is, such as: door 34 x 82 1/2 at 40; "
            "window 32 x 44 at 56 up 36; box at 30 up 12."
        )


def openings_from_text(text: str, default_unit: str = "in") -> tuple[HandOpening, ...]:
    """The openings a line of text names, left to right.

    Raises
    ------
    OpeningTextError
        Names the part that cannot be read.

    Examples
    --------
    A box without a size has that of one switch or outlet, `BOX_IN`.

    >>> openings_from_text("door 34 at 40")
    (HandOpening(kind='door', left_in=40.0, width_in=34.0, bottom_in=0.0, height_in=82.5),)
    """
    if len(text) > LONGEST_TEXT:
        raise OpeningTextError(text[:40] + " …")
    parts = [part.strip() for part in re.split(r"[;\n]", text)]
    found = [_opening(part, default_unit) for part in parts if part]
    return tuple(sorted(found, key=lambda opening: opening.left_in))


def openings_to_text(openings: tuple[HandOpening, ...], style: str = "inches") -> str:
    """The same openings as text that `openings_from_text` reads back to the shown precision."""
    lines = []
    for opening in openings:
        width, height, left, bottom = (
            format_length(length_in, style)
            for length_in in (opening.width_in, opening.height_in, opening.left_in, opening.bottom_in)
        )
        up = f" up {bottom}" if opening.bottom_in > 0 or opening.kind != "door" else ""
        lines.append(f"{opening.kind} {width} x {height} at {left}{up}")
    return "; ".join(lines)


def _opening(part: str, unit: str) -> HandOpening:
    match = _SHAPE.fullmatch(part)
    kind = _KINDS.get(match["kind"].lower()) if match else None
    if match is None or kind is None:
        raise OpeningTextError(part[:60])
    needed = {"door": ("width",), "window": ("width", "height", "bottom"), "box": ("bottom",)}[kind]
    one_side_only = bool(match["width"]) != bool(match["height"]) and kind != "door"
    if one_side_only or not all(match[name] for name in needed):
        raise OpeningTextError(part[:60])
    usual_width, usual_height = BOX_IN if kind == "box" else (0.0, DOOR_HEIGHT_IN)
    try:
        left = parse_length_in(match["left"], unit)
        width = parse_length_in(match["width"], unit) if match["width"] else usual_width
        height = parse_length_in(match["height"], unit) if match["height"] else usual_height
        bottom = parse_length_in(match["bottom"], unit) if match["bottom"] else 0.0
    except LengthError as fault:
        raise OpeningTextError(part[:60]) from fault
    if min(width, height) <= 0 or min(left, bottom) < 0:
        raise OpeningTextError(part[:60])
    return HandOpening(kind, left, width, bottom, height)
