"""Stations: the ends of a stretch of a course, and the places in it where a seam is allowed.

Members that the rules let carry a seam, places a little off a member's centre that a whole
board reaches, and, where nothing else is left, places for new backing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from layout.bands import Band, Slab, Void
from layout.framing import Surface
from layout.lengths import GRID_PER_IN, to_grid
from layout.markets import Prefs, Rules
from layout.rules import (
    allowance_in,
    member_reaches,
    seam_bears_on_member,
    seam_keeps_clear_of_openings,
)

__all__ = [
    "BACKING_PRICE",
    "Refusal",
    "Station",
    "joint_price",
    "repriced",
    "stations_of",
    "with_backing",
    "with_shifts",
]


@dataclass(frozen=True, slots=True)
class Station:
    """An end of a segment, or a place in it where a seam is allowed.

    `member` is the index in `Surface.members`, -1 at the ends of the segment and -2 where
    new backing would have to be put in.  `price` is what a seam here costs.  The last end of
    an upright course bears length and price of the joint with the course hung before it:
    their boards meet there end to end.
    """

    at: int
    member: int
    price: float = 0.0
    seam_length: int = 0
    sure: bool = True
    bearing: int = 0
    pinned: bool = False


@dataclass(frozen=True, slots=True)
class Refusal:
    """A place where a seam is not allowed in a row, and the rule that refuses it.

    `pinned` where the user asked for a seam just there: it is kept against the rule.
    """

    row: int
    at: int
    member: int
    rule: str
    pinned: bool = False


def stations_of(
    surface: Surface,
    rules: Rules,
    prefs: Prefs,
    band: Band,
    voids: tuple[Void, ...],
    stretch: tuple[Slab, ...],
    start: int,
    end: int,
    upright: bool,
) -> tuple[tuple[Station, ...], list[Refusal]]:
    """Ends of the stretch and the members in it that may carry a seam of this course."""
    stations = [Station(start, -1)]
    refused: list[Refusal] = []
    wishes = surface.wishes
    pinned = {pin.member_id for pin in wishes.pins if pin.row == band.index}
    for index, member in enumerate(surface.members):
        at = to_grid(member.centre_in)
        if not start < at < end:
            continue
        parts = _parts_at(stretch, at)
        asked = member.id in pinned
        # A seam that was asked for is kept, with each rule that it breaks; else one rule is reason enough.
        against = list(islice(_against(surface, rules, band, voids, index, parts), None if asked else 1))
        refused += [Refusal(band.index, at, index, rule, asked) for rule in against]
        if against and not asked:
            continue
        length = _seam_length(parts)
        sure = member.sure and allowance_in(member, rules) >= -1e-9
        price = _price(index, length, sure, prefs, upright)
        stations.append(Station(at, index, price, length, sure, to_grid(member.face_in / 2), asked))
    stations.append(Station(end, -1))
    return tuple(stations), refused


def _against(
    surface: Surface,
    rules: Rules,
    band: Band,
    voids: tuple[Void, ...],
    index: int,
    parts: tuple[tuple[int, int], ...],
) -> Iterator[str]:
    """The rules that a seam of this course on member `index` would break; `parts` as for `member_reaches`."""
    member = surface.members[index]
    if member.id in surface.wishes.forbidden_members:
        yield "forbidden"
    if rules.on("seam_bears_on_member") and not seam_bears_on_member(member, rules):
        yield "seam_bears_on_member"
    if rules.on("member_reaches") and not member_reaches(
        member, parts, band.low, band.high, surface, s_is_x=surface.members_run == "up"
    ):
        yield "member_reaches"
    if rules.on("seam_keeps_clear_of_openings") and not seam_keeps_clear_of_openings(
        to_grid(member.centre_in), band.low, band.high, voids, rules
    ):
        yield "seam_keeps_clear_of_openings"


BACKING_STEP = 2 * GRID_PER_IN
BACKING_PRICE = 10_000.0


def with_backing(
    rules: Rules,
    prefs: Prefs,
    band: Band,
    voids: tuple[Void, ...],
    stretch: tuple[Slab, ...],
    stations: tuple[Station, ...],
    upright: bool,
) -> tuple[Station, ...]:
    """Stations where a seam needs new backing, at a price nobody pays gladly.

    Every 2 in, or wider apart on a long surface, and clear of openings: backing goes anywhere.
    """
    start, end = stations[0].at, stations[-1].at
    step = max(BACKING_STEP, (end - start) // 150)
    taken = {station.at for station in stations}
    added = []
    for at in range(start + step, end, step):
        clear = seam_keeps_clear_of_openings(at, band.low, band.high, voids, rules)
        if at in taken or (rules.on("seam_keeps_clear_of_openings") and not clear):
            continue
        length = _seam_length(_parts_at(stretch, at))
        added.append(Station(at, -2, _price(-2, length, False, prefs, upright), length, False))
    return tuple(sorted((*stations, *added), key=lambda station: station.at))


def with_shifts(
    surface: Surface,
    rules: Rules,
    stations: tuple[Station, ...],
    lengths: tuple[int, ...],
    start: int,
    end: int,
) -> tuple[Station, ...]:
    """Add places a little off a member's centre that let a whole board reach it.

    Only as far off as the bearing allows after the member's own uncertainty.
    """
    slack = {
        index: to_grid(max(0.0, allowance_in(member, rules)), "down")
        for index, member in enumerate(surface.members)
    }
    known = {station.at for station in stations}
    real = [s for s in stations if s.member >= 0]
    added: list[Station] = []
    if not any(slack[s.member] for s in real):
        return stations
    for length in lengths:
        for station in stations:
            if station.member == -2:
                continue
            for at in (station.at + length, station.at - length):
                for other in real:
                    off = abs(at - other.at)
                    if 0 < off <= slack[other.member] and at not in known:
                        known.add(at)
                        added.append(replace(other, at=at, bearing=other.bearing - off))
    return tuple(sorted((*stations, *added), key=lambda station: station.at))


def _seam_length(parts: tuple[tuple[int, int], ...]) -> int:
    return sum(high - low for low, high in parts)


def _price(member: int, length: int, sure: bool, prefs: Prefs, upright: bool) -> float:
    """What a seam costs by what it lies on (`Station.member`).

    Upright boards meet at their tapered edges and butt only where one stands on another.
    """
    price = joint_price(length, prefs) if member == -1 or not upright else 0.0
    if member == -2:
        price += BACKING_PRICE
    elif member >= 0 and not sure:
        price += prefs.unsure_seam_charge
    return price


def repriced(station: Station, prefs: Prefs, upright: bool) -> Station:
    """The same place at the prices of another aim."""
    price = _price(station.member, station.seam_length, station.sure, prefs, upright)
    return replace(station, price=price)


def joint_price(length: int, prefs: Prefs) -> float:
    """What a butt joint of this many thirty-seconds costs."""
    return prefs.joint_price_per_ft * length / GRID_PER_IN / 12.0


def _parts_at(stretch: tuple[Slab, ...], at: int) -> tuple[tuple[int, int], ...]:
    """Boarded intervals at a place: the larger of the two sides when it is on an edge."""
    found = [slab for slab in stretch if slab.start <= at <= slab.end]
    return max(found, key=lambda slab: slab.boarded).parts
