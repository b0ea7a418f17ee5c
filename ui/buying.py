"""What a job keeps about buying: suppliers and their lists, spares, the ways in, corners to be taped.

Kept in the job's settings under ``buying`` as plain JSON with a version; what is damaged or comes from a
newer release is refused in one sentence, never half read.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from typing import Any

from layout import Board, JobError, Plan
from layout.access import Corner, Gap, Passage, Stairs, Way
from layout.accessories import Corners
from layout.order import Extra, Order, SpareRule, make_order
from layout.prices import KINDS, Supplier
from layout.stock import THICKEST_IN, THINNEST_IN

__all__ = [
    "Buying",
    "board_choice",
    "buying_from_json",
    "buying_of",
    "buying_to_json",
    "order_by_choices",
    "passage_from_json",
]

SETTING = "buying"
VERSION = 1
MOST = 200
PASSAGES: dict[str, type[Gap] | type[Corner] | type[Stairs]] = {
    "gap": Gap,
    "corner": Corner,
    "stairs": Stairs,
}


@dataclass(frozen=True)
class Buying:
    """All choices about buying.

    Attributes
    ----------
    suppliers : tuple of Supplier
        The user's own; empty until a list is entered.
    chosen : str
        Name of the supplier bought from; "" for the lengths ticked on the walls' screens.
    bundle : int or None
        The user's own rounding; None is the supplier's.
    own_spares : dict
        Spares of single sizes that the user set himself, by the size's id.
    """

    suppliers: tuple[Supplier, ...] = ()
    chosen: str = ""
    spares: SpareRule = field(default_factory=SpareRule)
    bundle: int | None = None
    own_spares: dict[str, int] = field(default_factory=dict)
    ways: tuple[Way, ...] = ()
    corners: Corners = field(default_factory=Corners)

    @property
    def supplier(self) -> Supplier | None:
        """The supplier bought from."""
        return next((each for each in self.suppliers if each.name == self.chosen), None)

    @property
    def bundle_of(self) -> int:
        """What counts are rounded up to a multiple of."""
        if self.bundle is not None:
            return self.bundle
        return 2 if self.supplier is None else self.supplier.bundle

    @property
    def extra(self) -> Extra:
        """What is bought beyond the boards of the plan."""
        return Extra(self.spares, tuple(sorted(self.own_spares.items())), self.bundle_of)

    def with_supplier(self, supplier: Supplier) -> Buying:
        """The same with this supplier put in, in the place of one of the same name."""
        others = tuple(each for each in self.suppliers if each.name != supplier.name)
        return replace(self, suppliers=(*others, supplier))


def buying_of(settings: dict[str, Any]) -> Buying:
    """The choices kept in a job's settings.

    Raises
    ------
    JobError
        What is kept cannot be read.
    """
    kept = settings.get(SETTING)
    return Buying() if kept is None else buying_from_json(kept)


def buying_to_json(buying: Buying) -> dict[str, Any]:
    """Plain JSON; `buying_from_json` gives the same value back."""
    names = {kind: name for name, kind in PASSAGES.items()}
    return {
        "version": VERSION,
        "suppliers": [
            {**asdict(each), "boards": [asdict(board) for board in each.boards]} for each in buying.suppliers
        ],
        "chosen": buying.chosen,
        "spares": asdict(buying.spares),
        "bundle": buying.bundle,
        "own_spares": dict(buying.own_spares),
        "ways": [
            {
                "name": way.name,
                "rooms": list(way.rooms),
                "passages": [{"passage": names[type(each)], **asdict(each)} for each in way.passages],
            }
            for way in buying.ways
        ],
        "corners": asdict(buying.corners),
    }


def buying_from_json(data: Any) -> Buying:
    """Read what `buying_to_json` wrote; JobError for anything else."""
    if not isinstance(data, dict) or data.get("version") != VERSION:
        raise JobError(SETTING, "the prices and ways kept in this job come from another release.")
    try:
        suppliers = tuple(
            Supplier(
                **{**each, "boards": tuple(Board(**board) for board in _few(each["boards"]))},
            )
            for each in _few(data.get("suppliers", []))
        )
        ways = tuple(
            Way(
                str(way["name"])[:80],
                tuple(passage_from_json(each) for each in _few(way["passages"])),
                tuple(str(room)[:60] for room in _few(way.get("rooms", []))),
            )
            for way in _few(data.get("ways", []))
        )
        own = {str(name): number for name, number in dict(data.get("own_spares", {})).items()}
        if not all(type(number) is int and 0 <= number <= 1000 for number in own.values()):
            raise ValueError("spares")
        bundle = data.get("bundle")
        if bundle is not None and (type(bundle) is not int or not 1 <= bundle <= 100):
            raise ValueError("bundle")
        return Buying(
            suppliers,
            str(data.get("chosen", "")),
            SpareRule(**data.get("spares", {})),
            bundle,
            own,
            ways,
            Corners(**data.get("corners", {})),
        )
    except JobError as fault:
        raise fault.under(SETTING) from None
    except (TypeError, ValueError, KeyError, AttributeError) as fault:
        raise JobError(
            SETTING, "the prices and ways kept in this job are damaged: enter them again."
        ) from fault


def passage_from_json(data: dict[str, Any]) -> Passage:
    """One passage of a way."""
    given = dict(data)
    return PASSAGES[given.pop("passage")](**given)


def order_by_choices(plan: Plan, buying: Buying) -> Order:
    """The order for the sheets of a plan by what was chosen for it."""
    delivery = 0.0 if buying.supplier is None else buying.supplier.delivery_price
    return make_order(plan.sheets, buying.spares, buying.bundle_of, delivery, buying.own_spares)


def board_choice(settings: dict[str, Any], usual_in: float) -> tuple[str, float]:
    """Kind and thickness chosen for a surface; regular board of the usual thickness until chosen."""
    kind, kept = settings.get("board_kind"), settings.get("thickness_in")
    thickness_in = usual_in
    if isinstance(kept, (int, float)) and not isinstance(kept, bool) and THINNEST_IN <= kept <= THICKEST_IN:
        thickness_in = float(kept)
    return (kind if kind in KINDS else "regular", thickness_in)


def _few(items: Any) -> list[Any]:
    if not isinstance(items, list) or len(items) > MOST:
        raise ValueError("no list, or too long a one")
    return items
