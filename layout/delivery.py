"""Delivery day: what came against what was ordered, from taps that may arrive late, twice and in any order.

Each tap is an event with an id of its own.  Counts are sums over the distinct events, and of several
notes the one with the highest clock stays, so the order in which events arrive does not matter and an
event that arrives twice counts once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from layout.lots import size_name
from layout.plan_types import OrderLine
from layout.site_taps import SiteTap

__all__ = [
    "TAPS",
    "Delivery",
    "OrderedLine",
    "Tally",
    "delivery_of",
    "ordered_lines",
]

COUNTED = ("arrived", "damaged")
SAID = ("note", "finished")
TAPS = (*COUNTED, *SAID)
"""What the taps of delivery day are about."""


@dataclass(frozen=True, slots=True)
class OrderedLine:
    """One size as it was ordered; `line` is its short name (`layout.lots.size_name`)."""

    line: str
    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    count: int


@dataclass(frozen=True, slots=True)
class Tally:
    """What came of one line.  Short and over are against the order; damaged are among those that came."""

    ordered: OrderedLine
    arrived: int = 0
    damaged: int = 0
    note: str = ""

    @property
    def short(self) -> int:
        """How many are missing."""
        return max(0, self.ordered.count - self.arrived)

    @property
    def over(self) -> int:
        """How many came that were not ordered."""
        return max(0, self.arrived - self.ordered.count)

    @property
    def usable(self) -> int:
        """How many can be hung."""
        return max(0, self.arrived - self.damaged)

    @property
    def settled(self) -> bool:
        """Nothing to take up with the supplier."""
        return self.arrived == self.ordered.count and self.damaged == 0


@dataclass(frozen=True, slots=True)
class Delivery:
    """The whole delivery as counted so far."""

    tallies: tuple[Tally, ...] = ()
    note: str = ""
    finished: bool = False
    clock: int = 0
    ids: frozenset[str] = field(default_factory=frozenset)

    @property
    def to_take_up(self) -> tuple[Tally, ...]:
        """The lines that are short, over or damaged: what to take up with the supplier."""
        return tuple(tally for tally in self.tallies if not tally.settled)


def ordered_lines(order: Iterable[OrderLine]) -> tuple[OrderedLine, ...]:
    """The lines of an order, spares counted in; lines of one size become one."""
    counts: dict[str, OrderedLine] = {}
    for line in order:
        size = (line.kind, line.thickness_in, line.width_in, line.length_in)
        name = size_name(*size)
        before = counts[name].count if name in counts else 0
        counts[name] = OrderedLine(name, *size, before + line.to_buy)
    return tuple(line for line in counts.values() if line.count)


def delivery_of(lines: Iterable[OrderedLine], taps: Iterable[SiteTap]) -> Delivery:
    """Fold the taps into tallies.

    The order of the taps and repetitions among them make no difference.  A count never shows less
    than nothing.  Taps on a line that is not in the order (any more) are left out of the tallies.
    """
    distinct = {tap.id: tap for tap in taps}
    counts: dict[tuple[str, str], int] = {}
    said: dict[tuple[str, str], SiteTap] = {}
    for tap in distinct.values():
        key = (tap.line, tap.what)
        if tap.what in COUNTED:
            counts[key] = counts.get(key, 0) + tap.change
        elif key not in said or (tap.clock, tap.id) > (said[key].clock, said[key].id):
            said[key] = tap
    tallies = tuple(
        Tally(
            line,
            max(0, counts.get((line.line, "arrived"), 0)),
            max(0, counts.get((line.line, "damaged"), 0)),
            said[(line.line, "note")].text if (line.line, "note") in said else "",
        )
        for line in lines
    )
    note, finished = said.get(("", "note")), said.get(("", "finished"))
    return Delivery(
        tallies,
        note.text if note else "",
        bool(finished and finished.change),
        max((tap.clock for tap in distinct.values()), default=0),
        frozenset(distinct),
    )
