"""Whether a wall's known length should be marked again before its studs are looked at one by one."""

from __future__ import annotations

from vision import Reading

ROUGH = "rough_marks"
HANGS_ON_SCALE = "wide_error"


def marks_matter(reading: Reading) -> bool:
    """Whether the marks were not set with care and most members are not known well enough in place."""
    wide = sum(not member.sure and HANGS_ON_SCALE in member.doubts for member in reading.members)
    return reading.says(ROUGH) and 2 * wide > len(reading.members)
