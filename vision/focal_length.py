"""The focal length of the lens in pixels of the photo, from what its Exif states of lens and sensor."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Literal

FocalDoubt = Literal["not_stated", "out_of_range", "cropped", "zoomed"]

# Diagonal of the 24 x 36 mm frame, to which "35 mm film equivalent" refers (CIPA DCG-001).
FILM_DIAGONAL_MM = math.hypot(36.0, 24.0)
# Phones' ultra-wide cameras (13 to 17 mm: in a narrow basement nothing else holds the wall), their main
# ones, and tele ones a wall is still taken with, up to where none is (100 mm); outside: a typing or resizing
# accident rather than a lens. Chosen by judgement, no source.
FOCAL_RANGE_MM = (10.0, 100.0)
# Whole sensors are 4:3 or 3:2. Other shapes are cuts of them, in the camera or later, and the
# stated equivalent then belongs to a diagonal that is no longer in the picture.
SENSOR_ASPECTS = (4 / 3, 3 / 2)
ASPECT_SLACK = 0.01

# Cameras store sides that are multiples of this (from memory: 4032 x 3024, 4000 x 3000, 4080 x 3072, 4624 x
# 3468, 5712 x 4284, 6000 x 4000 and others); steps of the sides that programs shrink pictures to.
CAMERA_STEP_PX, ROUND_STEPS_PX = 4, (10, 16)

FOCAL_35, PIXEL_X, PIXEL_Y, ZOOM = 0xA405, 0xA002, 0xA003, 0xA404
FOCAL_MM, PLANE_X, PLANE_Y, PLANE_UNIT = 0x920A, 0xA20E, 0xA20F, 0xA210
PLANE_UNIT_MM = {2.0: 25.4, 3.0: 10.0}  # Exif 3.0, tag FocalPlaneResolutionUnit
# Diagonals of the usual sensors, 1/2.5 in to the film frame (values from memory), within a share; and least
# pixels of a whole picture. A program that shrinks a picture and corrects its stated sides, but not its
# resolution, would leave a sensor too small: seldom one of these, and seldom with so many pixels.
SENSOR_DIAGONALS_MM, SENSOR_SLACK = (7.2, 7.7, 9.4, 15.9, 21.6, 27.0, 28.3, 43.3), 0.025
LEAST_WHOLE_PX = 6_000_000


def focal_from_exif(
    exif_ifd: Mapping[int, Any], width_px: int, height_px: int
) -> tuple[float | None, FocalDoubt | None]:
    """Focal length in pixels from the stated 35 mm film equivalent, or None and the reason.

    ``f_px = f35 · sqrt(W² + H²) / 43.27 mm``: the equivalent refers to the diagonals (CIPA DCG-001;
    Exif 3.0, tag FocalLengthIn35mmFilm). A picture resized as a whole keeps it; a cropped one does
    not, neither does its middle stay the principal point. Where it is not stated, as by many cameras that
    are no phones, the sensor's size makes it.
    """
    film_mm = _film_equivalent_mm(exif_ifd)
    if film_mm is None:
        return None, "not_stated"
    if not FOCAL_RANGE_MM[0] <= film_mm <= FOCAL_RANGE_MM[1]:
        return None, "out_of_range"
    zoom = exif_number(exif_ifd.get(ZOOM))
    if zoom is not None and zoom > 1.05:
        return None, "zoomed"
    aspect = _aspect(width_px, height_px)
    resized = False
    stated_w, stated_h = exif_number(exif_ifd.get(PIXEL_X)), exif_number(exif_ifd.get(PIXEL_Y))
    if stated_w and stated_h and stated_w > 0 and stated_h > 0:
        # Programs that turn the pixels often leave the stated sides unswapped: compare shapes only.
        if abs(_aspect(stated_w, stated_h) / aspect - 1) > ASPECT_SLACK:
            return None, "cropped"
        if max(width_px, height_px) > 1.01 * max(stated_w, stated_h):
            return None, "cropped"  # enlarged: never straight from a camera
        resized = max(width_px, height_px) < max(stated_w, stated_h)
    if min(abs(aspect / whole - 1) for whole in SENSOR_ASPECTS) > ASPECT_SLACK:
        return None, "cropped"
    sides = (width_px, height_px)
    whole_picture = _as_programs_shrink(sides, (stated_w, stated_h)) if resized else _as_cameras_store(sides)
    if not whole_picture:
        return None, "cropped"  # a cut that keeps the shape seldom has such sides
    return film_mm * math.hypot(width_px, height_px) / FILM_DIAGONAL_MM, None


def _as_cameras_store(sides_px: tuple[int, int]) -> bool:
    """Whether a camera may have stored a picture with these sides: multiples of CAMERA_STEP_PX."""
    return not any(side % CAMERA_STEP_PX for side in sides_px)


def _as_programs_shrink(sides_px: tuple[int, int], stated_px: tuple[float | None, float | None]) -> bool:
    """Whether a whole picture may have been shrunk to these sides: to a round one, or to a round share."""
    if any(side % step == 0 for side in sides_px for step in ROUND_STEPS_PX):
        return True
    long_px, stated = max(sides_px), max(q or 0.0 for q in stated_px)
    shares = (*(1 / k for k in range(2, 9)), *(k / 20 for k in range(1, 20)))
    return any(abs(long_px - stated * share) < 1 for share in shares)


def _film_equivalent_mm(exif_ifd: Mapping[int, Any]) -> float | None:
    """The 35 mm film equivalent as stated, or from the focal length itself and the sensor's resolution.

    Exif 3.0: FocalLength in mm; FocalPlaneXResolution and its kin in pixels of the whole picture, whose sides
    PixelXDimension and PixelYDimension state.
    """
    stated = exif_number(exif_ifd.get(FOCAL_35))
    if stated:
        return stated
    names = (FOCAL_MM, PLANE_X, PLANE_Y, PIXEL_X, PIXEL_Y, PLANE_UNIT)
    focal_mm, plane_x, plane_y, wide, high, unit = (exif_number(exif_ifd.get(name)) or 0.0 for name in names)
    unit_mm = PLANE_UNIT_MM.get(unit)
    if unit_mm is None or min(focal_mm, plane_x, plane_y) <= 0 or wide * high < LEAST_WHOLE_PX:
        return None
    sensor_mm = unit_mm * math.hypot(wide / plane_x, high / plane_y)
    usual = min(abs(sensor_mm / diagonal - 1) for diagonal in SENSOR_DIAGONALS_MM) <= SENSOR_SLACK
    return focal_mm * FILM_DIAGONAL_MM / sensor_mm if usual else None


def focal_of_cut(exif_ifd: Mapping[int, Any], width_px: int, height_px: int) -> float | None:
    """About the focal length in pixels of a picture that may be part of what its lens saw; None: none stated.

    The stated equivalent is that of the picture's own diagonal, or of the whole 4:3 sensor that a 16:9
    picture was cut from: for 16:9 they differ by 9 %, the geometric mean of both is taken. Of a zoomed
    picture it is at least so long.
    """
    film_mm = _film_equivalent_mm(exif_ifd)
    if film_mm is None or not FOCAL_RANGE_MM[0] <= film_mm <= FOCAL_RANGE_MM[1]:
        return None
    own, long_side = math.hypot(width_px, height_px), max(width_px, height_px)
    whole = max(math.hypot(long_side, long_side * 3 / 4), min(width_px, height_px) * 5 / 3)
    return film_mm * math.sqrt(own * whole) / FILM_DIAGONAL_MM


def exif_number(value: Any) -> float | None:
    """A tag's value as a number; None where it is none, or not finite."""
    if isinstance(value, (tuple, list)) and len(value) == 1:
        value = value[0]
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) else None


def _aspect(width: float, height: float) -> float:
    return max(width, height) / min(width, height)
