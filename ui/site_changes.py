"""What has changed in the plan since an order was taken along, or since hanging began."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from layout import Plan, SurfacePlan
from layout.delivery import OrderedLine
from layout.plan_types import Row
from ui.delivery_view import placed_lines

__all__ = ["LineChange", "SurfaceChanges", "line_changes", "places_changed", "surface_changes"]


@dataclass(frozen=True, slots=True)
class LineChange:
    """One size of which the plan now wants another number of boards than the order that is counted."""

    line: OrderedLine
    before: int
    now: int


@dataclass(frozen=True, slots=True)
class SurfaceChanges:
    """What the user calls the surfaces that are gone, new, or boarded otherwise than when hanging began."""

    gone: tuple[str, ...] = ()
    new: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.gone or self.new or self.changed)


def line_changes(placed: dict[str, Any], now: dict[str, Any]) -> tuple[LineChange, ...]:
    """The sizes that differ between two orders as `delivery_view.placed_order` makes them."""
    before = {line.line: line for line in placed_lines(placed)}
    after = {line.line: line for line in placed_lines(now)}
    counts = {
        name: (before[name].count if name in before else 0, after[name].count if name in after else 0)
        for name in {**before, **after}
    }
    return tuple(
        LineChange(before.get(name) or after[name], was, wanted)
        for name, (was, wanted) in counts.items()
        if was != wanted
    )


def places_changed(placed: dict[str, Any], now: dict[str, Any]) -> bool:
    """Whether boards go to other stacks now than those that were taken along."""
    return placed.get("places", {}) != now.get("places", {})


def surface_changes(
    hung: Plan, hung_names: Mapping[str, str], now: Plan, now_names: Mapping[str, str]
) -> SurfaceChanges:
    """How the boards of a plan differ from those being hung.

    A surface that only has another name is the same; which sheet a piece is cut from does not count,
    since spoiled boards change that.
    """
    before = {surface.id: _boards(surface) for surface in hung.surfaces if surface.rows}
    after = {surface.id: _boards(surface) for surface in now.surfaces if surface.rows}
    gone = [name for name in before if name not in after]
    new = [name for name in after if name not in before]
    for name in tuple(gone):
        renamed = next((other for other in new if after[other] == before[name]), None)
        if renamed is not None:
            gone.remove(name)
            new.remove(renamed)
    changed = [name for name in before if name in after and before[name] != after[name]]
    return SurfaceChanges(
        tuple(hung_names.get(name, name) for name in gone),
        tuple(now_names.get(name, name) for name in new),
        tuple(hung_names.get(name, name) for name in changed),
    )


def _boards(surface: SurfacePlan) -> tuple[object, ...]:
    """Where its boards lie and what is cut out of them, to a hair: all that its card shows of the wall."""
    return (
        _hair(surface.width_in, surface.height_in),
        tuple((row.direction, _places(row)) for row in surface.rows),
    )


def _places(row: Row) -> tuple[object, ...]:
    return tuple(
        (
            _hair(piece.left_in, piece.right_in, piece.bottom_in, piece.top_in),
            tuple(_hair(hole.left_in, hole.right_in, hole.bottom_in, hole.top_in) for hole in piece.cutouts),
        )
        for piece in row.pieces
    )


def _hair(*places_in: float) -> tuple[float, ...]:
    return tuple(round(at, 4) for at in places_in)
