"""Doors and windows proposed from their framing, in wall inches; the user accepts or drops each."""

from __future__ import annotations

from vision.placing import Placed
from vision.reading import Opening
from vision.survey import Survey

MEMBER_NEAR = 0.6  # of a face: the member that ends an opening has its edge so near where it was chosen


def propose_openings(survey: Survey, placed: Placed) -> tuple[Opening, ...]:
    """The rough openings of a survey; a side is the measured edge of the member that ends the opening."""
    grid, face = survey.grid, survey.face
    s = placed.scale.inches_per_unit
    inward = [
        (m.x_right, c + 0.5 * w)
        for m, c, w in zip(survey.members, placed.centre_in, placed.face_in, strict=True)
    ]
    outward = [
        (m.x_left, c - 0.5 * w)
        for m, c, w in zip(survey.members, placed.centre_in, placed.face_in, strict=True)
    ]

    def side_in(edges: list[tuple[float, float]], x: float) -> float:
        near = min(edges, key=lambda e: abs(e[0] - x))
        return float(near[1] if abs(near[0] - x) < MEMBER_NEAR * face else near[1] + (x - near[0]) * s)

    return tuple(
        Opening(
            "door" if o.sill == 1.0 else "window",
            side_in(inward, float(grid.x(o.left))),
            side_in(outward, float(grid.x(o.right))),
            float(placed.height_in * (1 - o.sill)),
            float(placed.height_in * (1 - o.head)),
        )
        for o in survey.openings
    )
