"""The next wall's first stud beside this wall's end stud, told by the marks that this wall's studs are on.

In a corner the next wall's first stud lines up beside this wall's end stud, and seen straight on it looks
like the end. The marks are counted from the outer face of the end stud (common practice, no source; see
`layout_end.py`), so a stud close to an end is either set on a mark or the one they are counted from.
"""

from __future__ import annotations

from dataclasses import replace

from vision.layout_end import nearest_mark, on_marks
from vision.placing import Placed
from vision.survey import Survey

# Two members with their outer faces this near at an end, apart from each other: the outer one may be the
# next wall's first. Of 369 such pairs (tuning pictures and changed copies of them, validation, another
# generator's) the marks were counted from the inner one's outer face at 6, on 4 walls, and all 6 were the
# next wall's; nearly all the others have a mark in the inner one's middle.
CLOSE_IN, TOUCHING_FACES, ON_ITS_FACE_IN = 6.0, 0.2, 0.25


def without_next_walls(
    survey: Survey, placed: Placed, origin_index: int | None, end_index: int | None
) -> Survey | None:
    """The survey without end members that are the next wall's, by the marks; None where there are none.

    `origin_index`, `end_index`: the members that end it on the left and on the right.
    """
    region, members = survey.region, survey.members
    ends = ((origin_index, 1, region.cut_left), (end_index, -1, region.cut_right))
    pairs = [
        (i, j, order)
        for i, order, cut in ends
        if i is not None and not cut and (j := _close_behind(survey, placed, i, order)) is not None
    ]
    marks = on_marks(survey, placed, origin_index, end_index) if pairs else None
    if marks is None:
        return None
    dropped = []
    for i, j, order in pairs:
        outer_in = _outer_face_in(survey, placed, j, order)
        if abs(nearest_mark(*marks, outer_in, order)) < ON_ITS_FACE_IN:
            dropped.append(i)
    if not dropped:
        return None
    return replace(survey, members=tuple(m for k, m in enumerate(members) if k not in dropped))


def _close_behind(survey: Survey, placed: Placed, index: int, order: int) -> int | None:
    """The full-height member close behind the single one that ends the wall; `order`: 1 on the left."""
    members, face_in = survey.members, survey.face * placed.scale.inches_per_unit
    away = (placed.centre_in - placed.centre_in[index]) * order
    inner = [k for k, m in enumerate(members) if m.upright.full and away[k] > 0]
    if members[index].upright.stretch.plies > 1 or not inner:
        return None
    j = min(inner, key=lambda k: float(away[k]))
    apart = abs(_outer_face_in(survey, placed, j, order) - _outer_face_in(survey, placed, index, order))
    near = (1 + TOUCHING_FACES) * face_in < apart < CLOSE_IN
    return j if near else None


def _outer_face_in(survey: Survey, placed: Placed, index: int, order: int) -> float:
    half = 0.5 * survey.members[index].upright.stretch.plies * survey.face * placed.scale.inches_per_unit
    return float(placed.centre_in[index] - order * half)
