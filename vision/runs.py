"""Runs: where a row of values is on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def runs_of(on: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last+1 index of every stretch of `on` (N,) that is true, in order."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(int), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
