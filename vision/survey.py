"""The members of a wall whose region is known: found, measured in the photo, in rectified units."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from vision.columns import ColumnShares, judge
from vision.edges import sheared_mean
from vision.extent import (
    Upright,
    complete_on_layout,
    drop_beyond_ends,
    drop_side_faces,
    join_hidden,
    measure_extent,
    merge_touching,
    reach_by_columns,
    settle_partials,
    split_plies,
)
from vision.face_width import best_face, face_width_px
from vision.foreign import drop_foreign, left_out
from vision.implied_ends import add_implied_ends, cut_off_neighbours
from vision.measured import Measured, measure
from vision.members import PlyCues, Stretch, depth_seen_px, select_members
from vision.rectify import RectGrid
from vision.scale import USUAL_SPACINGS_IN, scale_from_spacing
from vision.viewing import Viewed
from vision.wall_picture import WallPicture
from vision.wall_region import Region
from vision.what import WhatMaps, plain_front

ON_WALL = 0.65
END_NEAR_FACES = 2.5
USUAL_FACE_PX = 10.0  # of the edges' smoothing, where nothing tells the face's width yet
USUAL_DEPTH_FACES = 3.5 / 1.5  # a 2x4 is 3 1/2 in deep behind its 1 1/2 in face (PS 20)
HEADER_BANDS = slice(3, 12)  # of 48, from the top: under the plates, where headers lie
SIDE_FACES = 1.2  # a side face seen at a slant is at most about this many faces wide
# A partial member is looked for in what the full ones leave; lower than this it is a scrap.
LEAST_PARTIAL_HEIGHT = 0.09
CUT_SCORE = 2.0  # of a member beyond the rough end of a wall that the photo cuts off
PLAIN_FACE = 0.8  # of the column network: a member, whatever the plates' ends seem to say
PIPE_MARGIN = 0.35  # of a face, beside a pipe


@dataclass(frozen=True)
class Survey:
    """All members of one wall.

    Attributes
    ----------
    region : Region
        Refined region.
    face : float
        Typical width of one face, rectified units.
    members : tuple of Measured, left to right
    grid : RectGrid
    maps : WhatMaps or None
        What the rectified picture shows (on `grid`).
    face_seen : float or None
        Width of one face as the picture alone shows it, whatever the reference says.
    judged : ColumnShares or None
        What the column network says, by columns of `grid`.
    """

    region: Region
    face: float
    members: tuple[Measured, ...]
    grid: RectGrid
    maps: WhatMaps | None
    face_seen: float | None = None
    judged: ColumnShares | None = None


def survey_wall(
    viewed: Viewed, picture: WallPicture, grey: NDArray[np.float32], face_units: float | None
) -> Survey | None:
    """Find and measure the members.

    Parameters
    ----------
    viewed : Viewed
    picture : WallPicture
        From `picture_wall(viewed, photo)`.
    grey : (H, W) float32 array
        The photo at full size.
    face_units : float or None
        Width of one face when the scale is known, else taken from the picture.

    Returns
    -------
    Survey or None
        None when nothing face-like is seen.
    """
    region, grid, seen, maps = picture.region, picture.grid, picture.seen, picture.maps
    step = grid.step
    row_top, row_bottom = picture.rows
    height_px = row_bottom - row_top
    face_px = face_units / step if face_units else None
    bands = picture.edges(face_px or USUAL_FACE_PX)
    banded = picture.banded
    if banded is not None:
        front = banded.front * bands.seen
    else:
        front = plain_front(bands, face_px or 0.012 * grid.width)
    share, slope = sheared_mean(bands.votes, bands.seen, height_px)
    column, _ = sheared_mean(front, bands.seen, height_px)
    seen_px = face_width_px(column)
    if face_px is None:
        face_px = seen_px
    if face_px is None or face_px < 1.5:
        return None
    foot = float(grid.column(0.0))
    shown = None
    if banded is not None:
        shown = (
            sheared_mean(banded.joint, bands.seen, height_px)[0],
            sheared_mean(banded.side, bands.seen, height_px)[0],
            banded.across[HEADER_BANDS].mean(0).astype(float),
        )
    width_sigma = 0.14 if face_units else 0.22

    @cache
    def told(face_px: float) -> tuple[PlyCues | None, ColumnShares | None]:
        judged = judge(picture, face_px, bands)
        if maps is None or shown is None:
            return None, judged
        ends = _wall_ends(maps, seen, picture, face_px)
        return PlyCues(*shown, 1.0 / step, USUAL_DEPTH_FACES * face_px, ends=ends), judged

    def select(face_px: float, cues: PlyCues | None, judged: ColumnShares | None) -> list[Stretch]:
        faces = column if judged is None else judged.full
        return select_members(faces, share, slope, face_px, cues, foot, width_sigma, judged)

    if face_units is None and maps is not None:
        face_px = best_face(face_px, lambda width: sum(s.score for s in select(width, *told(width))))
    cues, judged = told(face_px)
    stretches = select(face_px, cues, judged)
    if cues is not None:
        depth = depth_seen_px(stretches, column, cues.side, face_px, foot, cues.distance_px)
        if depth is not None:
            cues = replace(cues, depth_px=depth, depth_known=True)
            stretches = select(face_px, cues, judged)
    sides = float(grid.column(region.left)), float(grid.column(region.right))
    lo, hi = sides[0] - 1.2 * face_px, sides[1] + 1.2 * face_px

    def tall(chosen: list[Stretch]) -> list[Upright]:
        ups: list[Upright] = []
        for s in chosen:
            beyond = s.left < lo or s.right > hi
            ends_here = (s.left < lo and not region.cut_left) or (s.right > hi and not region.cut_right)
            weak = ends_here or s.score < CUT_SCORE
            if judged is not None and s.front > PLAIN_FACE:
                weak = False
            if beyond and weak and not _on_wall(maps, s, row_top, row_bottom):
                continue
            ups += split_plies(front, bands.seen, measure_extent(front, bands.seen, s, height_px), height_px)
        if judged is not None:
            ups = reach_by_columns(ups, judged)
        return merge_touching([u for u in ups if u.bottom - u.top > LEAST_PARTIAL_HEIGHT], face_px)

    ups = tall(stretches)
    own = drop_foreign(ups, bands.colour, judged)
    if len(own) < len(ups):
        # A pipe close by a stud was taken in its stead: choose again with the pipe out of the picture.
        front = front.copy()
        for a, b in left_out(ups, own, PIPE_MARGIN * face_px):
            front[:, a:b] = 0
            judged = judged.without(a, b) if judged is not None else None
        column, _ = sheared_mean(front, bands.seen, height_px)
        own = drop_foreign(tall(select(face_px, cues, judged)), bands.colour, judged)
    ups = own
    ups = _add_partials(ups, front, bands.votes, bands.seen, height_px, face_px, (lo, hi), foot)
    across = banded.across if banded is not None else None
    if judged is not None:
        ups = reach_by_columns(ups, judged)
    else:
        ups = join_hidden(ups, face_px, across)
        pitch_px = _layout_pitch(ups, face_px)
        if pitch_px is not None:
            ups = complete_on_layout(ups, pitch_px)
    if across is not None:
        ups = settle_partials(ups, across, face_px, sides)
    if judged is None and cues is not None:
        ups = drop_side_faces(ups, foot, cues, face_px)
        ups = drop_beyond_ends(ups, *sides, face_px)
    ups = drop_foreign(ups, bands.colour, judged)  # among those found late, too
    if maps is not None:
        ups = cut_off_neighbours(ups, region, grid, maps, face_px)
        ups = add_implied_ends(ups, region, grid, maps, front, face_px)
    known = face_units is not None
    members = tuple(
        m for u in ups if (m := measure(u, grey, viewed, grid, region, face_px, known)) is not None
    )
    seen_units = seen_px * step if seen_px else None
    return Survey(region, face_px * step, members, grid, maps, seen_units, judged)


def _wall_ends(
    maps: WhatMaps, seen: NDArray[np.bool_], picture: WallPicture, face_px: float
) -> tuple[float | None, float | None]:
    """Columns where "this wall" falls to a half at either end; None where the photo ends first."""
    region, grid = picture.region, picture.grid
    rows = slice(int(max(0, grid.row(region.top))), int(max(1, grid.row(region.bottom))))
    share = (maps.wall[rows] * seen[rows]).sum(0) / np.maximum(seen[rows].sum(0), 1)
    on = share > 0.5
    out: list[float | None] = []
    for at, cut, step in (
        (float(grid.column(region.left)), region.cut_left, 1),
        (float(grid.column(region.right)), region.cut_right, -1),
    ):
        near = np.arange(len(on))
        flips = np.flatnonzero(
            (on != np.roll(on, step)) & on & (np.abs(near - at) < END_NEAR_FACES * face_px)
        )
        out.append(
            None if cut or not len(flips) else float(flips[np.argmin(np.abs(flips - at))]) - 0.5 * step
        )
    return out[0], out[1]


def _on_wall(maps: WhatMaps | None, s: Stretch, row_top: float, row_bottom: float) -> bool:
    """Whether a stretch beyond the plates' ends still shows this wall (a plate's end may be hidden)."""
    if maps is None:
        return False
    rows = slice(max(0, int(row_top)), max(1, int(row_bottom)))
    part = maps.wall[rows, max(0, int(s.left)) : int(s.right) + 1]
    return part.size > 0 and float(part.mean()) > ON_WALL


def _add_partials(
    ups: list[Upright],
    front: NDArray[np.float32],
    votes: NDArray[np.float32],
    seen: NDArray[np.bool_],
    height_px: float,
    face_px: float,
    limits: tuple[float, float],
    foot: float,
) -> list[Upright]:
    """Look for cripples and other short members in what the taller ones leave, part by part."""
    bands = len(front)
    left_over = front.copy()
    for u in ups:
        s = u.stretch
        a = max(0, int(np.floor(s.left - 0.35 * face_px)))
        b = int(np.ceil(s.right + 0.35 * face_px)) + 1
        lo, hi = int(np.floor(u.top * bands)), int(np.ceil(u.bottom * bands))
        left_over[max(0, lo - 1) : hi + 1, a:b] = 0
    found: list[Upright] = []
    nothing = np.zeros(front.shape[1])
    alone = PlyCues(nothing, nothing, nothing, 1.0, 0.0)
    for top, bottom in ((0.0, 0.22), (0.0, 0.4), (0.55, 1.0), (0.25, 0.75), (0.35, 1.0)):
        lo, hi = round(top * bands), round(bottom * bands)
        part = left_over[lo:hi]
        column = part.mean(0).astype(float)
        if column.max() < 0.35:
            continue
        share, slope = sheared_mean(votes[lo:hi], seen[lo:hi], height_px * (bottom - top))
        for s in select_members(column, share, slope, face_px, alone, foot):
            if s.left < limits[0] or s.right > limits[1] or s.front < 0.45:
                continue
            u = measure_extent(left_over, seen, replace(s, slope=0.0), height_px)
            if u.bottom - u.top < LEAST_PARTIAL_HEIGHT or u.visible < 0.5:
                continue
            whole = u.top == 0.0 and u.bottom == 1.0
            if whole and _beside_a_full_one(u, ups, face_px):
                continue  # its neighbour's side face: the selection over the whole height left it out
            found.append(replace(u, full=whole))
            a = max(0, int(s.left - 0.3 * face_px))
            left_over[:, a : int(s.right + 0.3 * face_px) + 1] *= 0
    return sorted(ups + found, key=lambda u: (u.stretch.centre, u.top))


def _layout_pitch(ups: list[Upright], face_px: float) -> float | None:
    """Columns from stud to stud where the long members stand on one usual layout; None where not."""
    long = sorted(u.stretch.centre for u in ups if u.full or u.bottom - u.top > 0.5)
    found = scale_from_spacing(np.array(long), USUAL_SPACINGS_IN, face_px) if len(long) >= 4 else None
    return found.spacing_in / found.inches_per_unit if found and found.spacing_in else None


def _beside_a_full_one(u: Upright, ups: list[Upright], face_px: float) -> bool:
    a, b = u.stretch.left, u.stretch.right
    return any(q.full and max(q.stretch.left - b, a - q.stretch.right) < SIDE_FACES * face_px for q in ups)
