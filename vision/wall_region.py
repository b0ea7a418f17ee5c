"""Where this wall begins and ends: the rectangle of the rectified plane that is the wall.

Finding members is won or lost here: judged over floor, ceiling and neighbours' walls as well, every
member looks too short (feasibility study, §12). The rectangle is the one that collects the most
evidence of "this wall" and the least of "something else"; four tapped corners replace it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.rectify import faces_camera, to_rect

# Columns and rows of the coarse map on which the best rectangle is searched.
COARSE_COLUMNS, COARSE_ROWS = 120, 84
# A tap is exact to about this share of the wall's size (contract with the user: "roughly").
TAP_SLACK = 0.03
MOST_ASPECT = 50.0  # a wall is not so many times longer than high, or higher than long


@dataclass(frozen=True)
class Region:
    """The wall's rectangle in rectified units.

    Attributes
    ----------
    left, top, right, bottom : float
    cut_left, cut_right, cut_top, cut_bottom : bool
        The photo ends there before the wall does.
    support : float
        Mean evidence inside, 0..1; 1 for tapped corners.
    tapped : bool
    """

    left: float
    top: float
    right: float
    bottom: float
    cut_left: bool = False
    cut_right: bool = False
    cut_top: bool = False
    cut_bottom: bool = False
    support: float = 1.0
    tapped: bool = False

    @property
    def width(self) -> float:
        """Length along the wall, rectified units."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height, rectified units."""
        return self.bottom - self.top


def region_from_corners(view: ViewDirections, corners_px: NDArray[np.float64]) -> Region | None:
    """The rectangle of four corners (4, 2), order top left, top right, bottom right, bottom left.

    None where these are no wall's under this view: behind the camera, upside down, or far too narrow.
    """
    if not faces_camera(view, corners_px).all():
        return None
    r = to_rect(view, corners_px)
    region = Region(
        float(r[[0, 3], 0].mean()),
        float(r[[0, 1], 1].mean()),
        float(r[[1, 2], 0].mean()),
        float(r[[2, 3], 1].mean()),
        tapped=True,
    )
    if min(region.width, region.height) <= max(region.width, region.height) / MOST_ASPECT:
        return None
    return region


def best_rectangle(evidence: NDArray[np.float64]) -> tuple[int, int, int, int, float]:
    """Rectangle (top, left, bottom, right; ends exclusive) with the largest sum of `evidence` (H, W).

    Kadane's maximum subarray over every pair of rows (Bentley 1984, Programming Pearls column 8).
    The last value is the sum.
    """
    h, w = evidence.shape
    rows = np.vstack([np.zeros(w), np.cumsum(evidence, axis=0)])
    best = (0, 0, h, w, -np.inf)
    for top in range(h):
        sums = rows[top + 1 :] - rows[top]  # every bottom at once
        run = np.cumsum(sums, axis=1)
        low = np.minimum.accumulate(np.hstack([np.zeros((len(run), 1)), run[:, :-1]]), axis=1)
        gain = run - low
        k = int(np.argmax(gain))
        i, right = divmod(k, w)
        if gain[i, right] > best[4]:
            before = np.concatenate([[0.0], run[i, :-1]])[: right + 1]
            left = int(np.argmin(before))
            best = (top, left, top + 1 + i, right + 1, float(gain[i, right]))
    return best


def region_from_evidence(
    wall: NDArray[np.float32],
    seen: NDArray[np.bool_],
    extent: tuple[float, float, float, float],
) -> Region | None:
    """Find the wall's rectangle from a rectified map of "this wall" (H, W), 0..1.

    `extent` is left, top, right, bottom of the map in rectified units. None when nothing stands out.
    """
    h, w = wall.shape
    evidence = np.where(seen, wall.astype(float) - 0.5, -0.02)
    top, left, bottom, right, total = best_rectangle(evidence)
    if total <= 0.02 * h * w * 0.1 or right - left < 4 or bottom - top < 4:
        return None
    x0, y0, x1, y1 = extent
    dx, dy = (x1 - x0) / w, (y1 - y0) / h
    inside = seen[top:bottom, left:right]
    support = float(wall[top:bottom, left:right][inside].mean()) if inside.any() else 0.0

    def unseen(part: NDArray[np.bool_]) -> bool:
        return bool(part.size == 0 or part.mean() < 0.6)

    m = 2
    return Region(
        x0 + left * dx,
        y0 + top * dy,
        x0 + right * dx,
        y0 + bottom * dy,
        cut_left=left < m or unseen(seen[top:bottom, max(0, left - m) : left]),
        cut_right=right > w - m or unseen(seen[top:bottom, right : right + m]),
        cut_top=top < m or unseen(seen[max(0, top - m) : top, left:right]),
        cut_bottom=bottom > h - m or unseen(seen[bottom : bottom + m, left:right]),
        support=support,
    )
