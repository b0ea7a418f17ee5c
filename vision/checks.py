"""One more tape reading: which would help most, and what it does to the others once taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from vision.reading import Member, TapeCheck, Warning

# Readings that differ from the photo by more than this share are called out (issue: 0.5 %).
DISAGREE_SHARE = 0.005
SAME_MEMBER_IN = 4.0


def apply_checks(
    members: list[Member], checks: Sequence[TapeCheck]
) -> tuple[list[Member], list[Warning], float]:
    """Fuse extra tape readings with the positions read off the photo.

    Each reading says where the middle of one member is. The scale, which all positions share, is
    estimated anew as the weighted mean of the photo's and the tapes', weights being inverse variances
    (common practice in adjustment, no source). Returns the members, warnings, and the factor applied
    to all lengths.
    """
    if not checks or not members:
        return members, [], 1.0
    warnings: list[Warning] = []
    weight_sum, log_sum = 0.0, 0.0
    used: list[tuple[int, TapeCheck]] = []
    for check in checks:
        i = int(np.argmin([abs(m.centre_in - check.near_in) for m in members]))
        m = members[i]
        if abs(m.centre_in - check.near_in) > SAME_MEMBER_IN or m.centre_in < 8:
            warnings.append(
                Warning(
                    "check_finds_no_member",
                    f"The extra reading at {check.near_in:.1f} in is near no member.",
                    "Measure from the wall's left end to the middle of one of the numbered members.",
                )
            )
            continue
        ratio = check.length_in / m.centre_in
        photo_rel, tape_rel = m.sigma_in / m.centre_in, check.sigma_in / m.centre_in
        if abs(ratio - 1) > max(DISAGREE_SHARE, 2 * float(np.hypot(photo_rel, tape_rel))):
            warnings.append(
                Warning(
                    "references_disagree",
                    f"The extra reading and the photo differ by {100 * abs(ratio - 1):.1f} %.",
                    "Check both: the reference's marks, and that the tape ran from the wall's left end.",
                )
            )
        used.append((i, check))
        weight_sum += 1 / tape_rel**2
        log_sum += np.log(ratio) / tape_rel**2
    if not used:
        return members, warnings, 1.0
    far = max((m.centre_in for m in members), default=1.0)
    shares = [m.sigma_in / m.centre_in for m in members if m.centre_in > 0.5 * far]
    photo_rel = max(0.0005, float(np.median(shares)))
    w0 = 1 / photo_rel**2
    shift = log_sum / (w0 + weight_sum)
    factor = float(np.exp(shift))
    rel_after = float(np.sqrt(1 / (w0 + weight_sum)))
    out = []
    for m in members:
        own2 = max(m.sigma_in**2 - (photo_rel * m.centre_in) ** 2, 0.04**2)
        sigma = float(np.sqrt(own2 + (rel_after * m.centre_in) ** 2))
        out.append(replace(m, centre_in=m.centre_in * factor, sigma_in=min(m.sigma_in, sigma)))
    return out, warnings, factor


def best_next_reading(members: Sequence[Member]) -> int | None:
    """Index of the member whose tape reading would tighten the others most; None with fewer than two.

    The common error grows along the wall, so it is the member with the largest product of distance
    and certainty: far from the left end, yet sure to be found with the tape.
    """
    best, best_value = None, 0.0
    for i, m in enumerate(members):
        if m.kind != "full":
            continue
        value = m.centre_in * (1.0 if m.sure else 0.3)
        if value > best_value:
            best, best_value = i, value
    return best if len(members) > 1 else None
