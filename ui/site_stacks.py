"""The stacks of a kept job: the user's choices from the store, and the plan of stacks they give."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from layout.checks import JobError
from layout.free_wall import place_walls
from layout.lots import lots_of
from layout.stack_types import Lot, Moved, PlaceWall, Site, StackPlan
from layout.stacks import lot_limit, plan_stacks
from ui import site_store
from ui.site_plan import SitePlan
from ui.store import Job, Store

__all__ = [
    "KeptStacks",
    "StackChoices",
    "keep_choices",
    "kept_stacks",
    "read_choices",
    "stacks_of",
    "with_move",
]

PART = "stacks"
_MOST_MADE = 8


@dataclass(frozen=True)
class StackChoices:
    """What the user decided about the stacks of a job.

    `walkways` and `depths_in` are by the surface's id in the plan. `corners` holds pairs of walls: the
    right end of the first meets the left end of the second.
    """

    site: Site = field(default_factory=Site)
    moved: tuple[Moved, ...] = ()
    walkways: dict[str, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    depths_in: dict[str, float] = field(default_factory=dict)
    corners: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class KeptStacks:
    """The choices, the revision they were read under, and what they give."""

    choices: StackChoices
    revision: int
    lots: tuple[Lot, ...]
    walls: tuple[PlaceWall, ...]
    plan: StackPlan


_made: OrderedDict[tuple[Path, str, int], tuple[SitePlan, KeptStacks]] = OrderedDict()


def kept_stacks(store: Store, job: Job, found: SitePlan) -> KeptStacks:
    """The stacks of a job by the choices kept for it; for one plan and one set of choices made once."""
    value, revision = site_store.part(store, job.job_id, PART)
    key = (store.file, job.job_id, revision)
    made = _made.pop(key, None)
    if made is None or made[0] is not found:
        made = found, stacks_of(found, read_choices(value or {}), revision)
    _made[key] = made
    while len(_made) > _MOST_MADE:
        _made.popitem(last=False)
    return made[1]


def stacks_of(found: SitePlan, choices: StackChoices, revision: int) -> KeptStacks:
    """The stacks that these choices give for what the plan orders: its sheets, spares, whole bundles."""
    thickest = max((line.thickness_in for line in found.plan.order), default=0.5)
    lots = lots_of(found.plan, found.rooms, most=lot_limit(choices.site, thickest))
    walls = place_walls(found.job.surfaces, found.rooms, choices.walkways, choices.depths_in, choices.corners)
    return KeptStacks(choices, revision, lots, walls, plan_stacks(lots, walls, choices.site, choices.moved))


def keep_choices(store: Store, job_id: str, choices: StackChoices, revision: int) -> None:
    """Keep the user's choices about the stacks."""
    value = {
        "site": asdict(choices.site),
        "moved": [asdict(move) for move in choices.moved],
        "walkways": {wall: [list(at) for at in stretches] for wall, stretches in choices.walkways.items()},
        "depths_in": choices.depths_in,
        "corners": [list(pair) for pair in choices.corners],
    }
    site_store.keep_part(store, job_id, PART, value, revision)


def read_choices(value: dict[str, Any]) -> StackChoices:
    """The choices from what was kept; what cannot be read any more is left at its default."""
    try:
        site = Site(**value.get("site", {}))
    except (TypeError, JobError):
        site = Site()
    try:
        moved = tuple(Moved(**move) for move in value.get("moved", ()))
    except (TypeError, JobError):
        moved = ()
    walkways = {
        wall: tuple((float(left), float(right)) for left, right in stretches)
        for wall, stretches in value.get("walkways", {}).items()
    }
    depths = {wall: float(depth) for wall, depth in value.get("depths_in", {}).items()}
    corners = tuple((str(left), str(right)) for left, right in value.get("corners", ()))
    return StackChoices(site, moved, walkways, depths, corners)


def with_move(choices: StackChoices, lots: Sequence[Lot], move: Moved | None) -> StackChoices:
    """The choices with these lots moved together, or left to the program again (`move` None)."""
    ids = {lot.id for lot in lots}
    others = tuple(kept for kept in choices.moved if kept.lot not in ids)
    new = () if move is None else tuple(replace(move, lot=lot.id) for lot in lots)
    return replace(choices, moved=(*others, *new))
