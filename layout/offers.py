"""The same job bought elsewhere: planned anew for each supplier, set side by side."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from layout.access import Way, boards_that_come, boards_that_pass, longest_way, ways_to
from layout.framing import Surface
from layout.job import Job
from layout.order import Order, SpareRule, make_order
from layout.plan_types import Plan
from layout.prices import Supplier
from layout.stock import Board

__all__ = ["Offer", "has_width", "offers_of", "on_stock", "without_width"]

SAME_IN = 1 / 32


@dataclass(frozen=True, slots=True)
class Offer:
    """What a job becomes with one supplier.

    `plan` is None when nothing the supplier stocks can be used or gets in; `unboarded` names the
    surfaces it has no board for; `turned_away` are boards that it has and that cannot get in.
    """

    supplier: Supplier
    plan: Plan | None
    order: Order
    unboarded: tuple[str, ...] = ()
    turned_away: tuple[Board, ...] = ()

    @property
    def butt_joint_ft(self) -> float:
        """Butt joints of the plan, feet."""
        return 0.0 if self.plan is None else self.plan.score.butt_joint_ft

    @property
    def complete(self) -> bool:
        """Whether every surface gets its boards."""
        return self.plan is not None and not self.unboarded


def on_stock(
    job: Job,
    stock: Sequence[Board],
    ways: Sequence[Way] = (),
    rooms: Mapping[str, str] | None = None,
    own_list: Sequence[Board] = (),
) -> Job:
    """The job with this stock; a surface whose board width is not in it takes what is cheapest.

    Only a supplier, or a way in, makes a surface one of other boards: where the job's `own_list` lacks the
    width in the first place, the surface keeps it and gets no boards.

    Where a way leads to some rooms only, the surfaces of each room (`rooms`, by the surface's id) take
    no longer board than comes to it; without any way to a room its boards have no limit.
    """
    surfaces = []
    for surface in job.surfaces:
        if own_list and not has_width(own_list, surface.board_width_in):
            surfaces.append(surface)
            continue
        if any(way.rooms for way in ways):
            surface = _as_it_comes(surface, stock, ways_to(ways, (rooms or {}).get(surface.id, "")))
        fitting = [
            board
            for board in stock
            if board.kind == surface.board_kind and abs(board.thickness_in - surface.thickness_in) < SAME_IN
        ]
        if fitting and not has_width(fitting, surface.board_width_in):
            surface = replace(surface, board_width_in=None)
        surfaces.append(surface)
    return replace(job, surfaces=tuple(surfaces), stock=tuple(stock))


def has_width(boards: Sequence[Board], width_in: float | None) -> bool:
    """Whether one of the boards is so wide; None is any width."""
    return width_in is None or any(abs(board.width_in - width_in) < SAME_IN for board in boards)


def _as_it_comes(surface: Surface, stock: Sequence[Board], ways: Sequence[Way]) -> Surface:
    """The surface with the board width that comes to it by these ways, and how long its boards may be."""
    limits: dict[float, float] = {}
    for board in boards_that_pass(stock, ways):
        if board.kind == surface.board_kind and abs(board.thickness_in - surface.thickness_in) < SAME_IN:
            limits[board.width_in] = longest_way(ways, board.width_in, board.thickness_in)[0]
    wanted = surface.board_width_in
    width = next((w for w in limits if wanted is not None and abs(w - wanted) < SAME_IN), None)
    if width is None and limits:
        width = max(sorted(limits), key=lambda w: limits[w])
    # where no board comes in: an inch, and the plan says that the surface cannot be boarded
    most_in = min(limits.get(width or 0.0, 1.0), surface.wishes.max_length_in or math.inf)
    if math.isinf(most_in):
        return replace(surface, board_width_in=width)
    return replace(
        surface, board_width_in=width or wanted, wishes=replace(surface.wishes, max_length_in=most_in)
    )


def without_width(supplier: Supplier, width_in: float, name: str) -> Supplier | None:
    """The supplier without its boards of one width, called `name`; None when nothing is left of it."""
    kept = tuple(board for board in supplier.boards if abs(board.width_in - width_in) >= SAME_IN)
    return replace(supplier, name=name, boards=kept) if kept else None


def offers_of(
    job: Job,
    suppliers: Sequence[Supplier],
    ways: Sequence[Way],
    plan: Callable[[Job], Plan],
    spares: SpareRule | None = None,
    bundle: int | None = None,
    own_spares: Mapping[str, int] | None = None,
    rooms: Mapping[str, str] | None = None,
    own_list: Sequence[Board] = (),
) -> tuple[Offer, ...]:
    """The job planned for each supplier with what gets in, in the suppliers' order.

    `own_list` is the job's own list, where the `suppliers` are that list or a part of it: as in `on_stock`, a
    surface of a width that it lacks is made one of no other.

    Spares and `bundle` are the user's, as in `layout.order.make_order`, so that each sum is the one the
    order itself would have there; without a `bundle` each supplier's own counts.
    """
    offers = []
    for supplier in suppliers:
        stock = boards_that_come(supplier.boards, ways, [(rooms or {}).get(s.id, "") for s in job.surfaces])
        turned_away = tuple(board for board in supplier.boards if board not in stock)
        if not stock or not job.surfaces:
            names = tuple(surface.name or surface.id for surface in job.surfaces)
            offers.append(Offer(supplier, None, Order(()), names, turned_away))
            continue
        found = plan(on_stock(job, stock, ways, rooms, own_list))
        unboarded = tuple(surface.name or surface.id for surface in found.bare)
        rounded_to = supplier.bundle if bundle is None else bundle
        order = make_order(found.sheets, spares, rounded_to, supplier.delivery_price, own_spares)
        offers.append(Offer(supplier, found, order, unboarded, turned_away))
    return tuple(offers)
