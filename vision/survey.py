"""The members of a wall whose region is known: found, measured in the photo, in rectified units."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.edges import EdgeLine, band_mean, edge_votes, lab_of, measure_edge, sheared_mean
from vision.extent import (
    Upright,
    complete_on_layout,
    drop_beyond_ends,
    drop_side_faces,
    join_hidden,
    measure_extent,
    merge_touching,
    settle_partials,
    split_plies,
)
from vision.foreign import drop_foreign
from vision.implied_ends import add_implied_ends, cut_off_neighbours
from vision.members import PlyCues, Stretch, depth_seen_px, face_width_px, select_members
from vision.plates import refine_region
from vision.rectify import RectGrid, grid_over, pick, sampling_map, within
from vision.scale import USUAL_SPACINGS_IN, scale_from_spacing
from vision.viewing import Viewed
from vision.wall_region import Region
from vision.what import LONG_SIDE_WALL_PX, WhatMaps, look, plain_front

MARGIN = 0.05  # of the wall's length and height, kept around it
MOST_COLUMNS = 1700
ON_WALL = 0.65
END_NEAR_FACES = 2.5
USUAL_DEPTH_FACES = 3.5 / 1.5  # a 2x4 is 3 1/2 in deep behind its 1 1/2 in face (PS 20)
HEADER_BANDS = slice(3, 12)  # of 48, from the top: under the plates, where headers lie
SIDE_FACES = 1.2  # a side face seen at a slant is at most about this many faces wide
# A face this much off its width, in faces, has one wrong edge; wholly so a ramp further on.
WIDTH_OFF, WIDTH_OFF_RAMP, BETTER_EDGE = 0.067, 0.08, 1.5
# What the fits' own sigma leaves out, in faces: an odd width, and edges that show over little of the height
# (tuning scenes: 0.04 in where the better edge is clear, 0.1 in at half of the height, 0.3 in at a fifth).
WIDTH_SIGMA, EDGE_SIGMA, CLEAR_EDGE = 0.1, 0.35, 0.9
# A partial member is looked for in what the full ones leave; lower than this it is a scrap.
LEAST_PARTIAL_HEIGHT = 0.09


@dataclass(frozen=True)
class Measured:
    """One member in rectified units.

    Attributes
    ----------
    x_left, x_right : float
        Edges of the front face at mid-height of the region.
    slope : float
        dX per unit of Y, downward.
    y_top, y_bottom : float
        Reach.
    sigma : float
        Formal sigma of the centre.
    width_seen : float
        How far apart the two edges were seen, whatever the face's width must be.
    left, right : EdgeLine or None
        The fitted edges; None when only the coarse position is known.
    upright : Upright
    """

    x_left: float
    x_right: float
    slope: float
    y_top: float
    y_bottom: float
    sigma: float
    width_seen: float
    left: EdgeLine | None
    right: EdgeLine | None
    upright: Upright

    @property
    def x_centre(self) -> float:
        """Middle of the front face at mid-height."""
        return 0.5 * (self.x_left + self.x_right)

    @property
    def width(self) -> float:
        """Width of the front face."""
        return self.x_right - self.x_left


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
    """

    region: Region
    face: float
    members: tuple[Measured, ...]
    grid: RectGrid
    maps: WhatMaps | None
    face_seen: float | None = None


@dataclass(frozen=True)
class WallPicture:
    """The wall seen straight on, with what each pixel shows.

    Attributes
    ----------
    region : Region
        Pulled to the plates.
    grid : RectGrid
    lab : (H, W, 3) float32 array
        Its colours in CIELAB.
    seen : (H, W) bool array
        False where the photo does not show the plane.
    maps : WhatMaps or None
        None without the model.
    """

    region: Region
    grid: RectGrid
    lab: NDArray[np.float32]
    seen: NDArray[np.bool_]
    maps: WhatMaps | None


def picture_wall(viewed: Viewed) -> WallPicture:
    """Sample the wall's plane over the region and look at it once more, closer."""
    region = viewed.region
    if region is None:
        raise ValueError("the view has no region")
    view = viewed.view
    mx, my = MARGIN * region.width, MARGIN * region.height
    step = max(1.0 / (view.focal_px * viewed.scale), region.width * (1 + 2 * MARGIN) / MOST_COLUMNS)
    grid = grid_over(region.left - mx, region.top - my, region.right + mx, region.bottom + my, step)
    at = sampling_map(view, grid, viewed.scale)
    rect = pick(viewed.working_rgb, at)
    seen = within(at, *viewed.working_rgb.shape[:2])
    maps = look(rect, LONG_SIDE_WALL_PX)
    lab = lab_of(rect)
    if maps is not None:
        region = refine_region(region, grid, maps, lab, seen)
    return WallPicture(region, grid, lab, seen, maps)


def survey_wall(
    viewed: Viewed, picture: WallPicture, grey: NDArray[np.float32], face_units: float | None
) -> Survey | None:
    """Find and measure the members.

    Parameters
    ----------
    viewed : Viewed
    picture : WallPicture
        From `picture_wall(viewed)`.
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
    row_top, row_bottom = float(grid.row(region.top)), float(grid.row(region.bottom))
    height_px = row_bottom - row_top
    face_px = face_units / step if face_units else None
    blur = 0.12 * (face_px or 10.0)
    bands = edge_votes(picture.lab, seen, row_top, row_bottom, float(np.clip(blur, 0.7, 3.0)))
    if maps is not None:
        front = band_mean(maps.front, row_top, row_bottom) * bands.seen
    else:
        front = plain_front(bands, face_px or 0.012 * grid.width)
    share, slope = sheared_mean(bands.votes, bands.seen, height_px)
    column, _ = sheared_mean(front, bands.seen, height_px)
    seen_px = face_width_px(column)
    if face_px is None:
        face_px = seen_px
    if face_px is None or face_px < 1.5:
        return None
    cues = None
    if maps is not None:
        cues = PlyCues(
            sheared_mean(band_mean(maps.joint, row_top, row_bottom), bands.seen, height_px)[0],
            sheared_mean(band_mean(maps.side, row_top, row_bottom), bands.seen, height_px)[0],
            band_mean(maps.across, row_top, row_bottom)[HEADER_BANDS].mean(0).astype(float),
            1.0 / step,
            USUAL_DEPTH_FACES * face_px,
            ends=_wall_ends(maps, seen, picture, face_px),
        )
    foot = float(grid.column(0.0))
    width_sigma = 0.14 if face_units else 0.22
    stretches = select_members(column, share, slope, face_px, cues, foot, width_sigma=width_sigma)
    if cues is not None:
        depth = depth_seen_px(stretches, column, cues.side, face_px, foot, cues.distance_px)
        if depth is not None:
            cues = replace(cues, depth_px=depth, depth_known=True)
            stretches = select_members(column, share, slope, face_px, cues, foot, width_sigma=width_sigma)
    lo, hi = float(grid.column(region.left)) - 1.2 * face_px, float(grid.column(region.right)) + 1.2 * face_px
    ups: list[Upright] = []
    for s in stretches:
        if (s.left < lo or s.right > hi) and not _on_wall(maps, s, row_top, row_bottom):
            continue
        ups += split_plies(front, bands.seen, measure_extent(front, bands.seen, s, height_px), height_px)
    ups = merge_touching([u for u in ups if u.bottom - u.top > LEAST_PARTIAL_HEIGHT], face_px)
    ups = _add_partials(ups, front, bands.votes, bands.seen, height_px, face_px, (lo, hi), foot)
    across = band_mean(maps.across, row_top, row_bottom) if maps is not None else None
    ups = join_hidden(ups, face_px, across)
    pitch_px = _layout_pitch(ups, face_px)
    if pitch_px is not None:
        ups = complete_on_layout(ups, pitch_px)
    if across is not None:
        ups = settle_partials(ups, across, face_px)
    if cues is not None:
        ups = drop_side_faces(ups, foot, cues, face_px)
        ups = drop_beyond_ends(
            ups, float(grid.column(region.left)), float(grid.column(region.right)), face_px
        )
    ups = drop_foreign(ups, bands.colour)
    if maps is not None:
        ups = cut_off_neighbours(ups, region, grid, maps, face_px)
        ups = add_implied_ends(ups, region, grid, maps, front, face_px)
    foot_x = 0.0 if face_units else None
    members = tuple(
        m for u in ups if (m := _measure(u, grey, viewed, grid, region, face_px, foot_x)) is not None
    )
    return Survey(region, face_px * step, members, grid, maps, seen_px * step if seen_px else None)


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


def face_about_better_edge(
    pos: list[float],
    fitted: list[EdgeLine | None],
    column_share: tuple[float, float],
    width: float,
    face: float,
    foot_x: float,
) -> list[float]:
    """Edges of a member whose `width` is known: where the two seen lie otherwise apart, one is wrong.

    The better seen edge then carries the member; the edge away from the camera's foot, which stands
    against what is behind the wall, is a little likelier to be right than the one beside the side face.
    All lengths in rectified units. Weights fitted on the tuning scenes: 95 % of the centres within 0.14 in
    (0.21 with the plain middle).
    """
    off = abs(pos[1] - pos[0] - width) / face
    doubt = float(np.clip((off - WIDTH_OFF) / WIDTH_OFF_RAMP, 0.0, 1.0))
    if doubt == 0.0:
        return pos
    shares = [e.share if e is not None else 0.0 for e in fitted]
    away = float(np.tanh((foot_x - 0.5 * (pos[0] + pos[1])) / (6 * face)))
    better = 1.5 * (column_share[0] - column_share[1]) + 2.0 * (shares[0] - shares[1]) + 0.26 * away
    left = 0.5 * (1 - doubt) + doubt / (1 + np.exp(-BETTER_EDGE * better))
    centre = left * (pos[0] + 0.5 * width) + (1 - left) * (pos[1] - 0.5 * width)
    half = 0.5 * ((1 - doubt) * (pos[1] - pos[0]) + doubt * width)
    return [float(centre - half), float(centre + half)]


def _measure(
    up: Upright,
    grey: NDArray[np.float32],
    viewed: Viewed,
    grid: RectGrid,
    region: Region,
    face_px: float,
    foot_x: float | None,
) -> Measured | None:
    """Measure one member; `foot_x` is the X opposite the camera, None while the face's width is a guess."""
    s = up.stretch
    y_top = region.top + up.top * region.height
    y_bottom = region.top + up.bottom * region.height
    # Stay clear of the plates, whose own ends and shadows pull.
    trim = 0.03 * region.height if up.full else 0.1 * (y_bottom - y_top)
    a, b = y_top + trim, y_bottom - trim
    y_mid = 0.5 * (a + b)
    slope = s.slope
    mid_region = region.top + 0.5 * region.height
    shift = slope * (y_mid - mid_region)
    face = face_px * grid.step
    reach = 0.28 * face
    x = [float(grid.x(s.left)) + shift, float(grid.x(s.right)) + shift]
    fitted = [measure_edge(grey, viewed.view, q, slope, a, b, reach) for q in x]
    weights = []
    pos = []
    slopes = []
    for q, e, seen_share in zip(x, fitted, (s.edge_left, s.edge_right), strict=True):
        if e is None or abs(e.x_mid - q) > 0.45 * face or abs(e.slope - slope) > 0.02:
            pos.append(q)
            weights.append(0.05)
        else:
            pos.append(e.x_mid)
            slopes.append(e.slope)
            weights.append(0.1 + e.share + 0.5 * seen_share)
    width = pos[1] - pos[0]
    if width < 0.4 * face:
        pos = x
        width = pos[1] - pos[0]
    if foot_x is not None:
        pos = face_about_better_edge(pos, fitted, (s.edge_left, s.edge_right), face * s.plies, face, foot_x)
    lean = float(np.mean(slopes)) if slopes else slope
    back = lean * (mid_region - y_mid)
    best = max(
        min(1.0, seen_share) * (e.share if e is not None else 0.0)
        for e, seen_share in zip(fitted, (s.edge_left, s.edge_right), strict=True)
    )
    formal = np.sqrt(sum((e.sigma if e is not None else 0.15 * face) ** 2 for e in fitted)) / 2
    odd = WIDTH_SIGMA * max(0.0, abs(width / (face * s.plies) - 1) - 0.06) * face
    sigma = float(formal + odd + EDGE_SIGMA * max(0.0, CLEAR_EDGE - best) ** 2 * face)
    return Measured(
        pos[0] + back, pos[1] + back, lean, y_top, y_bottom, sigma, width, fitted[0], fitted[1], up
    )
