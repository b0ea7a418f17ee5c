"""Doors and windows proposed from their framing; the user accepts or drops each."""

from __future__ import annotations

import itertools

from vision.placing import Placed
from vision.reading import Member, Opening
from vision.runs import runs_of
from vision.survey import Survey

# Clear widths that doors and windows have, inches (trade-facts C16, C17: 32 in doors to wide windows).
NARROWEST_IN, WIDEST_IN = 14.0, 130.0
HEADER_SHARE = 0.35  # mean share of "across" along the head


def propose_openings(survey: Survey, placed: Placed, members: list[Member]) -> tuple[Opening, ...]:
    """Propose an opening between two neighbouring uprights that carry a header.

    A header is a run of "across" from one member to the next, well below the top plate and above
    two thirds of a door's height; a sill below it makes the opening a window.
    """
    if survey.maps is None:
        return ()
    grid, region = survey.grid, survey.region
    s = placed.scale.inches_per_unit
    out: list[Opening] = []
    tall = [
        i
        for i, m in enumerate(members)
        if m.kind == "full" or (m.bottom_in < 6 and m.top_in > 0.6 * placed.height_in)
    ]
    for a, b in itertools.pairwise(tall):
        left, right = survey.members[a].x_right, survey.members[b].x_left
        width_in = (right - left) * s
        if not NARROWEST_IN <= width_in <= WIDEST_IN:
            continue
        pad = 0.08 * (right - left)
        c0, c1 = round(float(grid.column(left + pad))), round(float(grid.column(right - pad)))
        r0, r1 = int(max(0, grid.row(region.top))), int(min(grid.height, grid.row(region.bottom)))
        if c1 - c0 < 4 or r1 - r0 < 20:
            continue
        across = survey.maps.across[r0:r1, c0:c1]
        row_share = across.mean(1)
        runs = [
            (placed.height_in * (1 - q0 / (r1 - r0)), placed.height_in * (1 - q1 / (r1 - r0)))
            for q0, q1 in runs_of(row_share > HEADER_SHARE)
        ]
        # Plates lie within 4.5 in of the ends; headers are at least 3 in high, a sill 1 1/2.
        inner = [(t, u) for t, u in runs if t < placed.height_in - 3.2 and u > 3.2]
        heads = [r for r in inner if r[1] > 0.55 * placed.height_in and r[0] - r[1] > 2.0]
        if not heads:
            continue
        head = min(heads, key=lambda r: r[1])
        sills = [r for r in inner if r[0] < head[1] - 10 and r[0] > 8]
        if sills:
            sill = max(sills, key=lambda r: r[0])
            out.append(_opening("window", a, b, survey, placed, sill[0], head[1]))
        else:
            out.append(_opening("door", a, b, survey, placed, 0.0, head[1]))
    return tuple(out)


def _opening(
    kind: str, a: int, b: int, survey: Survey, placed: Placed, bottom_in: float, top_in: float
) -> Opening:
    left = float(placed.centre_in[a] + 0.5 * placed.face_in[a])
    right = float(placed.centre_in[b] - 0.5 * placed.face_in[b])
    return Opening("window" if kind == "window" else "door", left, right, float(bottom_in), float(top_in))
