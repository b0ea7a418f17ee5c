"""Ask a small network what each pixel of a wall picture is.

The network says WHAT a pixel shows; where exactly an edge lies is left to gradients. Its weights,
``front_faces.onnx``, were trained from random numbers on scenes that ``vision/learned/recipe`` draws
itself (no photograph, no foreign weights); that folder's README says how, when and on what.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.learned.nets import answer

WEIGHTS = Path(__file__).with_name("front_faces.onnx")
# The network halves its picture five times, so both sides must be multiples of this.
STEP_PX = 32
LONGEST_SIDE_PX = 1280
KINDS = 5


@dataclass(frozen=True)
class FacesMap:
    """What each pixel shows, as shares 0..1; every map is (H, W) float32 on the picture's own grid.

    The five kinds ``front``, ``cross``, ``plate``, ``side`` and ``other`` add up to 1.

    Attributes
    ----------
    front : front face of a vertical member of the wall that faces the camera
    cross : front face of a header, sill, blocking or let-in brace of that wall
    plate : front face of a bottom or top plate of that wall
    side : faces of that wall's members which are seen in depth
    other : everything else
    wall : inside that wall's outline, whatever is seen through it or stands before it
    joint : near the line between two touching members
    """

    front: NDArray[np.float32]
    cross: NDArray[np.float32]
    plate: NDArray[np.float32]
    side: NDArray[np.float32]
    other: NDArray[np.float32]
    wall: NDArray[np.float32]
    joint: NDArray[np.float32]

    @property
    def across(self) -> NDArray[np.float32]:
        """Front face of any member that does not stand upright: ``cross`` and ``plate`` together."""
        return self.cross + self.plate


def segment(
    image_rgb: NDArray[np.uint8], long_side_px: int | None = None, weights: Path = WEIGHTS
) -> FacesMap | None:
    """Label a whole photo, or a wall already brought to a rough rectangle.

    Parameters
    ----------
    image_rgb : (H, W, 3) uint8 array
    long_side_px : int, optional
        Longer side of the copy that is worked on, at most ``LONGEST_SIDE_PX``; by default the picture's
        own. Faces should be 2.5 to 14 px wide in it: about 640 px for a whole photo, 1024 px for a wall
        that fills the picture. The maps have the picture's own size all the same.
    weights : path
        The network's file.

    Returns
    -------
    FacesMap or None
        None when the weights' file is missing or cannot be read: the caller goes on without
        this cue and with larger doubt. The same picture always gives the same maps.

    Raises
    ------
    ValueError
        When the array is not (H, W, 3) uint8 or is empty.
    """
    if image_rgb.ndim != 3 or image_rgb.shape[2] != 3 or image_rgb.dtype != np.uint8 or image_rgb.size == 0:
        raise ValueError("the picture must be an array of height x width x 3 bytes")
    h, w = image_rgb.shape[:2]
    k = min(long_side_px or max(h, w), LONGEST_SIDE_PX) / max(h, w)
    size = tuple(max(2, round(side * k / STEP_PX)) * STEP_PX for side in (w, h))
    # cv2.resize keeps pixel centres at (x + 0.5) k - 0.5, here and on the way back
    way = cv2.INTER_AREA if size[0] < w and size[1] < h else cv2.INTER_LINEAR
    worked = image_rgb if size == (w, h) else cv2.resize(image_rgb, size, interpolation=way)
    blob = np.ascontiguousarray(worked.transpose(2, 0, 1)[None], np.float32) / 255.0
    packed = answer(weights, blob)
    if packed is None:
        return None
    maps = list(_shares(_unpack(packed[0])))
    if size != (w, h):
        maps = [np.asarray(cv2.resize(m, (w, h), interpolation=cv2.INTER_LINEAR), np.float32) for m in maps]
    other, front, cross, plate, side, wall, joint = maps
    return FacesMap(front, cross, plate, side, other, wall, joint)


def _unpack(packed: NDArray[np.float32]) -> NDArray[np.float32]:
    """Turn (4 C, H/2, W/2) into (C, H, W): each group of four is a 2 x 2 block of pixels."""
    c, h, w = packed.shape[0] // 4, packed.shape[1], packed.shape[2]
    blocks = packed.reshape(c, 2, 2, h, w)
    out = np.empty((c, 2 * h, 2 * w), packed.dtype)
    for y, x in np.ndindex(2, 2):  # half the time of transposing
        out[:, y::2, x::2] = blocks[:, y, x]
    return out


def _shares(logits: NDArray[np.float32]) -> NDArray[np.float32]:
    """Softmax over the five kinds, sigmoid of the rest; written out, it takes half the time."""
    out = np.empty_like(logits)
    top = logits[:KINDS].max(0)
    total = np.zeros_like(top)
    for k in range(KINDS):
        cv2.exp(logits[k] - top, out[k])
        total += out[k]
    out[:KINDS] /= total
    for k in range(KINDS, len(logits)):
        cv2.exp(-np.clip(logits[k], -30, 30), out[k])
        out[k] = 1.0 / (1.0 + out[k])
    return out
