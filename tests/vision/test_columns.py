"""The straightened wall as columns, and what the column network makes of them."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

import sample_images
from tests.benchmarks.cases import Case, own_cases
from vision import load_photo
from vision.columns import BANDS_KEPT, COLUMNS_PER_FACE, ColumnShares, judge, picture_bands
from vision.edges import edge_votes
from vision.extent import Upright, reach_by_columns
from vision.members import Stretch, select_members
from vision.rectify import to_rect
from vision.viewing import find_view
from vision.wall_picture import WallPicture, picture_wall

FOLDER = sample_images.photo_path(sample_images.sample_names()[0]).parent
COLUMNS, FACE_PX = 700, 20.0


@cache
def seen(name: str) -> tuple[Case, WallPicture, np.ndarray]:
    """A sample photo's case, its straightened picture, and the true edges (N, 2) in columns."""
    case = next(c for c in own_cases(FOLDER) if c.name == name)
    photo = load_photo(case.photo.read_bytes())
    viewed = find_view(photo, None)
    assert viewed is not None
    picture = picture_wall(viewed, photo)
    rows = []
    for m in case.members:
        if m.full and m.counted and m.plies == 1:
            ends = [[m.centre_in + side * m.face_in / 2, case.height_in / 2, 0.0] for side in (-1, 1)]
            rows.append(picture.grid.column(to_rect(viewed.view, case.camera.project(ends))[:, 0]))
    return case, picture, np.array(rows)


def judged(name: str) -> tuple[ColumnShares, np.ndarray]:
    _, picture, edges = seen(name)
    face_px = float(np.median(edges[:, 1] - edges[:, 0]))
    top, bottom = (float(picture.grid.row(y)) for y in (picture.region.top, picture.region.bottom))
    shares = judge(picture, face_px, edge_votes(picture.lab, picture.seen, top, bottom, 1.5))
    assert shares is not None
    return shares, edges


def test_a_face_is_eight_columns_wide_whatever_the_photos_size() -> None:
    _, picture, edges = seen("long_wall")
    face_px = float(np.median(edges[:, 1] - edges[:, 0]))
    bands = picture_bands(picture, face_px)
    assert bands.shape[:2] == (12, BANDS_KEPT)
    assert bands.dtype == np.uint8
    per_face = face_px * bands.shape[2] / picture.grid.width
    assert per_face == pytest.approx(COLUMNS_PER_FACE, rel=0.01)


@pytest.mark.parametrize("name", ["insulated_wall", "door_wall", "cluttered_wall"])
def test_every_true_stud_is_told_and_the_middles_of_the_bays_are_not(name: str) -> None:
    shares, edges = judged(name)
    assert [shares.over(a, b)[0] > 0.8 for a, b in edges] == [True] * len(edges)
    order = np.sort(edges.mean(1))
    face = float(np.median(edges[:, 1] - edges[:, 0]))
    middles = [0.5 * (a + b) for a, b in pairwise(order) if b - a > 8 * face]
    assert middles
    assert max(shares.over(m - face / 2, m + face / 2)[0] for m in middles) < 0.3


def test_the_networks_edges_lie_on_the_true_edges_within_a_quarter_of_a_face() -> None:
    shares, edges = judged("long_wall")
    face = float(np.median(edges[:, 1] - edges[:, 0]))
    for share, at in ((shares.left, edges[:, 0]), (shares.right, edges[:, 1])):
        for x in at:
            first = max(0, round(x - 0.6 * face))
            peak = first + int(np.argmax(share[first : round(x + 0.6 * face) + 1]))
            assert abs(peak - x) < 0.25 * face


def test_a_photo_and_its_mirror_image_are_judged_alike() -> None:
    _, picture, edges = seen("insulated_wall")
    face_px = float(np.median(edges[:, 1] - edges[:, 0]))
    from vision.learned.column_model import judge_columns

    bands = picture_bands(picture, face_px)
    width = bands.shape[2] - bands.shape[2] % 16
    bands = bands[:, :, :width]
    mirrored = bands[:, :, ::-1].copy()
    mirrored[11] = 255 - mirrored[11]  # where the camera stands
    one, other = judge_columns(bands), judge_columns(mirrored)
    assert one is not None
    assert other is not None
    assert np.abs(one[0] - other[0][::-1]).mean() < 0.02
    assert np.abs(one[2] - other[3][::-1]).mean() < 0.02


def test_without_the_networks_file_the_columns_are_not_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    _, picture, _ = seen("insulated_wall")
    import sys

    monkeypatch.setitem(sys.modules, "vision.learned.column_model", None)
    votes = edge_votes(picture.lab, picture.seen, 10.0, 400.0, 1.5)
    assert judge(picture, 12.0, votes) is None
    assert judge(replace(picture, maps=None), 12.0, votes) is None


def drawn(*faces: tuple[float, float]) -> ColumnShares:
    """Shares as the network gives them for full-height faces (left, right)."""
    x = np.arange(COLUMNS, dtype=float)
    full, left, right = np.zeros(COLUMNS), np.zeros(COLUMNS), np.zeros(COLUMNS)
    for a, b in faces:
        full[(x > a) & (x < b)] = 0.98
        left = np.maximum(left, np.exp(-0.5 * ((x - a) / 1.5) ** 2))
        right = np.maximum(right, np.exp(-0.5 * ((x - b) / 1.5) ** 2))
    return ColumnShares(full, np.zeros(COLUMNS), left, right)


def test_a_stud_whose_edges_no_gradient_shows_stands_where_the_network_has_them() -> None:
    shares = drawn((100.0, 120.0), (340.0, 360.0))
    flat = np.zeros(COLUMNS)
    found = select_members(shares.full, flat, flat, FACE_PX, judged=shares)
    assert [(round(s.left), round(s.right)) for s in found] == [(100, 120), (340, 360)]
    assert all(s.edge_left == 0 for s in found)  # doubt still asks what the photo's gradients show


def up(left: float, top: float, bottom: float) -> Upright:
    stretch = Stretch(left, left + FACE_PX, 1, 0.9, 0.9, 0.9, 5.0, 0.0)
    return Upright(stretch, top, bottom, 0.9, top == 0.0 and bottom == 1.0)


def test_a_stud_half_hidden_by_a_leaning_door_is_full_height_with_doubt() -> None:
    whole, half = up(100, 0.0, 1.0), up(340, 0.0, 0.3)
    out = reach_by_columns([whole, half], drawn((100.0, 120.0), (340.0, 360.0)))
    assert [u.full for u in out] == [True, True]
    assert [u.hidden_end for u in out] == [False, True]


def test_what_the_network_takes_for_no_member_is_left_out() -> None:
    out = reach_by_columns([up(100, 0.0, 1.0), up(500, 0.0, 1.0)], drawn((100.0, 120.0)))
    assert [u.stretch.left for u in out] == [100]


def test_a_pipe_taken_out_leaves_the_other_columns_as_they_were() -> None:
    shares = drawn((100.0, 120.0), (340.0, 360.0))
    rest = shares.without(330, 370)
    assert rest.over(340, 360) == (0.0, 0.0)
    assert rest.over(100, 120) == shares.over(100, 120)
    assert shares.over(340, 360)[0] > 0.9
