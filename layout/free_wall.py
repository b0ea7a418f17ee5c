"""Free wall: the stretches at the foot of a wall where boards can be put without blocking a way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from layout.framing import Surface
from layout.stack_types import PlaceWall

__all__ = ["DOOR_MARGIN_IN", "free_stretches", "place_walls"]

DOOR_MARGIN_IN = 6.0
"""Kept free on either side of a door's rough opening: leaf and elbows (common practice, no source)."""
WAY_PAST_IN = 36.0
"""A hall is at least 36 in wide (IRC R311.6, value from memory): the way out of a door beside a corner."""
STACK_REACH_IN = 48.0
"""How far a board lying flat reaches into the room."""
SAME_LENGTH_IN = 4.0
"""A wall and a side of its ceiling are the same within this: boards and strapping lie between them."""


def free_stretches(wall: PlaceWall) -> tuple[tuple[float, float], ...]:
    """What is left of a wall between the blocked stretches, from left to right.

    Examples
    --------
    >>> free_stretches(PlaceWall("A", 200.0, blocked=((40.0, 80.0), (70.0, 90.0))))
    ((0.0, 40.0), (90.0, 200.0))
    """
    free, at = [], 0.0
    for left, right in sorted(wall.blocked):
        if left > at:
            free.append((at, min(left, wall.length_in)))
        at = max(at, right)
        if at >= wall.length_in:
            break
    if at < wall.length_in:
        free.append((at, wall.length_in))
    return tuple((left, right) for left, right in free if right > left)


def place_walls(
    surfaces: Sequence[Surface],
    rooms: Mapping[str, str],
    walkways: Mapping[str, Sequence[tuple[float, float]]] | None = None,
    depths_in: Mapping[str, float] | None = None,
    joins: Sequence[tuple[str, str]] = (),
) -> tuple[PlaceWall, ...]:
    """The walls of a job as places for boards.

    Parameters
    ----------
    surfaces : sequence of Surface
        In hanging order; only walls can have boards put at them.
    rooms : mapping of str to str
        Room of each surface.
    walkways : mapping of surface id to stretches, optional
        Further stretches to keep free: a way through, the window boards come in by.
    depths_in : mapping of surface id to inches, optional
        Free floor in front of a wall, as measured.  Where it is not given it is taken from the
        ceiling of the same room, if that is a plain rectangle with a side as long as the wall.
    joins : sequence of (str, str), optional
        Corners: the right end of the first wall meets the left end of the second.  A door close to
        a corner keeps the end of the neighbour's wall free too.
    """
    blocked = {
        surface.id: [
            (opening.left_in - DOOR_MARGIN_IN, opening.right_in + DOOR_MARGIN_IN)
            for opening in surface.openings
            if opening.kind != "window" and opening.bottom_in <= 12.0
        ]
        + list((walkways or {}).get(surface.id, ()))
        for surface in surfaces
        if surface.kind == "wall"
    }
    lengths = {surface.id: surface.width_in for surface in surfaces}
    ways = {wall: list(stretches) for wall, stretches in blocked.items()}
    for left_wall, right_wall in joins:
        if left_wall not in blocked or right_wall not in blocked:
            continue
        if any(left < STACK_REACH_IN for left, _ in ways[right_wall]):
            length_in = lengths[left_wall]
            blocked[left_wall].append((length_in - WAY_PAST_IN, length_in))
        if any(right > lengths[left_wall] - STACK_REACH_IN for _, right in ways[left_wall]):
            blocked[right_wall].append((0.0, WAY_PAST_IN))
    return tuple(
        PlaceWall(
            surface.id,
            surface.width_in,
            rooms.get(surface.id, ""),
            tuple(sorted(blocked[surface.id])),
            (depths_in or {}).get(surface.id) or _depth_by_ceiling(surface, surfaces, rooms),
            number,
        )
        for number, surface in enumerate(surfaces)
        if surface.kind == "wall"
    )


def _depth_by_ceiling(wall: Surface, surfaces: Sequence[Surface], rooms: Mapping[str, str]) -> float | None:
    """How deep the room is before a wall, from the ceiling over it; None when that cannot be told."""
    if wall.id not in rooms:
        return None
    for other in surfaces:
        if other.kind == "ceiling" and not other.outline and rooms.get(other.id) == rooms[wall.id]:
            for along, across in ((other.width_in, other.height_in), (other.height_in, other.width_in)):
                if abs(along - wall.width_in) <= SAME_LENGTH_IN:
                    return across
    return None
