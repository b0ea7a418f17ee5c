"""The straightened wall as bands and columns, and what a small network makes of every column.

The network in `vision/learned` that labels pixels sees a few inches at a time; this one sees a whole
column of the wall, from plate to plate, beside its neighbours, and says how likely it lies in the face
of a full-height member, of a short one, or on a face's left or right edge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.best_apart import Integral
from vision.edges import EdgeBands
from vision.wall_picture import WallPicture

COLUMNS_PER_FACE = 8
BANDS_KEPT = 24
MOST_COLUMNS = 2048


@dataclass(frozen=True)
class ColumnShares:
    """How likely each column of the straightened wall, (W,) float64 each, lies

    Attributes
    ----------
    full : in the face of a full-height member
    short : in the face of a cripple or trimmer
    left, right : on a face's left edge, on a right one
    """

    full: NDArray[np.float64]
    short: NDArray[np.float64]
    left: NDArray[np.float64]
    right: NDArray[np.float64]

    def over(self, left: float, right: float) -> tuple[float, float]:
        """Mean of `full` and of `short` between two columns."""
        a, b = np.array([left]), np.array([right])
        full, short = (float(Integral(one)(a, b)[0]) / (right - left) for one in (self.full, self.short))
        return full, short

    def edges(self, left: float, right: float, reach: float) -> tuple[float, float]:
        """Highest shares of a left edge and of a right one within `reach` columns of two columns."""
        out = []
        for share, at in ((self.left, left), (self.right, right)):
            first = int(np.clip(np.floor(at - reach), 0, len(share) - 1))
            out.append(float(share[first : int(np.ceil(at + reach)) + 1].max()))
        return out[0], out[1]

    def without(self, first: int, end: int) -> ColumnShares:
        """The same with no full-height face in columns `first` to `end` - 1."""
        full = self.full.copy()
        full[first:end] = 0
        return replace(self, full=full)


def judge(picture: WallPicture, face_px: float, edges: EdgeBands) -> ColumnShares | None:
    """Ask the column network; None without it or without the pixels' labels."""
    if picture.maps is None:
        return None
    try:
        from vision.learned.column_model import judge_columns
    except ImportError:
        return None
    bands = picture_bands(picture, face_px, edges)
    shares = judge_columns(bands)
    if shares is None:
        return None
    width = picture.grid.width
    at = (np.arange(width) + 0.5) * bands.shape[2] / width - 0.5
    known = np.arange(bands.shape[2])
    return ColumnShares(*(np.interp(at, known, one) for one in shares))


def picture_bands(picture: WallPicture, face_px: float, edges: EdgeBands | None = None) -> NDArray[np.uint8]:
    """What the network is shown: (12, BANDS_KEPT, W) bytes, COLUMNS_PER_FACE columns a face.

    Front, across, plate, joint, side, wall, edge votes, seen, L, a, b, and where the camera stands.
    """
    maps, grid = picture.banded, picture.grid
    if maps is None:
        raise ValueError("the columns want the pixels' labels")
    edges = edges or picture.edges(face_px)
    width = int(np.clip(round(grid.width * COLUMNS_PER_FACE / face_px), 16, MOST_COLUMNS))

    def fit(bands: NDArray) -> NDArray[np.float32]:
        size = (bands.shape[1], BANDS_KEPT)
        way = cv2.INTER_AREA if width < bands.shape[1] else cv2.INTER_LINEAR
        thin = cv2.resize(np.asarray(bands, np.float32), size, interpolation=cv2.INTER_AREA)
        return np.asarray(cv2.resize(thin, (width, BANDS_KEPT), interpolation=way), np.float32)

    shares = [maps.front, maps.across, maps.plate, maps.joint, maps.side, maps.wall]
    layers = [fit(m) for m in (*shares, edges.votes, edges.seen)]
    layers.append(fit(edges.colour[..., 0]) * np.float32(0.01))
    layers += [np.float32(0.5) + fit(edges.colour[..., c]) * np.float32(1 / 160) for c in (1, 2)]
    x = grid.x((np.arange(width) + 0.5) * grid.width / width - 0.5)
    layers.append(np.broadcast_to(np.asarray(0.5 + x / 4, np.float32), (BANDS_KEPT, width)))
    return np.asarray(np.clip(np.stack(layers) * 255 + 0.5, 0, 255), np.uint8)
