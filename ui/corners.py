"""How the walls of a room meet: kept for each room in the job's settings, and laid on the walls to board.

The user says it once for a room: each wall meets the next of the list at its right (or left) end, as one
stands in the room and looks at it. The walls hang in the order of the list, so at each corner the board
of the earlier one runs in and that of the later one butts against it (`layout.corners`).
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

from layout import JobError
from layout import Surface as BoardedSurface
from ui.by_hand import SETTING as BY_HAND
from ui.store import Job, Surface

__all__ = ["SETTING", "WAYS", "check_ways", "walls_of", "ways_for", "ways_of", "with_corners"]

SETTING = "corners"
WAYS = ("right", "left", "right_open", "left_open")
"""At which end of a wall the next one begins; `_open`: the last wall does not meet the first."""
LEAST_ROUND = 3
MOST_ROOMS = 500


def ways_of(settings: dict[str, Any]) -> dict[str, str]:
    """What was said of each room, by its name; what no room can have is left out."""
    kept = settings.get(SETTING)
    return {} if not isinstance(kept, dict) else {r: way for r, way in kept.items() if way in list(WAYS)}


def check_ways(settings: dict[str, Any]) -> None:
    """Refuse, in a job from elsewhere, what no room can have.

    Raises
    ------
    JobError
        Names the setting and says what to do.
    """
    kept = settings.get(SETTING)
    if kept is None:
        return
    if not isinstance(kept, dict) or len(kept) > MOST_ROOMS or len(ways_of(settings)) != len(kept):
        raise JobError(SETTING, "must say for each room how its walls meet: choose it again for the room.")


def ways_for(walls: int) -> tuple[str, ...]:
    """What can be said of a room with so many walls in the job."""
    return () if walls < 2 else WAYS if walls >= LEAST_ROUND else ("right_open", "left_open")


def walls_of(job: Job, room: str) -> tuple[Surface, ...]:
    """The walls of a room in the order of the list."""
    return tuple(s for s in job.surfaces if str(s.settings.get("room") or "") == room and _is_wall(s))


def with_corners(
    boarded: tuple[BoardedSurface, ...], kept: Job, names: dict[str, str]
) -> tuple[BoardedSurface, ...]:
    """The surfaces to board with the walls that they meet.

    Parameters
    ----------
    boarded : tuple of layout.Surface
        Those of the job that can be boarded; a corner with another wall is left open.
    kept : Job
        The whole job: the list goes by all of its walls.
    names : dict
        Name in the plan by id of the kept surface.
    """
    ways = ways_of(kept.settings)
    by_name = {surface.id: surface for surface in boarded}
    for room, way in ways.items():
        walls = [names[each.surface_id] for each in walls_of(kept, room)]
        if way not in ways_for(len(walls)):
            continue
        pairs = list(itertools.pairwise(walls))
        if not way.endswith("_open"):
            pairs.append((walls[-1], walls[0]))
        end, start = ("left", "right") if way.startswith("left") else ("right", "left")
        for one, two in pairs:
            if one in by_name and two in by_name:
                by_name[one] = replace(by_name[one], **{f"corner_{end}": two})  # type: ignore[arg-type]
                by_name[two] = replace(by_name[two], **{f"corner_{start}": one})  # type: ignore[arg-type]
    return tuple(by_name[surface.id] for surface in boarded)


def _is_wall(surface: Surface) -> bool:
    """Whether it is a wall: all that was photographed is, and what was entered with studs."""
    hand = surface.settings.get(BY_HAND)
    return not isinstance(hand, dict) or hand.get("framing") == "studs"
