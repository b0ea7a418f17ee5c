"""What the inside refuses, as a homeowner reads it: no names of fields, lengths as on a tape."""

from __future__ import annotations

import re

from layout import JobError, LengthError, format_length
from ui.words import Words

__all__ = ["plain_fault"]

_RANGE = re.compile(r"[\w.\[\]]*(_in|price): must be between (\S+) and (\S+?)(?: in)?, not (\S+)\.")
"""`layout.checks.finite` speaks of inches as plain numbers."""


def plain_fault(fault: Exception | str, words: Words, style: str) -> str:
    """The sentence of a fault in the user's words and units.

    Examples
    --------
    >>> print(plain_fault("length_in: must be between 1 and 4800 in, not 1e+06.", Words("en"), "mm"))
    A length of 25400000 mm is not possible here: it must be from 25 mm to 121920 mm.
    """
    said = _RANGE.sub(lambda found: _in_range(found, words, style), str(fault))
    return words.said(said.removeprefix(f"{fault.field}: ") if isinstance(fault, JobError) else said)


def _in_range(found: re.Match[str], words: Words, style: str) -> str:
    what, *numbers = found.groups()
    try:
        if what == "price":
            low, high, value = (f"{float(number):,.2f}" for number in numbers)
            return words("say.price_out_of_range", low=low, high=high, value=value)
        low, high, value = (format_length(float(number), style) for number in numbers)
    except (ValueError, LengthError):  # too long a number to be one
        return found.group()
    return words("say.out_of_range", low=low, high=high, value=value)
