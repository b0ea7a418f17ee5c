"""A way through a framed wall: which stud stands in it, and whether anybody may take it out.

Only in a wall that is known to carry nothing.  Nobody can tell that from a photo or from the
framing alone: whoever does not know it leaves every stud where it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from layout.framing import Surface

__all__ = ["WIDE_ENOUGH_IN", "Way", "way_through"]

WIDE_ENOUGH_IN = 24.0
"""Clear width two people with a board on edge pass one behind the other (common practice, no source)."""
CARRIES = ("nothing", "something", "unknown")


@dataclass(frozen=True, slots=True)
class Way:
    """The answer: `verdict` is one of

    - "open": two studs already stand far enough apart, nothing comes out;
    - "take_out": `member_id` may come out, because the wall is known to carry nothing;
    - "leave_bearing": the wall carries something, every stud stays;
    - "leave_unknown": it is not known, so every stud stays until a builder has looked;
    - "none": no single stud makes a way wide enough.
    """

    verdict: str
    member_id: str = ""
    left_in: float = 0.0
    right_in: float = 0.0

    @property
    def clear_in(self) -> float:
        """Clear width between the faces."""
        return self.right_in - self.left_in


def way_through(surface: Surface, carries: str, near_in: float, wide_in: float = WIDE_ENOUGH_IN) -> Way:
    """The way through a wall nearest to `near_in` along it.

    Parameters
    ----------
    surface : Surface
        A wall; studs doubled up, beside an opening, or at its ends are never proposed.
    carries : {"nothing", "something", "unknown"}
        What the wall carries, as somebody who can judge it has said.
    near_in, wide_in : float
        Where along the wall, and how wide.
    """
    if carries not in CARRIES:
        raise ValueError(f"a wall carries one of {', '.join(CARRIES)}, not {carries!r}")
    studs = surface.members
    gaps = [
        Way("open", "", left.centre_in + left.face_in / 2, right.centre_in - right.face_in / 2)
        for left, right in pairwise(studs)
        if not _in_an_opening(surface, left.centre_in, right.centre_in)
    ]
    wide = [gap for gap in gaps if gap.clear_in >= wide_in]
    if wide:
        return min(wide, key=lambda gap: _away(gap, near_in))
    if carries != "nothing":
        return Way("leave_bearing" if carries == "something" else "leave_unknown")
    found = [
        Way("take_out", middle.id, left.centre_in + left.face_in / 2, right.centre_in - right.face_in / 2)
        for left, middle, right in zip(studs, studs[1:], studs[2:], strict=False)
        if middle.plies == 1
        and middle.kind == "full"
        and not _beside_an_opening(surface, middle.centre_in)
        and not _in_an_opening(surface, left.centre_in, right.centre_in)
    ]
    found = [way for way in found if way.clear_in >= wide_in]
    return min(found, key=lambda way: _away(way, near_in)) if found else Way("none")


def _away(way: Way, near_in: float) -> float:
    return abs((way.left_in + way.right_in) / 2 - near_in)


def _in_an_opening(surface: Surface, left_in: float, right_in: float) -> bool:
    return any(o.left_in < right_in and left_in < o.right_in for o in surface.openings)


def _beside_an_opening(surface: Surface, centre_in: float) -> bool:
    """Trimmers and kings carry the header beside an opening: within 4 1/2 in of it."""
    return any(o.left_in - 4.5 <= centre_in <= o.right_in + 4.5 for o in surface.openings)
