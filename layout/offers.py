"""The same job bought elsewhere: planned anew for each supplier, set side by side."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from layout.access import Way, boards_that_pass
from layout.job import Job
from layout.order import Order, SpareRule, make_order
from layout.plan_types import Plan
from layout.prices import Supplier
from layout.stock import Board

__all__ = ["Offer", "offers_of", "on_stock", "without_width"]

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


def on_stock(job: Job, stock: Sequence[Board]) -> Job:
    """The job with this stock; a surface whose board width is not in it takes what is cheapest."""
    surfaces = []
    for surface in job.surfaces:
        widths = {
            board.width_in
            for board in stock
            if board.kind == surface.board_kind and abs(board.thickness_in - surface.thickness_in) < SAME_IN
        }
        wanted = surface.board_width_in
        if wanted is not None and widths and not any(abs(width - wanted) < SAME_IN for width in widths):
            surface = replace(surface, board_width_in=None)
        surfaces.append(surface)
    return replace(job, surfaces=tuple(surfaces), stock=tuple(stock))


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
) -> tuple[Offer, ...]:
    """The job planned for each supplier with what gets in, in the suppliers' order.

    Spares and `bundle` are the user's, as in `layout.order.make_order`, so that each sum is the one the
    order itself would have there; without a `bundle` each supplier's own counts.
    """
    offers = []
    for supplier in suppliers:
        stock = boards_that_pass(supplier.boards, ways)
        turned_away = tuple(board for board in supplier.boards if board not in stock)
        if not stock or not job.surfaces:
            names = tuple(surface.name or surface.id for surface in job.surfaces)
            offers.append(Offer(supplier, None, Order(()), names, turned_away))
            continue
        found = plan(on_stock(job, stock))
        unboarded = tuple(surface.name or surface.id for surface in found.surfaces if not surface.rows)
        rounded_to = supplier.bundle if bundle is None else bundle
        order = make_order(found.sheets, spares, rounded_to, supplier.delivery_price, own_spares)
        offers.append(Offer(supplier, found, order, unboarded, turned_away))
    return tuple(offers)
