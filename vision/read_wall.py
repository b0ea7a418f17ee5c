"""Read a framed wall off one photo: members in wall inches, each with its doubt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from vision.advice import photo_warnings, reading_warnings, warning
from vision.bow import bow_warnings, measure_bows, with_bows
from vision.boxes import propose_boxes
from vision.checks import with_checks
from vision.doubt import judge
from vision.layout_end import end_by_layout, with_end_at
from vision.measured import Measured
from vision.openings import propose_openings
from vision.photo import Photo
from vision.placing import Placed, place, scale_of
from vision.plumb import lean_known, plumb_warnings
from vision.reading import Member, Opening, PointPx, Reading, Reference, TapeCheck, Wall, Warning
from vision.rectify import to_photo
from vision.second_reference import with_second_reference
from vision.smear import smear_of, with_smear
from vision.survey import Survey, survey_wall
from vision.viewing import Viewed, find_view, narrowed
from vision.wall_picture import picture_wall
from vision.wall_turns import up_to_the_corner

SHORTEST_MARKS_PX = 20.0
FACE_RANGE_IN = (0.5, 12.0)
MOSTLY_UNSURE = 0.6
LEAST_FULL = 3  # one or two faces under paper are no wall
SCRAP_FRONT, SCRAP_SCORE = 0.50, 0.45  # tuned on the tuning scenes
NEAR_OPENING_IN = 5.0  # trimmer and king beside the rough opening
ASSUMED_FACE_SLACK = 0.15
SMEARED_FACES = 0.6  # longer, a wrong member passed for sure on smeared tuning scenes (1 of 9 at 0.7)
MISSED_END_FACES = 7.0  # 10 1/2 in of a 16 in bay, for 1 1/2 in faces


class ReadingError(ValueError):
    """What was asked cannot be used; the text says what is wrong and what to do."""


def read_wall(
    photo: Photo,
    reference: Reference | None = None,
    corners_px: ArrayLike | None = None,
    *,
    face_in: float = 1.5,
    checks: Sequence[TapeCheck] = (),
    second: Reference | None = None,
    progress: Callable[[str], None] | None = None,
) -> Reading:
    """Read a framed wall off one photo.

    Parameters
    ----------
    photo : Photo
        From `load_photo`.
    reference : Reference, optional
        A tape between two marks, or the spacing on centre. None: 16 or 24 in on centre is chosen
        by the photo and marked as assumed.
    corners_px : (4, 2) array_like, optional
        The wall's corners, roughly, in photo pixels: top left, top right, bottom right, bottom
        left. Only what lies inside is the wall.
    face_in : float
        Width of one member's front face, inches (1.5 for 2-by lumber).
    checks : sequence of TapeCheck
        Extra tape readings from the wall's left end to the middle of a member.
    second : Reference, optional
        Another known length: checked against the first, and fused with it.
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
    corners = _checked_corners(photo, corners_px)
    _check_reference(photo, reference)
    _check_reference(photo, second)
    if second is not None and (reference is None or reference == second):
        raise ReadingError("A second reference needs another one before it; give the longer one first.")
    if not FACE_RANGE_IN[0] <= face_in <= FACE_RANGE_IN[1]:
        raise ReadingError(
            f"A member's face of {face_in:g} in is not usual; give a width between {FACE_RANGE_IN[0]:g} and "
            f"{FACE_RANGE_IN[1]:g} in."
        )
    for check in checks:
        if not (np.isfinite(check.near_in) and np.isfinite(check.length_in) and check.length_in > 0):
            raise ReadingError(
                "An extra tape reading must be more than zero; type the length read off the tape."
            )
    tell = progress or _untold
    tell("view")
    smear = smear_of(photo)
    warnings = photo_warnings(photo, smear)
    shown = reference or Reference.on_centre(16.0, assumed=True)
    viewed = find_view(photo, corners)
    if viewed is None or viewed.region is None:
        code = "no_wall" if viewed is None else "wall_not_found" if corners is None else "not_these_corners"
        missing = [] if viewed is None or viewed.model else [warning("no_model")]
        return _refusal(photo, shown, [*warnings, warning(code), *missing])
    grey = cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY).astype(np.float32)
    tell("members")
    picture = picture_wall(viewed, photo)
    part = None if picture.maps is None else up_to_the_corner(picture.region, picture.grid, picture.maps)
    if part is not None:
        viewed = narrowed(viewed, part)
        picture = picture_wall(viewed, photo)
    face_units = None
    if reference is not None and reference.kind == "tape":
        first = scale_of(reference, viewed.view, np.zeros(0), np.zeros(0), None, face_in, viewed.scale)
        face_units = face_in / first.inches_per_unit if first else None
    survey = survey_wall(viewed, picture, grey, face_units)
    if survey is None or len(survey.members) < 2:
        # Studs that show once the length is left out say that the length is what is wrong.
        without = survey_wall(viewed, picture, grey, None) if face_units is not None else None
        wrong_length = without is not None and len(without.members) >= LEAST_FULL
        return _refusal(
            photo, shown, [*warnings, warning("face_disagrees" if wrong_length else "no_members")]
        )
    tell("places")
    origin, end = end_members(survey)
    placed = place(survey, viewed, reference, face_in, origin, end)
    if placed is not None and face_units is None:
        # The spacing gave the scale: look again with the face's width known.
        implied = face_in / placed.scale.inches_per_unit
        # A guessed spacing that makes the faces much wider or narrower than they look may be the wrong one.
        trusted = reference is not None or abs(implied / survey.face - 1) < ASSUMED_FACE_SLACK
        again = survey_wall(viewed, picture, grey, implied) if trusted else None
        if again is not None and len(again.members) >= 2:
            survey = again
            origin, end = end_members(survey)
            placed = place(survey, viewed, reference, face_in, origin, end)
    without_scale = placed is None
    by_marks = None if placed is None else end_by_layout(survey, placed, origin, end)
    if placed is not None and by_marks is not None:
        survey = with_end_at(survey, placed, origin, by_marks.shift_in)
        moved = place(survey, viewed, reference, face_in, origin, end, origin_sigma_in=by_marks.sigma_in)
        placed = moved or placed
    if placed is None:
        # Still worth showing where the members are: a tape length is all that is missing.
        placed = place(survey, viewed, None, face_in, origin, end, by_face=True)
    if placed is None or len(placed.centre_in) != len(survey.members):
        return _refusal(photo, shown, [*warnings, warning("no_layout")])
    if reference is None:
        shown = Reference.on_centre(placed.scale.spacing_in or 16.0, assumed=True)
    placed, smeared_in = with_smear(placed, smear)
    tell("openings")
    by_spacing = reference is None or reference.kind == "on_centre"
    members = _members(survey, placed, viewed, face_in, by_spacing)
    if by_marks is not None and by_marks.shift_in and origin is not None:
        # The first stud is drawn where the marks have it, not where it was seen.
        members[origin] = members[origin].doubted("wall_end_unsure")
    members = with_bows(members, measure_bows(photo.rgb, viewed.view, survey, placed.scale.inches_per_unit))
    openings = propose_openings(survey, placed, members)
    kept = [not _scrap(m, q, openings) for m, q in zip(members, survey.members, strict=True)]
    known = [k for k, keep in zip(lean_known(survey, placed), kept, strict=True) if keep]
    members = [m for m, keep in zip(members, kept, strict=True) if keep]
    members = doubt_together(members, openings)
    wall = Wall(
        placed.length_in,
        placed.length_sigma_in,
        placed.height_in,
        placed.height_sigma_in,
        _corner_points(viewed, survey, placed, origin, end),
        survey.region.cut_left,
        survey.region.cut_right,
    )
    found, refuse = reading_warnings(viewed, survey, placed, shown, members, wall, origin, end)
    if shown.assumed:
        # A guessed spacing may be the wrong one (sure and right fell to 0.75 on validation scenes).
        members = [m.doubted("assumed_scale") for m in members]
    if smeared_in > SMEARED_FACES * face_in:
        members = [m.doubted("moved") for m in members]
    for code in ("odd_spacing", "face_doubtful"):
        if any(w.code == code for w in found):
            members = [m.doubted(code) for m in members]
    if any(w.code == "loose_scale" for w in found):
        members = [m.doubted("wide_error") for m in members]
    if not refuse and not without_scale:  # what made it refuse stays the last word
        found += [*plumb_warnings(members, known), *bow_warnings(members)]
    reading = Reading(
        photo.width_px,
        photo.height_px,
        shown,
        wall,
        placed.plane,
        tuple(members),
        openings,
        (*warnings, *found, *([warning("no_layout")] if without_scale else [])),
        refuse or without_scale,
        () if refuse or without_scale else propose_boxes(photo.rgb, placed.plane, members, wall.height_in),
    )
    if second is not None:
        reading = with_second_reference(reading, second)
    return with_checks(reading, checks)


def _untold(step: str) -> None:
    """Nobody waits for news."""


def doubt_together(members: list[Member], openings: tuple[Opening, ...]) -> list[Member]:
    """Doubts that rest on more than one member.

    Where most full-height members are doubtful, or there are hardly any, so is the wall's end they are
    measured from: doubt all. A partial member away from every opening is more likely clutter: doubt it.
    """
    full = [m for m in members if m.kind == "full"]
    mostly = sum(not m.sure for m in full) > MOSTLY_UNSURE * len(full) or len(full) < LEAST_FULL
    out = []
    for m in members:
        doubts = m.doubts
        if m.kind == "partial" and not _near_opening(m, openings):
            doubts = (*doubts, "no_opening")
        if mostly and m.sure:
            doubts = (*doubts, "wall_unclear")
        out.append(replace(m, sure=not doubts, doubts=doubts))
    return out


def _near_opening(m: Member, openings: tuple[Opening, ...]) -> bool:
    return any(o.left_in - NEAR_OPENING_IN <= m.centre_in <= o.right_in + NEAR_OPENING_IN for o in openings)


def _scrap(m: Member, q: Measured, openings: tuple[Opening, ...]) -> bool:
    """Whether a short stretch far from every opening is too weak to be worth showing: clutter, mostly."""
    s = q.upright.stretch
    weak = s.front < SCRAP_FRONT or s.score < SCRAP_SCORE
    return m.kind == "partial" and weak and not _near_opening(m, openings)


def end_members(survey: Survey) -> tuple[int | None, int | None]:
    """Which members end the wall on the left and on the right; None where none is near that side."""
    full = [i for i, m in enumerate(survey.members) if m.upright.full]
    if not full:
        return None, None
    region, face = survey.region, survey.face
    first, last = full[0], full[-1]
    # Walls end with a member, and the region reaches too far more often than an end member is missed
    # (own tuning scenes). Only most of a bay of bare wall beyond the outermost says that it was.
    far = max(MISSED_END_FACES * face, 0.06 * region.width)
    left = first if region.cut_left or survey.members[first].x_left - region.left < far else None
    right = last if region.cut_right or region.right - survey.members[last].x_right < far else None
    return left, right


def _members(
    survey: Survey, placed: Placed, viewed: Viewed, face_in: float, by_spacing: bool
) -> list[Member]:
    region = survey.region
    mid = region.top + 0.5 * region.height
    out = []
    for i, m in enumerate(survey.members):
        sure, doubts = judge(m, survey, placed, viewed, i, face_in, by_spacing)
        x = [m.x_centre + m.slope * (y - mid) for y in (m.y_bottom, m.y_top)]
        ends = to_photo(viewed.view, np.array([[x[0], m.y_bottom], [x[1], m.y_top]]))
        plies = m.upright.stretch.plies
        out.append(
            Member(
                float(placed.centre_in[i]),
                float(placed.sigma_in[i]),
                face_in * plies,
                float(placed.lean_in[i]),
                plies,
                "full" if m.upright.full else "partial",
                sure,
                (_point(ends[0]), _point(ends[1])),
                float(placed.bottom_in[i]),
                float(placed.top_in[i]),
                doubts,
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


def _check_reference(photo: Photo, reference: Reference | None) -> None:
    if reference is None:
        return
    if not np.isfinite(reference.length_in) or reference.length_in <= 0:
        raise ReadingError("The reference length must be more than zero; type the length read off the tape.")
    if reference.kind == "on_centre":
        if not 6 <= reference.length_in <= 49:
            raise ReadingError(
                f"Studs do not stand {reference.length_in:g} in on centre; give one between 6 and 48 in."
            )
        return
    a, b = reference.from_px, reference.to_px
    if a is None or b is None:
        raise ReadingError("A tape length needs two marks on the photo; place both ends.")
    for x, y in (a, b):
        if not (np.isfinite(x) and np.isfinite(y)):
            raise ReadingError("A mark's position is not a number; place the mark again.")
        if not (-0.5 <= x <= photo.width_px - 0.5 and -0.5 <= y <= photo.height_px - 0.5):
            raise ReadingError(
                f"The mark at {x:g}, {y:g} lies outside the photo, which is {photo.width_px} x "
                f"{photo.height_px} pixels; place it on the tape's end."
            )
    if np.hypot(a[0] - b[0], a[1] - b[1]) < SHORTEST_MARKS_PX:
        raise ReadingError("The two marks are on the same spot; place one at each end of the length.")


def _checked_corners(photo: Photo, corners_px: ArrayLike | None) -> NDArray[np.float64] | None:
    if corners_px is None:
        return None
    c = np.asarray(corners_px, dtype=np.float64)
    if c.shape != (4, 2) or not np.isfinite(c).all():
        raise ReadingError("Give four corners, each as X,Y: top left, top right, bottom right, bottom left.")
    if (np.abs(c) > 20 * max(photo.width_px, photo.height_px)).any():
        raise ReadingError("A corner lies far outside the photo; tap the four corners again.")
    # Any order of tapping is put right: by angle about the middle, from the top left.
    middle = c.mean(0)
    order = np.argsort(np.arctan2(c[:, 1] - middle[1], c[:, 0] - middle[0]))
    c = c[order]
    if not cv2.isContourConvex(c.astype(np.float32).reshape(-1, 1, 2)):
        raise ReadingError("The four corners do not make a four-sided wall; tap each corner once.")
    area = 0.5 * abs(np.dot(c[:, 0], np.roll(c[:, 1], -1)) - np.dot(c[:, 1], np.roll(c[:, 0], -1)))
    if area < 0.005 * photo.width_px * photo.height_px:
        raise ReadingError("The four corners lie too close together; tap the corners of the whole wall.")
    return c
