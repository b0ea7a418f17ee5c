"""Where the wall begins and ends: the best rectangle, and four tapped corners."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from vision.directions import ViewDirections
from vision.rectify import to_photo
from vision.wall_region import best_rectangle, region_from_corners, region_from_evidence

EXTENT = (-1.0, -0.7, 1.0, 0.7)


def best_by_trying_all(values: NDArray[np.float64]) -> float:
    h, w = values.shape
    return max(
        float(values[a:b, c:d].sum())
        for a in range(h)
        for b in range(a + 1, h + 1)
        for c in range(w)
        for d in range(c + 1, w + 1)
    )


@given(seed=st.integers(0, 10_000), h=st.integers(1, 6), w=st.integers(1, 7), shift=st.floats(-0.6, 0.6))
@settings(max_examples=60, deadline=None)
def test_no_other_rectangle_holds_more(seed: int, h: int, w: int, shift: float) -> None:
    """Kadane's method (Bentley 1984, Programming Pearls, column 8) against every rectangle there is."""
    values = np.random.default_rng(seed).normal(shift, 1, (h, w))
    top, left, bottom, right, total = best_rectangle(values)
    assert 0 <= top < bottom <= h
    assert 0 <= left < right <= w
    assert total == pytest.approx(values[top:bottom, left:right].sum())
    assert total == pytest.approx(best_by_trying_all(values))


def test_the_wall_is_found_where_it_was_put() -> None:
    wall = np.zeros((84, 120), np.float32)
    wall[20:65, 30:95] = 0.9
    region = region_from_evidence(wall, np.ones(wall.shape, bool), EXTENT)
    assert region is not None
    dx, dy = 2.0 / 120, 1.4 / 84
    assert region.left == pytest.approx(-1.0 + 30 * dx)
    assert region.right == pytest.approx(-1.0 + 95 * dx)
    assert region.top == pytest.approx(-0.7 + 20 * dy)
    assert region.bottom == pytest.approx(-0.7 + 65 * dy)
    assert region.support == pytest.approx(0.9, abs=1e-6)
    assert not any((region.cut_left, region.cut_right, region.cut_top, region.cut_bottom))


def test_a_wall_that_runs_out_of_the_photo_says_on_which_side() -> None:
    wall = np.zeros((84, 120), np.float32)
    wall[20:65, 30:] = 0.9
    region = region_from_evidence(wall, np.ones(wall.shape, bool), EXTENT)
    assert region is not None
    assert region.cut_right
    assert not region.cut_left
    seen = np.ones(wall.shape, bool)
    seen[:, :25] = False
    wall[:, 95:] = 0
    wall[20:65, 25:95] = 0.9
    region = region_from_evidence(wall, seen, EXTENT)
    assert region is not None
    assert region.cut_left
    assert not region.cut_right


def test_a_photo_of_no_wall_has_no_region() -> None:
    assert region_from_evidence(np.zeros((84, 120), np.float32), np.ones((84, 120), bool), EXTENT) is None
    assert region_from_evidence(np.ones((84, 120), np.float32), np.zeros((84, 120), bool), EXTENT) is None


def test_tapped_corners_give_the_rectangle_between_them() -> None:
    view = ViewDirections(np.eye(3), 1200.0, -0.03, (799.5, 599.5), 0.0, 0.0)
    corners = np.array([[-0.5, -0.3], [0.4, -0.3], [0.4, 0.35], [-0.5, 0.35]])
    region = region_from_corners(view, to_photo(view, corners))
    assert region is not None
    sides = (region.left, region.top, region.right, region.bottom)
    np.testing.assert_allclose(sides, (-0.5, -0.3, 0.4, 0.35), atol=1e-6)
    assert region.tapped
    assert (region.width, region.height) == (pytest.approx(0.9), pytest.approx(0.65))


def test_corners_that_no_wall_has_under_this_view_give_no_rectangle() -> None:
    view = ViewDirections(np.eye(3), 1200.0, 0.0, (799.5, 599.5), 0.0, 0.0)
    a_wall = np.array([[-0.5, -0.3], [0.4, -0.3], [0.4, 0.35], [-0.5, 0.35]])
    upside_down = a_wall[[3, 2, 1, 0]]
    sliver = a_wall * [0.01, 1.0]
    for corners in (upside_down, sliver):
        assert region_from_corners(view, to_photo(view, corners)) is None
    # turned by 80 degrees the camera sees the plane on one side of its picture only
    turn = np.radians(80)
    along = np.array([[np.cos(turn), 0, np.sin(turn)], [0, 1, 0], [-np.sin(turn), 0, np.cos(turn)]])
    aside = ViewDirections(along, 1200.0, 0.0, (799.5, 599.5), 0.0, 0.0)
    whole_photo = np.array([[0.0, 0.0], [1599.0, 0.0], [1599.0, 1199.0], [0.0, 1199.0]])
    assert region_from_corners(aside, whole_photo) is None
