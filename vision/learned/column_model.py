"""Ask the column network about a straightened wall.

Its weights, ``columns.onnx``, were trained on walls drawn by ``vision/learned/recipe`` and read as
photos are read; that folder's README says how and on what.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.learned.nets import answer

WEIGHTS = Path(__file__).with_name("columns.onnx")
STEP = 16  # the network halves the columns four times


def judge_columns(bands: NDArray[np.uint8], weights: Path = WEIGHTS) -> NDArray[np.float32] | None:
    """Four shares 0..1 per column, (4, W), of bands (12, 24, W).

    In the face of a full-height member, in that of a short one, on a left edge, on a right edge.
    None when the weights' file is missing.
    """
    width = bands.shape[2]
    padded = np.zeros((*bands.shape[:2], -(-width // STEP) * STEP), np.float32)
    padded[:, :, :width] = bands * np.float32(1 / 255)
    answered = answer(weights, padded[None])
    if answered is None:
        return None
    logits = answered[0, :, 0, :width]
    return np.asarray(1 / (1 + np.exp(-np.clip(logits, -30, 30))), np.float32)
