"""A job: the surfaces to board together, what can be bought, and under which rules."""

from __future__ import annotations

from dataclasses import dataclass, field

from layout.checks import JobError, text
from layout.framing import Surface
from layout.markets import Prefs, Rules
from layout.order import Extra
from layout.stock import US_STOCK, Board, check_stock

__all__ = ["Job"]


@dataclass(frozen=True, slots=True)
class Job:
    """Surfaces that share sheets and off-cuts.

    Attributes
    ----------
    surfaces : tuple of Surface
        Ids are unique; `Surface.opposite_of`, `corner_left` and `corner_right` name others.
    stock : tuple of Board
    rules : Rules
    prefs : Prefs
    name : str
    extra : Extra
        What is bought beyond the boards of the plan; the plan itself does not depend on it.
    """

    surfaces: tuple[Surface, ...]
    stock: tuple[Board, ...] = US_STOCK
    rules: Rules = field(default_factory=Rules)
    prefs: Prefs = field(default_factory=Prefs)
    name: str = ""
    extra: Extra = field(default_factory=Extra)

    def __post_init__(self) -> None:
        text("name", self.name, empty_allowed=True)
        check_stock(self.stock)
        ids = [surface.id for surface in self.surfaces]
        for number, surface in enumerate(self.surfaces):
            if ids.index(surface.id) != number:
                raise JobError(f"surfaces[{number}].id", f"{surface.id!r} is there twice.")
            for name in ("opposite_of", "corner_left", "corner_right"):
                other = getattr(surface, name)
                if other and (other not in ids or other == surface.id):
                    raise JobError(f"surfaces[{number}].{name}", f"there is no other surface {other!r}.")
