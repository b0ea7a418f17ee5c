"""Lengths: read them as people write them, print them as a tape shows them.

The only place of the project that takes a feet-inches string apart or knows how
many millimetres an inch has.  Inside the project a length is a float in inches;
inside the solver it is a whole number of thirty-seconds (see `to_grid`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from fractions import Fraction

__all__ = [
    "GRID_PER_IN",
    "MM_PER_IN",
    "LengthError",
    "format_length",
    "from_grid",
    "in_style",
    "in_to_mm",
    "mm_to_in",
    "parse_length_in",
    "round_to",
    "to_grid",
]

MM_PER_IN = 25.4
"""Millimetres in an inch: exactly 25.4 since 1 July 1959 (international yard agreement)."""

GRID_PER_IN = 32
"""The solver's grid: 32 steps to the inch, so that sums of lengths are exact."""

MAX_LENGTH_IN = 12 * 10_000.0
"""Longest length that is read: 10,000 ft.  Anything longer is a slip of the finger."""

STYLES = ("feet_inches", "inches", "mm")

_UNITS_IN = {
    "in": 1.0,
    "inch": 1.0,
    "inches": 1.0,
    '"': 1.0,
    "ft": 12.0,
    "foot": 12.0,
    "feet": 12.0,
    "'": 12.0,
    "mm": 1.0 / MM_PER_IN,
    "cm": 10.0 / MM_PER_IN,
    "m": 1000.0 / MM_PER_IN,
}
_METRIC = ("mm", "cm", "m")

_UNICODE = {
    "\u2032": "'",
    "\u2018": "'",
    "\u2019": "'",
    "\u02b9": "'",
    "\u00b4": "'",
    "`": "'",
    "\u2033": '"',
    "\u201c": '"',
    "\u201d": '"',
    "\u02ba": '"',
    "\u2044": "/",
    "\u2215": "/",
    "\u2010": "-",
    "\u2011": "-",
    "\u2012": "-",
    "\u2013": "-",
    "\u2212": "-",
    "\u00a0": " ",
    "\u202f": " ",
    "\u2009": " ",
    "\u00d7": "x",
}
_VULGAR = {
    "\u00bc": "1/4",
    "\u00bd": "1/2",
    "\u00be": "3/4",
    "\u2153": "1/3",
    "\u2154": "2/3",
    "\u215b": "1/8",
    "\u215c": "3/8",
    "\u215d": "5/8",
    "\u215e": "7/8",
}

# A whole number, a decimal, a fraction, or a whole number and a fraction
# ("2-1/2", "2 1/2").  A dash joins a whole number to its fraction, nothing else.
_NUMBER = r"(?:\d+\s*-\s*\d+/\d+|\d+\s+\d+/\d+|\d+/\d+|\d*[.,]\d+|\d+[.,]?)"
_UNIT = r"(?:inches|inch|in|feet|foot|ft|mm|cm|m|''|'|\")"
_FEET_INCHES = re.compile(
    rf"(?P<feet>{_NUMBER})\s*(?:'(?!')|ft\.?|foot|feet)\s*-?\s*"
    rf"(?P<inches>{_NUMBER})\s*(?:\"|''|in\.?|inch|inches)?",
    re.IGNORECASE | re.ASCII,
)
_PRINTED = re.compile(
    r"(?<![\w'/.])-?(?:\d+'(?: (?:\d+(?:-\d+/\d+)?|\d+/\d+)\")?|(?:\d+(?:-\d+/\d+)?|\d+/\d+)\")(?!\w)",
    re.ASCII,
)
"""A length as `format_length` prints it in feet and inches."""
_SINGLE = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?\.?", re.IGNORECASE | re.ASCII)


class LengthError(ValueError):
    """A length that cannot be read; the message says what to write instead."""


def mm_to_in(length_mm: float) -> float:
    """Inches in a length given in millimetres (25.4 mm to the inch, exactly)."""
    return length_mm / MM_PER_IN


def in_to_mm(length_in: float) -> float:
    """Millimetres in a length given in inches (25.4 mm to the inch, exactly)."""
    return length_in * MM_PER_IN


def round_to(length_in: float, to: float = 1 / 16) -> float:
    """Round a length in inches to the nearest multiple of `to`, halves away from zero."""
    _refuse_not_finite(length_in, str(length_in))
    steps = math.floor(abs(length_in) / to + 0.5)
    return math.copysign(steps * to, length_in) if steps else 0.0


def to_grid(length_in: float, toward: str = "nearest") -> int:
    """Whole thirty-seconds of an inch in a length.

    Parameters
    ----------
    length_in : float
        Length in inches.
    toward : {"nearest", "down", "up"}
        Which way a length between two steps goes.  Boards go "up"
        (`layout.stock.steps_of`), places on the framing "nearest", what may not be
        exceeded "down".  A millionth of a step is forgiven either way, so that a float
        such as 48.6 - 0.6 does not lose a step.
    """
    steps = length_in * GRID_PER_IN
    if toward == "down":
        return math.floor(steps + 1e-6)
    if toward == "up":
        return math.ceil(steps - 1e-6)
    return math.floor(steps + 0.5)


def from_grid(steps: int) -> float:
    """Inches in a whole number of thirty-seconds (exact in binary)."""
    return steps / GRID_PER_IN


def parse_length_in(text: str, unit: str = "in") -> float:
    """Read a length as people write it and return it in inches.

    Parameters
    ----------
    text : str
        ``96in``, ``8ft``, ``8' 2-1/2"``, ``8'2 1/2"``, ``112 1/4``, ``2440mm``,
        ``244 cm``, ``2.44 m``, ``2440,5 mm``, with typographic quotes, primes and
        fraction signs too.
    unit : {"in", "ft", "mm", "cm", "m"}
        What a number without a unit means.

    Returns
    -------
    float
        Inches, zero or more.

    Raises
    ------
    LengthError
        Nothing there, negative, not finite, longer than 10,000 ft, or not a length:
        ``9-4-8`` is refused because it could be feet-inches-eighths or a date.

    Examples
    --------
    >>> parse_length_in("8' 2-1/2\\"")
    98.5
    >>> parse_length_in("112 1/4")
    112.25
    >>> round(parse_length_in("2440mm"), 4)
    96.063
    >>> parse_length_in("2440", unit="mm") == parse_length_in("244 cm")
    True
    """
    if unit not in _UNITS_IN:
        raise LengthError(f"The unit {unit!r} is not known: use in, ft, mm, cm or m.")
    if not isinstance(text, str):
        raise LengthError(f"A length is written as text such as 96in or 2440mm, not {text!r}.")
    shown = text.strip()
    if len(shown) > 60:
        raise LengthError("That is too long to be a length: write for example 8' 2-1/2\" or 2440mm.")
    plain = _plain(shown)
    if not plain:
        raise LengthError("The length is empty: write for example 96in, 8' 2-1/2\" or 2440mm.")
    if plain.startswith("-"):
        raise LengthError(f"A length cannot be negative: {shown!r}.")
    if plain.lower().lstrip("+") in {"nan", "inf", "infinity"}:
        raise LengthError(f"{shown!r} is not a length: write a number such as 96in or 2440mm.")

    both = _FEET_INCHES.fullmatch(plain)
    single = _SINGLE.fullmatch(plain)
    if both:
        inches = _number(both["inches"], shown)
        length_in = 12.0 * _number(both["feet"], shown) + inches
        if inches >= 12.0 and _number(both["feet"], shown) > 0:
            raise LengthError(f"The inches of {shown!r} are 12 or more: carry them over to the feet.")
    elif single:
        found = (single["unit"] or unit).lower().replace("''", '"')
        number = _number(single["number"], shown, metric=found in _METRIC)
        # Divide for millimetres: 2440 / 25.4 is the nearest float, 2440 * (1 / 25.4) need not be.
        length_in = _metric_in(number, found) if found in _METRIC else number * _UNITS_IN[found]
    else:
        raise LengthError(f"{shown!r} is not a length: write for example 96in, 8ft, 8' 2-1/2\" or 2440mm.")
    _refuse_not_finite(length_in, shown)
    if length_in > MAX_LENGTH_IN:
        raise LengthError(f"{shown!r} is longer than 10,000 ft: check the number and its unit.")
    return length_in


def is_metric(text: str) -> bool:
    """Whether a length that `parse_length_in` reads is written in a metric unit.

    >>> is_metric("2440mm"), is_metric("8ft")
    (True, False)
    """
    single = _SINGLE.fullmatch(_plain(text))
    return single is not None and (single["unit"] or "").lower() in _METRIC


def format_length(length_in: float, style: str = "feet_inches", to: float = 1 / 16) -> str:
    """Print a length the way a tape is read.

    Parameters
    ----------
    length_in : float
        Inches; may be negative (an offset to the left).
    style : {"feet_inches", "inches", "mm"}
        ``9' 4-1/4"``, ``112 1/4"`` or ``2851 mm``.
    to : float
        Step in inches for the two inch styles (a power of two such as 1/16); for "mm"
        the step is one whole millimetre.

    Notes
    -----
    Reading the result back with `parse_length_in` and printing it again gives the same
    text: the value shown never drifts.

    Examples
    --------
    >>> format_length(112.25)
    '9\\' 4-1/4"'
    >>> format_length(112.25, style="inches")
    '112 1/4"'
    >>> format_length(96.0, style="mm")
    '2438 mm'
    >>> format_length(0.0)
    '0"'
    """
    if style not in STYLES:
        raise LengthError(f"The style {style!r} is not known: use feet_inches, inches or mm.")
    _refuse_not_finite(length_in, str(length_in))
    if style == "mm":
        mm = math.floor(abs(in_to_mm(length_in)) + 0.5)
        return f"{'-' if length_in < 0 and mm else ''}{mm} mm"
    rounded = Fraction(round_to(abs(length_in), to))
    sign = "-" if length_in < 0 and rounded else ""
    feet, inches = divmod(rounded, 12) if style == "feet_inches" and rounded >= 12 else (0, rounded)
    whole, part = divmod(inches, 1)
    joiner = "-" if style == "feet_inches" else " "
    if not part:
        shown = f"{whole}"
    elif whole:
        shown = f"{whole}{joiner}{part.numerator}/{part.denominator}"
    else:
        shown = f"{part.numerator}/{part.denominator}"
    if not feet:
        return f'{sign}{shown}"'
    return f"{sign}{feet}'" if inches == 0 else f"{sign}{feet}' {shown}\""


def format_thickness(thickness_in: float, style: str = "feet_inches") -> str:
    """Print a board's thickness, finer than a tape is read: to 1/32 in, or to 0.1 mm.

    Examples
    --------
    >>> format_thickness(0.5), format_thickness(mm_to_in(12.5), "mm"), format_thickness(mm_to_in(15.0), "mm")
    ('1/2"', '12.5 mm', '15 mm')
    """
    if style == "mm":
        return f"{round(in_to_mm(thickness_in), 1):g} mm"
    return format_length(thickness_in, style, 1 / 32)


def in_style(sentence: str, style: str, known_in: Iterable[float] = ()) -> str:
    """A sentence that holds lengths printed in feet and inches, with them in another style.

    Parameters
    ----------
    sentence : str
        Words with lengths as ``format_length`` prints them in feet and inches.
    style : {"feet_inches", "inches", "mm"}
    known_in : iterable of float
        Exact lengths that may be meant, inches: where one prints as the text does, it is taken
        instead of the rounded text, so that it comes out as elsewhere on the page.

    Examples
    --------
    >>> in_style("The seam at 9' 4-1/4\\" of A.", "mm")
    'The seam at 2851 mm of A.'
    """
    if style == "feet_inches":
        return sentence
    exact = {format_length(length_in): length_in for length_in in known_in}

    def again(match: re.Match[str]) -> str:
        shown = match.group()
        length_in = exact.get(shown)
        if length_in is None:
            length_in = parse_length_in(shown.lstrip("-")) * (-1.0 if shown.startswith("-") else 1.0)
        return format_length(length_in, style, 1 / 32 if "/32" in shown else 1 / 16)

    return _PRINTED.sub(again, sentence)


def _plain(text: str) -> str:
    """Typographic signs replaced by the plain ones."""
    for sign, fraction in _VULGAR.items():
        text = re.sub(rf"(?<=\d)\s*{sign}", f" {fraction}", text)
        text = text.replace(sign, fraction)
    for sign, plain in _UNICODE.items():
        text = text.replace(sign, plain)
    return text.strip()


def _metric_in(number: float, unit: str) -> float:
    """Inches in a metric number."""
    return mm_to_in(number * {"mm": 1.0, "cm": 10.0, "m": 1000.0}[unit])


def _number(text: str, shown: str, metric: bool = False) -> float:
    """Value of a whole number, decimal, fraction or mixed number."""
    parts = re.split(r"\s*-\s*|\s+", text.strip())
    total = 0.0
    for part in parts:
        if "/" in part:
            above, below = part.split("/")
            if int(below) == 0:
                raise LengthError(f"The fraction in {shown!r} has a zero below the line.")
            if len(parts) == 2 and int(above) >= int(below):
                raise LengthError(f"The fraction in {shown!r} is one or more: write it out.")
            total += int(above) / int(below)
        elif "," in part:
            if not metric:
                raise LengthError(
                    f"{shown!r} has a comma: in inches write a point or a fraction (112.25 or 112 1/4)."
                )
            if len(part.rsplit(",", 1)[1]) == 3:
                raise LengthError(
                    f"{shown!r} could be thousands or a decimal: leave the comma out or use a point."
                )
            total += float(part.replace(",", "."))
        else:
            total += float(part)
    return total


def _refuse_not_finite(length_in: float, shown: str) -> None:
    if not math.isfinite(length_in):
        raise LengthError(f"{shown} is not a length: it must be a finite number.")
