"""Stock: the boards that can be bought, and at what price.

The lists are starting points: every supplier's differs, so they are data the user edits.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout.checks import JobError, finite, text
from layout.lengths import mm_to_in, to_grid

__all__ = [
    "METRIC_STOCK",
    "US_STOCK",
    "Board",
    "boards_for",
    "check_stock",
    "run_and_room",
    "steps_of",
    "stock_for",
]

THINNEST_IN, THICKEST_IN = 0.1, 2.0
"""Boards beyond these are a slip of the finger."""
PRICE_PER_SQFT = 0.50
"""Dollars per square foot that the default lists use: a round placeholder, no source; edit it."""
MOST_BOARDS = 200


@dataclass(frozen=True, slots=True, order=True)
class Board:
    """One size of board that can be bought.

    Attributes
    ----------
    kind : str
        "regular", "moisture", "type_x", "sag_resistant" ... (a name that surfaces ask for).
    thickness_in, width_in, length_in : float
        Size in inches; long edges (tapered) run along the length.
    price : float
        Price of one board, in the user's money.
    """

    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    price: float

    def __post_init__(self) -> None:
        text("kind", self.kind)
        finite("thickness_in", self.thickness_in, THINNEST_IN, THICKEST_IN)
        finite("width_in", self.width_in, 6.0, 120.0)
        finite("length_in", self.length_in, 12.0, 480.0)
        finite("price", self.price, 0.0, 1e6, "")


def steps_of(board: Board) -> tuple[int, int]:
    """(length, width) of a board as the planner works with them: whole thirty-seconds of an inch.

    A size between two steps is the next one up, at most 0.8 mm more than the board has: metric centres
    lie between steps too, and between two that are one board apart there may be the longer of two numbers
    of steps.  In steps every 100 mm is 126 then, so that pieces of 600, 900 and 1200 mm fill their boards.

    Examples
    --------
    >>> steps_of(Board("regular", 0.5, 48.0, 96.0, 16.0))
    (3072, 1536)
    >>> steps_of(Board("regular", mm_to_in(12.5), mm_to_in(1200.0), mm_to_in(2400.0), 16.0))
    (3024, 1512)
    """
    return to_grid(board.length_in, "up"), to_grid(board.width_in, "up")


def run_and_room(board: Board, upright: bool) -> tuple[int, int]:
    """(length of a lane, room for lanes) of a board, in the steps of `steps_of`.

    Lanes run along the rows: along the board, or across it where it stands upright.
    """
    length, width = steps_of(board)
    return (width, length) if upright else (length, width)


def _imperial(
    kind: str, thickness_in: float, width_in: float, lengths_ft: tuple[int, ...]
) -> tuple[Board, ...]:
    return tuple(
        Board(
            kind,
            thickness_in,
            width_in,
            12.0 * length_ft,
            round(PRICE_PER_SQFT * width_in / 12.0 * length_ft, 2),
        )
        for length_ft in lengths_ft
    )


# Lengths: US Navy NAVEDTRA 14044 (Builder) ch. 5: 8, 9, 10, 12 and 14 ft, 16 ft also available.
# Thickness and length together: Building Design and Construction Handbook, gypsumboard
# section: 1/4 in to 12 ft, 3/8 in and thicker to 16 ft.  54 in wide only in 1/2 and 5/8 in
# (a published submittal sheet), meant for 9-ft walls.
US_STOCK: tuple[Board, ...] = (
    *_imperial("regular", 0.25, 48.0, (8, 10, 12)),
    *_imperial("regular", 0.375, 48.0, (8, 9, 10, 12, 14, 16)),
    *_imperial("regular", 0.5, 48.0, (8, 9, 10, 12, 14, 16)),
    *_imperial("regular", 0.5, 54.0, (8, 9, 10, 12, 14)),
    *_imperial("regular", 0.625, 48.0, (8, 9, 10, 12, 14, 16)),
    *_imperial("regular", 0.625, 54.0, (8, 9, 10, 12, 14)),
)
"""Default list for the US and Canada."""

# Lengths: 1800 to 3600 mm in steps of 300 mm, 1200 mm wide; usual thicknesses 9.5, 12.5 and
# 15 mm (notes to EN 520 4.9.2; a UK reference page on plasterboard sizes); 900 x 1800 for handling.
METRIC_STOCK: tuple[Board, ...] = tuple(
    Board(
        "regular",
        mm_to_in(thickness_mm),
        mm_to_in(width_mm),
        mm_to_in(length_mm),
        round(PRICE_PER_SQFT * mm_to_in(width_mm) * mm_to_in(length_mm) / 144.0, 2),
    )
    for thickness_mm in (9.5, 12.5, 15.0)
    for width_mm, lengths_mm in (
        (900.0, (1800.0,)),
        (1200.0, (1800.0, 2100.0, 2400.0, 2700.0, 3000.0, 3300.0, 3600.0)),
    )
    for length_mm in lengths_mm
)
"""Default list for the UK."""


def usual_width_in(market: str) -> float:
    """Board width of a market where nobody says, inches: 48 in, in the UK 1200 mm (both trade-common)."""
    return mm_to_in(1200.0) if market == "uk" else 48.0


def stock_for(market: str) -> tuple[Board, ...]:
    """Default list of a market: "us" and "ca" buy imperial boards, "uk" metric ones."""
    return METRIC_STOCK if market == "uk" else US_STOCK


def boards_for(
    stock: tuple[Board, ...],
    kind: str,
    thickness_in: float,
    width_in: float,
    max_length_in: float | None = None,
) -> tuple[Board, ...]:
    """Boards of one kind, thickness and width, shortest first, the cheapest of each length.

    Thickness and width are compared with a tolerance of 1/32 in, so that 12.5 mm asked
    for as 0.492 in is found.
    """
    best: dict[float, Board] = {}
    for board in stock:
        if (
            board.kind == kind
            and abs(board.thickness_in - thickness_in) < 1 / 32
            and abs(board.width_in - width_in) < 1 / 32
            and (max_length_in is None or board.length_in <= max_length_in + 1e-6)
        ):
            known = best.get(board.length_in)
            if known is None or board.price < known.price:
                best[board.length_in] = board
    return tuple(best[length] for length in sorted(best))


def check_stock(stock: tuple[Board, ...]) -> tuple[Board, ...]:
    """The list itself if it can be used, else `JobError`."""
    if not stock:
        raise JobError("stock", "the list of boards that can be bought is empty: add a board.")
    if len(stock) > MOST_BOARDS:
        raise JobError("stock", f"{len(stock)} boards are too many: at most {MOST_BOARDS}.")
    return stock
