"""One more tape reading: which would help most, and what it does to the others once taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from vision.doubt import WIDE_SIGMA_IN, mostly_unsure
from vision.error_parts import ErrorParts, error_parts
from vision.length_adjustment import Adjusted, Length, adjust_to_lengths
from vision.reading import Member, Opening, Reading, TapeCheck, Warning
from vision.scale import USUAL_SPACINGS_IN

# Readings that differ from the photo by more than this share are called out (issue: 0.5 %).
DISAGREE_SHARE = 0.005
FAR_OUT = 1.25  # times two sigmas: a smaller difference is called out, too, where the photo is so sure
SPACING_SLACK = 0.01  # a guessed spacing that a tape turns into another usual one was the wrong guess
SAME_MEMBER_IN = 4.0
LEAST_END_SIGMA_IN = 0.06  # of the wall's length, beside the scale: its two ends
# Places that lengths which do not agree have moved by more, or would move by more, are not sure.
MOVED_IN, WOULD_MOVE_IN = 0.15, 0.25
# A reading farther off than this is to another stud, or misread: no mean of it and the photo is right.
MOST_OFF_SHARE = 0.04
# Of the photo's scale, relative: at least, and where it is a guess between spacings a half apart.
LEAST_RELATIVE, GUESSED_RELATIVE = 0.0005, 1.0
SCALE_KNOWN = 0.002  # relative: half of what a spacing may leave open (`advice.LOOSE_SCALE`)
# Warnings that a scale known so well answers.
SCALE_DOUBTS = frozenset(("loose_scale", "few_on_layout", "short_reference", "off_layout", "rough_marks"))
NONE_SURE = frozenset(("none_sure", "sheet_over_faces"))  # of photos without one sure member
# Of a reading to a member in doubt, to a double, to the last one, by judgement.
UNSURE_WORTH, DOUBLE_WORTH, LAST_WORTH = 0.3, 0.7, 0.85
NEAREST_CHECK_IN = 8.0  # a reading so near says nothing of the scale
LENGTH_DOUBT_WORDS = {"lengths_disagree": "the lengths that were given do not agree on its place"}


@dataclass(frozen=True)
class Fused:
    """Members with further lengths in them.

    Attributes
    ----------
    members : list of Member
    warnings : list of Warning
    adjusted : Adjusted or None
        What they did to all places; None where none of them counts.
    parts : ErrorParts or None
        What the photo's sigmas were made of before; None where none of them counts.
    agree : bool
        Whether what counts agrees with the photo; else nothing is tightened.
    """

    members: list[Member]
    warnings: list[Warning]
    adjusted: Adjusted | None = None
    parts: ErrorParts | None = None
    agree: bool = True

    @property
    def factor(self) -> float:
        """By which all lengths are multiplied."""
        return 1.0 if self.adjusted is None else 1.0 + self.adjusted.stretch

    @property
    def offset_in(self) -> float:
        """How much farther from the left end all places are then, but that of the first member."""
        return 0.0 if self.adjusted is None else self.adjusted.offset_in


def with_checks(reading: Reading, checks: Sequence[TapeCheck]) -> Reading:
    """The reading with extra tape readings in it: places, wall, plane and openings follow, and every ±.

    A tape also settles which spacing it was when that had only been assumed, and the scale where the
    spacing did not. Where tape and photo disagree nothing is tightened, and members that this moves far are
    no longer sure.
    """
    if not checks or reading.wall is None or reading.plane is None:
        return reading
    return with_lengths_in(reading, fuse_checks(reading, checks))


def with_lengths_in(reading: Reading, fused: Fused) -> Reading:
    """The reading with the members of `fused`, everything else moved as they are; its warnings come first."""
    done, parts, wall = fused.adjusted, fused.parts, reading.wall
    if done is None or parts is None or wall is None or reading.plane is None:
        return replace(reading, members=tuple(fused.members), warnings=(*fused.warnings, *reading.warnings))
    f, offset_in = fused.factor, fused.offset_in
    settled = reading.reference.assumed
    members = []
    for m, was in zip(fused.members, reading.members, strict=True):
        if settled:
            m = m.without("assumed_scale")
        elif not fused.agree and abs(m.centre_in - was.centre_in) > MOVED_IN:
            m = m.doubted("lengths_disagree")
        members.append(m)
    cured: frozenset[str] = frozenset()
    if fused.agree:
        members = places_known(members)
        if np.sqrt(done.common[1, 1]) < SCALE_KNOWN:
            cured = SCALE_DOUBTS
    if any(m.sure for m in members):
        cured |= NONE_SURE
    if settled:
        cured |= {"assumed_spacing"}
    length_sigma_in = wall.length_sigma_in
    if fused.agree:
        own2 = max(length_sigma_in**2 - parts.shared_in2(wall.length_in), LEAST_END_SIGMA_IN**2)
        left_in = float(np.sqrt(own2 + done.shared_in2(wall.length_in)))
        length_sigma_in = min(length_sigma_in, left_in)
    return replace(
        reading,
        members=tuple(members),
        warnings=(*fused.warnings, *(w for w in reading.warnings if w.code not in cured)),
        wall=replace(
            wall,
            length_in=wall.length_in * f + offset_in,
            height_in=wall.height_in * f,
            length_sigma_in=length_sigma_in,
        ),
        plane=reading.plane.moved(f, offset_in),
        openings=_moved(reading.openings, f, offset_in),
        boxes=_moved(reading.boxes, f, offset_in),
        refused=reading.refused and reading.refused_for not in cured,
    )


def places_known(members: Sequence[Member]) -> list[Member]:
    """The members without the doubts about their places that a smaller ± settles."""
    out = [m.without("wide_error") if m.sigma_in <= WIDE_SIGMA_IN else m for m in members]
    cleared = [m.without("wall_unclear") for m in out]
    return out if mostly_unsure(cleared) else cleared


def doubted_by(members: Sequence[Member], ratio: float) -> list[Member]:
    """The members; those that lengths `ratio` times as long would move far are no longer sure."""
    return [
        m.doubted("lengths_disagree") if abs(m.centre_in * (ratio - 1)) > WOULD_MOVE_IN else m
        for m in members
    ]


def _moved(openings: tuple[Opening, ...], by: float, offset_in: float) -> tuple[Opening, ...]:
    return tuple(
        replace(
            o,
            left_in=o.left_in * by + offset_in,
            right_in=o.right_in * by + offset_in,
            bottom_in=o.bottom_in * by,
            top_in=o.top_in * by,
        )
        for o in openings
    )


def fuse_checks(reading: Reading, checks: Sequence[TapeCheck]) -> Fused:
    """Fuse extra tape readings with the places read off the photo.

    Each says where the middle of one member is. One that is far off is not used, unless the photo's scale
    is itself guessed; members that it would move are no longer sure. Where it turns a guessed spacing into
    another usual one, the guess was wrong and nothing disagrees.
    """
    members = list(reading.members)
    if not checks or not members:
        return Fused(members, [])
    guessed = reading.reference.assumed
    warnings: list[Warning] = []
    lengths: list[Length] = []
    for check in checks:
        i = int(np.argmin([abs(m.centre_in - check.near_in) for m in members]))
        m = members[i]
        if abs(m.centre_in - check.near_in) > SAME_MEMBER_IN or m.centre_in < NEAREST_CHECK_IN:
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
        other_spacing = guessed and _is_another(reading.reference.length_in, ratio)
        if not other_spacing and (off > max(DISAGREE_SHARE, doubt) or off > FAR_OUT * doubt):
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
        lengths.append(Length(i, check.length_in - m.centre_in, check.sigma_in))
    return fuse_lengths(members, lengths, warnings, guessed)


def _is_another(spacing_in: float, ratio: float) -> bool:
    """Whether a spacing times `ratio` is a usual one, and not the same."""
    others = [usual for usual in USUAL_SPACINGS_IN if abs(usual / spacing_in - 1) > SPACING_SLACK]
    return any(abs(spacing_in * ratio / usual - 1) < SPACING_SLACK for usual in others)


def fuse_lengths(
    members: list[Member], lengths: Sequence[Length], warnings: list[Warning], guessed: bool = False
) -> Fused:
    """The members where further lengths have them.

    Parameters
    ----------
    lengths : sequence of Length
    warnings : list of Warning
        Where one of them says that lengths disagree, no sigma shrinks.
    guessed : bool
        The photo's scale is a guess, which says nothing against any other.
    """
    if not lengths:
        return Fused(members, warnings)
    parts = error_parts(members)
    relative = GUESSED_RELATIVE if guessed else max(parts.relative, LEAST_RELATIVE)
    done = adjust_to_lengths(
        np.array([m.centre_in for m in members]), replace(parts, relative=relative), lengths
    )
    agree = not any(w.code == "references_disagree" for w in warnings)
    moved = [
        replace(m, centre_in=float(at), sigma_in=min(m.sigma_in, float(sigma)) if agree else m.sigma_in)
        for m, at, sigma in zip(members, done.at_in, done.sigma_in, strict=True)
    ]
    return Fused(moved, warnings, done, parts, agree)


def best_next_reading(members: Sequence[Member]) -> int | None:
    """Index of the member whose tape reading would tighten the others most; None with fewer than two.

    Where the scale is what is not known, that is a far member; where it is the left end, a nearer one. One
    that is in doubt may not be what the tape is held to; nor a double, whose middle nobody marks, nor the
    last one, which stands in a corner and is misread the oftenest.
    """
    if len(members) < 2:
        return None
    x = np.array([m.centre_in for m in members])
    parts = error_parts(members)
    shared = np.diag([parts.origin_in**2, max(parts.relative, LEAST_RELATIVE) ** 2])
    rows = np.column_stack([np.arange(len(x)) != int(np.argmin(x)), x])
    full = np.array([m.kind == "full" for m in members])
    together = rows @ shared @ rows.T  # covariance of every two places, their own errors aside
    spread = np.diag(together) + parts.own_in**2 + TapeCheck.sigma_in**2
    gained = (together[full] ** 2).sum(0) / spread  # variance that all places lose by a reading to each
    best, best_value = None, 0.0
    for i, m in enumerate(members):
        worth = (1.0 if m.sure else UNSURE_WORTH) * (1.0 if m.plies == 1 else DOUBLE_WORTH)
        worth *= 1.0 if m.centre_in < x.max() else LAST_WORTH
        value = float(gained[i]) * worth
        if m.kind == "full" and m.centre_in >= NEAREST_CHECK_IN and value > best_value:
            best, best_value = i, value
    return best
