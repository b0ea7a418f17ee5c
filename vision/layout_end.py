"""The wall's left end by the marks its studs stand on, where the photo shows that end badly.

Studs are laid out from one end of the wall, their middles on marks 16 or 24 in apart counted from the
outer face of the end stud, so that a board's end falls on a stud (common practice, no source). Where the
end itself is hidden in a corner or behind clutter, the marks say where it can be, unless they are counted
from the other end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.measured import without_outer_plies
from vision.placing import Placed, left_end_sigma_in, right_end_sigma_in
from vision.scale import ON_LAYOUT_IN, layout_of
from vision.survey import Survey
from vision.wall_ends import LARGE_SIGMA_IN

# The photo's own sigma of the end from which the marks are asked, inches.
ASK_FROM_IN = 0.15
# Least members on marks, and share of the single ones between the ends that must be.
LEAST_ON_MARKS, SHARE_ON_MARKS = 3, 0.6
# So many members nearest to an end are asked for its mark, so that an error of the scale stays small.
NEAREST_ASKED = 5
# How exactly an end lies on a mark where the layout begins there, inches; how likely it begins at neither.
MARK_SIGMA_IN, AT_NEITHER = 0.2, 0.1
ITSELF_ON_MARK_IN = 0.35
LIKELY = 0.6  # from which the mark is believed
ONE_LESS_WITHIN_IN = 0.25
# An end seen this near its mark is where it was seen, and surer: 17 readings of tuning walls and another
# generator's have it within 0.15 in, 0.07 in root mean square.
KEPT_WITHIN_IN, KEPT_SIGMA_IN = 0.4, 0.12


@dataclass(frozen=True)
class LayoutEnd:
    """The left end as the marks have it.

    Attributes
    ----------
    shift_in : float
        Where it lies, from where the photo has it; to the right is positive.
    sigma_in : float
        Its standard deviation, the chance that the marks are counted from elsewhere included.
    one_less : bool
        The marks would have the double that ends the wall one face narrower.
    """

    shift_in: float
    sigma_in: float
    one_less: bool = False

    @property
    def doubts(self) -> tuple[str, ...]:
        """What is to be doubted of the member that ends the wall."""
        said = (("wall_end_unsure", bool(self.shift_in)), ("ply_unclear", self.one_less))
        return tuple(code for code, holds in said if holds)


def end_by_layout(
    survey: Survey, placed: Placed, origin_index: int | None, end_index: int | None
) -> LayoutEnd | None:
    """Ask the marks for the left end; None where they say nothing or the photo says enough.

    Bayes' rule over three guesses: marks counted from the left end, from the right one, from neither. A
    double at the end is taken for one member beside the next wall's first, whatever the photo says, where the
    marks would have one face less (so are all three on another generator's pictures; of 15 on tuning walls
    none is, and the marks of none would have it so): in doubt where they may be counted from elsewhere.
    """
    s = placed.scale.inches_per_unit
    sigma = left_end_sigma_in(survey, origin_index, s)
    plies = 1 if origin_index is None else survey.members[origin_index].upright.stretch.plies
    double = plies > 1 and not survey.region.cut_left
    if sigma < ASK_FROM_IN and not double:
        return None
    marks = on_marks(survey, placed, origin_index, end_index)
    if marks is None:
        return None
    places, spacing = marks
    off = nearest_mark(places, spacing, 0.0, 1)
    one_less = double and abs(off - survey.face * s) < ONE_LESS_WITHIN_IN
    if one_less:
        sigma = max(sigma, LARGE_SIGMA_IN)
    elif sigma < ASK_FROM_IN:
        return None
    if survey.region.cut_left and abs(off - 0.5 * plies * survey.face * s) < ITSELF_ON_MARK_IN:
        return None  # no end, but a member with its own middle on a mark
    at_left = _normal(off, float(np.hypot(sigma, MARK_SIGMA_IN)))
    at_right = 1 / spacing
    if not survey.region.cut_right:
        far = nearest_mark(places, spacing, placed.length_in, -1)
        at_right = _normal(far, float(np.hypot(right_end_sigma_in(survey, end_index, s), MARK_SIGMA_IN)))
    share = 0.5 * (1 - AT_NEITHER)
    left = share * at_left / spacing
    likely = left / (left + share * at_right / spacing + AT_NEITHER / spacing**2)
    if likely < LIKELY:
        # Marks counted from the other end fall so by chance once in thirty walls.
        return LayoutEnd(off, sigma, one_less) if one_less else None
    kept = abs(off) <= KEPT_WITHIN_IN
    shift, there = (0.0, KEPT_SIGMA_IN) if kept else (off, MARK_SIGMA_IN)
    doubt = float(np.sqrt(likely * there**2 + (1 - likely) * (off**2 + sigma**2)))
    return LayoutEnd(shift, doubt, one_less)


def right_double_doubted(
    survey: Survey, placed: Placed, origin_index: int | None, end_index: int | None
) -> bool:
    """Whether a double ends the wall on the right that the marks would have one face narrower.

    So it is at two walls whose last member is one stud and at one where it is two (tuning pictures, changed
    copies of them and another generator's), so that it is doubted and stays.
    """
    if end_index is None or survey.region.cut_right:
        return False
    if survey.members[end_index].upright.stretch.plies < 2:
        return False
    marks = on_marks(survey, placed, origin_index, end_index)
    if marks is None:
        return False
    off = nearest_mark(*marks, placed.length_in, -1)
    return abs(off + survey.face * placed.scale.inches_per_unit) < ONE_LESS_WITHIN_IN


def on_marks(
    survey: Survey, placed: Placed, origin_index: int | None, end_index: int | None
) -> tuple[NDArray[np.float64], float] | None:
    """Middles of the single members between the ends that stand on one layout, inches, and its spacing."""
    inner = [
        i
        for i, m in enumerate(survey.members)
        if m.upright.full and m.upright.stretch.plies == 1 and i not in (origin_index, end_index)
    ]
    if len(inner) < LEAST_ON_MARKS:
        return None
    x = np.sort(placed.centre_in[inner])
    best = layout_of(x, placed.scale.spacing_in, LEAST_ON_MARKS, SHARE_ON_MARKS)
    if best is None:
        return None
    assert best.scale.spacing_in is not None
    return x[np.abs(x - best.mark_near(x)) < ON_LAYOUT_IN], best.scale.spacing_in


def nearest_mark(places: NDArray[np.float64], spacing: float, end_in: float, order: int) -> float:
    """How far from an end at `end_in` the nearest mark lies of the layout through `places`, inches.

    `places`: members' middles, left to right, those nearest to the end are asked; `order`: 1 on the left.
    """
    places = places[:NEAREST_ASKED] if order > 0 else places[-NEAREST_ASKED:]
    apart = places - places[0]
    gap = places[0] + float(np.mean(apart - spacing * np.rint(apart / spacing))) - end_in
    return float(gap - spacing * np.rint(gap / spacing))


def with_end_at(survey: Survey, placed: Placed, origin_index: int | None, shift_in: float) -> Survey:
    """The survey with its first member, or where none ends it the wall itself, moved along the wall.

    A double that would be moved by one face is one member: its outer face was the next wall's first stud.
    """
    by = shift_in / placed.scale.inches_per_unit
    if origin_index is None:
        return replace(survey, region=replace(survey.region, left=survey.region.left + by))
    m = survey.members[origin_index]
    plies = m.upright.stretch.plies
    off_a_face = abs(by - m.width / plies) * placed.scale.inches_per_unit
    if plies > 1 and not survey.region.cut_left and off_a_face < KEPT_WITHIN_IN:
        moved = without_outer_plies(m, 1, 1)
    else:
        moved = replace(m, x_left=m.x_left + by, x_right=m.x_right + by)
    members = (*survey.members[:origin_index], moved, *survey.members[origin_index + 1 :])
    return replace(survey, members=members)


def _normal(x: float, sigma: float) -> float:
    return float(np.exp(-0.5 * (x / sigma) ** 2) / (sigma * np.sqrt(2 * np.pi)))
