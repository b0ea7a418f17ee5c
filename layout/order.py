"""The order: sheets of the plan, spares by rule, whole bundles, and what it all weighs and costs."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from layout.checks import JobError, finite, one_of, whole
from layout.lots import size_name
from layout.plan_types import OrderLine, Sheet
from layout.weights import board_weight_lb

__all__ = ["SPARE_RULES", "Extra", "Order", "OrderRow", "SpareRule", "make_order", "order_lines", "ordered"]

SPARE_RULES = ("longest", "longest_of_each", "percent", "none")
Size = tuple[str, float, float, float]


@dataclass(frozen=True, slots=True)
class SpareRule:
    """How many boards more than the plan uses.

    Attributes
    ----------
    rule : {"longest", "longest_of_each", "percent", "none"}
        `count` more of the longest board of the order (from which any shorter piece can be cut); the
        same for each kind and thickness; `percent` of each line, rounded up; none.
    count : int
        Two by default (common practice, no source).
    percent : float
        5 is a textbook's allowance (Dagostino & Peterson, Estimating in Building Construction, p. 203).
    """

    rule: str = "longest"
    count: int = 2
    percent: float = 5.0

    def __post_init__(self) -> None:
        one_of("rule", self.rule, SPARE_RULES)
        whole("count", self.count, 0, 100)
        finite("percent", self.percent, 0.0, 100.0, "")


@dataclass(frozen=True, slots=True)
class Extra:
    """What is bought of a job beyond the boards its plan uses.

    Attributes
    ----------
    spares : SpareRule
    own_spares : tuple of (str, int)
        The user's own number of spares of a size (`OrderRow.id`), which goes before the rule.
    bundle : int
        Counts are rounded up to a multiple of it: two by two as packed (a published submittal sheet).
    """

    spares: SpareRule = field(default_factory=SpareRule)
    own_spares: tuple[tuple[str, int], ...] = ()
    bundle: int = 2

    def __post_init__(self) -> None:
        whole("bundle", self.bundle, 1, 100)
        for _, number in self.own_spares:
            whole("own_spares", number, 0, 1000)


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One size to buy.

    Attributes
    ----------
    needed, spare, to_fill : int
        Used by the plan; more by the rule; more to make whole bundles.
    price, weight_lb : float
        Of one board; weight in the hands (`layout.weights`).
    """

    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    needed: int
    spare: int
    to_fill: int
    price: float
    weight_lb: float

    @property
    def id(self) -> str:
        """The size as one word."""
        return size_name(self.kind, self.thickness_in, self.width_in, self.length_in)

    @property
    def count(self) -> int:
        """Boards to buy."""
        return self.needed + self.spare + self.to_fill

    @property
    def area_sqft(self) -> float:
        """Area of all boards of the row."""
        return self.count * self.width_in * self.length_in / 144.0

    @property
    def total_weight_lb(self) -> float:
        """Weight of all boards of the row."""
        return self.count * self.weight_lb

    @property
    def cost(self) -> float:
        """Money for all boards of the row."""
        return self.count * self.price


@dataclass(frozen=True, slots=True)
class Order:
    """All rows, longest boards first, with their sums. `delivery_price` is added once."""

    rows: tuple[OrderRow, ...]
    delivery_price: float = 0.0

    @property
    def count(self) -> int:
        """Boards to buy."""
        return sum(row.count for row in self.rows)

    @property
    def area_sqft(self) -> float:
        """Area of all boards."""
        return sum(row.area_sqft for row in self.rows)

    @property
    def weight_lb(self) -> float:
        """Weight of all boards."""
        return sum(row.total_weight_lb for row in self.rows)

    @property
    def boards_cost(self) -> float:
        """Money for all boards."""
        return sum(row.cost for row in self.rows)

    @property
    def spare_cost(self) -> float:
        """Money for the spares."""
        return sum(row.spare * row.price for row in self.rows)

    @property
    def to_fill_cost(self) -> float:
        """Money for the boards that only fill a bundle."""
        return sum(row.to_fill * row.price for row in self.rows)

    @property
    def total(self) -> float:
        """Money for boards and delivery."""
        return self.boards_cost + (self.delivery_price if self.rows else 0.0)


def make_order(
    sheets: Iterable[Sheet],
    spares: SpareRule | None = None,
    bundle: int = 2,
    delivery_price: float = 0.0,
    own_spares: Mapping[str, int] | None = None,
) -> Order:
    """The order for the sheets of a plan.

    Parameters
    ----------
    sheets : iterable of Sheet
        Those the plan uses.
    spares : SpareRule or None
        None is the default rule.
    bundle : int
        Counts are rounded up to a multiple of it; 1 leaves them.
    own_spares : mapping of str to int or None
        The user's own number of spares of a size (`OrderRow.id`), which goes before the rule.

    Examples
    --------
    >>> sheet = Sheet(1, "regular", 0.5, 48.0, 144.0, 24.0)
    >>> row = make_order([sheet] * 5).rows[0]
    >>> row.needed, row.spare, row.to_fill, row.count, row.cost
    (5, 2, 1, 8, 192.0)
    """
    whole("bundle", bundle, 1, 100)
    rule = spares or SpareRule()
    counts: Counter[Size] = Counter()
    prices: dict[Size, float] = {}
    for sheet in sheets:
        size = (sheet.kind, sheet.thickness_in, sheet.width_in, sheet.length_in)
        counts[size] += 1
        prices[size] = sheet.price
    more = _spares(counts, rule)
    rows = []
    for size, needed in counts.items():
        spare = more[size]
        wanted = (own_spares or {}).get(size_name(*size))
        if wanted is not None:
            if isinstance(wanted, bool) or not isinstance(wanted, int) or not 0 <= wanted <= 1000:
                raise JobError("own_spares", f"{wanted!r:.40} is no number of boards: write 0 to 1000.")
            spare = wanted
        to_fill = -(needed + spare) % bundle
        rows.append(
            OrderRow(*size, needed, spare, to_fill, prices[size], board_weight_lb(*size)),
        )
    rows.sort(key=lambda row: (row.kind, row.thickness_in, -row.length_in, -row.width_in))
    return Order(tuple(rows), delivery_price)


def ordered(sheets: Iterable[Sheet], extra: Extra) -> tuple[OrderLine, ...]:
    """The sheets of a plan and what is bought beyond them, as lines of that plan."""
    return order_lines(make_order(sheets, extra.spares, extra.bundle, own_spares=dict(extra.own_spares)))


def order_lines(order: Order) -> tuple[OrderLine, ...]:
    """The order as lines of a plan."""
    return tuple(
        OrderLine(
            row.kind,
            row.thickness_in,
            row.width_in,
            row.length_in,
            row.needed,
            row.spare,
            row.price,
            row.to_fill,
        )
        for row in order.rows
    )


def _spares(counts: Mapping[Size, int], rule: SpareRule) -> Mapping[Size, int]:
    more: dict[Size, int] = defaultdict(int)
    if rule.rule == "percent":
        for size, count in counts.items():
            more[size] = math.ceil(count * rule.percent / 100.0 - 1e-9)
    elif rule.rule != "none" and counts:
        groups: dict[tuple[str, float], list[Size]] = defaultdict(list)
        for size in counts:
            groups[(size[0], size[1]) if rule.rule == "longest_of_each" else ("", 0.0)].append(size)
        for sizes in groups.values():
            # of two equally long ones the wider serves both, of two equally wide ones the commoner
            more[max(sizes, key=lambda size: (size[3], size[2], counts[size], size[0]))] = rule.count
    return more
