"""A framed wall ends with a member where its plates end: a hidden one is added, a neighbour's cut off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vision.extent import Upright
from vision.members import Stretch
from vision.plates import plates_seen
from vision.rectify import RectGrid
from vision.wall_region import Region
from vision.what import WhatMaps

SEEN = 0.5  # share of plate, or of this wall, that counts
BRIDGED_FACES = 1.2  # a gap that clutter makes in a plate
# The top plate's end is believed where another mark of the end lies within AGREE of it, none lies within
# ENDS_HERE of the last member seen, and there is room for one member more. Faces; tuning scenes.
AGREE_FACES, ENDS_HERE_FACES, ROOM_FACES = 1.1, 0.5, 1.6
LEAST_FRONT = 0.35  # something of its face must be seen: on real photos the bare plates misled


# Plies that touch at an end, from the inner one out: this wall's stand on both its plates.
INNER_PLATES, OUTER_PLATES, TOUCHING_FACES = 0.9, 0.55, 0.4


def cut_off_neighbours(
    ups: list[Upright], region: Region, grid: RectGrid, maps: WhatMaps, face_px: float
) -> list[Upright]:
    """Take away the plies of an end group that stand beyond either plate's end.

    In a corner the next wall's first stud lines up beside this wall's last: same height, same faces, but
    its plates are the next wall's, and one of them at least does not line up with ours.
    """
    r0, r1 = int(max(0, grid.row(region.top))), int(min(grid.height, grid.row(region.bottom)))
    if r1 - r0 < 10:
        return ups
    both = np.minimum(*plates_seen(maps.plate, r0, r1))
    out = list(ups)
    for cut, order in ((region.cut_left, -1), (region.cut_right, 1)):
        full = [u for u in out if u.full]
        if cut or not full:
            continue
        outward = full if order > 0 else full[::-1]
        group = [outward[-1]]
        for u in outward[-2::-1]:
            gap = max(u.stretch.left - group[-1].stretch.right, group[-1].stretch.left - u.stretch.right)
            if gap > TOUCHING_FACES * face_px:
                break
            group.append(u)
        inner = True
        for u in reversed(group):  # from the inner one out
            kept = 0
            plies = u.stretch.plies
            for ply in range(plies):
                share = _plate_share(both, u.stretch, ply if order > 0 else plies - 1 - ply)
                if inner and share < INNER_PLATES:
                    break
                if not inner and share < OUTER_PLATES:
                    out = _without_outer(out, u, kept, order)
                    break
                kept, inner = kept + 1, False
            if kept < plies:
                if not inner:
                    out = [q for q in out if q not in group or _no_farther(q, u, order)]
                break
    return out


def _plate_share(both: NDArray[np.float32], s: Stretch, ply: int) -> float:
    """Share of both plates over the middle of one ply."""
    one = s.width / s.plies
    left = s.left + (ply + 0.15) * one
    part = both[int(max(0, left)) : int(max(1, left + 0.7 * one)) + 1]
    return float(part.mean()) if part.size else 0.0


def _without_outer(ups: list[Upright], u: Upright, kept: int, order: int) -> list[Upright]:
    """The list with only the `kept` inner plies of `u`."""
    if kept == 0:
        return [q for q in ups if q is not u]
    s = u.stretch
    one = s.width / s.plies
    left, right = (s.left, s.left + kept * one) if order > 0 else (s.right - kept * one, s.right)
    edges = (s.edge_left, 0.0) if order > 0 else (0.0, s.edge_right)
    trimmed = replace(
        s, left=left, right=right, plies=kept, edge_left=edges[0], edge_right=edges[1],
        score=s.score * kept / s.plies,
    )  # fmt: skip
    return [replace(u, stretch=trimmed) if q is u else q for q in ups]


def _no_farther(q: Upright, u: Upright, order: int) -> bool:
    return (q.stretch.centre - u.stretch.centre) * order <= 0


def add_implied_ends(
    ups: list[Upright],
    region: Region,
    grid: RectGrid,
    maps: WhatMaps,
    front: NDArray[np.float32],
    face_px: float,
) -> list[Upright]:
    """Add an end member, with doubt, where the plates run on past the last member seen and then end.

    Parameters
    ----------
    ups : list of Upright, left to right
    region, grid, maps
        The wall's rectangle, and what the rectified picture shows.
    front : (B, W) array
        Banded share of front face.
    face_px : float
        Width of one face, columns.

    Returns
    -------
    list of Upright, left to right
        Walls are framed with a member at either end (common practice, no source).
    """
    full = [u for u in ups if u.full]
    if not full:
        return ups
    r0, r1 = int(max(0, grid.row(region.top))), int(min(grid.height, grid.row(region.bottom)))
    if r1 - r0 < 10:
        return ups
    top, bottom = (q > SEEN for q in plates_seen(maps.plate, r0, r1))
    wall = maps.wall[r0:r1].mean(0) > SEEN
    bridge = round(BRIDGED_FACES * face_px)
    out = list(ups)
    for cut, last, order in (
        (region.cut_left, full[0], -1),
        (region.cut_right, full[-1], 1),
    ):
        edge = last.stretch.left if order < 0 else last.stretch.right
        if cut:
            continue
        start = int(np.clip(round(last.stretch.centre), 0, grid.width - 1))
        ends = [_end_of_run(mark, start, order, bridge) for mark in (top, bottom, wall)]
        beyond = [(e - edge) * order / face_px for e in ends]
        agrees = min(abs(beyond[0] - b) for b in beyond[1:]) < AGREE_FACES
        ends_here = min(abs(b) for b in beyond) < ENDS_HERE_FACES
        if not agrees or ends_here or beyond[0] < ROOM_FACES:
            continue
        hidden = _hidden(ends[0], order, front, face_px)
        if hidden.stretch.front > LEAST_FRONT:
            out.append(hidden)
    return sorted(out, key=lambda u: (u.stretch.centre, u.top))


def _end_of_run(on: NDArray[np.bool_], start: int, order: int, bridge: int) -> float:
    """Outer side of the last column of the run that goes from `start` one way, gaps bridged."""
    part = on[start:] if order > 0 else on[: start + 1][::-1]
    here = np.flatnonzero(part)
    if not len(here) or here[0] > bridge:
        return float(start)
    far = np.flatnonzero(np.diff(here) > bridge + 1)
    last = here[far[0]] if len(far) else here[-1]
    return float(start + order * (int(last) + 0.5))


def _hidden(end: float, order: int, front: NDArray[np.float32], face_px: float) -> Upright:
    left, right = sorted((end, end - order * face_px))
    part = front[:, max(0, int(left)) : max(1, int(right) + 1)]
    share = float(part.mean()) if part.size else 0.0
    return Upright(Stretch(left, right, 1, share, 0.0, 0.0, 0.0, 0.0), 0.0, 1.0, share, True, True, True)
