"""Hanging: which pieces are up and which boards were spoiled, from taps in any order, late or twice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from layout.site_taps import SiteTap

__all__ = ["TAPS", "Progress", "Spoil", "progress_of"]

TAPS = ("hung", "spoiled")
"""What the taps are about; `SiteTap.line` is the piece's number."""


@dataclass(frozen=True, slots=True)
class Spoil:
    """A board that was spoiled while a piece of it was cut or hung."""

    id: str
    piece: int
    whole_sheet: bool


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the hanging is.  `spoils` are in the order they happened, as far as the clocks tell."""

    hung: frozenset[int] = frozenset()
    spoils: tuple[Spoil, ...] = ()
    clock: int = 0
    ids: frozenset[str] = field(default_factory=frozenset)


def progress_of(taps: Iterable[SiteTap]) -> Progress:
    """Fold the taps.

    A piece hangs when the last word about it says so; being spoiled is a word about it too.
    """
    distinct = {tap.id: tap for tap in taps if tap.line.isdecimal()}
    last: dict[int, SiteTap] = {}
    for tap in distinct.values():
        piece = int(tap.line)
        if piece not in last or _later(tap, last[piece]):
            last[piece] = tap
    spoiled = sorted((tap for tap in distinct.values() if tap.what == "spoiled"), key=_when)
    return Progress(
        frozenset(piece for piece, tap in last.items() if tap.what == "hung" and tap.change),
        tuple(Spoil(tap.id, int(tap.line), tap.change > 1) for tap in spoiled),
        max((tap.clock for tap in distinct.values()), default=0),
        frozenset(distinct),
    )


def _when(tap: SiteTap) -> tuple[int, str]:
    return (tap.clock, tap.id)


def _later(tap: SiteTap, other: SiteTap) -> bool:
    return _when(tap) > _when(other)
