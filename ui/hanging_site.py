"""The hanging of a kept job: the plan that is being hung, kept as it was when the work began.

A later change of a wall does not move boards that are cut already. Spoiled boards change this kept plan
and nothing else (`layout.repair`).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from layout import Job, Plan, plan_to_json, read_job, write_job
from layout.hanging import SurfaceCard, cards_of
from layout.hanging_day import TAPS, Progress, Spoil, progress_of
from layout.leftovers import Area
from layout.plan_file import read_plan
from layout.plan_types import Sheet
from layout.repair import Size, repair
from layout.stack_types import StackPlan
from ui import delivery_view, site_store
from ui.sheets_in_stacks import Held, held_from_json, held_to_json, stack_of_sheets, stacks_by_surface
from ui.site_plan import SitePlan
from ui.site_taps import kept_taps
from ui.store import Store
from ui.store_schema import StaleEdit

__all__ = ["Hanging", "begin_hanging", "hanging_of", "stacks_by_surface"]

PART = LOG = "hanging"


@dataclass(frozen=True)
class Hanging:
    """The work at hand.

    Attributes
    ----------
    moved : frozenset of int
        Pieces that have another sheet than planned, because a board was spoiled.
    bought : tuple of Sheet
        Sheets that must be bought on top of the order.
    from_spares : tuple of Sheet
        Sheets taken from the spares in the stacks.
    names : dict
        What the user calls each surface, by its id in the plan.
    missing : dict
        Sheets of the plan that did not come (or came damaged), by size; known once the delivery is over.
    stacks : tuple of Held
        What the stacks hold; empty where nobody knows.
    taken : dict
        The stack of each sheet as it was told when the work began: a spoiled board moves no other.
    guessed : frozenset of str
        Surfaces whose scale was a guess when the work began.
    """

    job: Job
    plan: Plan
    rooms: dict[str, str]
    cards: tuple[SurfaceCard, ...]
    progress: Progress
    stacks: tuple[Held, ...]
    moved: frozenset[int] = frozenset()
    bought: tuple[Sheet, ...] = ()
    from_spares: tuple[Sheet, ...] = ()
    names: dict[str, str] = field(default_factory=dict)
    missing: dict[Size, int] = field(default_factory=dict)
    taken: dict[int, int] = field(default_factory=dict)
    guessed: frozenset[str] = frozenset()

    @property
    def stack_of(self) -> dict[int, int]:
        """The stack that each sheet is taken from, by the sheet's id."""
        return stack_of_sheets(self.plan, self.stacks, self.taken, {sheet.id for sheet in self.bought})


def begin_hanging(
    store: Store,
    job_id: str,
    found: SitePlan,
    stacks: StackPlan,
    revision: int,
) -> None:
    """Keep the plan as it is now: from here on it is this one that is hung.

    The spares of its order stand in for spoiled boards.
    """
    held = stacks_by_surface(stacks)
    value = {
        "job": write_job(found.job),
        "plan": plan_to_json(found.plan),
        "rooms": found.rooms,
        "names": found.names,
        "held": held_to_json(held),
        "taken": [[sheet, number] for sheet, number in stack_of_sheets(found.plan, held).items()],
        "guessed": list(found.guessed),
        "handled": [],
        "gone": [],
        "moved": [],
        "bought": [],
        "spares": [],
    }
    site_store.keep_part(store, job_id, PART, value, revision)


def hanging_of(store: Store, job_id: str) -> Hanging | None:
    """The work at hand, every spoiled board that was reported dealt with; None before it began."""
    value, revision = site_store.part(store, job_id, PART)
    if value is None:
        return None
    progress = progress_of(kept_taps(store, job_id, LOG, TAPS))
    new = [spoil for spoil in progress.spoils if spoil.id not in value["handled"]]
    if new:
        value = _repaired(value, new, progress, _on_hand(store, job_id, value))
        try:
            site_store.keep_part(store, job_id, PART, value, revision)
        except StaleEdit:  # another window dealt with it in the same moment: its answer stands
            return hanging_of(store, job_id)
    job, plan = read_job(value["job"]), read_plan(value["plan"])
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    return Hanging(
        job,
        plan,
        value["rooms"],
        cards_of(plan, job.surfaces, value["rooms"], job.rules.market),
        progress,
        # kept before each sheet had its stack: only the first stack of a size was known then
        held_from_json(value.get("held", ())),
        frozenset(value["moved"]),
        tuple(sheets[number] for number in value["bought"] if number in sheets),
        tuple(sheets[number] for number in value["spares"] if number in sheets),
        value.get("names", {}),
        _missing(store, job_id, plan, value["bought"]),
        dict(value.get("taken", ())),
        frozenset(value.get("guessed", ())),
    )


def _repaired(
    value: dict[str, Any], new: list[Spoil], progress: Progress, on_hand: dict[Size, int]
) -> dict[str, Any]:
    """The kept value with these spoiled boards dealt with, one after the other."""
    plan = read_plan(value["plan"])
    known = {cut.piece for sheet in plan.sheets for cut in sheet.cuts}
    gone: tuple[tuple[int, Area], ...] = tuple((sheet, (*area,)) for sheet, area in value["gone"])
    moved, bought, spares = list(value["moved"]), list(value["bought"]), list(value["spares"])
    for spoil in new:
        if spoil.piece not in known:
            continue
        fixed = repair(plan, spoil.piece, progress.hung, on_hand, gone, spoil.whole_sheet)
        plan, gone = fixed.plan, fixed.gone
        moved += [piece for piece, _ in fixed.moved]
        bought += fixed.bought
        spares += fixed.spares
    return {
        **value,
        "plan": plan_to_json(plan),
        "gone": [[sheet, list(area)] for sheet, area in gone],
        "handled": [*value["handled"], *(spoil.id for spoil in new)],
        "moved": sorted(set(moved)),
        "bought": bought,
        "spares": spares,
    }


def _came(store: Store, job_id: str) -> tuple[dict[Size, int], bool]:
    """Usable boards of each size as counted on delivery day, and whether the delivery is over."""
    placed, _ = site_store.part(store, job_id, delivery_view.PART)
    if placed is None:
        return {}, False
    day = delivery_view.counted(store, job_id, placed)
    if not any(tally.arrived for tally in day.tallies):
        return {}, False
    counts = {
        (t.ordered.kind, t.ordered.thickness_in, t.ordered.width_in, t.ordered.length_in): t.usable
        for t in day.tallies
    }
    return counts, day.finished


def _missing(store: Store, job_id: str, plan: Plan, bought: list[int]) -> dict[Size, int]:
    """Sheets of the plan that are not on site, once the delivery is over."""
    came, finished = _came(store, job_id)
    if not finished:
        return {}
    needed: Counter[Size] = Counter(
        (s.kind, s.thickness_in, s.width_in, s.length_in) for s in plan.sheets if s.id not in bought
    )
    return {size: n - came.get(size, 0) for size, n in needed.items() if n > came.get(size, 0)}


def _on_hand(store: Store, job_id: str, value: dict[str, Any]) -> dict[Size, int]:
    """Boards of each size that are on site: as counted on delivery day, else as ordered."""
    came, _ = _came(store, job_id)
    if came:
        return came
    counts: Counter[Size] = Counter()
    for line in read_plan(value["plan"]).order:
        counts[(line.kind, line.thickness_in, line.width_in, line.length_in)] += line.to_buy
    return dict(counts)
