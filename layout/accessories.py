"""What goes with the boards, counted on the real plan: screws, tape, corner bead, compound, tools."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from layout.checks import finite, whole
from layout.framing import Surface
from layout.hanging import cards_of
from layout.order import Order
from layout.plan_types import Plan, Row, SurfacePlan
from layout.screws import screw_length_in

__all__ = [
    "Accessories",
    "Corners",
    "Joints",
    "Screws",
    "accessories_of",
    "bead_pieces_in",
    "compound_gal",
    "joints_of",
    "tape_rolls",
]

TAPE_ALLOWANCE = 0.10
"""Added to the measured tape (Dagostino & Peterson, Estimating in Building Construction, p. 203)."""
COMPOUND_GAL_PER_1000_SQFT = (4.0, 11.0)
"""Ready-mixed compound: published figures spread from about 4 (a web figure of 0.053 lb per square foot)
to 11 gallons (a consumer page); the textbook above has 5, a trade handbook about 9.4 (from memory)."""
BEAD_LENGTHS_IN = (96.0, 120.0)
"""Corner bead is sold in 8 and 10 ft (from memory)."""
SCREW_SPOIL = 0.05
"""Dropped and stripped screws (common practice, no source)."""
TAPE_ROLL_FT = 500.0
"""A common roll (common practice, no source); the textbook's example has 50 ft."""
WIDE_BOARD_IN = 50.0


@dataclass(frozen=True, slots=True)
class Joints:
    """Lengths of the joints to be taped, feet.

    `tapered_ft` two tapered edges; `mixed_ft` a tapered edge against a ripped one, or two ripped ones;
    `butt_ft` ends of boards; `corner_ft` inside corners of walls; `ceiling_ft` walls against the ceiling.
    """

    tapered_ft: float = 0.0
    mixed_ft: float = 0.0
    butt_ft: float = 0.0
    corner_ft: float = 0.0
    ceiling_ft: float = 0.0

    @property
    def total_ft(self) -> float:
        """All of them."""
        return self.tapered_ft + self.mixed_ft + self.butt_ft + self.corner_ft + self.ceiling_ft


@dataclass(frozen=True, slots=True)
class Corners:
    """Corners between walls, as the user counts them; the plan knows walls, not how they meet.

    `inside` None takes one corner for each end of a wall that no outside corner has, two ends to a corner.
    `extra_bead_in` is the bead beside that of the outside corners; None takes the outer edges of the
    soffits in the plan (`soffit_edges_in`). Returns of openings are known to the user only.
    """

    outside: int = 0
    inside: int | None = None
    extra_bead_in: float | None = None

    def __post_init__(self) -> None:
        whole("outside", self.outside, 0, 500)
        if self.inside is not None:
            whole("inside", self.inside, 0, 1000)
        if self.extra_bead_in is not None:
            finite("extra_bead_in", self.extra_bead_in, 0.0, 50_000.0)


@dataclass(frozen=True, slots=True)
class Screws:
    """Screws of one length: how many the plan takes, and how many to buy."""

    length_in: float
    thickness_in: float
    needed: int
    to_buy: int


@dataclass(frozen=True, slots=True)
class Accessories:
    """All of it.

    Attributes
    ----------
    tape_ft : float
        Joints and 10 %.
    bead_pieces : tuple of (float, int)
        Length of a piece in inches and how many.
    soffit_edges_in : tuple of float
        Outer edges of soffits that the bead was counted for; empty where the user gave a length.
    compound_gal : (float, float)
        Least and most by the published figures.
    tools : tuple of str
        Codes: "square_54" (a 54 in square, when boards are wider than 48 in), "square_48", "panel_lift",
        "two_people", "cart".
    """

    screws: tuple[Screws, ...]
    joints: Joints
    tape_ft: float
    tape_rolls: int
    inside_corners: int
    outside_corners: int
    bead_pieces: tuple[tuple[float, int], ...]
    soffit_edges_in: tuple[float, ...]
    compound_gal: tuple[float, float]
    area_sqft: float
    tools: tuple[str, ...]


def accessories_of(
    plan: Plan,
    surfaces: tuple[Surface, ...],
    order: Order,
    corners: Corners | None = None,
    rooms: Mapping[str, str] | None = None,
    market: str = "us",
    tape_roll_ft: float = TAPE_ROLL_FT,
) -> Accessories:
    """What goes with the boards of a plan.

    Screws are those of the hanging cards: one row on each member that a piece crosses, spaced by
    `layout.screws`. Ceilings without walls of their room in the job add no joint along walls.
    """
    told = corners or Corners()
    joints, inside = joints_of(plan, told, rooms)
    area_sqft = sum(
        piece.length_in * piece.height_in / 144.0 - sum(_area_sqft(cut) for cut in piece.cutouts)
        for surface in plan.surfaces
        for row in surface.rows
        for piece in row.pieces
    )
    tape_ft = joints.total_ft * (1.0 + TAPE_ALLOWANCE)
    tallest_in = max((s.height_in for s in plan.surfaces if s.kind == "wall"), default=0.0)
    edges_in = soffit_edges_in(plan, rooms) if told.extra_bead_in is None else ()
    more_in = (told.extra_bead_in,) if told.extra_bead_in else ()
    return Accessories(
        _screws(plan, surfaces, market),
        joints,
        tape_ft,
        tape_rolls(joints.total_ft, tape_roll_ft),
        inside,
        told.outside,
        bead_pieces_in((tallest_in,) * told.outside + edges_in + more_in),
        edges_in,
        compound_gal(area_sqft),
        area_sqft,
        _tools(plan, order),
    )


def joints_of(
    plan: Plan, corners: Corners | None = None, rooms: Mapping[str, str] | None = None
) -> tuple[Joints, int]:
    """Lengths of the joints by kind, and how many inside corners were taken.

    Upright boards meet at their long edges along a course, and end to end between two courses.
    """
    told = corners or Corners()
    tapered_in = mixed_in = butt_in = 0.0
    for surface in plan.surfaces:
        rows = surface.rows
        for row in rows:
            for seam in row.seams:
                if not row.upright:
                    butt_in += seam.length_in
                elif seam.factory_ends == 2:
                    tapered_in += seam.length_in
                else:
                    mixed_in += seam.length_in
        for below in rows:
            for above in rows:
                if below is above or abs(below.top_in - above.bottom_in) > 0.25:
                    continue
                shared_in = _shared_in(below, above)
                if below.upright:
                    butt_in += shared_in
                elif below.top_edge == "tapered" and above.bottom_edge == "tapered":
                    tapered_in += shared_in
                else:
                    mixed_in += shared_in
    walls = [surface for surface in plan.surfaces if surface.kind == "wall" and surface.rows]
    by_room: dict[str, list[SurfacePlan]] = defaultdict(list)
    for surface in plan.surfaces:
        if surface.rows:
            by_room[(rooms or {}).get(surface.id, "")].append(surface)
    ceiling_in = sum(
        surface.width_in
        for together in by_room.values()
        if any(each.kind != "wall" for each in together)
        for surface in together
        if surface.kind == "wall"
    )
    inside = told.inside if told.inside is not None else max(0, (2 * len(walls) - 2 * told.outside) // 2)
    tallest_in = max((wall.height_in for wall in walls), default=0.0)
    return (
        Joints(
            tapered_in / 12.0,
            mixed_in / 12.0,
            butt_in / 12.0,
            inside * tallest_in / 12.0,
            ceiling_in / 12.0,
        ),
        inside,
    )


def soffit_edges_in(plan: Plan, rooms: Mapping[str, str] | None = None) -> tuple[float, ...]:
    """Outer edges of the boxed-in runs of a plan, which get corner bead.

    The soffits of one room that are equally long are the sides of one box: two (its underside and its
    face) share one edge, three (faces on both sides) two. A soffit alone has no edge that is known.
    (Common practice, no source.)
    """
    boxes: dict[tuple[str, float], int] = defaultdict(int)
    for surface in plan.surfaces:
        if surface.kind == "soffit" and surface.rows:
            long_in = round(max(surface.width_in, surface.height_in), 1)
            boxes[(rooms or {}).get(surface.id, ""), long_in] += 1
    return tuple(long_in for (_, long_in), sides in boxes.items() for _ in range(sides - 1))


def tape_rolls(joint_ft: float, roll_ft: float) -> int:
    """Rolls of tape for joints of this length and 10 % more.

    Examples
    --------
    >>> tape_rolls(2660.0, 50.0)
    59
    """
    finite("roll_ft", roll_ft, 1.0, 10_000.0, " ft")
    return math.ceil(joint_ft * (1.0 + TAPE_ALLOWANCE) / roll_ft - 1e-9)


def compound_gal(area_sqft: float) -> tuple[float, float]:
    """Gallons of ready-mixed compound, from the least to the most of the published figures.

    Examples
    --------
    >>> compound_gal(7000.0)
    (28.0, 77.0)
    """
    least, most = COMPOUND_GAL_PER_1000_SQFT
    return area_sqft * least / 1000.0, area_sqft * most / 1000.0


def bead_pieces_in(corners_in: Iterable[float]) -> tuple[tuple[float, int], ...]:
    """Pieces of corner bead: each corner from one piece if one is long enough, else from several.

    Examples
    --------
    >>> bead_pieces_in((96.0, 97.125, 97.125))
    ((96.0, 1), (120.0, 2))
    """
    counts: dict[float, int] = defaultdict(int)
    short_in, long_in = BEAD_LENGTHS_IN
    for corner_in in corners_in:
        left_in = corner_in
        while left_in > long_in + 1e-9:
            counts[long_in] += 1
            left_in -= long_in
        if left_in > 1e-9:
            counts[short_in if left_in <= short_in + 1e-9 else long_in] += 1
    return tuple(sorted(counts.items()))


def _screws(plan: Plan, surfaces: tuple[Surface, ...], market: str) -> tuple[Screws, ...]:
    counts: dict[float, int] = defaultdict(int)
    thickest: dict[float, float] = defaultdict(float)
    for card in cards_of(plan, surfaces, market=market):
        for piece in card.pieces:
            length_in = screw_length_in(piece.thickness_in)
            counts[length_in] += piece.screw_count
            thickest[length_in] = max(thickest[length_in], piece.thickness_in)
    return tuple(
        Screws(length_in, thickest[length_in], count, math.ceil(count * (1.0 + SCREW_SPOIL) / 100) * 100)
        for length_in, count in sorted(counts.items())
        if count
    )


def _tools(plan: Plan, order: Order) -> tuple[str, ...]:
    tools = []
    if order.rows:
        tools.append("square_54" if any(row.width_in > WIDE_BOARD_IN for row in order.rows) else "square_48")
    if any(surface.kind != "wall" and surface.rows for surface in plan.surfaces):
        tools.append("panel_lift")
    if any(row.weight_lb > 50.0 for row in order.rows):
        tools.append("two_people")
    if any(row.weight_lb > 90.0 for row in order.rows):
        tools.append("cart")
    return tuple(tools)


def _shared_in(below: Row, above: Row) -> float:
    """How long two rows lie on each other."""
    return sum(
        max(0.0, min(one.right_in, other.right_in) - max(one.left_in, other.left_in))
        for one in below.pieces
        for other in above.pieces
        if abs(one.top_in - other.bottom_in) < 0.25
    )


def _area_sqft(cut: object) -> float:
    left, right, bottom, top = (
        float(getattr(cut, side)) for side in ("left_in", "right_in", "bottom_in", "top_in")
    )
    return (right - left) * (top - bottom) / 144.0
