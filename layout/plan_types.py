"""What a plan is made of: rows, pieces, seams, sheets, order, score, warnings.

All frozen, in inches.  `left`/`right` run along the row and `bottom`/`top` across it; for
a row whose `direction` is "x" these are the surface's own x and y, for "y" they are
exchanged (a row that runs up the drawing, as across joists that run along x).
"""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = [
    "Cut",
    "CutOut",
    "OrderLine",
    "Piece",
    "Plan",
    "PlanWarning",
    "Row",
    "Score",
    "Seam",
    "Sheet",
    "SurfacePlan",
]


@dataclass(frozen=True, slots=True)
class PlanWarning:
    """Something the user must know: code, what it is, what to do, and where."""

    code: str
    message: str
    advice: str
    surface: str = ""
    rule: str = ""


@dataclass(frozen=True, slots=True)
class CutOut:
    """A hole or notch in a piece.

    `left_in` ... `top_in` are in the row's coordinates; `from_end_in` is measured from the
    piece's factory end (`end` tells which: "left" or "right"; the left end when both or
    neither is factory) to the near side of the hole, `from_edge_in` from the tapered edge
    (`edge` tells which: "top" or "bottom") to the near side.
    """

    id: str
    kind: str
    shape: str
    left_in: float
    right_in: float
    bottom_in: float
    top_in: float
    end: str = "left"
    from_end_in: float = 0.0
    edge: str = "top"
    from_edge_in: float = 0.0


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of board, hung as one.

    `number` is its place in the hanging order of the whole job, from 1.  `height_in` is
    what it is ripped to (the board's width when it is not ripped).
    """

    left_in: float
    right_in: float
    left_end: str
    right_end: str
    sheet: int
    cutouts: tuple[CutOut, ...] = ()
    number: int = 0
    bottom_in: float = 0.0
    top_in: float = 0.0

    @property
    def length_in(self) -> float:
        """Length along the row, inches."""
        return self.right_in - self.left_in

    @property
    def height_in(self) -> float:
        """Size across the row, inches."""
        return self.top_in - self.bottom_in


@dataclass(frozen=True, slots=True)
class Seam:
    """Where two pieces of a row meet, and why there."""

    position_in: float
    member_id: str
    sure: bool
    bearing_in: float
    length_in: float
    factory_ends: int
    pinned: bool = False
    reason: str = ""
    next_best: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One course of boards.  Rows stand in hanging order.

    `bottom_edge` and `top_edge` are "tapered" or "ripped"; in an upright row the boards' ends
    lie there, and "ripped" says that they are cut.
    """

    bottom_in: float
    top_in: float
    board_width_in: float
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...] = ()
    direction: str = "x"
    bottom_edge: str = "tapered"
    top_edge: str = "tapered"
    upright: bool = False


@dataclass(frozen=True, slots=True)
class SurfacePlan:
    """The rows of one surface.

    `alternative` says what the other direction of the boards would cost, where there is one.
    """

    id: str
    rows: tuple[Row, ...]
    name: str = ""
    kind: str = "wall"
    width_in: float = 0.0
    height_in: float = 0.0
    alternative: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """Where a piece comes from on its sheet.

    `start_in`/`end_in` along the sheet's length, `low_in`/`high_in` across its width.
    `turned` is True when the piece's left end is the sheet's right one (the sheet is
    turned half round, the face stays the face).
    """

    piece: int
    surface: str
    row: int
    start_in: float
    end_in: float
    low_in: float
    high_in: float
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet to buy, with the pieces cut from it in the order they are hung."""

    id: int
    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    price: float = 0.0
    cuts: tuple[Cut, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderLine:
    """A line of the sheet list: `count` sheets are used, `spare` more are advised, `to_fill` more make
    whole bundles.
    """

    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    count: int
    spare: int
    price: float = 0.0
    to_fill: int = 0

    @property
    def to_buy(self) -> int:
        """All of them."""
        return self.count + self.spare + self.to_fill


@dataclass(frozen=True, slots=True)
class Score:
    """Cost of a plan, in the user's money, and how good it is proved to be.

    ``total = sheet_cost + butt_joint_ft * joint_price_per_ft + cut_ends_at_seams *
    cut_end_charge + unsure_seams * unsure_seam_charge``.  `lower_bound` is a proved bound:
    no plan of the same courses (boards of the same width, run the same way) under the same
    rules, its sheets cut in the ways of `layout.patterns`, costs less; 0 where none is known.
    Where seams cannot be staggered everywhere, that means plans with no more of those seams.
    """

    sheet_cost: float = 0.0
    butt_joint_ft: float = 0.0
    cut_ends_at_seams: int = 0
    unsure_seams: int = 0
    total: float = 0.0
    lower_bound: float = 0.0
    proved_optimal: bool = False
    joint_price_per_ft: float = 0.0
    cut_end_charge: float = 0.0
    unsure_seam_charge: float = 0.0

    @property
    def gap(self) -> float:
        """How far the plan may be above the best possible, as a fraction of its cost."""
        if self.total <= 0.0:
            return 0.0
        return max(0.0, (self.total - self.lower_bound) / self.total)


@dataclass(frozen=True, slots=True)
class Plan:
    """The answer for a whole job."""

    surfaces: tuple[SurfacePlan, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    order: tuple[OrderLine, ...] = ()
    score: Score = field(default_factory=Score)
    warnings: tuple[PlanWarning, ...] = ()
    stopped: bool = False

    @property
    def bare(self) -> tuple[SurfacePlan, ...]:
        """The surfaces that get no board."""
        return tuple(surface for surface in self.surfaces if not surface.rows)
