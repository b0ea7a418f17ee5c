"""What the learned cue promises to its caller, and that it knows a stud from a bay."""

from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pytest

from vision.learned.model import WEIGHTS, FacesMap, _unpack, segment

MAPS = ("front", "cross", "plate", "side", "other", "wall", "joint")


def framed_wall(width_px: int = 512, height_px: int = 384) -> tuple[np.ndarray, list[float]]:
    """A flat drawing: six pale studs 1.5 in wide, 16 in on centre, on a grey back, 5 px to the inch."""
    picture = np.full((height_px, width_px, 3), (118, 118, 116), np.uint8)
    centres = [50.0 + 80.0 * k for k in range(6)]
    for c in centres:
        picture[60:330, round(c) - 4 : round(c) + 4] = (222, 190, 142)
    picture[52:60, 46:454] = picture[330:338, 46:454] = (216, 182, 134)
    noise = np.random.default_rng(5).normal(0, 4, picture.shape)
    soft = cv2.GaussianBlur(picture, (0, 0), 0.7)
    return np.clip(soft + noise, 0, 255).astype(np.uint8), centres


@pytest.mark.parametrize("size", [(384, 512), (301, 437), (640, 1024), (40, 900)])
def test_every_map_has_the_size_of_the_picture_and_holds_shares(size: tuple[int, int]) -> None:
    picture = np.random.default_rng(1).integers(0, 256, (*size, 3), dtype=np.uint8)
    faces = segment(picture)
    assert isinstance(faces, FacesMap)
    for name in MAPS:
        values = getattr(faces, name)
        assert values.shape == size
        assert values.dtype == np.float32
        assert values.min() >= 0
        assert values.max() <= 1
    kinds = faces.front + faces.cross + faces.plate + faces.side + faces.other
    assert np.abs(kinds - 1).max() < 1e-4


@pytest.mark.parametrize("long_side_px", [384, 5000])
def test_a_copy_of_another_size_is_worked_on_and_the_maps_are_the_pictures(long_side_px: int) -> None:
    picture, _ = framed_wall()
    faces, own = segment(picture, long_side_px), segment(picture)
    assert faces is not None
    assert own is not None
    assert faces.front.shape == picture.shape[:2]
    assert not np.array_equal(faces.front, own.front)
    assert np.corrcoef(faces.wall.ravel(), own.wall.ravel())[0, 1] > 0.5


def test_a_missing_or_broken_weights_file_means_none_and_no_crash(tmp_path: Path) -> None:
    picture, _ = framed_wall()
    assert segment(picture, weights=tmp_path / "nowhere.onnx") is None
    broken = tmp_path / "broken.onnx"
    broken.write_bytes(WEIGHTS.read_bytes()[:5000])
    assert segment(picture, weights=broken) is None


def test_the_same_picture_gives_the_same_maps_whatever_was_asked_between() -> None:
    picture, _ = framed_wall()
    first = segment(picture)
    segment(np.zeros((200, 300, 3), np.uint8))
    second = segment(picture)
    assert first is not None
    assert second is not None
    for name in MAPS:
        assert np.array_equal(getattr(first, name), getattr(second, name))


@pytest.mark.parametrize(
    "bad", [np.zeros((5, 5), np.uint8), np.zeros((5, 5, 3)), np.zeros((0, 5, 3), np.uint8)]
)
def test_what_is_no_picture_is_refused(bad: np.ndarray) -> None:
    with pytest.raises(ValueError, match="height x width x 3"):
        segment(bad)


def test_unpacking_puts_each_group_of_four_into_a_two_by_two_block() -> None:
    # written out by hand: channel 0 upper left, 1 upper right, 2 lower left, 3 lower right
    packed = np.arange(8, dtype=np.float32).reshape(4, 1, 2)
    assert _unpack(packed).tolist() == [[[0, 2, 1, 3], [4, 6, 5, 7]]]


def test_studs_are_fronts_and_bays_are_not() -> None:
    picture, centres = framed_wall()
    faces = segment(picture)
    assert faces is not None
    row = faces.front[120:280].mean(0)
    for c in centres:
        assert row[round(c) - 2 : round(c) + 2].mean() > 0.5
    for a, b in pairwise(centres):
        middle = round((a + b) / 2)
        assert row[middle - 12 : middle + 12].max() < 0.5
    assert faces.wall[100:300, 60:440].mean() > 0.8
    assert faces.wall[:30].mean() < 0.2


def test_a_face_stays_in_its_place_when_the_picture_is_resized_inside() -> None:
    # sides that are no multiple of 32 are resized and brought back: the centre must not wander
    picture, centres = framed_wall()
    odd = cv2.resize(picture, (537, 401), interpolation=cv2.INTER_LINEAR)
    faces = segment(odd)
    assert faces is not None
    row = faces.front[125:290].mean(0)
    for c in centres[1:-1]:
        expected = (c - 0.5 + 0.5) * 537 / 512 - 0.5
        x = np.arange(round(expected) - 9, round(expected) + 10)
        assert abs((row[x] * x).sum() / row[x].sum() - expected) < 1.0
