"""A real plane of known size: OpenCV's chessboard photographs, 25 mm squares, a strongly bent lens.

The photographs come with Debian's package opencv-doc (examples/data/left01.jpg to right14.jpg). The
four outer inner-corners are the reference, as a user's tape would be; the other fifty are checked.
"""

from __future__ import annotations

import gzip
import os
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from vision.wall_plane import WallPlane, undistort

FOLDER = Path("/usr/share/doc/opencv-doc/examples/data")
COLUMNS, ROWS, SQUARE_MM = 9, 6, 25.0
OUTER = [0, COLUMNS - 1, COLUMNS * ROWS - 1, COLUMNS * (ROWS - 1)]
BOARD_MM = np.array([(j * SQUARE_MM, i * SQUARE_MM) for i in range(ROWS) for j in range(COLUMNS)])
# Largest error on the 200 mm board. The lenses are so bent that this much remains when the bending is
# ignored (measured here; the right one is bent more); freed of it, 0.7 mm.
RAW_MM = {"left": 4.0, "right": 5.5}
STRAIGHTENED_MM = 0.7


def _picture(side: str, number: int) -> NDArray[np.uint8] | None:
    for path in (FOLDER / f"{side}{number:02d}.jpg", FOLDER / f"{side}{number:02d}.jpg.gz"):
        if path.exists():
            data = path.read_bytes()
            data = gzip.decompress(data) if path.suffix == ".gz" else data
            return np.asarray(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_GRAYSCALE))
    return None


@lru_cache
def _boards(side: str) -> tuple[tuple[NDArray[np.float64], ...], tuple[int, int]]:
    """Inner corners (54, 2) in every photograph in which OpenCV finds all of them, and the size."""
    found, size = [], (0, 0)
    for number in range(1, 15):
        grey = _picture(side, number)
        if grey is None:
            continue
        size = (grey.shape[1], grey.shape[0])
        ok, corners = cv2.findChessboardCorners(grey, (COLUMNS, ROWS))
        if ok:
            stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 40, 0.001)
            fine = cv2.cornerSubPix(grey, corners, (7, 7), (-1, -1), stop)
            found.append(fine.reshape(-1, 2).astype(np.float64))
    return tuple(found), size


def boards(side: str) -> tuple[tuple[NDArray[np.float64], ...], tuple[int, int]]:
    found, size = _boards(side)
    if not found:
        why = "Debian's package opencv-doc is not installed: no chessboard photographs"
        if os.environ.get("CI"):
            pytest.fail(why)
        pytest.skip(why)
    return found, size


def calibrated(side: str) -> tuple[float, tuple[float, float], float, float]:
    """Focal length, principal point, k1, k2 by OpenCV's calibration, square pixels, two radial terms."""
    found, size = boards(side)
    solid = np.column_stack([BOARD_MM, np.zeros(len(BOARD_MM))]).astype(np.float32)
    flags = cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_K3 | cv2.CALIB_FIX_ASPECT_RATIO
    start = np.array([[530.0, 0, size[0] / 2], [0, 530.0, size[1] / 2], [0, 0, 1]])
    _, k, lens, _, _ = cv2.calibrateCamera(
        [solid] * len(found), [f.astype(np.float32) for f in found], size, start, None, flags=flags
    )
    k1, k2 = np.ravel(lens)[:2]
    return float(k[0, 0]), (float(k[0, 2]), float(k[1, 2])), float(k1), float(k2)


def worst_error_mm(
    corners_px: NDArray[np.float64], lens: tuple[float, tuple[float, float], float, float]
) -> float:
    """Largest distance of the other fifty corners from where they are, the four outer ones given."""
    focal_px, principal_px, k1, k2 = lens
    view = undistort((corners_px - principal_px) / focal_px, k1, k2)
    h = cv2.getPerspectiveTransform(view[OUTER].astype(np.float32), BOARD_MM[OUTER].astype(np.float32))
    rows = tuple(tuple(float(v) for v in row) for row in h)
    plane = WallPlane(focal_px, principal_px, k1, k2, rows)
    others = np.setdiff1d(np.arange(len(BOARD_MM)), OUTER)
    assert len(others) == 50
    np.testing.assert_allclose(plane.to_photo(BOARD_MM[OUTER]), corners_px[OUTER], atol=0.05)
    return float(np.linalg.norm(plane.to_wall(corners_px[others]) - BOARD_MM[others], axis=1).max())


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_other_fifty_corners_stand_where_they_were_printed(side: str) -> None:
    found, size = boards(side)
    assert len(found) >= 10
    no_lens = (float(max(size)), ((size[0] - 1) / 2, (size[1] - 1) / 2), 0.0, 0.0)
    raw = [worst_error_mm(f, no_lens) for f in found]
    straight = [worst_error_mm(f, calibrated(side)) for f in found]
    assert 2.0 < max(raw) < RAW_MM[side]  # below 2 mm these would not be the bent pictures
    assert max(straight) < STRAIGHTENED_MM
    assert np.median(straight) < 0.25 * np.median(raw)
