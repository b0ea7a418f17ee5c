"""What the tests of the reader share."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from vision.learned import model

ask = model.segment


@lru_cache(maxsize=8)
def labels_of(shape: tuple[int, ...], pixels: bytes, long_side_px: int | None) -> model.FacesMap | None:
    """The network's answer about a picture; whoever would write into it fails."""
    labels = ask(np.frombuffer(pixels, np.uint8).reshape(shape), long_side_px)
    if labels is not None:
        for values in vars(labels).values():
            values.flags.writeable = False
    return labels


@pytest.fixture
def _labels_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """The network is asked only once about the same pixels: one photo is read over and over with another
    length or other taps, and half of each reading would be that answer."""

    def kept(rgb: np.ndarray, long_side_px: int | None = None) -> model.FacesMap | None:
        return labels_of(rgb.shape, rgb.tobytes(), long_side_px)

    monkeypatch.setattr(model, "segment", kept)
