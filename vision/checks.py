"""One more tape reading: which would help most, and what it does to the others once taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from vision.reading import Member, Opening, Reading, TapeCheck, Warning

# Readings that differ from the photo by more than this share are called out (issue: 0.5 %).
DISAGREE_SHARE = 0.005
SAME_MEMBER_IN = 4.0
LEAST_END_SIGMA_IN = 0.06  # of the wall's length, beside the scale: its two ends
FAR_MOVED_IN = 0.25
# A reading farther off than this is to another stud, or misread: no mean of it and the photo is right.
MOST_OFF_SHARE = 0.04
LENGTH_DOUBT_WORDS = {"lengths_disagree": "the lengths that were given do not agree on its place"}


@dataclass(frozen=True)
class Fused:
    """Members with further lengths in them.

    Attributes
    ----------
    members : list of Member
    warnings : list of Warning
    factor : float
        Applied to all lengths.
    before, after : float
        Relative sigma of the scale without and with the further lengths.
    used : int
        How many of them count.
    """

    members: list[Member]
    warnings: list[Warning]
    factor: float
    before: float
    after: float
    used: int


def apply_checks(
    members: list[Member], checks: Sequence[TapeCheck], guessed: bool = False
) -> tuple[list[Member], list[Warning], float]:
    """Fuse extra tape readings with the positions read off the photo.

    Each reading says where the middle of one member is. The scale, which all positions share, is
    estimated anew as the weighted mean of the photo's and the tapes', weights being inverse variances
    (common practice in adjustment, no source). A reading that is far off is not used, unless the photo's
    scale is itself `guessed`; members that it would move are no longer sure. Returns the members, warnings,
    and the factor applied to all lengths.
    """
    fused = _fuse(members, checks, guessed)
    return fused.members, fused.warnings, fused.factor


def with_checks(reading: Reading, checks: Sequence[TapeCheck]) -> Reading:
    """The reading with extra tape readings in it: places, wall, plane and openings follow, and every ±.

    A tape also settles which spacing it was when that had only been assumed. Where tape and photo
    disagree nothing is tightened, and members that this moves far are no longer sure.
    """
    if not checks or reading.wall is None or reading.plane is None:
        return reading
    return rescaled(reading, _fuse(list(reading.members), checks, reading.reference.assumed))


def rescaled(reading: Reading, fused: Fused) -> Reading:
    """The reading with the members of `fused`, everything else by its factor; its warnings come first."""
    if fused.used == 0 or reading.wall is None or reading.plane is None:
        return replace(reading, members=tuple(fused.members), warnings=(*fused.warnings, *reading.warnings))
    f, wall = fused.factor, reading.wall
    own2 = max(wall.length_sigma_in**2 - (fused.before * wall.length_in) ** 2, LEAST_END_SIGMA_IN**2)
    length_sigma = float(np.sqrt(own2 + (fused.after * wall.length_in) ** 2))
    disagree = any(w.code == "references_disagree" for w in fused.warnings)
    settled = reading.reference.assumed
    members = []
    for m in fused.members:
        doubts = tuple(d for d in m.doubts if not (settled and d == "assumed_scale"))
        if disagree and not settled and abs(m.centre_in * (1 - 1 / f)) > FAR_MOVED_IN:
            doubts = (*doubts, "lengths_disagree")
        members.append(replace(m, doubts=doubts, sure=not doubts if m.doubts or doubts else m.sure))
    return replace(
        reading,
        members=tuple(members),
        warnings=(
            *fused.warnings,
            *(w for w in reading.warnings if not (settled and w.code == "assumed_spacing")),
        ),
        wall=replace(
            wall,
            length_in=wall.length_in * f,
            height_in=wall.height_in * f,
            length_sigma_in=min(wall.length_sigma_in, length_sigma),
        ),
        plane=reading.plane.stretched(f),
        openings=_stretched(reading.openings, f),
        boxes=_stretched(reading.boxes, f),
    )


def doubted_by(members: Sequence[Member], ratio: float) -> list[Member]:
    """The members; those that lengths `ratio` times as long would move far are no longer sure."""
    return [
        m.doubted("lengths_disagree") if abs(m.centre_in * (ratio - 1)) > FAR_MOVED_IN else m for m in members
    ]


def _stretched(openings: tuple[Opening, ...], by: float) -> tuple[Opening, ...]:
    return tuple(
        replace(
            o,
            left_in=o.left_in * by,
            right_in=o.right_in * by,
            bottom_in=o.bottom_in * by,
            top_in=o.top_in * by,
        )
        for o in openings
    )


def _fuse(members: list[Member], checks: Sequence[TapeCheck], guessed: bool = False) -> Fused:
    if not checks or not members:
        return Fused(members, [], 1.0, 0.0, 0.0, 0)
    warnings: list[Warning] = []
    ratios: list[tuple[float, float]] = []
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
        off, doubt = abs(ratio - 1), 2 * float(np.hypot(photo_rel, tape_rel))
        slip = not guessed and off > max(MOST_OFF_SHARE, doubt)
        if off > max(DISAGREE_SHARE, doubt):
            percent = f"{100 * off:.1f}"
            said = f"The extra reading and the photo differ by {percent} %."
            if slip:
                said = f"The extra reading and the photo differ by {percent} %, so it was not used."
            warnings.append(
                Warning(
                    "references_disagree",
                    said,
                    "Check both: the reference's marks, and that the tape ran from the wall's left end.",
                )
            )
        if slip:
            members = doubted_by(members, ratio)
            continue
        ratios.append((ratio, tape_rel))
    if not ratios:
        return Fused(members, warnings, 1.0, 0.0, 0.0, 0)
    return fuse_ratios(members, ratios, warnings)


def fuse_ratios(
    members: list[Member], ratios: Sequence[tuple[float, float]], warnings: list[Warning]
) -> Fused:
    """The members under the scale that further lengths agree on.

    Parameters
    ----------
    ratios : sequence of (float, float)
        True length by length read off the photo, and its relative sigma.
    warnings : list of Warning
        Where one of them says that lengths disagree, no sigma shrinks.
    """
    far = max((m.centre_in for m in members), default=1.0)
    shares = [m.sigma_in / m.centre_in for m in members if m.centre_in > 0.5 * far]
    before = max(0.0005, float(np.median(shares)))
    w0 = 1 / before**2
    weight_sum = sum(1 / rel**2 for _, rel in ratios)
    log_sum = sum(float(np.log(ratio)) / rel**2 for ratio, rel in ratios)
    factor = float(np.exp(log_sum / (w0 + weight_sum)))
    after = float(np.sqrt(1 / (w0 + weight_sum)))
    if any(w.code == "references_disagree" for w in warnings):
        after = before
    out = []
    for m in members:
        own2 = max(m.sigma_in**2 - (before * m.centre_in) ** 2, 0.04**2)
        sigma = float(np.sqrt(own2 + (after * m.centre_in) ** 2))
        out.append(replace(m, centre_in=m.centre_in * factor, sigma_in=min(m.sigma_in, sigma)))
    return Fused(out, warnings, factor, before, after, len(ratios))


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
