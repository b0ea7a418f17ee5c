"""Whole numbers as the options of the console command are given them."""

from __future__ import annotations

import argparse
import re

__all__ = ["from_one", "number_told"]


def number_told(text: str) -> int | None:
    """A whole number in plain digits, at most nine; None for anything else.

    Examples
    --------
    >>> number_told("12"), number_told("-1"), number_told("²")
    (12, None, None)
    """
    plain = text.strip()
    return int(plain) if re.fullmatch("[0-9]{1,9}", plain) else None


def from_one(text: str) -> int:
    """The number of something that is counted 1, 2, ...: a photo, a piece."""
    number = number_told(text)
    if not number:
        raise argparse.ArgumentTypeError(f"{text.strip()!r} is no number: write 1, 2 and so on")
    return number
