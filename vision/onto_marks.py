"""A stud whose edges hardly show, placed between where it seems to stand and the mark it was set on.

Where nearly all studs of a wall stand on marks one spacing apart, so does the one that light has burnt out or
something hides (studs are set on marks, common practice, no source). Both guesses are weighted by the inverse
of their variances. The ± stays: that it was set on a mark is likely, not known. This says better where to
look for it with a tape.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from vision.placing import Placed
from vision.scale import ON_LAYOUT_IN, layout_of
from vision.survey import Survey

# On 201 tuning scenes, places of members whose edges fix them to no better than this are off by 0.18 in (root
# mean square), the marks by 0.12, both together by 0.11; the others' are off by 0.06.
HARDLY_PLACED_IN = 0.1
MARK_SIGMA_IN = 0.11  # how a stud stands about its mark, on the same scenes
FARTHEST_IN = 1.0  # beyond, it may well have been set off the marks
LEAST_ON_MARKS, SHARE_ON_MARKS = 3, 0.7
PLAINLY_MOVED_IN = 0.1  # moved farther, it is never sure
TAKEN_IN = 2.5  # a mark with another member so near has its stud


def onto_marks(survey: Survey, placed: Placed, origin: int | None, end: int | None) -> tuple[Survey, Placed]:
    """The members with those that are hardly placed by their own edges drawn towards their marks.

    Parameters
    ----------
    origin, end : int or None
        The members that end the wall: they stand on no mark.
    """
    s = placed.scale.inches_per_unit
    single = [
        i
        for i, m in enumerate(survey.members)
        if m.upright.full and m.upright.stretch.plies == 1 and i not in (origin, end)
    ]
    own_in = np.array([m.sigma * s for m in survey.members])
    x = placed.centre_in.copy()
    well = x[[i for i in single if own_in[i] < HARDLY_PLACED_IN]]
    fit = layout_of(well, placed.scale.spacing_in, LEAST_ON_MARKS, SHARE_ON_MARKS)
    if fit is None:
        return survey, placed
    on = well[np.abs(well - fit.mark_near(well)) < ON_LAYOUT_IN]
    marks, members = fit.mark_near(x), list(survey.members)
    for i in single:
        m = members[i]
        if own_in[i] < HARDLY_PLACED_IN or m.upright.implied:
            continue
        mark, others = marks[i], np.delete(placed.centre_in, i)
        if abs(x[i] - mark) > FARTHEST_IN or np.abs(others - mark).min(initial=np.inf) < TAKEN_IN:
            continue
        from_near = fit.scale.relative_sigma * float(np.abs(on - mark).min())
        mark2 = MARK_SIGMA_IN**2 + from_near**2
        weight = own_in[i] ** 2 / (own_in[i] ** 2 + mark2)
        shift = weight * (mark - x[i])
        x[i] += shift
        members[i] = replace(
            m,
            x_left=m.x_left + shift / s,
            x_right=m.x_right + shift / s,
            by_mark=abs(shift) > PLAINLY_MOVED_IN,
        )
    return replace(survey, members=tuple(members)), replace(placed, centre_in=x)
