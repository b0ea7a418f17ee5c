"""Taps: what a phone on site sends, one event for each press of a button.

Every tap bears an id of its own, so that sending it again changes nothing, and a clock that rises with
every tap the phone knows of, so that of two words about the same thing the later one stands, whichever
arrives first.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["SiteTap", "TapError", "read_tap"]

LARGEST_CHANGE = 500
LONGEST_NOTE = 500
LARGEST_CLOCK = 2**53


class TapError(ValueError):
    """A tap that cannot be taken; the text says why."""


@dataclass(frozen=True, slots=True)
class SiteTap:
    """One tap on the phone.

    Attributes
    ----------
    id : str
        Drawn at random on the phone; the same tap sent twice bears the same id.
    line : str
        What it is about: a line of the order, a piece's number; "" for the whole.
    what : str
        "arrived", "damaged", "note", "finished" on delivery day; "hung", "spoiled" when hanging.
    change : int
        Boards more or less; 1 or 0 for what is or is not so.
    text : str
        For a note.
    clock : int
        Rises with every tap the phone knows of; decides which of two words stands.
    """

    id: str
    line: str
    what: str
    change: int = 0
    text: str = ""
    clock: int = 0


def read_tap(data: Mapping[str, Any], allowed: Collection[str]) -> SiteTap:
    """A tap from what a phone sent; `allowed` are the words `what` may hold.

    Raises
    ------
    TapError
        Not such a tap.  Nothing of it is taken.
    """
    try:
        tap = SiteTap(
            data["id"],
            data["line"],
            data["what"],
            data.get("change", 0),
            data.get("text", ""),
            data.get("clock", 0),
        )
    except (KeyError, TypeError, AttributeError):
        raise TapError("This count cannot be read: reload the page.") from None
    texts = (tap.id, tap.line, tap.what, tap.text)
    numbers = (tap.change, tap.clock)
    if not all(isinstance(value, str) for value in texts) or not all(type(value) is int for value in numbers):
        raise TapError("This count cannot be read: reload the page.")
    if not 0 < len(tap.id) <= 64 or len(tap.line) > 80 or len(tap.text) > LONGEST_NOTE:
        raise TapError(f"A note holds at most {LONGEST_NOTE} letters: shorten it.")
    if tap.what not in allowed or abs(tap.change) > LARGEST_CHANGE:
        raise TapError(f"A count goes up or down by at most {LARGEST_CHANGE} boards at a time.")
    if not 0 <= tap.clock <= LARGEST_CLOCK:
        raise TapError("This count cannot be read: reload the page.")
    return tap
