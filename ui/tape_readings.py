"""Extra tape readings of the user's: from the wall's left end to the middle of one stud."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from vision.checks import apply_checks, best_next_reading
from vision.reading import Member, PointPx, Reading, TapeCheck


@dataclass(frozen=True)
class TapeReading:
    """What the tape shows at one stud, which is named by its line in the photo.

    Attributes
    ----------
    front_px : ((x, y), (x, y))
        The stud's line, bottom end then top end: a new scale moves its inches, never this.
    length_in : float
    length_text : str
        As it was typed.
    """

    front_px: tuple[PointPx, PointPx]
    length_in: float
    length_text: str


def with_tape_readings(reading: Reading, taken: Sequence[TapeReading]) -> Reading:
    """The reading with the tape readings in it: places, lengths and doubts follow, as do warnings.

    The same as reading the photo with ``checks``, without looking at the photo again.
    """
    if not taken or reading.plane is None or reading.wall is None:
        return reading
    checks = []
    for each in taken:
        (x0, _), (x1, _) = reading.plane.to_wall(each.front_px)
        checks.append(TapeCheck(near_in=float(x0 + x1) / 2, length_in=each.length_in))
    members, warnings, factor = apply_checks(list(reading.members), checks)
    wall = reading.wall
    return replace(
        reading,
        members=tuple(members),
        warnings=(*warnings, *reading.warnings),
        wall=replace(wall, length_in=wall.length_in * factor, height_in=wall.height_in * factor),
        plane=reading.plane.stretched(factor),
        openings=tuple(
            replace(
                opening,
                left_in=opening.left_in * factor,
                right_in=opening.right_in * factor,
                bottom_in=opening.bottom_in * factor,
                top_in=opening.top_in * factor,
            )
            for opening in reading.openings
        ),
    )


def stud_to_measure(members: Sequence[Member], taken: Sequence[TapeReading]) -> int | None:
    """Index of the stud whose tape reading would help most; None when one was taken or none would."""
    return None if taken else best_next_reading(members)
