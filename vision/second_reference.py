"""A second known length on the same photo: checked against the first, then fused with it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from vision.checks import DISAGREE_SHARE, doubted_by, fuse_lengths, with_lengths_in
from vision.length_adjustment import Length
from vision.photo import WORKING_LONG_SIDE_PX
from vision.reading import Reading, Reference, Warning
from vision.scale import scale_from_spacing
from vision.under_view import mark_sigma_px

PROUD_SIGMA_IN = 0.06
MOST_OFF = 1.5  # times; a length farther off is a slip of the hand, no measurement: warned of, not used


def with_second_reference(reading: Reading, second: Reference) -> Reading:
    """The reading with another known length in it.

    A length between two marks moves every place to the weighted mean of both scales and tightens every
    ±; a spacing is only checked, since the first reference was already sharpened by the layout the
    studs stand on. Where the two differ by half a percent or more a warning says so, nothing is
    tightened, and members that this moves far, or would, are no longer sure.
    """
    if reading.plane is None or reading.wall is None or not reading.members:
        return reading
    found = _ratio(reading, second)
    if found is None:
        return replace(
            reading,
            warnings=(
                Warning(
                    "second_not_checked",
                    "The studs stand on no layout of the spacing given, so it could not check the length.",
                    "Check the spacing, or give a second length between two marks.",
                ),
                *reading.warnings,
            ),
        )
    ratio, relative = found
    warnings = []
    disagree = not abs(ratio - 1) < DISAGREE_SHARE
    if disagree:
        warnings.append(
            Warning(
                "references_disagree",
                f"The two references differ by {100 * abs(ratio - 1):.1f} %.",
                "Check the length and the marks of both, and whether the marks lie on the studs' faces.",
            )
        )
    if second.kind == "on_centre" or not 1 / MOST_OFF < ratio < MOST_OFF:
        members = doubted_by(reading.members, ratio) if disagree else reading.members
        return replace(reading, members=tuple(members), warnings=(*warnings, *reading.warnings))
    more = Length(None, ratio - 1, relative)
    return with_lengths_in(reading, fuse_lengths(list(reading.members), [more], warnings))


def _ratio(reading: Reading, second: Reference) -> tuple[float, float] | None:
    """True length by length read with the first reference, and its relative sigma; None for no layout."""
    assert reading.plane is not None
    if second.kind == "on_centre":
        centres = np.sort([m.centre_in for m in reading.members if m.kind == "full" and m.plies == 1])
        scale = scale_from_spacing(centres, (second.length_in,), 1.5)
        return None if scale is None else (scale.inches_per_unit, scale.relative_sigma)
    ends = reading.plane.to_wall(np.array([second.from_px, second.to_px]))
    seen_in = float(np.hypot(*(ends[1] - ends[0])))
    # Marks that stand p in front look longer on the faces' plane, as s / (s - p) (similar triangles).
    s = reading.plane.distance_in
    ratio = second.length_in / seen_in + second.stands_proud_in / s
    copy_scale = min(1.0, WORKING_LONG_SIDE_PX / max(reading.width_px, reading.height_px))
    a, b = np.array([second.from_px, second.to_px])
    mark_share = mark_sigma_px(second, copy_scale) / copy_scale / float(np.hypot(*(b - a)))
    relative = np.sqrt(
        (second.sigma_in / second.length_in) ** 2 + 2 * mark_share**2 + (PROUD_SIGMA_IN / s) ** 2
    )
    return float(ratio), float(relative)
