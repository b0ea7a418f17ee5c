"""What general-purpose tools make of the same photos: line segments, and vanishing points."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.cases import Case
from tests.benchmarks.scoring import Found

PX_PER_IN = 8.0


def segments(grey: NDArray[np.uint8]) -> NDArray[np.float64]:
    """OpenCV's line segment detector, (N, 4); version 5 gives N x 4, version 4 N x 1 x 4."""
    lines = cv2.createLineSegmentDetector().detect(grey)[0]
    return np.zeros((0, 4)) if lines is None else np.asarray(lines, float).reshape(-1, 4)


def paired_segments(case: Case, grey: NDArray[np.uint8]) -> list[Found]:
    """Studs as pairs of long vertical segments one face apart, on the wall rectified by its true
    corners: what one writes in an afternoon, and with help (the corners) the reading has not."""
    w, h = case.length_in * PX_PER_IN, case.height_in * PX_PER_IN
    flat = np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32)
    to_flat = cv2.getPerspectiveTransform(np.array(case.corners_px, np.float32), flat)
    straight = cv2.warpPerspective(grey, to_flat, (int(w), int(h)), flags=cv2.INTER_AREA)
    lines = segments(straight)
    along = np.abs(lines[:, 3] - lines[:, 1])
    steep = along > 12 * np.abs(lines[:, 2] - lines[:, 0])
    lines = lines[steep & (along > 6 * PX_PER_IN)]
    cover = np.zeros(int(w) + 1)
    for x1, y1, x2, y2 in lines:
        x = int(np.clip(round((x1 + x2) / 2), 0, len(cover) - 1))
        cover[x] += abs(y2 - y1) / h
    cover = np.convolve(cover, np.ones(5), mode="same")
    peaks = [
        x
        for x in range(2, len(cover) - 2)
        if cover[x] > 0.4 and cover[x] == cover[max(0, x - 4) : x + 5].max()
    ]
    face = case.face_in * PX_PER_IN
    options = [
        (cover[a] + cover[b] - abs(b - a - face) / PX_PER_IN, a, b)
        for i, a in enumerate(peaks)
        for b in peaks[i + 1 :]
        if abs(b - a - face) < 0.35 * face
    ]
    out: list[Found] = []
    used: list[tuple[float, float]] = []
    back = np.linalg.inv(to_flat)
    for _, a, b in sorted(options, reverse=True):
        if any(a < q and b > p for p, q in used):
            continue
        used.append((a, b))
        middle = (a + b) / 2
        ends = cv2.perspectiveTransform(np.array([[[middle, h], [middle, 0.0]]]), back)[0]
        line = (tuple(map(float, ends[0])), tuple(map(float, ends[1])))
        out.append(Found(middle / PX_PER_IN, 0.1, 1, True, True, line))  # type: ignore[arg-type]
    return sorted(out, key=lambda f: f.centre_in)


def wall_direction_by_vanishing_points(case: Case, rgb: NDArray[np.uint8]) -> float | None:
    """Angle in degrees between the true wall direction and lu-vp-detect's nearest one.

    The package is told the true focal length. None when it is not installed or fails.
    """
    try:
        from lu_vp_detect import VPDetection
    except ImportError:
        return None
    original = cv2.createLineSegmentDetector

    class Shaped:
        """OpenCV 5 returns N x 4 where the package expects N x 1 x 4."""

        def __init__(self, *arguments: Any) -> None:
            self.inner = original(*arguments)

        def detect(self, image: NDArray[np.uint8]) -> tuple[NDArray[np.float32]]:
            lines = self.inner.detect(image)[0]
            return (np.asarray(lines, np.float32).reshape(-1, 1, 4),)

    scale = 1000.0 / max(rgb.shape[:2])
    small = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    c = case.camera
    cv2.createLineSegmentDetector = Shaped  # type: ignore[assignment]
    try:
        finder = VPDetection(30, (c.cx_px * scale, c.cy_px * scale), c.f_px * scale, seed=1)
        directions = np.asarray(finder.find_vps(cv2.cvtColor(small, cv2.COLOR_RGB2BGR)))
    except Exception:
        return None
    finally:
        cv2.createLineSegmentDetector = original  # type: ignore[assignment]
    true = np.asarray(c.rotation)[:, 0]
    # the package's picture has y up or down by version: the nearest reading of it counts
    flips = np.array([[1, 1, 1], [1, -1, 1], [1, 1, -1], [1, -1, -1]], float)
    best = max(float(np.max(np.abs((directions * f) @ true))) for f in flips)
    return float(np.degrees(np.arccos(min(1.0, best))))
