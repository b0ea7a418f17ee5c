"""What tells two touching members from one with its side face: joints, side faces, headers above."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.best_apart import ENOUGH_SIDE, Integral
from vision.candidate_edges import running_max

MOST_PLIES = 4
JOINT_FROM, JOINT_SIDE = 0.40, 0.5  # what the cues must show for a further ply
# Side faces of known depth: what a stretch pays for lacking its own and for side face left over beyond.
BLOCK_MISSING, BLOCK_BEYOND, BLOCK_SLACK, BLOCK_MARGIN = 4.0, 1.5, 0.2, 0.4


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


def side_faces(
    left: NDArray[np.float64],
    right: NDArray[np.float64],
    width_px: float,
    foot: float,
    cues: PlyCues | None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How many columns of side face each stretch should show towards the foot, and the share seen there."""
    if cues is None:
        return np.zeros(len(left)), np.ones(len(left))
    on_left, shows = _side_shown(left, right, foot, cues)
    side = Integral(cues.side)
    reach = np.clip(shows, 1.0, 1.5 * width_px)
    return shows, np.where(on_left, side(left - reach, left), side(right, right + reach)) / reach


def _side_shown(
    left: NDArray[np.float64], right: NDArray[np.float64], foot: float, cues: PlyCues
) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Whether each stretch's side face lies on its left, and how many columns of it show."""
    on_left = 0.5 * (left + right) > foot
    near = np.where(on_left, left - foot, foot - right)
    return on_left, np.maximum(near, 0) * (cues.depth_px / (cues.distance_px + cues.depth_px))


def unlike_its_side(
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
    on_left, shows = _side_shown(left, right, foot, cues)
    covered = Integral(np.minimum(1.0, front + cues.side))
    beyond = Integral(cues.side)
    reach, margin = np.maximum(shows, 1.0), BLOCK_MARGIN * width_px
    ends = np.where(on_left, left - shows, right + shows)
    inside = np.where(on_left, covered(left - reach, left), covered(right, right + reach)) / reach
    left_over = np.where(on_left, beyond(ends - margin, ends), beyond(ends, ends + margin)) / margin
    seen = np.clip(shows / (0.5 * width_px), 0, 1)
    missing = np.clip(1 - inside - BLOCK_SLACK, 0, 1)
    return np.asarray(
        seen * (BLOCK_MISSING * missing + BLOCK_BEYOND * np.clip(left_over - BLOCK_SLACK, 0, 1))
    )


def further_plies(
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
    shows, beside = side_faces(left, right, width_px, foot, cues)
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
