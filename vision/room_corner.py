"""Where the next wall begins beside an end of this one: the corner of the room, by the plates' lines.

A wall that meets this one at a right angle runs straight towards the camera. In rectified coordinates, whose
zero is the foot of the perpendicular from the camera, each of its level lines lies on a ray from that foot
through the corner (Hartley & Zisserman 2004, §8.6: they run to one vanishing point). Plates, ceiling and
floor show the same lines on both walls, level on this one, along rays on the next; where the two patterns
agree, each on its own side, is the corner. One number is sought, so that a few inches of the next wall's
plates tell it.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from vision.directions import ViewDirections
from vision.measured import Measured, without_outer_plies
from vision.rectify import to_photo
from vision.survey import Survey

# Corners tried, from the outer face of the end member inwards; rows above and below a plate's edge; what is
# looked at of this wall; all in faces. What is looked at of the next one: rays' lengths, the corner's is 1.
TRIED, ROWS, ALONG, RAYS = np.arange(-4.0, 9.4, 1 / 6), 4.7, (0.7, 13.3), (1.02, 1.30)
PLACES_ALONG, PLACES_ON_RAYS, ROWS_PER_FACE = 30, 28, 9
LEAST_SEEN = 0.5  # of the rows; and so many places of each row
LEAST_PLACES = 6
# A corner is believed where one member, or one ply, begins (within so much of a face), where the patterns
# agree so well on both plates, or on one alone, and elsewhere at most so much of that; and plainly better
# than where the outermost begins. Of 140 pairs and doubles at the ends of tuning walls and two other
# generators' 15 are partly the next wall's: six are told so, and no other.
BEGINS, AGREES_ELSEWHERE = 0.4, ((0.34, 0.63), (0.5, 0.7))
ALONE, ELSEWHERE_ALONE, BETTER = 0.8, 0.35, 0.15
APART = 0.8  # faces: what is elsewhere
CLOSE, LOOKED_AT = 3.0, 3  # faces from one such place to the next; members looked at, at each end


def without_the_next_wall(view: ViewDirections, grey: NDArray[np.float32], survey: Survey) -> Survey | None:
    """The survey without end members, or plies of them, that stand on the next wall; None where none does.

    Parameters
    ----------
    grey : (H, W) float32 array
        The photo at full size.
    """
    found = survey
    for order in (1, -1):
        found = _without_beyond(view, grey, found, order) or found
    return None if found is survey else found


def _without_beyond(
    view: ViewDirections, grey: NDArray[np.float32], survey: Survey, order: int
) -> Survey | None:
    """The same at one end; `order`: 1 for the left, -1 for the right."""
    region = survey.region
    full = [m for m in survey.members if m.upright.full][::order]
    if (region.cut_left if order > 0 else region.cut_right) or region.tapped or len(full) < 2:
        return None
    begin = _begin(full[:LOOKED_AT], order, survey.face)
    first = corner_among(view, grey, survey, np.array([x for _, _, x in begin]), order)
    if not first:
        return None
    member, outside, at = begin[first]
    kept = [
        without_outer_plies(m, outside, order) if m is member else m
        for m in survey.members
        if m is member or (m.x_centre - at) * order > 0
    ]
    left, right = survey.cut_at_corner
    if order > 0:
        region, left = replace(region, left=at), True
    else:
        region, right = replace(region, right=at), True
    return replace(survey, members=tuple(kept), region=region, cut_at_corner=(left, right))


def _begin(members: list[Measured], order: int, face: float) -> list[tuple[Measured, int, float]]:
    """Where members, outermost first, and their plies begin, as far as they stand close together.

    Each as the member, how many of its plies lie outside, and X.
    """
    begin: list[tuple[Measured, int, float]] = []
    for m in members:
        for k in range(m.upright.stretch.plies):
            x = _outer_face(m, order, k)
            if begin and (x - begin[-1][2]) * order > CLOSE * face:
                return begin
            begin.append((m, k, x))
    return begin


def _outer_face(m: Measured, order: int, plies: int) -> float:
    """X of a member's outer face, or of that behind so many of its plies."""
    face = m.width / m.upright.stretch.plies
    return m.x_left + plies * face if order > 0 else m.x_right - plies * face


def corner_among(
    view: ViewDirections, grey: NDArray[np.float32], survey: Survey, begin: NDArray[np.float64], order: int
) -> int:
    """At which of the places (N,) where members or their plies begin, outermost first, the next wall ends.

    0 where the plates do not tell, or where all are this wall's. `order`: 1 for the left end, -1 for the
    right one.
    """
    face, region = survey.face, survey.region
    tried = begin[0] + order * TRIED * face
    tried = tried[tried * order < -face]  # the next wall is seen on the side that the wall's end lies on
    if len(begin) < 2 or region.cut_top or region.cut_bottom or len(tried) < len(TRIED) / 2:
        return 0
    plates = [_agreement(view, grey, tried, y, face, order) for y in (region.top, region.bottom)]
    both = np.mean(plates, axis=0)
    at = np.abs(tried - begin[:, None])
    agree = [_most(both[near]) for near in at < BEGINS * face]
    elsewhere = (at > APART * face).all(0)
    best = int(np.argmax(agree))
    alone = any(
        (here := _most(one[at[best] < BEGINS * face])) > ALONE
        and _most(one[elsewhere]) < ELSEWHERE_ALONE * here
        for one in plates
    )
    share = _most(both[elsewhere]) / max(agree[best], 1e-9)
    plainly = any(agree[best] > least and share < most for least, most in AGREES_ELSEWHERE)
    return best if (plainly or alone) and agree[best] > agree[0] + BETTER else 0


def _most(shares: NDArray[np.float64]) -> float:
    """The largest that is known; 0 where none is."""
    known = shares[np.isfinite(shares)]
    return float(known.max(initial=-1.0)) if len(known) else 0.0


def _agreement(
    view: ViewDirections,
    grey: NDArray[np.float32],
    at: NDArray[np.float64],
    plate_y: float,
    face: float,
    order: int,
) -> NDArray[np.float64]:
    """How well the lines near one plate agree on both sides of every corner tried (corners,)."""
    n = round(ROWS * ROWS_PER_FACE)
    rows = plate_y + np.arange(-n, n + 1) * (face / ROWS_PER_FACE)
    rays = np.linspace(*RAYS, PLACES_ON_RAYS)
    along = order * np.linspace(*ALONG, PLACES_ALONG) * face
    shape = (len(at), len(rows), 1)
    corner, row = np.broadcast_to(at[:, None, None], shape), np.broadcast_to(rows[None, :, None], shape)
    here = _profile(view, grey, corner + along, row + 0 * along)
    beyond = _profile(view, grey, corner * rays, row * rays)
    return _correlation(here, beyond)


def _profile(
    view: ViewDirections, grey: NDArray[np.float32], x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Median along each row of how the grey changes from row to row, (corners, rows); NaN where not seen.

    `x`, `y` (corners, rows, places): where the photo is looked at, rectified units.
    """
    shape = x.shape
    p = to_photo(view, np.column_stack([x.ravel(), y.ravel()]))
    h, w = grey.shape
    with np.errstate(invalid="ignore"):
        seen = ((p > 1) & (p < [w - 2, h - 2])).all(1).reshape(shape)
    p = np.clip(np.nan_to_num(p, nan=-1.0), -1, max(w, h)).astype(np.float32)
    flat = (shape[0] * shape[1], shape[2])
    picked = cv2.remap(grey, p[:, 0].reshape(flat), p[:, 1].reshape(flat), cv2.INTER_LINEAR).reshape(shape)
    change = np.gradient(gaussian_filter1d(picked, 1.0, axis=1, mode="nearest", truncate=2.0), axis=1)
    change[~seen] = np.nan
    enough = seen.sum(2) >= LEAST_PLACES
    middle = np.full(shape[:2], np.nan)
    middle[enough] = np.nanmedian(change[enough], axis=1)
    return middle


def _correlation(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    """Of two patterns, row by row of (corners, rows); NaN where too few rows are seen in both."""
    both = np.isfinite(a) & np.isfinite(b)
    n = both.sum(1)
    a, b = (np.where(both, v, 0.0) for v in (a, b))
    with np.errstate(all="ignore"):
        a, b = (np.where(both, v - (v.sum(1) / n)[:, None], 0.0) for v in (a, b))
        found = (a * b).sum(1) / np.sqrt((a * a).sum(1) * (b * b).sum(1))
    return np.where(n >= LEAST_SEEN * a.shape[1], found, np.nan)
