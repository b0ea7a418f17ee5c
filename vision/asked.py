"""What is asked of a reading, judged before any picture is looked at: lengths, marks, corners."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from vision.photo import Photo
from vision.reading import Reference, TapeCheck

SHORTEST_MARKS_PX = 20.0
FACE_RANGE_IN = (0.5, 12.0)


class ReadingError(ValueError):
    """What was asked cannot be used; the text says what is wrong and what to do."""


def check_asked(
    photo: Photo,
    reference: Reference | None,
    second: Reference | None,
    face_in: float,
    checks: Sequence[TapeCheck],
) -> None:
    """Raise `ReadingError` where a reference, the face's width or a tape reading cannot be meant."""
    check_reference(photo, reference)
    check_reference(photo, second)
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


def check_reference(photo: Photo, reference: Reference | None) -> None:
    """Raise `ReadingError` where a reference's length or marks cannot be meant."""
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


def checked_corners(photo: Photo, corners_px: ArrayLike | None) -> NDArray[np.float64] | None:
    """Tapped corners (4, 2) in their order about the wall, from the top left; None where none were tapped.

    Raises
    ------
    ReadingError
        Corners that make no four-sided wall.
    """
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
