"""What to do next in a job: one thing, the same on every screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from ui.framed import Framed


@dataclass(frozen=True)
class Step:
    """The next thing to do.

    Attributes
    ----------
    code : str
        Its words are under ``next.<code>``.
    place : str
        The screen it is done on.
    surface_id : str
        The surface it concerns; "" for the whole job.
    values : dict
        What the words are filled in with.
    """

    code: str
    place: str
    surface_id: str = ""
    values: dict[str, object] = field(default_factory=dict)


def next_step(everything: Sequence[Framed]) -> Step:
    """The first thing that is still open: a wall at all, walls that need help or a known length, doubts,
    proposed openings, photos to read. A known length comes before the studs that hang on it."""
    if not everything:
        return Step("first_wall", "job")
    for each in everything:
        if each.read and each.framing is None:
            return Step("help_wall", "wall", each.surface.surface_id, {"name": each.surface.name})
    for each in everything:
        if each.guessed:
            return Step("length", "wall", each.surface.surface_id, {"name": each.surface.name})
    for each in everything:
        if each.rough:
            return Step("marks", "wall", each.surface.surface_id, {"name": each.surface.name})
    for each in everything:
        if each.doubtful:
            return Step(
                "doubt",
                "wall",
                each.surface.surface_id,
                {"n": each.doubtful, "name": each.surface.name},
            )
    for each in everything:
        if each.proposed:
            values: dict[str, object] = {"n": each.proposed, "name": each.surface.name}
            return Step("openings", "wall", each.surface.surface_id, values)
    unread = [each.surface for each in everything if not each.read]
    if unread:
        return Step("read", "wall", unread[0].surface_id, {"n": len(unread), "name": unread[0].name})
    return Step("order", "order")
