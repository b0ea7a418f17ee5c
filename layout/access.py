"""Access: can a board, carried on edge as a rigid rectangle, get to where it hangs?

A board is `width_in` high when carried on edge, `thickness_in` wide and `length_in` long. For each
passage there is one question: how long may a board of this width and thickness be? The answer is exact
for a rigid board. Real boards bend a little and sags are not counted on.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from scipy.optimize import minimize_scalar

from layout.checks import finite, one_of, text
from layout.stock import Board

__all__ = [
    "Corner",
    "Gap",
    "Passage",
    "Stairs",
    "Way",
    "boards_that_come",
    "boards_that_pass",
    "fits_through",
    "longest_round",
    "longest_through",
    "longest_way",
    "ways_to",
]

EASE_IN = 0.5
"""Kept free of every clear measure for hands and for not scraping (common practice, no source)."""
SILL_PAD_IN = 1.5
"""A length of 2-by lumber laid over the sill so that boards slide and neither is hurt (common practice)."""
STEPS = 720


@dataclass(frozen=True, slots=True)
class Gap:
    """A window or door to go straight through: its clear width and height.

    `pad_in` protects the sill and takes away from the height.
    """

    name: str
    width_in: float
    height_in: float
    kind: str = "window"
    pad_in: float = 0.0

    def __post_init__(self) -> None:
        text("name", self.name)
        one_of("kind", self.kind, ("window", "door"))
        finite("width_in", self.width_in, 4.0, 400.0)
        finite("height_in", self.height_in, 4.0, 400.0)
        finite("pad_in", self.pad_in, 0.0, 12.0)


@dataclass(frozen=True, slots=True)
class Corner:
    """A right-angled corner between two corridors, or a door in a corridor's side.

    `first_in` and `second_in` are the clear widths before and behind it, `ceiling_in` the lower of
    the two clear heights.
    """

    name: str
    first_in: float
    second_in: float
    ceiling_in: float = 80.0

    def __post_init__(self) -> None:
        text("name", self.name)
        for field in ("first_in", "second_in", "ceiling_in"):
            finite(field, getattr(self, field), 4.0, 1200.0)


@dataclass(frozen=True, slots=True)
class Stairs:
    """A straight flight.

    `headroom_in` is measured plumb from the line of the step edges to what is lowest above it,
    `rise_in` and `run_in` are one step's, `ceiling_in` is the clear height at the foot, where the
    board straightens out.
    """

    name: str
    width_in: float
    headroom_in: float
    rise_in: float = 7.75
    run_in: float = 10.0
    ceiling_in: float = 90.0

    def __post_init__(self) -> None:
        text("name", self.name)
        for field in ("width_in", "headroom_in", "ceiling_in"):
            finite(field, getattr(self, field), 4.0, 1200.0)
        finite("rise_in", self.rise_in, 1.0, 24.0)
        finite("run_in", self.run_in, 1.0, 48.0)


Passage = Gap | Corner | Stairs


@dataclass(frozen=True, slots=True)
class Way:
    """One way from outside to where boards hang: its passages one after another.

    Attributes
    ----------
    rooms : tuple of str
        The rooms it leads to; empty for the whole house. A board may come to a room by any way that
        leads there.
    """

    name: str
    passages: tuple[Passage, ...]
    rooms: tuple[str, ...] = ()


def fits_through(long_in: float, short_in: float, gap_long_in: float, gap_short_in: float) -> bool:
    """Whether a rectangle goes into another one, turned as it likes.

    ``p x q`` fits in ``a x b`` (longer sides first) if ``p <= a and q <= b``, or, laid askew, if
    ``q <= b`` and ``b >= (2 p q a + (p^2 - q^2) sqrt(p^2 + q^2 - a^2)) / (p^2 + q^2)``
    (W. B. Carver, solution to problem E 1225, American Mathematical Monthly 64, 1957, 114-116;
    J. E. Wetzel, Rectangles in rectangles, Mathematics Magazine 73, 2000, 204-211: both cited from
    memory; checked against polygons in the tests).

    Examples
    --------
    >>> fits_through(48.0, 0.5, 41.04, 20.0), fits_through(48.0, 0.5, 45.0, 36.0)
    (False, True)
    """
    p, q = max(long_in, short_in), min(long_in, short_in)
    a, b = max(gap_long_in, gap_short_in), min(gap_long_in, gap_short_in)
    if p <= a:
        return q <= b
    if q > b:
        return False
    square = p * p + q * q
    return b >= (2 * p * q * a + (p * p - q * q) * math.sqrt(square - a * a)) / square


def longest_round(first_in: float, second_in: float, thick_in: float, turn_deg: float = 90.0) -> float:
    """Longest rectangle of a thickness that goes round a bend between two straight channels.

    With the channels `first_in` and `second_in` wide, turning by `turn_deg`, a rectangle whose outer
    edge runs along both outer walls at an angle t to the second one clears the inner corner if::

        L(t) = sin A (x + (b cos t - w) / sin t) / sin(A - t),   x = (a - b cos A) / sin A

    is at least its length for every t between 0 and A (a, b the widths, w the thickness, A the turn).
    For A = 90 degrees that is ``(a sin t + b cos t - w) / (sin t cos t)``, whose least value for w = 0
    is the published ``(a^(2/3) + b^(2/3))^(3/2)``. 0 when the thickness alone does not pass.

    Examples
    --------
    >>> round(longest_round(36.0, 48.0, 0.0) / 12.0, 2)
    9.87
    """
    if thick_in >= min(first_in, second_in):
        return 0.0
    turn = math.radians(turn_deg)
    across_in = (first_in - second_in * math.cos(turn)) / math.sin(turn)

    def length(angle: float) -> float:
        free = across_in + (second_in * math.cos(angle) - thick_in) / math.sin(angle)
        return math.sin(turn) * free / math.sin(turn - angle)

    step = turn / STEPS
    best = min((number * step for number in range(1, STEPS)), key=length)
    found = minimize_scalar(
        length, bounds=(max(best - step, 1e-9), min(best + step, turn - 1e-9)), method="bounded"
    )
    return max(0.0, min(length(best), float(found.fun)))


def longest_through(
    passage: Passage, width_in: float, thickness_in: float, ease_in: float = EASE_IN
) -> float:
    """Longest board of this width and thickness that passes; `math.inf` when any does, 0 when none does.

    Raising one end in a corridor is not counted on: it shortens a board's plan only beyond twice the
    angle whose tangent is width over length (37 degrees for 4 x 12 ft), where it stands higher
    than rooms are.
    """
    if isinstance(passage, Gap):
        high_in = passage.height_in - passage.pad_in - ease_in
        goes = fits_through(width_in, thickness_in, passage.width_in - ease_in, high_in)
        return math.inf if goes else 0.0
    if isinstance(passage, Corner):
        if width_in > passage.ceiling_in - ease_in:
            return 0.0
        return longest_round(passage.first_in - ease_in, passage.second_in - ease_in, thickness_in)
    slope = math.atan2(passage.rise_in, passage.run_in)
    square_in = (passage.headroom_in - ease_in) * math.cos(slope)
    if thickness_in > passage.width_in - ease_in or width_in > square_in:
        return 0.0
    return longest_round(square_in, passage.ceiling_in - ease_in, width_in, math.degrees(slope))


def longest_way(
    ways: Iterable[Way], width_in: float, thickness_in: float, ease_in: float = EASE_IN
) -> tuple[float, Way | None, Passage | None]:
    """Longest board that comes in by the best way, that way, and the passage that limits it there.

    Without any way there is no limit. A way without passages limits nothing.
    """
    best: tuple[float, Way | None, Passage | None] = (-1.0, None, None)
    none = True
    for way in ways:
        none = False
        limits = [(longest_through(each, width_in, thickness_in, ease_in), each) for each in way.passages]
        least, narrowest = min(limits, key=lambda limit: limit[0], default=(math.inf, None))
        if least > best[0]:
            best = (least, way, narrowest)
    return (math.inf, None, None) if none else best


def ways_to(ways: Iterable[Way], room: str) -> tuple[Way, ...]:
    """The ways that lead to a room.

    Examples
    --------
    >>> window, stairs = Way("window", (), ("Den",)), Way("stairs", ())
    >>> [way.name for way in ways_to((window, stairs), "Bath")]
    ['stairs']
    """
    return tuple(way for way in ways if not way.rooms or room in way.rooms)


def boards_that_come(
    stock: Iterable[Board], ways: Iterable[Way], rooms: Iterable[str], ease_in: float = EASE_IN
) -> tuple[Board, ...]:
    """The boards of a list that come to one of these rooms at least, each by the ways that lead there."""
    boards, all_ways = tuple(stock), tuple(ways)
    reached = {frozenset(ways_to(all_ways, room)) for room in rooms} or {frozenset(all_ways)}
    come = {board for some in reached for board in boards_that_pass(boards, some, ease_in)}
    return tuple(board for board in boards if board in come)


def boards_that_pass(
    stock: Iterable[Board], ways: Iterable[Way], ease_in: float = EASE_IN
) -> tuple[Board, ...]:
    """The boards of a list that can be carried in by one of the ways."""
    all_ways = tuple(ways)
    known: dict[tuple[float, float], float] = {}
    kept = []
    for board in stock:
        size = (board.width_in, board.thickness_in)
        if size not in known:
            known[size] = longest_way(all_ways, *size, ease_in)[0]
        if board.length_in <= known[size] + 1e-9:
            kept.append(board)
    return tuple(kept)
