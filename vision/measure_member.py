"""Place one member that the user drew or dragged: from its line in the photo to wall inches."""

from __future__ import annotations

import numpy as np

from vision.asked import ReadingError
from vision.reading import Member, PointPx, Reading

HAND_SIGMA_PX = 1.5  # how well a line is placed by hand, px of a 1600 px copy


def measure_member(
    reading: Reading, bottom_px: PointPx, top_px: PointPx, *, plies: int = 1, face_in: float = 1.5
) -> Member:
    """Wall position of a front-face centre line given in photo pixels.

    Parameters
    ----------
    reading : Reading
        With a plane (not refused without one).
    bottom_px, top_px : (x, y)
        The line's two ends, photo pixels.

    Returns
    -------
    Member
        `sure`, since the user said so; `sigma_in` holds the hand's own error and the scale's.

    Raises
    ------
    ReadingError
        When the reading has no plane, or the line is not upright on it.
    """
    if reading.plane is None or reading.wall is None:
        raise ReadingError("This photo has no scale yet; give a reference first, then add studs.")
    ends = reading.plane.to_wall(np.array([bottom_px, top_px]))
    if not np.isfinite(ends).all():
        raise ReadingError("The line lies outside the wall; draw it on the wall, from plate to plate.")
    low, high = sorted((ends[0], ends[1]), key=lambda p: p[1])
    run = high[1] - low[1]
    if run < 3 or abs(high[0] - low[0]) > 0.2 * run:
        raise ReadingError("A stud's line must run up the wall; draw it from its foot to its head.")
    mid_y = 0.5 * reading.wall.height_in
    t = (mid_y - low[1]) / run
    full = run > 0.75 * reading.wall.height_in
    centre = low[0] + t * (high[0] - low[0]) if full else 0.5 * (low[0] + high[0])
    px = HAND_SIGMA_PX * max(1.0, max(reading.width_px, reading.height_px) / 1600)
    here = reading.plane.to_photo(np.array([[centre, mid_y], [centre + 1.0, mid_y]]))
    hand_in = px / max(1e-6, float(np.hypot(*(here[1] - here[0]))))
    share = reading.wall.length_sigma_in / max(reading.wall.length_in, 1.0)
    sigma = float(np.hypot(hand_in, share * abs(centre)))
    return Member(
        float(centre),
        sigma,
        face_in * plies,
        float((high[0] - low[0]) / run * reading.wall.height_in),
        plies,
        "full" if full else "partial",
        True,
        (bottom_px, top_px),
        float(low[1]),
        float(high[1]),
    )
