"""What each pixel shows: front face of a member, something across, side face, this wall or not.

The learned model says what a pixel is; geometry says where its border lies. When the model is
missing, `plain_front` gives a poorer answer from edges and colour alone, and the reading's doubt
grows accordingly.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.edges import EdgeBands

# Longer side of the picture given to the model, px: the whole photo first, then the wall alone.
LONG_SIDE_WHOLE_PX = 640
LONG_SIDE_WALL_PX = 1024


@dataclass(frozen=True)
class WhatMaps:
    """Shares 0..1 per pixel, each an (H, W) float32 array.

    Attributes
    ----------
    front : front face of a vertical member of this wall
    across : front face of a plate, header, sill, blocking or brace of this wall
    plate : front face of a bottom or top plate (part of `across`)
    joint : near the line between two members that touch
    side : side faces of this wall's members
    wall : inside this wall's outline
    """

    front: NDArray[np.float32]
    across: NDArray[np.float32]
    plate: NDArray[np.float32]
    joint: NDArray[np.float32]
    side: NDArray[np.float32]
    wall: NDArray[np.float32]


def look(rgb: NDArray[np.uint8], long_side_px: int) -> WhatMaps | None:
    """Ask the model about a picture (H, W, 3); None when there is no model.

    The maps come back at the picture's own size.
    """
    try:
        from vision.learned.model import segment
    except ImportError:  # the program still reads walls when the model's folder is taken away
        return None
    faces = segment(rgb, long_side_px)
    if faces is None:
        return None
    return WhatMaps(faces.front, faces.across, faces.plate, faces.joint, faces.side, faces.wall)


def plain_front(bands: EdgeBands, width_px: float) -> NDArray[np.float32]:
    """Share of front face per band (B, W) without the model.

    A band of colour about one face wide that differs from both its neighbours is taken for a face;
    the more it differs (in Lab, against the wall's own variation) the surer.
    """
    colour = cv2.GaussianBlur(bands.colour, (0, 0), max(0.5, 0.12 * width_px), sigmaY=1.0)
    n = max(1, round(width_px))
    left = np.roll(colour, n, axis=1)
    right = np.roll(colour, -n, axis=1)
    contrast = np.minimum(np.linalg.norm(colour - left, axis=2), np.linalg.norm(colour - right, axis=2))
    lighter = np.minimum(colour[..., 0] - left[..., 0], colour[..., 0] - right[..., 0])
    noise = np.median(contrast) + 1.0
    share = np.clip((contrast / noise - 0.8) / 3.0, 0, 1) * np.where(lighter > 0, 1.0, 0.7)
    share = cv2.blur(share.astype(np.float32), (max(1, n // 2), 1))
    return np.where(bands.seen, share, 0).astype(np.float32)
