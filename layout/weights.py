"""Weights: what a board weighs in the hands, and what a stack of them puts on a floor.

Two figures for two purposes.  Hands lift the product's own weight; a floor is checked with
the (higher) design weight, and against the live load the floor was designed for.
"""

from __future__ import annotations

from itertools import pairwise

from layout.checks import JobError, finite
from layout.stock import THICKEST_IN, THINNEST_IN

__all__ = [
    "BOARD_WEIGHTS_PSF",
    "LIVE_LOADS_PSF",
    "board_weight_lb",
    "design_weight_psf",
    "floor_load_text",
    "most_boards_on",
    "product_weight_psf",
    "stack_load_psf",
    "weight_text",
]

DESIGN_PSF_PER_EIGHTH_IN = 0.55
"""ASCE 7-05 Table C3-1: gypsum board weighs 0.55 psf for each 1/8 in of thickness."""

BOARD_WEIGHTS_PSF: tuple[tuple[float, float], ...] = (
    (0.25, 1.2),
    (0.375, 1.4),
    (0.5, 1.6),
    (0.625, 2.2),
)
"""Thickness in inches and weight in psf of regular board (a North American submittal sheet).

Other figures are in use: GA-801-07 has a 4 x 12 x 1/2 in board at over 80 lb (1.67 psf or more),
DIN 18180 asks for at least 8.5 kg/m2 (1.74 psf) at 12.5 mm.  The supplier's own weight, where
known, goes before all of them.
"""
LIGHTWEIGHT_FACTOR = 1.4 / 1.6
"""Lightweight 1/2 in board: 1.25 to 1.4 psf (makers' literature, value from memory); the heavier is taken."""

LIVE_LOADS_PSF = {"room": 40.0, "sleeping": 30.0, "attic_storage": 20.0, "attic": 10.0}
"""Live loads floors are designed for, psf (IRC Table R301.5)."""


KG_PER_LB = 0.45359237
"""Kilograms in a pound, exactly (international yard and pound agreement of 1959)."""
SQFT_PER_M2 = (1000.0 / 304.8) ** 2


def weight_text(weight_lb: float, style: str = "feet_inches") -> str:
    """A weight as it is said beside lengths of that style: kilograms with millimetres, else pounds.

    Examples
    --------
    >>> weight_text(1234.4), weight_text(55.0, "mm")
    ('1,234 lb', '25 kg')
    """
    return f"{weight_lb * KG_PER_LB:,.0f} kg" if style == "mm" else f"{weight_lb:,.0f} lb"


def floor_load_text(load_psf: float, style: str = "feet_inches") -> str:
    """A load on a floor: kilograms on the square metre with millimetres, else pounds per square foot.

    Examples
    --------
    >>> floor_load_text(40.0), floor_load_text(40.0, "mm")
    ('40 lb/ft²', '195 kg/m²')
    """
    if style == "mm":
        return f"{load_psf * KG_PER_LB * SQFT_PER_M2:,.0f} kg/m²"
    return f"{load_psf:,.0f} lb/ft²"


def product_weight_psf(kind: str, thickness_in: float) -> float:
    """What a square foot of this board weighs in the hands, pounds.

    Between the thicknesses of the table the weight runs straight; beyond them it keeps the
    nearest one's weight per inch.
    """
    finite("thickness_in", thickness_in, THINNEST_IN, THICKEST_IN)
    (thinnest_in, lightest_psf), (thickest_in, heaviest_psf) = BOARD_WEIGHTS_PSF[0], BOARD_WEIGHTS_PSF[-1]
    if thickness_in <= thinnest_in:
        psf = lightest_psf * thickness_in / thinnest_in
    elif thickness_in >= thickest_in:
        psf = heaviest_psf * thickness_in / thickest_in
    else:
        (low_in, low_psf), (high_in, high_psf) = next(
            (low, high) for low, high in pairwise(BOARD_WEIGHTS_PSF) if high[0] >= thickness_in
        )
        psf = low_psf + (thickness_in - low_in) / (high_in - low_in) * (high_psf - low_psf)
    return psf * (LIGHTWEIGHT_FACTOR if kind == "lightweight" else 1.0)


def board_weight_lb(kind: str, thickness_in: float, width_in: float, length_in: float) -> float:
    """What one board weighs in the hands, pounds.

    Examples
    --------
    >>> round(board_weight_lb("regular", 0.5, 48.0, 96.0), 1)
    51.2
    """
    return product_weight_psf(kind, thickness_in) * width_in * length_in / 144.0


def design_weight_psf(thickness_in: float) -> float:
    """Design weight of one board, psf: 0.55 for each 1/8 in (ASCE 7-05 Table C3-1).

    Examples
    --------
    >>> design_weight_psf(0.5)
    2.2
    """
    return DESIGN_PSF_PER_EIGHTH_IN * thickness_in * 8.0


def stack_load_psf(boards: tuple[tuple[int, float], ...]) -> float:
    """What boards lying flat on one another put on the floor below them, psf.

    `boards` holds (count, thickness in inches) of each size in the stack.
    """
    return sum(count * design_weight_psf(thickness_in) for count, thickness_in in boards)


def most_boards_on(live_load_psf: float, weight_psf: float) -> int:
    """Most boards that may lie flat on one another without going over a floor's live load.

    A live load is the average over a room; taking it for the stack's own footprint is the
    careful way.

    Examples
    --------
    >>> most_boards_on(40.0, 2.2)
    18
    """
    if weight_psf <= 0.0:
        raise JobError("weight_psf", "must be more than nothing.")
    return int(live_load_psf / weight_psf + 1e-9)
