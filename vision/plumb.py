"""Members that stand out of plumb more than a board can hide: said only where both edges tell the same."""

from __future__ import annotations

from vision.placing import Placed
from vision.reading import Member, Warning
from vision.survey import Survey

MOST_OUT_OF_PLUMB_IN = 0.25
# Both edges seen over this share of the height, and leaning alike within this: then the lean is within
# 0.13 in for 97 % of such members (tuning scenes; 0.17 in on validation); one edge alone is off by 0.7 in
# for a tenth of all.
EDGE_SHARE, EDGES_ALIKE_IN = 0.6, 0.15


def lean_known(survey: Survey, placed: Placed) -> tuple[bool, ...]:
    """Per member, whether its lean is measured well enough to speak of it."""
    height_in = survey.region.height * placed.scale.inches_per_unit
    out = []
    for m in survey.members:
        a, b = m.left, m.right
        out.append(
            a is not None
            and b is not None
            and m.upright.full
            and min(a.share, b.share) > EDGE_SHARE
            and abs(a.slope - b.slope) * height_in < EDGES_ALIKE_IN
        )
    return tuple(out)


def plumb_warnings(members: list[Member], known: list[bool]) -> list[Warning]:
    """One sentence for each member that leans more than a quarter inch over the wall's height."""
    out = []
    for m, sure in zip(members, known, strict=True):
        if sure and m.sure and abs(m.lean_in) > MOST_OUT_OF_PLUMB_IN:
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
