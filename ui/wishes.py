"""What the user asks of one surface: kept in its settings, laid on its framing.

Studs are kept by their place, not by their number: a stud added or taken out later moves no wish to its
neighbour. A wish whose stud is not there any more is left out, and `lost` says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from layout import JobError, Pin, Surface, Wishes
from layout.checks import finite, one_of, whole
from layout.framing import MAX_SPAN_IN

__all__ = [
    "SETTING",
    "KeptWishes",
    "lost",
    "members_meant",
    "mirrored_wishes",
    "wishes_of",
    "wishes_to_json",
    "with_wishes",
]

SETTING = "wishes"
SAME_STUD_IN = 2.0
"""A stud this near is the one that was meant: well under half a bay, well over what a correction moves."""
SAME_PLACE_IN = 0.25
MOST = 200
ROWS_FROM = ("auto", "top", "bottom")
BOARDS_RUN = ("auto", "across", "parallel")


@dataclass(frozen=True)
class KeptWishes:
    """Wishes of a surface.

    Attributes
    ----------
    rows_from, boards_run : str
        As in `layout.Surface`: the row that is hung first, and which way the boards lie.
    seams : tuple of (int, float)
        Row (from 0, in hanging order) and centre, in inches, of the member that its seam must be on.
    no_seam_in : tuple of float
        Centres of members that must carry no seam.
    row_lengths : tuple of (int, float)
        Row and the length of board that all of it is cut from.
    """

    rows_from: str = "auto"
    boards_run: str = "auto"
    seams: tuple[tuple[int, float], ...] = ()
    no_seam_in: tuple[float, ...] = ()
    row_lengths: tuple[tuple[int, float], ...] = ()

    def __post_init__(self) -> None:
        one_of("rows_from", self.rows_from, ROWS_FROM)
        one_of("boards_run", self.boards_run, BOARDS_RUN)
        for row, length_in in (*self.seams, *self.row_lengths):
            whole("row", row, 0, 500)
            finite("place", length_in, 0.0, MAX_SPAN_IN)
        for place_in in self.no_seam_in:
            finite("place", place_in, 0.0, MAX_SPAN_IN)


def wishes_of(settings: Mapping[str, Any]) -> KeptWishes:
    """The wishes kept in a surface's settings.

    Raises
    ------
    JobError
        They are damaged.
    """
    kept = settings.get(SETTING) or {}
    try:
        if max(len(kept.get(name, ())) for name in ("seams", "no_seam_in", "row_lengths")) > MOST:
            raise ValueError("too many")
        return KeptWishes(
            kept.get("rows_from", "auto"),
            kept.get("boards_run", "auto"),
            tuple((row, place_in) for row, place_in in kept.get("seams", ())),
            tuple(kept.get("no_seam_in", ())),
            tuple((row, length_in) for row, length_in in kept.get("row_lengths", ())),
        )
    except (AttributeError, TypeError, ValueError) as fault:
        raise JobError(SETTING, "the wishes of this surface are damaged: enter them again.") from fault


def wishes_to_json(wishes: KeptWishes) -> dict[str, Any]:
    """Plain JSON; `wishes_of` gives the same value back."""
    return {
        "rows_from": wishes.rows_from,
        "boards_run": wishes.boards_run,
        "seams": [list(pair) for pair in wishes.seams],
        "no_seam_in": list(wishes.no_seam_in),
        "row_lengths": [list(pair) for pair in wishes.row_lengths],
    }


def with_wishes(surface: Surface, wishes: KeptWishes) -> Surface:
    """The framing with the wishes for it; those for studs that are not there are left out."""
    if wishes == KeptWishes():
        return surface
    pins = (
        Pin(row, ids[-1]) for row, place_in in wishes.seams if (ids := members_meant(surface, place_in, row))
    )
    forbidden = (name for place_in in wishes.no_seam_in for name in members_meant(surface, place_in))
    return replace(
        surface,
        rows_from=wishes.rows_from,
        boards_run=wishes.boards_run,
        wishes=Wishes(tuple(dict.fromkeys(pins)), tuple(dict.fromkeys(forbidden)), wishes.row_lengths),
    )


def lost(surface: Surface, wishes: KeptWishes) -> tuple[float, ...]:
    """Places of wishes at which no stud stands any more."""
    places = (*(place_in for _, place_in in wishes.seams), *wishes.no_seam_in)
    return tuple(sorted({place_in for place_in in places if not members_meant(surface, place_in)}))


def mirrored_wishes(wishes: KeptWishes, span_in: float) -> KeptWishes:
    """The wishes for the mirror image of a surface, `span_in` long across its members."""
    return replace(
        wishes,
        seams=tuple((row, span_in - place_in) for row, place_in in wishes.seams),
        no_seam_in=tuple(span_in - place_in for place_in in wishes.no_seam_in),
    )


def members_meant(surface: Surface, place_in: float, row: int = 0) -> tuple[str, ...]:
    """Ids of the members at a place: several where cripples stand below and above an opening, the one that
    the row most likely crosses last (a full member, the upper cripple for the first row, else the lower)."""
    near = min((m.centre_in for m in surface.members), key=lambda at: abs(at - place_in), default=None)
    if near is None or abs(near - place_in) > SAME_STUD_IN:
        return ()
    there = [m for m in surface.members if abs(m.centre_in - near) < SAME_PLACE_IN]
    up = 1 if row == 0 else -1
    there.sort(key=lambda m: (m.kind == "full", up * (m.bottom_in or 0.0)))
    return tuple(m.id for m in there)
