"""Sample photos of framed walls with their exact truth, and the generator that made them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

__all__ = ["known_truth", "photo_path", "sample_names"]

_PHOTOS = Path(__file__).resolve().parent / "photos"
_FIRST = "long_wall"


def sample_names() -> tuple[str, ...]:
    """Names of the sample photos, the demo wall first, the others by name."""
    names = sorted(p.stem for p in _PHOTOS.glob("*.jpg") if p.with_suffix(".json").exists())
    return tuple(sorted(names, key=lambda n: (n != _FIRST, n)))


def photo_path(name: str) -> Path:
    """Where the JPEG of a sample lies.

    Raises
    ------
    KeyError
        There is no sample of that name.
    """
    path = _PHOTOS / f"{name}.jpg"
    if name not in sample_names():
        raise KeyError(f"There is no sample photo {name!r}; there are {', '.join(sample_names())}.")
    return path


def known_truth(name: str) -> dict[str, Any]:
    """What is exactly known about a sample photo; README.md here explains every field.

    Raises
    ------
    KeyError
        There is no sample of that name.
    """
    return dict(json.loads(photo_path(name).with_suffix(".json").read_text()))
