"""The sample walls with their truth, read once for all tests."""

from __future__ import annotations

from functools import lru_cache

import sample_images
from tests.benchmarks.cases import Case, own_cases
from vision import Photo, Reading, Reference, load_photo, read_wall

FOLDER = sample_images.photo_path(sample_images.sample_names()[0]).parent
CASES = {c.name: c for c in own_cases(FOLDER)}
DEMO = "long_wall"


@lru_cache
def photo_of(name: str) -> Photo:
    return load_photo(CASES[name].photo.read_bytes())


def tape_of(case: Case) -> Reference:
    a, b = case.marks_px
    return Reference.tape(case.reference_in, a, b, stands_proud_in=case.in_front_in)


@lru_cache
def reading_of(name: str) -> Reading:
    """The sample read with the tape of its truth, once for all tests."""
    case = CASES[name]
    return read_wall(photo_of(name), tape_of(case), face_in=case.face_in)
