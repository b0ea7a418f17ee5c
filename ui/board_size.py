"""How a board is written: in one way on every screen, paper and card."""

from __future__ import annotations

from layout import format_length
from layout.lengths import format_thickness

__all__ = ["board_size", "board_style", "size_of_any_length"]


def board_style(style: str) -> str:
    """Boards are spoken of in feet where studs are measured in inches."""
    return "mm" if style == "mm" else "feet_inches"


def board_size(
    length_in: float, width_in: float, style: str, thickness_in: float | None = None, space: str = " "
) -> str:
    """A board as it is called out: length, width, thickness.

    Feet for its length and inches for the rest, since 48 in and 54 in boards lie side by side; millimetres
    for all of it in that style. `space` stands within a length: one that does not break keeps it on one line.

    Examples
    --------
    >>> board_size(144.0, 48.0, "inches", 0.5)
    '12\\' × 48" × 1/2"'
    >>> board_size(94.5, 47.25, "mm", 0.5)
    '2400 × 1200 × 12.7 mm'
    """
    small = "mm" if style == "mm" else "inches"
    sizes = [
        format_length(length_in, board_style(style)),
        format_length(width_in, small),
        *([] if thickness_in is None else [format_thickness(thickness_in, small)]),
    ]
    if style == "mm":
        sizes = [*(size.removesuffix("mm").strip() for size in sizes[:-1]), sizes[-1]]
    return " × ".join(size.replace(" ", space) for size in sizes)


def size_of_any_length(width_in: float, thickness_in: float, style: str) -> str:
    """Boards of one width and thickness, whatever their length, in the order of `board_size`.

    Examples
    --------
    >>> size_of_any_length(48.0, 0.5, "inches")
    '48" × 1/2"'
    >>> size_of_any_length(47.25, 0.5, "mm")
    '1200 × 12.7 mm'
    """
    small = "mm" if style == "mm" else "inches"
    width, thickness = format_length(width_in, small), format_thickness(thickness_in, small)
    return f"{width.removesuffix('mm').strip()} × {thickness}"
