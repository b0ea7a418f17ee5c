"""Everything that is bought for a job: the order, what goes with it, and what cannot get in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from layout import Job, Plan
from layout.access import boards_that_come, longest_way
from layout.accessories import Accessories, accessories_of
from layout.lifting import lifts_of
from layout.offers import Offer, offers_of, without_width
from layout.order import Order, order_lines
from layout.prices import Supplier
from layout.stock import Board
from ui.buying import Buying, order_by_choices
from ui.unboarded import unboarded

__all__ = [
    "Bought",
    "bought",
    "offers_for",
    "offers_json",
    "order_json",
    "stopped_boards",
    "turned_away_json",
]

WIDE_IN = 50.0
"""Wider boards are those made for high walls, 54 in in North America (a builders' magazine)."""


@dataclass(frozen=True)
class Bought:
    """A job as it is bought.

    Attributes
    ----------
    turned_away : tuple of (Board, str)
        Boards on sale that cannot get in, each with the name of the passage that stops it.
    left_out : tuple of str
        What was not planned: the names of those surfaces, or a sentence for each.
    guessed : tuple of str
        What the user calls the walls whose scale is a guess.
    placeholder : bool
        Whether nobody gave the prices.
    """

    name: str
    supplier: str
    plan: Plan
    order: Order
    accessories: Accessories
    turned_away: tuple[tuple[Board, str], ...] = ()
    left_out: tuple[str, ...] = ()
    guessed: tuple[str, ...] = ()
    placeholder: bool = False


def bought(
    job: Job,
    plan: Plan,
    buying: Buying,
    rooms: dict[str, str],
    on_sale: tuple[Board, ...] = (),
    left_out: tuple[str, ...] = (),
) -> Bought:
    """The order and all that goes with it, by the user's choices."""
    order = order_by_choices(plan, buying)
    goes_with = accessories_of(plan, job.surfaces, order, buying.corners, rooms, job.rules.market)
    return Bought(
        job.name,
        buying.chosen,
        plan,
        order,
        goes_with,
        stopped_boards(on_sale, buying, [rooms.get(s.id, "") for s in job.surfaces]),
        left_out,
    )


def stopped_boards(
    on_sale: tuple[Board, ...], buying: Buying, rooms: Iterable[str] = ()
) -> tuple[tuple[Board, str], ...]:
    """The boards that cannot get in, with the passage that stops each on the way that comes nearest."""
    passing = set(boards_that_come(on_sale, buying.ways, rooms))
    stopped = []
    for board in on_sale:
        if board not in passing:
            _, _, passage = longest_way(buying.ways, board.width_in, board.thickness_in)
            stopped.append((board, "" if passage is None else passage.name))
    return tuple(stopped)


def offers_for(
    job: Job,
    on_sale: tuple[Board, ...],
    buying: Buying,
    own_name: str,
    without: Callable[[float], str],
    plan: Callable[[Job], Plan],
    rooms: dict[str, str] | None = None,
    usual: tuple[Board, ...] = (),
) -> tuple[Offer, ...]:
    """The job with every supplier, and what it becomes if the one bought from had no wide (54 in) boards.

    That last line is there only where the one bought from is planned with wide boards, and has others: else
    it would repeat the first, or board nothing. `own_name` names the list of the walls' screens, `without`
    one that lacks boards of a width. Such a list holds only the widths that walls ask for: `usual` are the
    boards that stand in for its wide ones where all are.
    """
    now = buying.supplier
    own_list = on_sale if now is None else ()
    if now is None and on_sale:
        now = Supplier(own_name, on_sale[:200], bundle=buying.bundle_of)
    others = [each for each in buying.suppliers if now is None or each.name != now.name]

    def offered(suppliers: Sequence[Supplier | None], own_list: tuple[Board, ...]) -> tuple[Offer, ...]:
        return offers_of(
            job,
            [each for each in suppliers if each is not None],
            buying.ways,
            plan,
            buying.spares,
            buying.bundle,
            buying.own_spares,
            rooms,
            own_list,
        )

    # the job's own list swaps no width side by side either, or its sum were not that of the order
    first = offered([now], own_list)
    wide_in = max((sheet.width_in for o in first if o.plan for sheet in o.plan.sheets), default=0.0)
    narrow = None
    if now is not None and wide_in > WIDE_IN:
        narrow = without_width(now, wide_in, without(wide_in))
        if narrow is None and own_list and usual:
            narrow = replace(now, name=without(wide_in), boards=usual)
    return (*first, *offered(others, ()), *offered([narrow], own_list))


def order_json(all_of_it: Bought) -> dict[str, Any]:
    """What ``seamwright order --json`` prints."""
    order, goes_with = all_of_it.order, all_of_it.accessories
    return {
        "name": all_of_it.name,
        "supplier": all_of_it.supplier,
        "lines": [
            {
                **asdict(row),
                "id": row.id,
                "count": row.count,
                "area_sqft": row.area_sqft,
                "total_weight_lb": row.total_weight_lb,
                "cost": row.cost,
            }
            for row in order.rows
        ],
        "totals": totals_json(order),
        "accessories": {
            **asdict(goes_with),
            "joints": {**asdict(goes_with.joints), "total_ft": goes_with.joints.total_ft},
        },
        "lifts": [asdict(lift) for lift in lifts_of(order_lines(order))],
        "turned_away": turned_away_json(all_of_it.turned_away),
        "left_out": [*all_of_it.left_out, *unboarded(all_of_it.plan)],
        "warnings": [asdict(warning) for warning in all_of_it.plan.warnings],
    }


def totals_json(order: Order) -> dict[str, Any]:
    """The sums of an order."""
    return {
        "boards": order.count,
        "area_sqft": order.area_sqft,
        "weight_lb": order.weight_lb,
        "boards_cost": order.boards_cost,
        "spare_cost": order.spare_cost,
        "to_fill_cost": order.to_fill_cost,
        "delivery_price": order.delivery_price,
        "total": order.total,
    }


def offers_json(offers: tuple[Offer, ...], guessed: tuple[str, ...] = ()) -> dict[str, Any]:
    """What ``seamwright prices --json`` prints: the suppliers side by side; `guessed` as in `Bought`."""
    return {
        "guessed": list(guessed),
        "offers": [
            {
                "supplier": offer.supplier.name,
                "complete": offer.complete,
                "unboarded": list(offer.unboarded),
                "butt_joint_ft": offer.butt_joint_ft,
                "lines": [
                    {"id": row.id, "count": row.count, "price": row.price, "cost": row.cost}
                    for row in offer.order.rows
                ],
                "totals": totals_json(offer.order),
                "turned_away": [asdict(board) for board in offer.turned_away],
            }
            for offer in offers
        ],
    }


def turned_away_json(boards: tuple[tuple[Board, str], ...]) -> list[dict[str, Any]]:
    """Boards that cannot get in, with what stops them."""
    return [{**asdict(board), "stopped_by": name} for board, name in boards]
