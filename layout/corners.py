"""Inside corners: which board covers which gap, according to the wall that is hung first.

The board hung first runs into the corner, and may stop short of it by the thickness of the
board that will stand before it.  The one hung later starts at the face of the first.
(Common practice, no source.)
"""

from __future__ import annotations

from dataclasses import replace

from layout.framing import Surface
from layout.job import Job

__all__ = ["corners_settled"]


def corners_settled(job: Job) -> Job:
    """The job with its corners turned into covered gaps and taken stretches.

    Walls hang in the order in which the job lists them.
    """
    place = {surface.id: number for number, surface in enumerate(job.surfaces)}
    by_id = {surface.id: surface for surface in job.surfaces}
    surfaces = tuple(_settled(surface, by_id, place) for surface in job.surfaces)
    return job if surfaces == job.surfaces else replace(job, surfaces=surfaces)


def _settled(surface: Surface, by_id: dict[str, Surface], place: dict[str, int]) -> Surface:
    changes: dict[str, float] = {}
    for side in ("left", "right"):
        other = by_id.get(getattr(surface, f"corner_{side}"))
        if other is None:
            continue
        name = f"covered_{side}_in" if place[surface.id] < place[other.id] else f"taken_{side}_in"
        changes[name] = max(getattr(surface, name), other.thickness_in)
    return replace(surface, **changes) if changes else surface  # type: ignore[arg-type]
