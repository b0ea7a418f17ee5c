"""Whatever part of a wall is photographed, tapped and measured: a reading or one sentence, never a fault."""

from __future__ import annotations

import io
import json
import math

import numpy as np
import pytest
from PIL import Image

from tests.vision.sample_walls import CASES
from ui.reading_json import reading_from_json, reading_to_json
from vision import PhotoError, Reading, ReadingError, Reference, TapeCheck, load_photo, read_wall

LONG_SIDE_PX = 800
Tap = tuple[float, float]


class AnyUser:
    """Crops, taps and types at random; the same seed does the same."""

    def __init__(self, seed: int) -> None:
        self._random = np.random.default_rng(seed)

    def chance(self, share: float) -> bool:
        return bool(self._random.random() < share)

    def photo(self) -> bytes:
        """A part of a sample wall, now and then on its side."""
        picture = Image.open(CASES[self._random.choice(sorted(CASES))].photo).convert("RGB")
        picture.thumbnail((LONG_SIDE_PX, LONG_SIDE_PX))
        size = np.array(picture.size)
        part = np.maximum(250, size * self._random.uniform(0.4, 1.0, 2)).astype(int)
        x, y = self._random.integers(0, size - part + 1)
        picture = picture.crop((x, y, x + part[0], y + part[1]))
        if self.chance(0.2):
            picture = picture.rotate(90, expand=True)
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=80)
        return out.getvalue()

    def tap(self, size: tuple[int, int]) -> Tap:
        x, y = self._random.uniform((0, 0), np.array(size) - 1)
        return float(x), float(y)

    def length(self, size: tuple[int, int]) -> Reference:
        if self.chance(0.4):
            return Reference.on_centre(float(self._random.choice([12.0, 16.0, 19.2, 24.0])))
        return Reference.tape(float(self._random.uniform(6, 200)), self.tap(size), self.tap(size))

    def corners(self, size: tuple[int, int]) -> list[Tap]:
        (left, right), (top, bottom) = (np.sort(self._random.uniform(0, side - 1, 2)) for side in size)
        slips = self._random.uniform(-0.05, 0.05, (4, 2)) * size
        tapped = np.array([(left, top), (right, top), (right, bottom), (left, bottom)]) + slips
        return [(float(x), float(y)) for x, y in np.clip(tapped, 0, np.array(size) - 1)]

    def checks(self) -> list[TapeCheck]:
        return [TapeCheck(*self._random.uniform(1, 200, 2)) for _ in range(self._random.integers(1, 3))]


@pytest.mark.parametrize("seed", range(16))
def test_any_part_any_taps_and_any_lengths_give_a_reading_or_one_sentence(seed: int) -> None:
    user = AnyUser(seed)
    photo = load_photo(user.photo())
    size = photo.width_px, photo.height_px
    first = user.length(size) if user.chance(0.8) else None
    second = user.length(size) if first is not None and user.chance(0.3) else None
    corners = user.corners(size) if user.chance(0.5) else None
    checks = user.checks() if user.chance(0.3) else ()
    reading: Reading | None = None
    sentence = ""
    try:
        reading = read_wall(photo, first, corners, checks=checks, second=second)
    except (ReadingError, PhotoError) as refused:
        sentence = str(refused)
    if reading is None:
        assert sentence.endswith(".")
        assert "\n" not in sentence
        return
    for member in reading.members:
        assert all(map(math.isfinite, (member.centre_in, member.sigma_in, *sum(member.front_px, ()))))
        assert not (member.sure and member.doubts)
    if reading.refused or not reading.members:
        assert reading.warnings, "a refusal says why"
        assert not any(member.sure for member in reading.members)
    kept = json.loads(json.dumps(reading_to_json(reading), allow_nan=False))
    assert reading_from_json(kept) == reading
