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

from vision.best_apart import ENOUGH_SIDE, Integral, best_apart
from vision.candidate_edges import candidate_edges, judged_edges, running_max
from vision.columns import ColumnShares

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
JOINT_FROM, JOINT_SIDE = 0.40, 0.5  # what the cues must show for a further ply
# Side faces of known depth: what a stretch pays for lacking its own and for side face left over beyond.
BLOCK_MISSING, BLOCK_BEYOND, BLOCK_SLACK, BLOCK_MARGIN = 4.0, 1.5, 0.2, 0.4
# Members that measure the depth: score, distance from the foot in faces; how they may scatter; usual depths
# are 2.3 (2x4), 2.9 (steel) and 3.7 faces (2x6).
DEPTH_SCORE, DEPTH_FROM_FACES, DEPTH_SPREAD, DEPTH_FACES = 1.0, 10.0, 0.2, (1.7, 4.6)
NO_FACE = 0.25  # where the share of front face stays below this nearby, no member begins or ends
MOST_PLIES = 4
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


@dataclass(frozen=True)
class PlyCues:
    """What tells two touching members from one member and its side face, per column (W,).

    Attributes
    ----------
    joint : share of height over which touching members meet here
    side : share of side face
    header : share of the zone under the top plate in which something runs across
    distance_px, depth_px : float
        Distance of the camera and depth of the members, in columns.
    depth_known : bool
        The depth was measured on this wall's own members.
    ends : (float or None, float or None)
        Columns where this wall seems to begin and end; its end members' outer edges lie there.
    """

    joint: NDArray[np.float64]
    side: NDArray[np.float64]
    header: NDArray[np.float64]
    distance_px: float
    depth_px: float
    depth_known: bool = False
    ends: tuple[float | None, float | None] = (None, None)


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
    n = len(front)
    cols, weight = candidate_edges(share, front, width_px)
    starts = ends = weight
    if judged is not None:
        cols, weight, starts, ends = judged_edges(cols, weight, judged, width_px)
        if plies is not None:
            both = np.minimum(running_max(judged.left, 1), running_max(judged.right, 1))
            plies = replace(plies, joint=np.maximum(plies.joint, both))
    near_face = running_max(front, max(1, round(0.7 * width_px)))
    keep = near_face[np.clip(np.rint(cols), 0, n - 1).astype(int)] > NO_FACE
    cols, weight, starts, ends = cols[keep], weight[keep], starts[keep], ends[keep]
    if len(cols) < 2:
        return []
    i, j = np.nonzero(np.triu(np.ones((len(cols), len(cols)), bool), 1))
    ratio = (cols[j] - cols[i]) / width_px
    ok = (ratio >= 0.55) & (ratio <= MOST_PLIES + 0.45)
    i, j, ratio = i[ok], j[ok], ratio[ok]
    left, right = cols[i], cols[j]
    ply = np.maximum(1, np.rint(ratio)).astype(int)
    area = Integral(front - FRONT_EVEN)
    over = Integral(np.maximum(front - FRONT_EVEN, 0))
    per_ply = area(left, right) / width_px / ply
    extra = _further_plies(left, right, ply, width_px, foot, plies)
    gain = FRONT_GAIN * np.minimum(per_ply, 1 - FRONT_EVEN) * (1 + extra)
    single = 0.5 * ((ratio / ply - 1) / width_sigma) ** 2
    group = 0.5 * ((ratio / ply - 1) / (0.8 * width_sigma / np.sqrt(ply) + 0.04)) ** 2
    off = np.minimum(WIDTH_CAP, np.where(ply == 1, single, group))
    centre = 0.5 * (left + right)
    # Smoothly from one side to the other as the member passes opposite the camera.
    side = 0.5 + 0.5 * np.tanh((centre - foot) / (6 * width_px))
    far, near = FAR_MARGIN * width_px, NEAR_MARGIN * width_px
    lost = (
        (1 - side) * (SPILL_FAR * over(left - far, left) + SPILL_NEAR * over(right, right + near)) / width_px
    )
    lost += side * (SPILL_FAR * over(right, right + far) + SPILL_NEAR * over(left - near, left)) / width_px
    # The far edge stands against what is behind the wall and is seldom lost; the near one may meet a side
    # face of the same colour.
    left_weight = FAR_EDGE + (NEAR_EDGE - FAR_EDGE) * side
    right_weight = NEAR_EDGE + (FAR_EDGE - NEAR_EDGE) * side
    edges = left_weight * np.minimum(1.0, 1.5 * starts[i]) + right_weight * np.minimum(1.0, 1.5 * ends[j])
    score = gain - lost + EDGE_GAIN * edges - off - MEMBER_COST - PLY_COST * (ply - 1)
    score -= _unlike_its_side(left, right, front, width_px, foot, plies)
    if plies is not None:
        for end, edge in zip(plies.ends, (left, right), strict=True):
            if end is not None:
                score += END_GAIN * np.exp(-0.5 * ((edge - end) / (END_REACH * width_px)) ** 2)
    ok = (score >= LEAST_SCORE) & (per_ply > 0) & (extra >= 0.5 * (ply - 1))
    total = Integral(front)
    shows, beside = _side_faces(left[ok], right[ok], width_px, foot, plies)
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
        k = int(np.clip(round(float(centre[q])), 0, n - 1))
        out.append(
            Stretch(
                float(left[q]),
                float(right[q]),
                int(ply[q]),
                float(total(left[q : q + 1], right[q : q + 1])[0] / (right[q] - left[q])),
                float(weight[i[q]]),
                float(weight[j[q]]),
                float(score[q]),
                float(slope[k]),
            )
        )
    return out


def _side_faces(
    left: NDArray[np.float64],
    right: NDArray[np.float64],
    width_px: float,
    foot: float,
    cues: PlyCues | None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How many columns of side face each stretch should show towards the foot, and the share seen there."""
    if cues is None:
        return np.zeros(len(left)), np.ones(len(left))
    near = np.where(0.5 * (left + right) > foot, left - foot, foot - right)
    shows: NDArray[np.float64] = np.maximum(near, 0) * (cues.depth_px / (cues.distance_px + cues.depth_px))
    side = Integral(cues.side)
    reach = np.clip(shows, 1.0, 1.5 * width_px)
    towards_left = side(left - reach, left) / reach
    towards_right = side(right, right + reach) / reach
    return shows, np.where(0.5 * (left + right) > foot, towards_left, towards_right)


def _unlike_its_side(
    left: NDArray[np.float64],
    right: NDArray[np.float64],
    front: NDArray[np.float64],
    width_px: float,
    foot: float,
    cues: PlyCues | None,
) -> NDArray[np.float64]:
    """What each stretch pays where its side face, of known depth, is not seen as far as it must be.

    Read as a group, a member with its side face in the same light lacks the group's own side face; read
    too far in, it has side face left over beyond where its own ends.
    """
    if cues is None or not cues.depth_known:
        return np.zeros(len(left))
    near = np.where(0.5 * (left + right) > foot, left - foot, foot - right)
    shows = np.maximum(near, 0) * (cues.depth_px / (cues.distance_px + cues.depth_px))
    covered = Integral(np.minimum(1.0, front + cues.side))
    beyond = Integral(cues.side)
    reach, margin = np.maximum(shows, 1.0), BLOCK_MARGIN * width_px
    on_left = 0.5 * (left + right) > foot
    ends = np.where(on_left, left - shows, right + shows)
    inside = np.where(on_left, covered(left - reach, left), covered(right, right + reach)) / reach
    left_over = np.where(on_left, beyond(ends - margin, ends), beyond(ends, ends + margin)) / margin
    seen = np.clip(shows / (0.5 * width_px), 0, 1)
    missing = np.clip(1 - inside - BLOCK_SLACK, 0, 1)
    return np.asarray(
        seen * (BLOCK_MISSING * missing + BLOCK_BEYOND * np.clip(left_over - BLOCK_SLACK, 0, 1))
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


def _further_plies(
    left: NDArray[np.float64],
    right: NDArray[np.float64],
    ply: NDArray[np.int64],
    width_px: float,
    foot: float,
    cues: PlyCues | None,
) -> NDArray[np.float64]:
    """How many further plies (0..ply - 1, with fractions) the cues allow each stretch."""
    if cues is None:
        return np.asarray(ply - 1, np.float64)
    at_column = np.arange(len(cues.joint))
    met = running_max(cues.joint, max(1, round(0.15 * width_px)))
    # Beside a true group its own side face shows, as wide as the view from the foot allows; a side
    # face read as front has none beside it.
    shows, beside = _side_faces(left, right, width_px, foot, cues)
    visible = np.clip(shows / (0.6 * width_px), 0, 1)
    extra = np.zeros(len(left))
    for k in range(1, MOST_PLIES):
        at = left + (right - left) * k / ply
        here = np.interp(at, at_column, met) + JOINT_SIDE * visible * (beside - ENOUGH_SIDE)
        # A trimmer carries the header: something runs across above one ply, not above its neighbour.
        a = np.interp(at - 0.5 * width_px, at_column, cues.header)
        b = np.interp(at + 0.5 * width_px, at_column, cues.header)
        carries = (np.maximum(a, b) > 0.30) & (np.minimum(a, b) < 0.15)
        allowed = np.maximum(np.clip((here - JOINT_FROM) / 0.15, 0, 1), carries)
        extra += np.where(k < ply, allowed, 0)
    return np.asarray(extra, np.float64)
