"""Which stretches of the wall are front faces of members: one best selection over all stretches.

Along the wall every column has a share of front face (what the picture looks like) and every
candidate edge a share of height (where the picture changes). A member is a stretch between two
edges, about one face wide or a small multiple of it. The selection that scores best as a whole, no
two overlapping, is found by dynamic programming (weighted interval scheduling), so that a strong
neighbour cannot be read twice and a side face cannot be read beside its own front face.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.best_apart import Integral, best_apart
from vision.candidate_edges import candidate_edges, judged_edges, running_max
from vision.columns import ColumnShares
from vision.ply_cues import MOST_PLIES, PlyCues, further_plies, side_faces, unlike_its_side

# All scores in nats-like units; tuned on the tuning scenes, see tests/benchmarks/reading.py.
FRONT_GAIN, FRONT_EVEN = 5.0, 0.38
# Front face left outside a stretch speaks against it: on the far side from the camera's foot a
# member shows nothing of itself beyond its edge, on the near side its side face may pass for front.
SPILL_FAR, SPILL_NEAR = 3.0, 1.0
FAR_MARGIN, NEAR_MARGIN = 0.8, 0.4  # of a face
PAIR_FACES = 1.0  # two members nearer than this that do not touch must show something else between them
EDGE_GAIN, FAR_EDGE, NEAR_EDGE = 1.0, 1.1, 0.9
WIDTH_SIGMA, WIDTH_CAP = 0.14, 4.0
MEMBER_COST = 1.6
END_GAIN, END_REACH = 0.6, 0.35  # for standing where the wall ends; faces
PLY_COST = 1.6
# Members that nearly touch are plies of one group, or one of them is a side face.
LEAST_GAP = 0.4  # of a face
# Members that measure the depth: score, distance from the foot in faces; how they may scatter; usual depths
# are 2.3 (2x4), 2.9 (steel) and 3.7 faces (2x6).
DEPTH_SCORE, DEPTH_FROM_FACES, DEPTH_SPREAD, DEPTH_FACES = 1.0, 10.0, 0.2, (1.7, 4.6)
NO_FACE = 0.25  # where the share of front face stays below this nearby, no member begins or ends
LEAST_SCORE = 0.15


@dataclass(frozen=True)
class Stretch:
    """One chosen stretch, in columns of the rectified picture.

    Attributes
    ----------
    left, right : float
        Edges, columns at mid-height.
    plies : int
        Faces side by side that best explain the width.
    front : float
        Mean share of front face inside, 0..1.
    edge_left, edge_right : float
        Share of height over which each edge is seen, 0..1.
    score : float
        Its part of the selection's score; more is surer.
    slope : float
        Sideways run over the full height, as a share of the height.
    """

    left: float
    right: float
    plies: int
    front: float
    edge_left: float
    edge_right: float
    score: float
    slope: float

    @property
    def centre(self) -> float:
        """Middle column."""
        return 0.5 * (self.left + self.right)

    @property
    def width(self) -> float:
        """Width in columns."""
        return self.right - self.left


def select_members(
    front: NDArray[np.float64],
    share: NDArray[np.float64],
    slope: NDArray[np.float64],
    width_px: float,
    plies: PlyCues | None = None,
    foot: float = 0.0,
    width_sigma: float = WIDTH_SIGMA,
    judged: ColumnShares | None = None,
) -> list[Stretch]:
    """Choose the members of the wall.

    Parameters
    ----------
    front : (W,) array
        Share of front face per column, 0..1.
    share, slope : (W,) arrays
        Share of height of the best edge through each column, and its slope.
    width_px : float
        Expected width of one face, columns.
    plies : PlyCues, optional
        What tells two touching members from one with its side face. Without it groups go unquestioned.
    foot : float
        Column opposite the camera: members show their side faces towards it.
    width_sigma : float
        How far one face's width strays from `width_px`, relative.
    judged : ColumnShares, optional
        What the column network says; `front` is then its share of full-height face.

    Returns
    -------
    list of Stretch, left to right
    """
    tried = _stretches_to_try(front, share, width_px, judged)
    if tried is None:
        return []
    if judged is not None and plies is not None:
        both = np.minimum(running_max(judged.left, 1), running_max(judged.right, 1))
        plies = replace(plies, joint=np.maximum(plies.joint, both))
    left, right, ply = tried.left, tried.right, tried.ply
    per_ply = Integral(front - FRONT_EVEN)(left, right) / width_px / ply
    extra = further_plies(left, right, ply, width_px, foot, plies)
    score = FRONT_GAIN * np.minimum(per_ply, 1 - FRONT_EVEN) * (1 + extra)
    score += _worth_of_edges(tried, foot, width_px) - _spill(tried, front, foot, width_px)
    score -= _odd_width(tried, width_sigma) + MEMBER_COST + PLY_COST * (ply - 1)
    score -= unlike_its_side(left, right, front, width_px, foot, plies)
    if plies is not None:
        for end, edge in zip(plies.ends, (left, right), strict=True):
            if end is not None:
                score += END_GAIN * np.exp(-0.5 * ((edge - end) / (END_REACH * width_px)) ** 2)
    ok = (score >= LEAST_SCORE) & (per_ply > 0) & (extra >= 0.5 * (ply - 1))
    total = Integral(front)
    shows, beside = side_faces(left[ok], right[ok], width_px, foot, plies)
    chosen = best_apart(
        left[ok],
        right[ok],
        score[ok],
        LEAST_GAP * width_px,
        foot,
        shows,
        beside,
        (total, PAIR_FACES * width_px),
    )
    out = []
    for q in np.flatnonzero(ok)[chosen]:
        k = int(np.clip(round(float(tried.centre[q])), 0, len(front) - 1))
        out.append(
            Stretch(
                float(left[q]),
                float(right[q]),
                int(ply[q]),
                float(total(left[q : q + 1], right[q : q + 1])[0] / (right[q] - left[q])),
                float(tried.edge_left[q]),
                float(tried.edge_right[q]),
                float(score[q]),
                float(slope[k]),
            )
        )
    return out


@dataclass(frozen=True)
class _Tried:
    """Stretches between two candidate edges, about one face or a few faces wide (N,).

    Attributes
    ----------
    left, right : columns
    ratio : width in faces
    ply : faces side by side that come nearest to the width
    edge_left, edge_right : share of height over which the edges are seen
    begins, ends : the same, for a left (right) edge, with what the column network says
    """

    left: NDArray[np.float64]
    right: NDArray[np.float64]
    ratio: NDArray[np.float64]
    ply: NDArray[np.int64]
    edge_left: NDArray[np.float64]
    edge_right: NDArray[np.float64]
    begins: NDArray[np.float64]
    ends: NDArray[np.float64]

    @property
    def centre(self) -> NDArray[np.float64]:
        """Middle columns."""
        return 0.5 * (self.left + self.right)

    def side(self, foot: float, width_px: float) -> NDArray[np.float64]:
        """0 left of the foot, 1 right of it, smoothly as the member passes opposite the camera."""
        return np.asarray(0.5 + 0.5 * np.tanh((self.centre - foot) / (6 * width_px)))


def _stretches_to_try(
    front: NDArray[np.float64],
    share: NDArray[np.float64],
    width_px: float,
    judged: ColumnShares | None,
) -> _Tried | None:
    """None where fewer than two edges lie by anything that looks like a face."""
    cols, weight = candidate_edges(share, front, width_px)
    begins = ends = weight
    if judged is not None:
        cols, weight, begins, ends = judged_edges(cols, weight, judged, width_px)
    near_face = running_max(front, max(1, round(0.7 * width_px)))
    keep = near_face[np.clip(np.rint(cols), 0, len(front) - 1).astype(int)] > NO_FACE
    cols, weight, begins, ends = cols[keep], weight[keep], begins[keep], ends[keep]
    if len(cols) < 2:
        return None
    i, j = np.nonzero(np.triu(np.ones((len(cols), len(cols)), bool), 1))
    ratio = (cols[j] - cols[i]) / width_px
    ok = (ratio >= 0.55) & (ratio <= MOST_PLIES + 0.45)
    i, j, ratio = i[ok], j[ok], ratio[ok]
    ply = np.maximum(1, np.rint(ratio)).astype(int)
    return _Tried(cols[i], cols[j], ratio, ply, weight[i], weight[j], begins[i], ends[j])


def _odd_width(tried: _Tried, width_sigma: float) -> NDArray[np.float64]:
    """What each stretch pays for not being whole faces wide."""
    off = tried.ratio / tried.ply - 1
    single = 0.5 * (off / width_sigma) ** 2
    group = 0.5 * (off / (0.8 * width_sigma / np.sqrt(tried.ply) + 0.04)) ** 2
    return np.minimum(WIDTH_CAP, np.where(tried.ply == 1, single, group))


def _spill(tried: _Tried, front: NDArray[np.float64], foot: float, width_px: float) -> NDArray[np.float64]:
    """What each stretch pays for front face left outside it, by the side it lies on from the camera."""
    over = Integral(np.maximum(front - FRONT_EVEN, 0))
    left, right, side = tried.left, tried.right, tried.side(foot, width_px)
    far, near = FAR_MARGIN * width_px, NEAR_MARGIN * width_px
    lost = (
        (1 - side) * (SPILL_FAR * over(left - far, left) + SPILL_NEAR * over(right, right + near)) / width_px
    )
    lost += side * (SPILL_FAR * over(right, right + far) + SPILL_NEAR * over(left - near, left)) / width_px
    return np.asarray(lost)


def _worth_of_edges(tried: _Tried, foot: float, width_px: float) -> NDArray[np.float64]:
    """What each stretch gains by edges that are seen.

    The far edge stands against what is behind the wall and is seldom lost; the near one may meet a side
    face of the same colour.
    """
    side = tried.side(foot, width_px)
    left_weight = FAR_EDGE + (NEAR_EDGE - FAR_EDGE) * side
    right_weight = NEAR_EDGE + (FAR_EDGE - NEAR_EDGE) * side
    return np.asarray(
        EDGE_GAIN
        * (
            left_weight * np.minimum(1.0, 1.5 * tried.begins)
            + right_weight * np.minimum(1.0, 1.5 * tried.ends)
        )
    )


def depth_seen_px(
    members: list[Stretch],
    front: NDArray[np.float64],
    side: NDArray[np.float64],
    width_px: float,
    foot: float,
    distance_px: float,
) -> float | None:
    """Depth of the members behind their faces, in columns, from how far their side faces show.

    A side face `depth` deep, whose near edge stands X from the foot of a camera `distance` away, shows
    X * depth / (distance + depth). None where fewer than three members show theirs, or they disagree.
    """
    found = []
    both = np.minimum(1.0, front + side)
    for m in members:
        outward = m.centre > foot
        near = m.left - foot if outward else foot - m.right
        if m.plies != 1 or m.score < DEPTH_SCORE or near < DEPTH_FROM_FACES * width_px:
            continue
        beside = both[: max(0, round(m.left))][::-1] if outward else both[round(m.right) + 1 :]
        off = np.flatnonzero(beside <= 0.4)
        share = (float(off[0]) if len(off) else float(len(beside))) / near
        if 0 < share < 0.2:
            found.append(share * distance_px / (1 - share))
    if len(found) < 3:
        return None
    depth = float(np.median(found))
    spread = float(np.median(np.abs(np.array(found) - depth)))
    low, high = DEPTH_FACES
    if spread > DEPTH_SPREAD * depth or not low * width_px < depth < high * width_px:
        return None
    return depth
