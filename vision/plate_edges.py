"""Where the plates' outer edges lie once inches are known: how high the wall is, and how surely.

A region found by what is wall and what is not ends a plate's thickness off where the studs' ends show more
than the plate's outer edge does, where one of two top plates is taken for what is above, or what is above
for a plate. Where the plates begin, seen from the studs, shows plainly; plates of lumber lie flat, one below
and one or two above the studs, and each is as thick as a stud's face is wide (PS 20: 2x lumber is 1 1/2 in;
a steel track's leg is 1 1/4 in, trade-common).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.edges import edge_votes, sheared_mean
from vision.measured import Measured
from vision.rough_openings import RoughOpening
from vision.survey import Survey
from vision.wall_picture import WallPicture
from vision.wall_region import Region

# In plate thicknesses: how far inside and outside of the region's edge the plate is looked for.
INWARD, OUTWARD = 6.0, 4.0
LEAST_PLATE, HALF_SEEN = 0.15, 0.5  # share of plate across the wall; of its most, where it begins
HARDLY_PLATE = 0.3  # below this much plate nothing is sure
# A plate seen over less than this of its thickness is partly behind a sheet: its outer edge is the one seen.
HIDDEN = 0.75
# An edge across the wall within this of where a plate ends, in thicknesses, over this share of the wall.
NEAR_END, AN_EDGE = 0.2, 0.3
# Two plates: an edge at twice the thickness, with plate up to there or much plainer than the one between.
# What lies below the bottom plate is seldom another, so that there more is asked.
SECOND_EDGE, SURE_SECOND, PLAINER, STILL_PLATE, PLAIN_EDGE = 0.3, 0.45, 0.3, 0.5, 0.6
SECOND_EDGE_BELOW, FIRST_EDGE_BELOW = 0.8, 0.4
BOTH_EDGES_PLATE = 0.8  # two plain edges with less plate between them may be a gap over one plate
OFF_THICKNESS = 0.13  # of an edge from where two plates end: it may be another's
# Sigmas in thicknesses: with the edge seen, without, behind a sheet, with one plate more or less possible,
# with no plate seen (tuning walls: heights within 0.45 in in 95 %, 1.65 in by the region alone).
SEEN_SIGMA, UNSEEN_SIGMA, HIDDEN_SIGMA, DOUBT_SIGMA, NONE_SIGMA = 0.08, 0.13, 0.17, 0.6, 1.0
BLUR_PX = 1.2


@dataclass(frozen=True)
class _Side:
    """Rows near the region's top or bottom edge, from inside outwards; distances in plate thicknesses."""

    out: NDArray[np.float64]
    plate: NDArray[np.float64]
    edge: NDArray[np.float64]

    def plate_between(self, a: float, b: float) -> float:
        """Mean share of plate between two distances; 0 where the photo shows none of it."""
        inside = (self.out > a) & (self.out < b)
        return float(self.plate[inside].mean()) if inside.any() else 0.0


def settle_plates(survey: Survey, picture: WallPicture, thickness: float) -> Survey:
    """The survey with its region's top and bottom on the plates' outer edges.

    Parameters
    ----------
    thickness : float
        Of one plate, in rectified units.

    Returns
    -------
    Survey
        With `height_sigma`. Unchanged without the map of plates.
    """
    if picture.maps is None:
        return survey
    sides = [_outer_edge(survey.region, picture, thickness, top) for top in (True, False)]
    region = replace(survey.region, top=sides[0][0], bottom=sides[1][0])
    sigma = float(np.hypot(sides[0][1], sides[1][1]))
    if region.height < 0.5 * survey.region.height:
        return survey
    return replace(
        survey,
        region=region,
        members=tuple(_to_plates(m, survey.region, region) for m in survey.members),
        openings=tuple(_between(o, survey.region, region) for o in survey.openings),
        height_sigma=sigma,
    )


def _to_plates(m: Measured, before: Region, after: Region) -> Measured:
    """A member that ran to the region's edges, to the new ones."""
    top = after.top if m.y_top == before.top else m.y_top
    bottom = after.bottom if m.y_bottom == before.bottom else m.y_bottom
    return replace(m, y_top=top, y_bottom=bottom)


def _between(o: RoughOpening, before: Region, after: Region) -> RoughOpening:
    """An opening's head and sill as shares of the new height."""
    head, sill = (
        1.0 if share == 1.0 else (before.top + share * before.height - after.top) / after.height
        for share in (o.head, o.sill)
    )
    return replace(o, head=head, sill=sill)


def _outer_edge(region: Region, picture: WallPicture, thickness: float, top: bool) -> tuple[float, float]:
    """Y of the outer edge of the top or the bottom plate and its sigma, rectified units."""
    y, outward = (region.top, -1.0) if top else (region.bottom, 1.0)
    side = _profiles(region, picture, y, outward * thickness)
    found = None if side is None else _beyond_studs(side, top)
    if found is None:
        return y, NONE_SIGMA * thickness
    return y + outward * found[0] * thickness, found[1] * thickness


def _profiles(region: Region, picture: WallPicture, y: float, out: float) -> _Side | None:
    """Share of plate and of edges across the wall, row by row, from inside outwards."""
    grid, maps = picture.grid, picture.maps
    if maps is None:
        return None
    ends = sorted(float(grid.row(y + k * out)) for k in (-INWARD, OUTWARD))
    r0, r1 = max(0, int(ends[0])), min(grid.height, int(ends[1]) + 2)
    c0, c1 = max(0, int(grid.column(region.left))), min(grid.width, int(grid.column(region.right)) + 1)
    if r1 - r0 < 4 or c1 - c0 < 4:
        return None
    seen = picture.seen[r0:r1]
    shown = seen[:, c0:c1].sum(1)
    plate = (maps.plate[r0:r1, c0:c1] * seen[:, c0:c1]).sum(1) / np.maximum(shown, 1)
    votes = edge_votes(picture.lab[r0:r1], seen, c0, c1 - 1, BLUR_PX, axis=1)
    edge, _ = sheared_mean(votes.votes, votes.seen, float(c1 - c0))
    rows = np.flatnonzero(shown > 0.2 * (c1 - c0))
    if len(rows) < 4:
        return None
    distance = (np.array([float(grid.y(r0 + int(k))) for k in rows]) - y) / out
    order = np.argsort(distance)
    rows = rows[order]
    return _Side(distance[order], plate[rows], edge[rows])


def _beyond_studs(side: _Side, top: bool) -> tuple[float, float] | None:
    """Where the outermost plate ends, and its sigma, in thicknesses; None where no plate is seen."""
    most = float(side.plate.max())
    if most < LEAST_PLATE:
        return None
    begins, ends = _longest_run(side, HALF_SEEN * most)
    if ends - begins < HIDDEN:
        at, _ = _edge_near(side, ends)
        return (ends if at is None else at), HIDDEN_SIGMA
    (one_at, one), (two_at, two) = (_edge_near(side, begins + n) for n in (1, 2))
    second = side.plate_between(begins + 1.2, begins + 1.8) / most
    goes_on = second > STILL_PLATE
    doubt = most < HARDLY_PLATE
    if top:
        double = two >= (SECOND_EDGE if goes_on else max(SURE_SECOND, one + PLAINER))
        doubt |= double and (two < SURE_SECOND or (one > PLAIN_EDGE and second < BOTH_EDGES_PLATE))
    else:
        double = two > SECOND_EDGE_BELOW and one < FIRST_EDGE_BELOW and goes_on
    if goes_on and not double:
        double = top and bool(side.out[-1] < begins + 2 + NEAR_END)  # the photo ends within the second plate
        doubt |= top or one < PLAIN_EDGE
    by_thickness = begins + (2.0 if double else 1.0)
    at = two_at if double else one_at
    if at is None:
        return by_thickness, DOUBT_SIGMA if doubt else UNSEEN_SIGMA
    doubt |= double and abs(at - by_thickness) > OFF_THICKNESS
    return 0.5 * (at + by_thickness), DOUBT_SIGMA if doubt else SEEN_SIGMA


def _longest_run(side: _Side, level: float) -> tuple[float, float]:
    """Between which distances there is most plate without a break, the first to a fraction of a row."""
    on = np.flatnonzero(side.plate > level)
    runs = np.split(on, np.flatnonzero(np.diff(on) > 1) + 1)
    run = max(runs, key=lambda r: float(side.plate[r].sum()))
    first, last = int(run[0]), int(run[-1])
    begins = float(side.out[first])
    if first > 0:
        before, at = side.plate[first - 1 : first + 1]
        begins -= float((side.out[first] - side.out[first - 1]) * (at - level) / max(at - before, 1e-9))
    return begins, float(side.out[min(last + 1, len(side.out) - 1)])


def _edge_near(side: _Side, distance: float) -> tuple[float | None, float]:
    """Middle and height of the highest peak of edges near a distance; None and 0 where there is none."""
    best: tuple[float | None, float] = (None, 0.0)
    edge = side.edge
    for i in range(1, len(edge) - 1):
        high = float(edge[i])
        j = i
        while j < len(edge) - 2 and edge[j + 1] == high:
            j += 1
        if high < max(AN_EDGE, best[1]) or high <= edge[i - 1] or high <= edge[j + 1]:
            continue
        a, b = i, j
        while a > 0 and 0.5 * high < edge[a - 1] <= edge[a]:
            a -= 1
        while b < len(edge) - 1 and 0.5 * high < edge[b + 1] <= edge[b]:
            b += 1
        weight = edge[a : b + 1] - 0.5 * high
        middle = float(weight @ side.out[a : b + 1] / weight.sum())
        if abs(middle - distance) < NEAR_END:
            best = (middle, high)
    return best
