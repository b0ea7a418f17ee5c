"""Ask a small network where electrical boxes are in straightened strips beside studs.

Its weights, ``boxes.onnx``, were trained on walls drawn by ``vision/learned/recipe``; that folder's README
says how and on what.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.learned.nets import answer

WEIGHTS = Path(__file__).with_name("boxes.onnx")
# A strip: its columns run from 1 1/2 in inside the face's edge to 6 1/2 in beside it, its rows upward.
PER_IN, FACE_IN, BESIDE_IN = 8, 1.5, 6.5
ROWS_STEP = 4  # rows to an answer
APART_IN = 4.0  # of two boxes' middles on one side of a stud


@dataclass(frozen=True)
class SeenBox:
    """A box in a strip: how sure the network is (0..1), its middle above the strip's lowest row, where its
    sides are beside the face's edge, how high it is; inches.
    """

    share: float
    middle_in: float
    near_in: float
    far_in: float
    height_in: float


def find_boxes(
    strips: Sequence[NDArray[np.uint8]], least_share: float, weights: Path = WEIGHTS
) -> list[list[SeenBox]] | None:
    """Boxes in each of some strips, surest first; None when the weights' file is missing.

    The strips are (rows, 64, 3) each, all of one size, `rows` a multiple of ROWS_STEP.
    """
    blob = cv2.dnn.blobFromImages(list(strips), 1 / 255)
    answered = answer(weights, blob)
    if answered is None:
        return None
    cell = ROWS_STEP / PER_IN
    out = []
    for logits, *sides in answered[..., 0]:
        share = 1 / (1 + np.exp(-np.clip(logits, -30, 30)))
        up, near, far, height = sides
        middle = (np.arange(len(share)) + 0.5) * cell + up
        found: list[SeenBox] = []
        for k in np.argsort(-share, kind="stable"):
            if share[k] < least_share:
                break
            if all(abs(middle[k] - other.middle_in) > APART_IN for other in found):
                found.append(
                    SeenBox(
                        float(share[k]), float(middle[k]), float(near[k]), float(far[k]), float(height[k])
                    )
                )
        out.append(found)
    return out
