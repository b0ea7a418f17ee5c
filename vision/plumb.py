"""How members lean, and which stand out of plumb more than a board can hide."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.curves import Curves
from vision.reading import Member, Warning
from vision.survey import Survey

MOST_OUT_OF_PLUMB_IN = 0.25
# Below the first share of the height no lean is believed, from the second on all of it. On the tuning scenes
# (1,410 studs) 95 % of the leans are within 0.18 in then; a plumb guess for all would be within 0.33 in.
NO_LEAN_SHARE, ALL_LEAN_SHARE = 0.5, 0.8
# A lean is spoken of where both edges show over this share of the height each, over this together, and over
# this much of every third of it, and lean alike within this. Of 113 tuning studs that lean over 1/4 in 52
# are pointed out so, and 15 others, nine of which lean 0.2 in or more.
EDGE_SHARE, BOTH_SHARE, THIRD_SHARE, EDGES_ALIKE_IN = 0.5, 0.65, 0.2, 0.15
# A face this much wider or narrower than it must be, in faces, has one edge that is not its own.
ODD_WIDTH = 0.2
# So many members, and so much of those whose lean is known, lean alike in a frame that is out of square.
LEAST_TOGETHER, TOGETHER_SHARE = 4, 0.6
# Doubts about where a member stands in inches say nothing against how it leans.
PLACE_DOUBTS = frozenset(("wide_error", "wall_unclear", "hidden_end", "seen_once", "carried_over"))


@dataclass(frozen=True)
class Leans:
    """How every member of a survey leans.

    Attributes
    ----------
    slope : (N,) array
        dX per unit of Y, downward, of the member's middle line.
    lean_in : (N,) array
        How much farther right its head stands than its foot, over the wall's height, inches.
    known : (N,) bool array
        Whether it is measured well enough to speak of it.
    """

    slope: NDArray[np.float64]
    lean_in: NDArray[np.float64]
    known: NDArray[np.bool_]


def measure_leans(curves: Curves, survey: Survey, inches_per_unit: float) -> Leans:
    """The lean of each full-height member from both its edges, as traced; a short one's is its edges' own.

    The less of the edges was followed, the nearer to plumb a member is taken to stand.
    """
    members = survey.members
    full = np.array([m.upright.full for m in members], bool)
    height = np.array([m.y_bottom - m.y_top for m in members])
    share = curves.share.mean(1)
    believed = np.clip((share - NO_LEAN_SHARE) / (ALL_LEAN_SHARE - NO_LEAN_SHARE), 0, 1)
    slope = np.where(full, believed * curves.lean / height, np.array([m.slope for m in members]))
    known = (
        full
        & (curves.share.min(1) > EDGE_SHARE)
        & (share > BOTH_SHARE)
        & (curves.thinnest.min(1) > THIRD_SHARE)
        & (curves.leans_apart * inches_per_unit < EDGES_ALIKE_IN)
        & (np.abs(curves.wider) < ODD_WIDTH * survey.face)
    )
    return Leans(slope, -slope * survey.region.height * inches_per_unit, known)


def plumb_warnings(members: list[Member]) -> list[Warning]:
    """One sentence for each member that leans more than a quarter inch over the wall's height.

    One for all where most lean so to the same side: then the frame is racked, or the plates are not level;
    the photo shows only that they are not square to each other.
    """
    together = _lean_together_in(members)
    if together is not None:
        side = "right" if together > 0 else "left"
        return [
            Warning(
                "out_of_square",
                f"Most studs stand {abs(together):.1f} in out of square to the plates, "
                f"their tops to the {side}.",
                "The frame leans, or the plates are not level: hold a level to a stud and to both plates "
                "before you set boards square to either.",
            )
        ]
    out = []
    for m in members:
        if speaks_of(m):
            side = "right" if m.lean_in > 0 else "left"
            out.append(
                Warning(
                    "out_of_plumb",
                    f"The stud at {m.centre_in:.0f} in stands {abs(m.lean_in):.1f} in out of plumb, "
                    f"its top to the {side}.",
                    "A board and its seam will follow it: hold a level to it, and straighten it "
                    "or plan for it.",
                )
            )
    return out


def _lean_together_in(members: list[Member]) -> float | None:
    """How far most studs lean to one side, the median, inches; None where they do not lean alike."""
    leans = [m.lean_in for m in members if m.kind == "full" and m.lean_known]
    over = [lean for lean in leans if abs(lean) > MOST_OUT_OF_PLUMB_IN]
    alike = abs(sum(np.sign(over))) == len(over)
    if len(over) < LEAST_TOGETHER or len(over) < TOGETHER_SHARE * len(leans) or not alike:
        return None
    return float(np.median(over))


def speaks_of(m: Member) -> bool:
    """Whether a member is pointed out as out of plumb."""
    known = m.lean_known and PLACE_DOUBTS.issuperset(m.doubts)
    return known and abs(m.lean_in) > MOST_OUT_OF_PLUMB_IN
