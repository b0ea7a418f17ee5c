"""Pipes and poles in the bays: as tall as a member and as wide, but nothing of this wall's lumber.

What the picture's model now and then takes for a front face, these two together give away: another
colour than the members' over most of its height, and a side with no edge, since what is round has none
where the light falls off slowly. A colour far from all lumber does so alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.columns import ColumnShares
from vision.extent import Upright
from vision.members import Stretch

LEAST_MEMBERS = 4  # fewer do not say what the lumber's colour is
# Distance in Lab's a and b from the other members' middle colour, and how many times their own spread is
# added; the end members, which light from another room may colour, are let off sooner. Tuning scenes.
FOREIGN, FOREIGN_AT_END, SPREADS = 14.0, 25.0, 2.0
PLAINLY_FOREIGN = 45.0  # a bright pipe, whatever its edges: lumber lies within 32 of its neighbours
LEAST_HEIGHT = 0.7  # over this share of the height: a stud half behind a bright level keeps its own colour
LOST_EDGE = 0.3  # share of the height
# Of 5 studs of another colour with a lost edge the column network is so sure of 2, of 7 pipes of none.
SURELY_FULL, SURE_EDGE, SURE_MARGIN = 0.99, 0.9, 0.15
# Of a group's outer ply, so far from the others' colour and twice as far as the rest of its group: a pipe
# that touches a stud.
FOREIGN_PLY, SPLIT_EDGE = 24.0, 0.3


def drop_foreign(
    ups: list[Upright], colour: NDArray[np.float32], judged: ColumnShares | None = None
) -> list[Upright]:
    """Leave out full-height stretches of another colour with only one edge, or of a quite different one.

    Parameters
    ----------
    ups : list of Upright, left to right
    colour : (B, W, 3) array
        Mean CIELAB colour per band and column.
    judged : ColumnShares, optional
        Where the column network is sure of a face, a lost edge leaves no more than a doubt (`odd_colour`).
    """
    full = [u for u in ups if u.full]
    if len(full) < LEAST_MEMBERS:
        return ups
    out = list(ups)
    for i, (u, off) in enumerate(zip(full, beside_others(full, colour), strict=True)):
        least = FOREIGN_AT_END if i in (0, len(full) - 1) else FOREIGN
        s = u.stretch
        if s.plies > 1:
            own = _without_foreign_ply(u, colour, off.usual, FOREIGN_PLY + SPREADS * off.spread)
            if own is not u:
                out[out.index(u)] = own
                continue
        lost = min(s.edge_left, s.edge_right) < LOST_EDGE
        sure = lost and _surely_a_face(s, judged)
        if off.away > (least if lost and not sure else PLAINLY_FOREIGN) + SPREADS * off.spread:
            out.remove(u)
        elif sure and off.away > least + SPREADS * off.spread:
            out[out.index(u)] = replace(u, odd_colour=True)
    return out


@dataclass(frozen=True)
class BesideOthers:
    """A member's colour beside the other members'.

    Attributes
    ----------
    usual : (2,) array
        The others' middle a and b.
    spread : float
        Their own median distance from it.
    away : float
        How far this one is from it over most of its height.
    """

    usual: NDArray[np.float32]
    spread: float
    away: float


def beside_others(full: list[Upright], colour: NDArray[np.float32]) -> list[BesideOthers]:
    """Of each full-height member, how its colour lies to that of the others; at least two."""
    hues = [_hues(u, colour) for u in full]
    typical = np.array([np.median(hue, axis=0) for hue in hues])
    out = []
    for i, hue in enumerate(hues):
        others = np.delete(typical, i, axis=0)
        usual = np.median(others, axis=0)
        spread = float(np.median(np.linalg.norm(others - usual, axis=1)))
        away = float(np.quantile(np.linalg.norm(hue - usual, axis=1), 1 - LEAST_HEIGHT))
        out.append(BesideOthers(usual, spread, away))
    return out


def left_out(before: list[Upright], after: list[Upright], margin: float) -> list[tuple[int, int]]:
    """Columns, first and end, of what `drop_foreign` left out: whole stretches with a margin, or one ply."""
    out = []
    for u in before:
        if u in after:
            continue
        s = u.stretch
        left, right = s.left - margin, s.right + margin
        for q in after:
            if q not in before and s.left <= q.stretch.left and q.stretch.right <= s.right:
                left, right = (left, q.stretch.left) if q.stretch.left > s.left else (q.stretch.right, right)
        out.append((max(0, round(left)), round(right) + 1))
    return out


def _surely_a_face(s: Stretch, judged: ColumnShares | None) -> bool:
    if judged is None:
        return False
    inside = SURE_MARGIN * s.width / s.plies
    full, _ = judged.over(s.left + inside, s.right - inside)
    return full > SURELY_FULL and min(judged.edges(s.left, s.right, inside)) > SURE_EDGE


def _without_foreign_ply(
    u: Upright, colour: NDArray[np.float32], usual: NDArray[np.float32], least: float
) -> Upright:
    """A group less its first or last ply where that one's colour is far from `usual`, the rest's is not."""
    s = u.stretch
    step = s.width / s.plies

    def away(first: int, end: int) -> float:
        part = replace(s, left=s.left + first * step, right=s.left + end * step)
        off = np.linalg.norm(_hues(replace(u, stretch=part), colour) - usual, axis=1)
        return float(np.quantile(off, 1 - LEAST_HEIGHT))

    fewer = replace(s, plies=s.plies - 1, score=s.score * (s.plies - 1) / s.plies)
    if away(0, 1) > max(least, 2 * away(1, s.plies)):
        return replace(u, stretch=replace(fewer, left=s.left + step, edge_left=SPLIT_EDGE))
    if away(s.plies - 1, s.plies) > max(least, 2 * away(0, s.plies - 1)):
        return replace(u, stretch=replace(fewer, right=s.right - step, edge_right=SPLIT_EDGE))
    return u


def _hues(u: Upright, colour: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean a and b of the inner part of a stretch, band by band (B, 2), clear of the plates."""
    s = u.stretch
    a = int(np.clip(round(s.left + 0.2 * s.width), 0, colour.shape[1] - 1))
    b = int(np.clip(round(s.right - 0.2 * s.width) + 1, a + 1, colour.shape[1]))
    return np.asarray(colour[2:-2, a:b, 1:].mean(1), np.float32)
