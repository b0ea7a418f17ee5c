"""How wide one face is in the straightened picture, where no length tells it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from vision.runs import runs_of

# Widths of a face tried beside the one seen, and what one that strays pays.
FACE_STEPS = {-4: 0.6, -3: 0.68, -2: 0.77, -1: 0.88, 0: 1.0, 1: 1.13}
FACE_STRAYS = 1.0


def face_width_px(front: NDArray[np.float64]) -> float | None:
    """Typical width, in columns, of the stretches where the share of front face `front` (W,) is high."""
    level = 0.5 * max(0.3, float(np.quantile(front, 0.97)))
    runs = runs_of(front > level)
    widths = np.array([b - a for a, b in runs], float)
    peak = np.array([front[a:b].max() for a, b in runs])
    # Fainter stretches are a second row seen through, narrower than the faces in front.
    widths = widths[peak > 1.2 * level]
    widths = widths[widths >= 2]
    if len(widths) < 2:
        return None
    # Doubled members make wide stretches: the lower half of the widths are single faces.
    return float(np.median(np.sort(widths)[: max(2, (len(widths) * 2 + 2) // 3)]))


def best_face(face_px: float, total: Callable[[float], float]) -> float:
    """The width of one face, columns, near the one seen, under which the members found score best in `total`.

    Labels of pixels blur: on real photos a face looks up to twice as wide as it is.
    """
    first = total(face_px)
    if first <= 0:
        return face_px
    values = {0: 1.0}

    def value(k: int) -> float:
        if k not in values:
            off = np.log(FACE_STEPS[k])
            values[k] = total(face_px * FACE_STEPS[k]) / first - FACE_STRAYS * off**2
        return values[k]

    best = 0
    for way in (-1, 1):
        while best * way >= 0 and best + way in FACE_STEPS and value(best + way) > values[best]:
            best += way
    return face_px * FACE_STEPS[best]
