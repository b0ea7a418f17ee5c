"""Read a framed wall off one photo: members in wall inches, each with its doubt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from vision.advice import photo_warnings, reading_warnings, warning
from vision.asked import check_asked, checked_corners
from vision.bow import bow_warnings, measure_bows, with_bows
from vision.boxes import propose_boxes
from vision.checks import with_checks
from vision.curves import trace_members
from vision.doubt import LEAST_FULL, doubt_together, judge, near_opening, widened
from vision.full_bays import faint_extras
from vision.measured import Measured
from vision.openings import propose_openings
from vision.photo import Photo
from vision.pipes import pipes_told
from vision.placing import Placed
from vision.plumb import Leans, measure_leans, plumb_warnings
from vision.reading import Member, Opening, PointPx, Reading, Reference, TapeCheck, Wall, Warning
from vision.rectify import to_photo
from vision.scale import ASSUMED_SPACINGS_IN
from vision.second_reference import with_second_reference
from vision.smear import Smear, smear_of, with_smear
from vision.standing import Seen, Stands, face_by_tape, look_at, stand
from vision.survey import Survey
from vision.viewing import Viewed, find_view

SCRAP_FRONT, SCRAP_SCORE = 0.50, 0.45  # tuned on the tuning scenes
SMEARED_FACES = 0.6  # longer, a wrong member passed for sure on smeared tuning scenes (1 of 9 at 0.7)


def read_wall(
    photo: Photo,
    reference: Reference | None = None,
    corners_px: ArrayLike | None = None,
    *,
    face_in: float = 1.5,
    checks: Sequence[TapeCheck] = (),
    second: Reference | None = None,
    assumed_in: tuple[float, ...] = ASSUMED_SPACINGS_IN,
    progress: Callable[[str], None] | None = None,
) -> Reading:
    """Read a framed wall off one photo.

    Parameters
    ----------
    photo : Photo
        From `load_photo`.
    reference : Reference, optional
        A tape between two marks, or the spacing on centre. None: one of `assumed_in` is chosen by the
        photo and marked as assumed.
    corners_px : (4, 2) array_like, optional
        The wall's corners, roughly, in photo pixels: top left, top right, bottom right, bottom
        left. Only what lies inside is the wall.
    face_in : float
        Width of one member's front face, inches (1.5 for 2-by lumber).
    checks : sequence of TapeCheck
        Extra tape readings from the wall's left end to the middle of a member.
    second : Reference, optional
        Another known length: checked against the first, and fused with it.
    assumed_in : tuple of float
        Spacings on centre that are usual where the wall stands, inches, the commonest first.
    progress : callable, optional
        Called with the code of each step as it begins ("view", "members", "places", "openings"); what
        it raises ends the reading.

    Returns
    -------
    Reading
        With `refused` set, no or few members, and a warning saying why, when the photo allows no
        reliable reading. Two calls with the same input give the same result.

    Raises
    ------
    ReadingError
        Marks that coincide or lie outside the photo, lengths that are not positive, corners that
        do not make a quadrilateral.
    """
    corners = checked_corners(photo, corners_px)
    check_asked(photo, reference, second, face_in, checks)
    tell = progress or _untold
    tell("view")
    shown = reference or Reference.on_centre(assumed_in[0], assumed=True)
    _ = photo.working_rgb  # made here once, for both
    with ThreadPoolExecutor(max_workers=1) as beside:  # finding the view leaves a core idle at times
        noticing = beside.submit(_noticed, photo)
        viewed = find_view(photo, corners)
        smear, warnings = noticing.result()
    if viewed is None or viewed.region is None:
        code = "no_wall" if viewed is None else "wall_not_found" if corners is None else "not_these_corners"
        missing = [] if viewed is None or viewed.model else [warning("no_model")]
        return _refusal(photo, shown, [*warnings, warning(code), *missing])
    tell("members")
    seen = look_at(photo, viewed)
    if seen.plates_curve:
        return _refusal(photo, shown, [*warnings, warning("plates_curve")])
    tape_face = face_by_tape(reference, seen.viewed, face_in)
    survey = seen.survey(tape_face)
    if survey is None or len(survey.members) < 2:
        # Studs that show once the length is left out say that the length is what is wrong.
        without = seen.survey(None) if tape_face is not None else None
        wrong_length = without is not None and len(without.members) >= LEAST_FULL
        return _refusal(
            photo, shown, [*warnings, warning("face_disagrees" if wrong_length else "no_members")]
        )
    tell("places")
    stands = stand(seen, survey, reference, face_in, tape_face, assumed_in)
    if stands is None:
        return _refusal(photo, shown, [*warnings, warning("no_layout")])
    if reference is None:
        shown = Reference.on_centre(stands.placed.scale.spacing_in or assumed_in[0], assumed=True)
    placed, smeared_in = with_smear(stands.placed, smear)
    stands = replace(stands, placed=placed)
    tell("openings")
    reading = _as_read(photo, seen, stands, shown, face_in, smeared_in)
    reading = replace(reading, warnings=(*warnings, *reading.warnings))
    if second is not None:
        reading = with_second_reference(reading, second)
    return with_checks(reading, checks)


def _noticed(photo: Photo) -> tuple[Smear | None, list[Warning]]:
    """What can be said of the photo before its wall is found."""
    smear = smear_of(photo)
    return smear, photo_warnings(photo, smear)


def _untold(step: str) -> None:
    """Nobody waits for news."""


def _as_read(
    photo: Photo, seen: Seen, stands: Stands, shown: Reference, face_in: float, smeared_in: float
) -> Reading:
    """The reading, with all that the photo itself says against it; `shown` is the reference it rests on."""
    viewed, survey, placed = seen.viewed, stands.survey, stands.placed
    scale = placed.scale.inches_per_unit
    curves = trace_members(photo.rgb, viewed.view, survey)
    leans = measure_leans(curves, survey, scale)
    members = _members(survey, placed, leans, viewed, face_in, shown.kind == "on_centre")
    for index, code in stands.end_doubts:
        members[index] = members[index].doubted(code)
    bows = measure_bows(curves, viewed.view, survey, scale)
    members = with_bows(members, bows, (stands.origin, stands.end))
    openings = propose_openings(survey, placed)
    members, pipes = pipes_told(members, [m.upright for m in survey.members])
    extra = faint_extras(members, [near_opening(m, openings) for m in members])
    kept = [
        not pipe and not faint and not _scrap(m, q, openings)
        for m, q, pipe, faint in zip(members, survey.members, pipes, extra, strict=True)
    ]
    members = [m for m, keep in zip(members, kept, strict=True) if keep]
    members = widened(doubt_together(members, openings), shown.kind == "on_centre")
    wall = Wall(
        placed.length_in,
        placed.length_sigma_in,
        placed.height_in,
        placed.height_sigma_in,
        _corner_points(viewed, survey, placed, stands.origin, stands.end),
        survey.region.cut_left,
        survey.region.cut_right,
    )
    found, refuse = reading_warnings(viewed, survey, placed, shown, members, wall, stands.origin, stands.end)
    refuse = refuse or stands.without_scale
    for code in _doubts_of_all(found, shown, smeared_in > SMEARED_FACES * face_in):
        members = [m.doubted(code) for m in members]
    if not refuse:  # what made it refuse stays the last word
        found += [*plumb_warnings(members), *bow_warnings(members)]
    if stands.without_scale:
        found += [warning("no_layout")]
    boxes = () if refuse else propose_boxes(photo.rgb, placed.plane, members, wall.height_in)
    return Reading(
        photo.width_px,
        photo.height_px,
        shown,
        wall,
        placed.plane,
        tuple(members),
        openings,
        tuple(found),
        refuse,
        boxes,
    )


def _doubts_of_all(found: list[Warning], shown: Reference, smeared: bool) -> list[str]:
    """Doubts that every member shares, for what is wrong with the photo or the scale as a whole."""
    said = {w.code for w in found}
    doubts: list[tuple[str, bool]] = [
        # A guessed spacing may be the wrong one (sure and right fell to 0.75 on validation scenes).
        ("assumed_scale", shown.assumed),
        ("moved", smeared),
        ("odd_spacing", "odd_spacing" in said),
        ("face_doubtful", "face_doubtful" in said),
        ("wide_error", "loose_scale" in said),
    ]
    return [code for code, holds in doubts if holds]


def _scrap(m: Member, q: Measured, openings: tuple[Opening, ...]) -> bool:
    """Whether a short stretch far from every opening is too weak to be worth showing: clutter, mostly."""
    s = q.upright.stretch
    weak = s.front < SCRAP_FRONT or s.score < SCRAP_SCORE
    return m.kind == "partial" and weak and not near_opening(m, openings)


def _members(
    survey: Survey, placed: Placed, leans: Leans, viewed: Viewed, face_in: float, by_spacing: bool
) -> list[Member]:
    region = survey.region
    mid = region.top + 0.5 * region.height
    out = []
    for i, m in enumerate(survey.members):
        sure, doubts = judge(m, survey, placed, viewed, i, face_in, by_spacing)
        x = [m.x_centre + float(leans.slope[i]) * (y - mid) for y in (m.y_bottom, m.y_top)]
        ends = to_photo(viewed.view, np.array([[x[0], m.y_bottom], [x[1], m.y_top]]))
        plies = m.upright.stretch.plies
        out.append(
            Member(
                float(placed.centre_in[i]),
                float(placed.sigma_in[i]),
                face_in * plies,
                float(leans.lean_in[i]),
                plies,
                "full" if m.upright.full else "partial",
                sure,
                (_point(ends[0]), _point(ends[1])),
                float(placed.bottom_in[i]),
                float(placed.top_in[i]),
                doubts,
                lean_known=bool(leans.known[i]),
            )
        )
    return out


def _corner_points(
    viewed: Viewed, survey: Survey, placed: Placed, origin: int | None, end: int | None
) -> tuple[PointPx, PointPx, PointPx, PointPx]:
    r = survey.region
    left = placed.origin
    right = survey.members[end].x_right if end is not None else r.right
    pts = to_photo(
        viewed.view, np.array([[left, r.top], [right, r.top], [right, r.bottom], [left, r.bottom]])
    )
    return _point(pts[0]), _point(pts[1]), _point(pts[2]), _point(pts[3])


def _point(p: NDArray[np.float64]) -> PointPx:
    return float(p[0]), float(p[1])


def _refusal(photo: Photo, reference: Reference, warnings: list[Warning]) -> Reading:
    return Reading(
        photo.width_px, photo.height_px, reference, None, None, (), (), tuple(warnings), refused=True
    )
