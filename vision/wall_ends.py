"""How surely a wall ends where its outermost member stands: every place counts from the left end."""

from __future__ import annotations

from typing import Literal

import numpy as np

from vision.measured import Measured
from vision.plates import PLAINLY_WALL, plates_seen
from vision.survey import Survey

# Two members closer than this at an end, the outer one seen worse: it may be the neighbouring wall's
# first stud, which lines up beside our end member in a corner.
CLEARANCE_FACES, WORSE_SCORE = 2.2, 0.2
# Least share of the end bay in which both plates must be seen (tuning scenes: 0.24 and more where the
# bay is the wall's, 0.07 where it was a room's side wall).
BAY_PLATE_SHARE = 0.18
# So much of both plates under and over two members close together says that both are this wall's.
ON_ONE_PLATE = 0.8
FAINT_FRONT = 0.7
PLAIN_FRONT, PLAIN_EDGE = 0.7, 0.4
# Just outside an end member: share of front face that may be a further ply, where this wall goes on.
FRONT_OUTSIDE, WALL_OUTSIDE = 0.15, 0.3
# Beyond an end member, so many faces: a face that the column network sees and that was not taken, where this
# wall still is. Of 886 ends of tuning walls placed right 6 show more; one placed 4 in off shows 0.46.
NOT_TAKEN, NOT_TAKEN_FACES, BESIDE_FACES = 0.3, 5.0, 0.35
LARGE_SIGMA_IN = 1.0  # the end may be another member altogether
# The one edge seen may be the corner with the next wall: 11 such ends, of tuning walls and another
# generator's, lay within 0.17 in.
ONE_EDGE_SIGMA_IN = 0.085
# It is the member's own where it runs over all the height and the column network has no doubt: so do six ends
# of tuning walls and five on pictures of another generator, which lie no worse than those with both edges.
OWN_EDGE, OWN_EDGE_SIGMA_IN = 0.9, 0.05
# The column network has no doubt of an end, the pixels do: 17 such ends of tuning walls and another
# generator's lay within 0.15 in.
JUDGED_FRONT, JUDGED_OUTSIDE, OUTSIDE_FACES, JUDGED_SIGMA_IN = 0.8, 0.25, 1.6, 0.08
# No edge of the end member runs over this share of the height: it was placed by the network alone. Where that
# has no doubt of the end, 18 such ends (tuning walls and another generator's) lay within 0.25 in, 0.1 in root
# mean square; but one whose inner edge alone shows may go on behind a board (one did, by 32 in).
UNCLEAR_EDGE, UNCLEAR_SIGMA_IN, JUDGED_UNCLEAR_SIGMA_IN = 0.5, 0.3, 0.12
COVERED_INNER, COVERED_OUTER = 0.4, 0.1
# Of 33 doubles that end tuning walls and another generator's, all show their outer edge over more than this.
DOUBLES_EDGE = 0.5
# Front face seen where a side face would be, towards the camera's foot: there may be a second ply.
FRONT_BESIDE = 0.4
SMALL_SIGMA_IN = 0.2  # the end member is hidden in clutter


def end_sigma_in(survey: Survey, index: int, side: Literal["left", "right"]) -> float:
    """Extra standard deviation of the wall's end at member `index`, inches; 0 when the end is clear."""
    order = 1 if side == "left" else -1
    if survey.cut_at_corner[0 if side == "left" else 1]:
        return LARGE_SIGMA_IN  # what was left out may be this wall's after all
    here = survey.members[index]
    outer, inner = _outer_edge(here, order), _outer_edge(here, -order)
    # A double may be one member beside the next wall's first stud, whose edge then hardly shows, or beside
    # something else that shows front.
    if here.upright.stretch.plies > 1 and (outer < DOUBLES_EDGE or front_beside(here, survey)):
        return LARGE_SIGMA_IN
    if _face_not_taken(survey, here, order):
        return LARGE_SIGMA_IN
    extra = _by_pixels(survey, index, order)
    judged = _judged_end(survey, here, order)
    if max(outer, inner) < UNCLEAR_EDGE:
        covered = inner >= COVERED_INNER and outer < COVERED_OUTER
        return JUDGED_UNCLEAR_SIGMA_IN if judged and not covered else max(extra, UNCLEAR_SIGMA_IN)
    if not judged:
        return extra
    if extra == ONE_EDGE_SIGMA_IN and outer > OWN_EDGE:
        return OWN_EDGE_SIGMA_IN
    return min(extra, JUDGED_SIGMA_IN)


def front_beside(m: Measured, survey: Survey) -> bool:
    """Whether more front than side face is seen beside a member, towards the camera's foot (X = 0)."""
    if survey.maps is None or not m.upright.full:
        return False
    grid, face = survey.grid, survey.face
    near, order = (m.x_left, -1) if m.x_centre > 0 else (m.x_right, 1)
    a, b = sorted((near + order * 0.2 * face, near + order * 1.2 * face))
    part = _part(survey, float(grid.column(a)), float(grid.column(b)), (m.y_top, m.y_bottom))
    if part is None:
        return False
    front = float(survey.maps.front[part].mean())
    return front > FRONT_BESIDE and front > float(survey.maps.side[part].mean())


def _outer_edge(here: Measured, order: int) -> float:
    """Share of the height over which the edge of an end member away from the wall is seen."""
    s = here.upright.stretch
    return s.edge_left if order > 0 else s.edge_right


def _judged_end(survey: Survey, here: Measured, order: int) -> bool:
    """Whether the column network sees a member here and none just outside it."""
    if survey.judged is None:
        return False
    s, face_px = here.upright.stretch, survey.face / survey.grid.step
    edge = s.left if order > 0 else s.right
    a, b = sorted((edge - order * 0.15 * face_px, edge - order * OUTSIDE_FACES * face_px))
    outside = survey.judged.full[int(max(0, a)) : int(max(1, b))]
    return s.front > JUDGED_FRONT and float(outside.max(initial=0.0)) < JUDGED_OUTSIDE


def _face_not_taken(survey: Survey, here: Measured, order: int) -> bool:
    """Whether the column network sees a full-height face of this wall beyond its end member."""
    if survey.judged is None or survey.maps is None:
        return False
    s, face_px = here.upright.stretch, survey.face / survey.grid.step
    edge = s.left if order > 0 else s.right
    a, b = sorted((edge - order * BESIDE_FACES * face_px, edge - order * NOT_TAKEN_FACES * face_px))
    part = _part(survey, a, b)
    if part is None:
        return False
    beyond = survey.judged.full[part[1]]
    n = int(np.clip(0.5 * face_px, 1, len(beyond)))  # the picture may end close beyond the wall
    full = np.convolve(beyond, np.full(n, 1 / n), "same")
    return float((full * survey.maps.wall[part].mean(0)).max()) > NOT_TAKEN


def _part(
    survey: Survey, first: float, end: float, between: tuple[float, float] | None = None
) -> tuple[slice, slice] | None:
    """Rows of the wall, or `between` two heights, and columns from `first` to `end`; None for a scrap.

    Both as far as the picture goes.
    """
    grid = survey.grid
    top, bottom = between or (survey.region.top, survey.region.bottom)
    c0, c1 = int(max(0, first)), int(min(grid.width, end))
    r0, r1 = int(max(0, grid.row(top))), int(min(grid.height, grid.row(bottom)))
    return None if c1 - c0 < 3 or r1 - r0 < 10 else (slice(r0, r1), slice(c0, c1))


def _by_pixels(survey: Survey, index: int, order: int) -> float:
    full = [m for m in survey.members if m.upright.full]
    here = survey.members[index]
    inner = [m for m in full if (m.x_centre - here.x_centre) * order > 0]
    if inner:
        nearest = min(inner, key=lambda m: abs(m.x_centre - here.x_centre))
        gap = abs(nearest.x_centre - here.x_centre) - 0.5 * (nearest.width + here.width)
        worse = here.upright.stretch.score < nearest.upright.stretch.score - WORSE_SCORE
        share = _bay_plate_share(survey, here, nearest)
        if gap < CLEARANCE_FACES * survey.face:
            if share < ON_ONE_PLATE and (worse or not (_plain(here) and _plain(nearest))):
                return LARGE_SIGMA_IN
        elif share < BAY_PLATE_SHARE:
            return LARGE_SIGMA_IN
    if _face_outside(survey, here, order):
        return LARGE_SIGMA_IN
    if here.upright.stretch.front < FAINT_FRONT:
        return SMALL_SIGMA_IN
    return ONE_EDGE_SIGMA_IN if here.one_edge else 0.0


def _face_outside(survey: Survey, here: Measured, order: int) -> bool:
    """Whether front face of what may be this wall is seen just outside its end member: a further ply."""
    if survey.maps is None:
        return False
    edge = here.x_left if order > 0 else here.x_right
    a, b = sorted((edge - order * 0.2 * survey.face, edge - order * 1.4 * survey.face))
    part = _part(survey, float(survey.grid.column(a)), float(survey.grid.column(b)))
    if part is None:
        return False
    front = survey.maps.front[part].mean(0)
    wall = survey.maps.wall[part].mean(0)
    return float((front * (wall > WALL_OUTSIDE)).mean()) > FRONT_OUTSIDE


def _plain(m: Measured) -> bool:
    """Whether a member's face and the edge away from the camera's foot are seen well."""
    s = m.upright.stretch
    far = s.edge_left if m.x_centre < 0 else s.edge_right
    return s.front > PLAIN_FRONT and far > PLAIN_EDGE


def _bay_plate_share(survey: Survey, a: Measured, b: Measured) -> float:
    """Share of the bay between two members over which both plates are seen; 1 without the model.

    A plate that the photo cuts off, or that clutter hides where the rest plainly is this wall, cannot
    speak: the other one does.
    """
    if survey.maps is None:
        return 1.0
    left, right = min(a.x_right, b.x_right), max(a.x_left, b.x_left)
    region = survey.region
    part = _part(survey, float(survey.grid.column(left)), float(survey.grid.column(right)))
    if part is None:
        return 1.0
    rows, columns = part
    shares = [float(q[columns].mean()) for q in plates_seen(survey.maps.plate, rows.start, rows.stop)]
    wall = float(survey.maps.wall[part].mean())
    if region.cut_top or region.cut_bottom or wall > PLAINLY_WALL:
        shares = [
            share for share, cut in zip(shares, (region.cut_top, region.cut_bottom), strict=True) if not cut
        ]
        return max(shares, default=wall)
    return min(shares)
