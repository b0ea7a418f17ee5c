"""The plan as the work on site needs it: what is boarded, in which rooms, and which walls are left out."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace

from layout import Job, Plan, rules_for
from ui.job_plan import plan_boards, plan_names, room_of
from ui.kept_job import KeptJobError, job_to_board, surface_to_board
from ui.market import market_of
from ui.store import Job as KeptJob
from ui.store import Store
from ui.unboarded import unboarded

__all__ = ["SitePlan", "called", "guessed_names", "room_of", "site_plan"]

_MOST_KEPT = 8
_kept: OrderedDict[tuple[object, ...], SitePlan] = OrderedDict()


@dataclass(frozen=True)
class SitePlan:
    """A job with its plan.

    Attributes
    ----------
    rooms : dict
        Room of each surface, by the id it has in the plan.
    names : dict
        What the user calls each surface, by the same id (the id tells two of one name apart).
    left_out : tuple of str
        One sentence for each surface that could not be planned.
    """

    job: Job
    plan: Plan
    rooms: dict[str, str]
    left_out: tuple[str, ...] = ()
    names: dict[str, str] = field(default_factory=dict)

    @property
    def guessed(self) -> tuple[str, ...]:
        """Surfaces whose scale is a guess, by the id they have in the plan."""
        return tuple(surface.id for surface in self.job.surfaces if surface.guessed)

    @property
    def unboarded(self) -> tuple[str, ...]:
        """One sentence for each surface that gets no boards: left out, or without any that fit it."""
        return (*self.left_out, *unboarded(self.plan))

    def called(self, surfaces: Iterable[str]) -> str:
        """Surfaces as people say them, by room: "Den: North wall, Ceiling; Bath: Ceiling"."""
        return called(surfaces, self.rooms, self.names)


def called(surfaces: Iterable[str], rooms: Mapping[str, str], names: Mapping[str, str]) -> str:
    """Surfaces of the plan as people say them, gathered by room."""
    by_room: dict[str, list[str]] = {}
    for surface in surfaces:
        by_room.setdefault(rooms.get(surface, ""), []).append(names.get(surface, surface))
    return "; ".join(
        f"{room}: {', '.join(inside)}" if room else ", ".join(inside) for room, inside in by_room.items()
    )


def guessed_names(store: Store, kept: KeptJob) -> str:
    """The surfaces of a kept job that rest on a guessed length, as people say them; no plan is made."""
    names, market = plan_names(kept), market_of(kept.settings)
    guessed = []
    for surface in kept.surfaces:
        with suppress(KeptJobError):  # one that cannot be boarded has no boards to be wrong
            if surface_to_board(store, surface, names[surface.surface_id], market).guessed:
                guessed.append(surface)
    return called(
        (names[each.surface_id] for each in guessed),
        {names[each.surface_id]: room_of(each) for each in guessed},
        {names[each.surface_id]: each.name for each in guessed},
    )


def site_plan(store: Store, kept: KeptJob) -> SitePlan:
    """The plan of all surfaces of a kept job that can be planned.

    Photos that were not read yet are read now. The same job is planned once.
    """
    key = (
        store.file,
        kept.job_id,
        kept.revision,
        kept.name,
        tuple((s.state, s.name) for s in kept.surfaces),
    )
    if key not in _kept:
        _kept[key] = _planned(store, kept)
        while len(_kept) > _MOST_KEPT:
            _kept.popitem(last=False)
    return _kept[key]


def _planned(store: Store, kept: KeptJob) -> SitePlan:
    names, market = plan_names(kept), market_of(kept.settings)
    good, left_out = [], []
    for surface in kept.surfaces:
        try:
            surface_to_board(store, surface, names[surface.surface_id], market)
            good.append(surface)
        except KeptJobError as fault:
            left_out.append(str(fault))
    # a name keeps its number also when a wall of the same name is left out
    named = tuple(replace(surface, name=names[surface.surface_id]) for surface in good)
    try:
        job = job_to_board(store, replace(kept, surfaces=named), kept)
    except KeptJobError as fault:  # no board to choose from
        return SitePlan(Job((), rules=rules_for(market), name=kept.name), Plan(), {}, (*left_out, str(fault)))
    rooms = {names[surface.surface_id]: room_of(surface) for surface in good}
    plan = plan_boards(job) if job.surfaces and job.stock else Plan()
    called_so = {names[surface.surface_id]: surface.name for surface in good}
    return SitePlan(job, plan, rooms, tuple(left_out), called_so)
