"""What stands in a bay that is full already: between two members a usual spacing apart, beside the marks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from vision.reading import Member
from vision.scale import USUAL_SPACINGS_IN, layout_of

OFF_MARK_IN, BESIDE_IN = 2.5, 3.5  # off every mark; nailed to another member
LEAST_ON_MARKS, SHARE_ON_MARKS = 4, 0.7
BAY_SLACK_IN, CLEAR_IN = 1.2, 3.0  # of a full bay from a usual spacing; from its members
# Full-height members that stand so in a full bay and are faint, or fainter than the others, or little seen:
# six readings of five pictures (tuning ones, changed copies of them, another generator's), none of a stud.
# Of such members without these doubts most are studs.
FAINT_DOUBTS, EXTRA_OFF_MARK_IN = frozenset({"faint", "fainter", "little_seen"}), 1.0


def in_full_bays(members: Sequence[Member], suspects: Sequence[bool]) -> list[bool]:
    """Which suspects stand clear of both members of a bay that is as wide as bays usually are.

    A bay may hold two of them, and a suspect may close the bay of another: both ways are tried.
    """
    full = [m.centre_in for m in members if m.kind == "full"]
    marked = list(zip(members, suspects, strict=True))
    firm = [m.centre_in for m, suspect in marked if m.kind == "full" and not suspect]
    return [suspect and (_closed(m, full) or _closed(m, firm)) for m, suspect in marked]


def off_the_marks(members: Sequence[Member], suspects: Sequence[bool]) -> list[bool]:
    """Which suspects stand beside every mark of the layout that the other members plainly stand on.

    The ends of a wall stand on no mark, nor does what is nailed to another member.
    """
    return _off_marks(members, suspects, OFF_MARK_IN, BESIDE_IN)


def _off_marks(
    members: Sequence[Member], suspects: Sequence[bool], least_off_in: float, nailed_in: float
) -> list[bool]:
    full = sorted(m.centre_in for m in members if m.kind == "full")
    firm = sorted(
        m.centre_in
        for m, suspect in zip(members, suspects, strict=True)
        if m.kind == "full" and m.plies == 1 and not suspect and m.centre_in not in (full[0], full[-1])
    )
    fit = layout_of(np.array(firm), None, LEAST_ON_MARKS, SHARE_ON_MARKS)
    if fit is None:
        return [False] * len(members)

    def off(m: Member) -> bool:
        from_mark = abs(m.centre_in - float(fit.mark_near(np.array(m.centre_in))))
        beside = min((abs(x - m.centre_in) for x in full if x != m.centre_in), default=np.inf)
        ends = m.centre_in in (full[0], full[-1])
        return from_mark > least_off_in and beside > nailed_in and not ends

    return [suspect and m.kind == "full" and off(m) for m, suspect in zip(members, suspects, strict=True)]


def faint_extras(members: Sequence[Member], framing: Sequence[bool]) -> list[bool]:
    """Which members hardly look like a stud's front and stand beside the marks in a full bay: none is wanted.

    `framing` says which may frame an opening: these stand where the opening is, not on a mark.
    """
    suspects = [
        m.kind == "full" and m.plies == 1 and bool(FAINT_DOUBTS & set(m.doubts)) and not at_opening
        for m, at_opening in zip(members, framing, strict=True)
    ]
    firm = [
        m.centre_in for m, suspect in zip(members, suspects, strict=True) if m.kind == "full" and not suspect
    ]
    off = _off_marks(members, suspects, EXTRA_OFF_MARK_IN, 0.0)
    return [out and _closed(m, firm, 0.0) for m, out in zip(members, off, strict=True)]


def _closed(m: Member, centres_in: list[float], clear_in: float = CLEAR_IN) -> bool:
    left = max((x for x in centres_in if x < m.centre_in), default=-np.inf)
    right = min((x for x in centres_in if x > m.centre_in), default=np.inf)
    usual = min(abs(right - left - spacing) for spacing in USUAL_SPACINGS_IN) < BAY_SLACK_IN
    return usual and min(m.centre_in - left, right - m.centre_in) > clear_in
