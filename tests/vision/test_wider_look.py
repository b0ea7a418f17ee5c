"""A second, wider look straight on: does the wall go on beyond what was taken for it?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.vision.sample_walls import CASES, DEMO, photo_of
from vision import wider_look
from vision.viewing import Viewed, find_view
from vision.wider_look import wider


@pytest.fixture(scope="module")
def whole() -> Viewed:
    found = find_view(photo_of(DEMO), None)
    assert found is not None
    return found


def half_of(whole: Viewed) -> Viewed:
    """The same view, as if the wall had ended midway, not on a stud."""
    region = whole.region
    assert region is not None
    return replace(whole, region=replace(region, right=region.left + 0.53 * region.width))


def test_a_wall_that_ended_midway_is_found_to_its_end(whole: Viewed) -> None:
    found = wider(half_of(whole))
    assert found is not None
    assert found.region is not None
    assert whole.region is not None
    missing = abs(found.region.right - whole.region.right) / whole.region.width
    assert missing * CASES[DEMO].length_in < 4.0
    assert found.region.left == pytest.approx(whole.region.left, abs=0.02 * whole.region.width)


def test_a_wall_found_to_its_ends_stays_as_it_is(whole: Viewed) -> None:
    assert wider(whole) is None


def test_tapped_corners_and_the_photos_own_border_are_never_passed(whole: Viewed) -> None:
    half = half_of(whole)
    assert half.region is not None
    for how in (
        {"tapped": True},
        {"cut_right": True, "cut_left": True},
        {"cut_top": True, "cut_bottom": True},
    ):
        assert wider(replace(half, region=replace(half.region, **how))) is None


def test_without_the_model_nothing_is_looked_at(whole: Viewed, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[np.ndarray] = []
    monkeypatch.setattr(wider_look, "look", lambda rgb, side: asked.append(rgb))
    assert wider(replace(half_of(whole), model=False)) is None
    assert not asked
    assert wider(half_of(whole)) is None  # the network's file is gone
    assert len(asked) == 1
