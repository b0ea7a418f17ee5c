"""The members of a wall whose region is known: found, measured in the photo, in rectified units."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from vision.columns import ColumnShares, judge
from vision.edges import EdgeBands, sheared_mean
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
from vision.measured import Measured, beside_king, measure
from vision.members import WIDTH_SIGMA, Stretch, depth_seen_px, select_members
from vision.partials import LEAST_PARTIAL_HEIGHT, add_partials
from vision.pipes import with_pipe_signs
from vision.ply_cues import PlyCues
from vision.rectify import RectGrid
from vision.rough_openings import RoughOpening, find_rough_openings, with_framing
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
BEYOND_FACES = 1.2  # how far beyond the region's ends a member may still be this wall's
LEAST_FACE_PX = 1.5
SEEN_WIDTH_SIGMA = 0.22  # of a face's width, relative, where only the picture tells it
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
    openings : tuple of RoughOpening
        Doors and windows by their framing.
    height_sigma : float or None
        Of the region's height, rectified units; None while its plates are not settled.
    cut_at_corner : (bool, bool)
        Left, right: what stood there was left out, since the next wall's plates begin beside it.
    """

    region: Region
    face: float
    members: tuple[Measured, ...]
    grid: RectGrid
    maps: WhatMaps | None
    face_seen: float | None = None
    judged: ColumnShares | None = None
    openings: tuple[RoughOpening, ...] = ()
    height_sigma: float | None = None
    cut_at_corner: tuple[bool, bool] = (False, False)


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
    face_px = face_units / picture.grid.step if face_units else None
    columns = _columns_of(picture, face_px)
    if columns is None:
        return None
    told_of = cache(partial(_told, columns))
    face_px = columns.face_px
    if face_units is None and picture.maps is not None:
        face_px = best_face(face_px, lambda width: _worth(columns, told_of(width)))
    shown, told = columns, told_of(face_px)
    stretches = _select(shown, told)
    if told.cues is not None:
        depth = depth_seen_px(
            stretches, shown.column, told.cues.side, face_px, shown.foot, told.cues.distance_px
        )
        if depth is not None:
            told = replace(told, cues=replace(told.cues, depth_px=depth, depth_known=True))
            stretches = _select(shown, told)
    colour = shown.bands.colour
    ups = _uprights(shown, told, stretches)
    own = drop_foreign(ups, colour, told.judged)
    if len(own) < len(ups):
        # A pipe close by a stud was taken in its stead: choose again with the pipe out of the picture.
        shown, told = _without(shown, told, left_out(ups, own, PIPE_MARGIN * face_px))
        own = drop_foreign(_uprights(shown, told, _select(shown, told)), colour, told.judged)
    ups = _with_short_ones(shown, told, own)
    ups = drop_foreign(ups, colour, told.judged)  # among those found late, too
    openings = find_rough_openings(ups, picture, face_px)
    ups = with_framing(ups, openings)
    ups = with_pipe_signs(ups, colour)
    region, grid, maps = picture.region, picture.grid, picture.maps
    if maps is not None:
        ups = cut_off_neighbours(ups, region, grid, maps, face_px)
        ups = add_implied_ends(ups, region, grid, maps, shown.front, face_px)
    known = face_units is not None
    measured = [measure(u, grey, viewed, grid, region, face_px, known) for u in ups]
    trimmers = [u for o in openings for u in o.trimmers]
    face = face_px * grid.step
    members = tuple(beside_king(m, measured, face) if m.upright in trimmers else m for m in measured)
    seen_units = shown.seen_px * grid.step if shown.seen_px else None
    return Survey(region, face, members, grid, maps, seen_units, told.judged, tuple(openings))


@dataclass(frozen=True)
class _Columns:
    """What the wall's columns show, before any member is chosen.

    Attributes
    ----------
    bands : EdgeBands
    front : (bands, W) array
        Share of front face.
    column, share, slope : (W,) arrays
        Share of front face over the height; share of height of the best edge, and its slope.
    seen_px : float or None
        Width of one face as the picture alone shows it.
    face_px : float
        The same by the length given, where there is one.
    """

    picture: WallPicture
    bands: EdgeBands
    front: NDArray[np.float32]
    column: NDArray[np.float64]
    share: NDArray[np.float64]
    slope: NDArray[np.float64]
    seen_px: float | None
    face_px: float
    width_sigma: float

    @property
    def height_px(self) -> float:
        """Rows from the wall's top to its bottom."""
        top, bottom = self.picture.rows
        return bottom - top

    @property
    def foot(self) -> float:
        """Column opposite the camera."""
        return float(self.picture.grid.column(0.0))

    @property
    def sides(self) -> tuple[float, float]:
        """Columns where the wall's region ends."""
        grid, region = self.picture.grid, self.picture.region
        return float(grid.column(region.left)), float(grid.column(region.right))

    def limits(self, face_px: float) -> tuple[float, float]:
        """Columns beyond which no member of this wall is expected."""
        left, right = self.sides
        return left - BEYOND_FACES * face_px, right + BEYOND_FACES * face_px


def _columns_of(picture: WallPicture, face_px: float | None) -> _Columns | None:
    """None where nothing face-like is seen; `face_px` is the width of a face where a length tells it."""
    bands = picture.edges(face_px or USUAL_FACE_PX)
    banded = picture.banded
    if banded is not None:
        front = banded.front * bands.seen
    else:
        front = plain_front(bands, face_px or 0.012 * picture.grid.width)
    top, bottom = picture.rows
    share, slope = sheared_mean(bands.votes, bands.seen, bottom - top)
    column, _ = sheared_mean(front, bands.seen, bottom - top)
    seen_px = face_width_px(column)
    width = seen_px if face_px is None else face_px
    if width is None or width < LEAST_FACE_PX:
        return None
    sigma = SEEN_WIDTH_SIGMA if face_px is None else WIDTH_SIGMA
    return _Columns(picture, bands, front, column, share, slope, seen_px, width, sigma)


@dataclass(frozen=True)
class _Told:
    """What labels and column network tell of members whose faces are `face_px` wide."""

    face_px: float
    cues: PlyCues | None
    judged: ColumnShares | None


def _told(shown: _Columns, face_px: float) -> _Told:
    picture, bands = shown.picture, shown.bands
    judged = judge(picture, face_px, bands)
    banded, maps = picture.banded, picture.maps
    if maps is None or banded is None:
        return _Told(face_px, None, judged)
    cues = PlyCues(
        sheared_mean(banded.joint, bands.seen, shown.height_px)[0],
        sheared_mean(banded.side, bands.seen, shown.height_px)[0],
        banded.across[HEADER_BANDS].mean(0).astype(float),
        1.0 / picture.grid.step,
        USUAL_DEPTH_FACES * face_px,
        ends=_wall_ends(maps, picture.seen, picture, face_px),
    )
    return _Told(face_px, cues, judged)


def _select(shown: _Columns, told: _Told) -> list[Stretch]:
    faces = shown.column if told.judged is None else told.judged.full
    return select_members(
        faces,
        shown.share,
        shown.slope,
        told.face_px,
        told.cues,
        shown.foot,
        shown.width_sigma,
        told.judged,
    )


def _worth(shown: _Columns, told: _Told) -> float:
    """Score of the best selection of members."""
    return sum(s.score for s in _select(shown, told))


def _without(shown: _Columns, told: _Told, columns: list[tuple[int, int]]) -> tuple[_Columns, _Told]:
    """The picture with these columns, first and end, showing no face."""
    front, judged = shown.front.copy(), told.judged
    for a, b in columns:
        front[:, a:b] = 0
        judged = judged.without(a, b) if judged is not None else None
    column, _ = sheared_mean(front, shown.bands.seen, shown.height_px)
    return replace(shown, front=front, column=column), replace(told, judged=judged)


def _uprights(shown: _Columns, told: _Told, stretches: list[Stretch]) -> list[Upright]:
    """How far each chosen stretch reaches up the wall; those beyond its ends are left out."""
    region, maps, seen = shown.picture.region, shown.picture.maps, shown.bands.seen
    lo, hi = shown.limits(told.face_px)
    ups: list[Upright] = []
    for s in stretches:
        beyond = s.left < lo or s.right > hi
        ends_here = (s.left < lo and not region.cut_left) or (s.right > hi and not region.cut_right)
        weak = ends_here or s.score < CUT_SCORE
        if told.judged is not None and s.front > PLAIN_FACE:
            weak = False
        if beyond and weak and not _on_wall(maps, s, *shown.picture.rows):
            continue
        reach = measure_extent(shown.front, seen, s, shown.height_px)
        ups += split_plies(shown.front, seen, reach, shown.height_px)
    if told.judged is not None:
        ups = reach_by_columns(ups, told.judged)
    return merge_touching([u for u in ups if u.bottom - u.top > LEAST_PARTIAL_HEIGHT], told.face_px)


def _with_short_ones(shown: _Columns, told: _Told, ups: list[Upright]) -> list[Upright]:
    """Members with the short ones among them, each as tall as what is seen and what it rests on say."""
    face_px, judged, banded = told.face_px, told.judged, shown.picture.banded
    ups = add_partials(
        ups,
        shown.front,
        shown.bands.votes,
        shown.bands.seen,
        shown.height_px,
        face_px,
        shown.limits(face_px),
        shown.foot,
    )
    across = banded.across if banded is not None else None
    if judged is not None:
        ups = reach_by_columns(ups, judged)
    else:
        ups = join_hidden(ups, face_px, across)
        pitch_px = _layout_pitch(ups, face_px)
        if pitch_px is not None:
            ups = complete_on_layout(ups, pitch_px)
    if across is not None:
        ups = settle_partials(ups, across, face_px, shown.sides)
    if judged is None and told.cues is not None:
        ups = drop_side_faces(ups, shown.foot, told.cues, face_px)
        ups = drop_beyond_ends(ups, *shown.sides, face_px)
    return ups


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


def _layout_pitch(ups: list[Upright], face_px: float) -> float | None:
    """Columns from stud to stud where the long members stand on one usual layout; None where not."""
    long = sorted(u.stretch.centre for u in ups if u.full or u.bottom - u.top > 0.5)
    found = scale_from_spacing(np.array(long), USUAL_SPACINGS_IN, face_px) if len(long) >= 4 else None
    return found.spacing_in / found.inches_per_unit if found and found.spacing_in else None
