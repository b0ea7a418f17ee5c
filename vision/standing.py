"""The members of a straightened wall put in wall inches, and which of them end it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.curved_plates import plates_curve
from vision.layout_end import end_by_layout, right_double_doubted, with_end_at
from vision.next_walls_stud import without_next_walls
from vision.onto_marks import onto_marks
from vision.photo import Photo
from vision.placing import Placed, place
from vision.plate_edges import settle_plates
from vision.reading import Reference
from vision.room_corner import without_the_next_wall
from vision.survey import Survey, survey_wall
from vision.under_view import scale_of
from vision.viewing import Viewed, narrowed
from vision.wall_ends import LARGE_SIGMA_IN
from vision.wall_picture import WallPicture, picture_wall
from vision.wall_turns import up_to_the_corner
from vision.wider_look import wider

ASSUMED_FACE_SLACK = 0.15
MISSED_END_FACES = 7.0  # 10 1/2 in of a 16 in bay, for 1 1/2 in faces


@dataclass(frozen=True)
class Seen:
    """The wall as the photo shows it, straightened, before any length is known."""

    viewed: Viewed
    picture: WallPicture
    grey: NDArray[np.float32]

    @property
    def plates_curve(self) -> bool:
        """Whether its plates curve as in a panorama, so that no place along it can be right."""
        maps = self.picture.maps
        return maps is not None and plates_curve(self.picture.region, self.picture.grid, maps)

    def survey(self, face_units: float | None) -> Survey | None:
        """Its members; `face_units`: the width of a face, where a length tells it."""
        return survey_wall(self.viewed, self.picture, self.grey, face_units)


def look_at(photo: Photo, viewed: Viewed) -> Seen:
    """Straighten the wall's picture; where its plates bend round a room's corner, that of its own part."""
    viewed = wider(viewed) or viewed
    picture = picture_wall(viewed, photo)
    part = None if picture.maps is None else up_to_the_corner(picture.region, picture.grid, picture.maps)
    if part is not None:
        viewed = narrowed(viewed, part)
        picture = picture_wall(viewed, photo)
    return Seen(viewed, picture, cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY).astype(np.float32))


def face_by_tape(reference: Reference | None, viewed: Viewed, face_in: float) -> float | None:
    """Width of a face in rectified units by a tape; None without one."""
    if reference is None or reference.kind != "tape":
        return None
    scale = scale_of(reference, viewed.view, np.zeros(0), np.zeros(0), None, face_in, viewed.scale)
    return face_in / scale.inches_per_unit if scale else None


@dataclass(frozen=True)
class Stands:
    """Members in wall inches.

    Attributes
    ----------
    origin, end : int or None
        The members that end the wall on the left and on the right.
    end_doubts : tuple of (int, str)
        What the marks of the layout make doubtful of these two: the member, the doubt's code.
    without_scale : bool
        No reference gave a scale; the places are guessed by the faces' width.
    """

    survey: Survey
    origin: int | None
    end: int | None
    placed: Placed
    end_doubts: tuple[tuple[int, str], ...] = ()
    without_scale: bool = False


def stand(
    seen: Seen,
    survey: Survey,
    reference: Reference | None,
    face_in: float,
    tape_face: float | None,
    assumed_in: tuple[float, ...],
) -> Stands | None:
    """Put the members in inches by the reference; None where even their faces give no scale."""
    viewed = seen.viewed
    put = partial(place, assumed_in=assumed_in)

    def among(own: Survey, before: Placed) -> tuple[Survey, int | None, int | None, Placed]:
        """This wall's own members alone, those that end it, and all in inches; as before without a scale."""
        origin, end = end_members(own)
        return own, origin, end, put(own, viewed, reference, face_in, origin, end) or before

    origin, end = end_members(survey)
    placed = put(survey, viewed, reference, face_in, origin, end)
    if placed is not None and tape_face is None:
        # The spacing gave the scale: look again with the face's width known.
        implied = face_in / placed.scale.inches_per_unit
        # A guessed spacing that makes the faces much wider or narrower than they look may be the wrong one.
        trusted = reference is not None or abs(implied / survey.face - 1) < ASSUMED_FACE_SLACK
        again = seen.survey(implied) if trusted else None
        if again is not None and len(again.members) >= 2:
            survey = again
            origin, end = end_members(survey)
            placed = put(survey, viewed, reference, face_in, origin, end)
    if placed is None:
        # Still worth showing where the members are: a tape length is all that is missing.
        guessed = put(survey, viewed, None, face_in, origin, end, by_face=True)
        return None if guessed is None else Stands(survey, origin, end, guessed, without_scale=True)
    own = without_the_next_wall(viewed.view, seen.grey, survey)
    if own is not None:
        survey, origin, end, placed = among(own, placed)
    survey = settle_plates(survey, seen.picture, face_in / placed.scale.inches_per_unit)
    placed = put(survey, viewed, reference, face_in, origin, end) or placed
    own = without_next_walls(survey, placed, origin, end)
    if own is not None:
        survey, origin, end, placed = among(own, placed)
    doubts = []
    by_marks = end_by_layout(survey, placed, origin, end)
    if by_marks is not None:
        doubts += [] if origin is None else [(origin, code) for code in by_marks.doubts]
        survey = with_end_at(survey, placed, origin, by_marks.shift_in)
        moved = put(survey, viewed, reference, face_in, origin, end, origin_sigma_in=by_marks.sigma_in)
        placed = moved or placed
    if end is not None and right_double_doubted(survey, placed, origin, end):
        doubts.append((end, "ply_unclear"))
        length_sigma_in = float(np.hypot(placed.length_sigma_in, LARGE_SIGMA_IN))
        placed = replace(placed, length_sigma_in=length_sigma_in)
    survey, placed = onto_marks(survey, placed, origin, end)
    return Stands(survey, origin, end, placed, tuple(doubts))


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
