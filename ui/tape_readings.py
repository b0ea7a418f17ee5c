"""Extra tape readings of the user's: from the wall's left end to the middle of one stud."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vision.checks import best_next_reading, with_checks
from vision.reading import Member, PointPx, Reading, Reference, TapeCheck
from vision.second_reference import with_second_reference


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
    return with_checks(reading, checks)


def with_lengths(reading: Reading, second: Reference | None, taken: Sequence[TapeReading]) -> Reading:
    """The reading with what the user measured besides its known length: a second one between two marks,
    and tape readings to studs."""
    if second is not None:
        reading = with_second_reference(reading, second)
    return with_tape_readings(reading, taken)


def stud_to_measure(members: Sequence[Member], taken: Sequence[TapeReading]) -> int | None:
    """Index of the stud whose tape reading would help most; None when one was taken or none would."""
    return None if taken else best_next_reading(members)
