"""Straight line segments of a photo, by OpenCV's line segment detector at reduced sizes.

Noise breaks long edges into crumbs at full size (measured in the feasibility study), so the
detector runs on small copies made by area averaging, where a stud's edge survives as one segment.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

# Widths of the copies the detector sees, px of the longer side. 800 keeps long edges whole,
# 1200 keeps thin ones; taken from the feasibility study's measurements.
COPY_LONG_SIDE_PX = (800, 1200)
# Segments shorter than this share of the copy's longer side are crumbs.
SHORTEST_SHARE = 0.025


def find_segments(grey: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Find straight segments in a grey photo.

    Parameters
    ----------
    grey : ndarray of uint8, shape (H, W)

    Returns
    -------
    ndarray of float64, shape (N, 4)
        x1, y1, x2, y2 in pixels of `grey`, (0, 0) at the centre of the top-left pixel.
        Both copies' findings are kept: an edge seen twice simply weighs twice.
    """
    height_px, width_px = grey.shape
    long_side = max(height_px, width_px)
    found = []
    for target in COPY_LONG_SIDE_PX:
        k = min(1.0, target / long_side)
        size = (max(8, round(width_px * k)), max(8, round(height_px * k)))
        copy = cv2.resize(grey, size, interpolation=cv2.INTER_AREA) if k < 1 else grey
        detector = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD)
        lines = detector.detect(copy)[0]
        if lines is None:
            continue
        # OpenCV 4 gives N x 1 x 4, OpenCV 5 gives N x 4.
        seg = np.asarray(lines, dtype=np.float64).reshape(-1, 4)
        # The detector puts 0 at the pixel's corner, we put it at its centre (half a pixel less).
        scale = np.array([width_px / size[0], height_px / size[1]] * 2)
        length = np.hypot(seg[:, 2] - seg[:, 0], seg[:, 3] - seg[:, 1])
        seg = seg[length > SHORTEST_SHARE * max(size)]
        found.append((seg + 0.5) * scale - 0.5)
        if k == 1.0:
            break
    return np.vstack(found) if found else np.zeros((0, 4))
