"""What the program says of a photo that ought to be taken again: each case gives its own sentence."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from vision.advice import WARNINGS, photo_warnings, reading_warnings
from vision.photo import Photo
from vision.reading import Reference, Wall
from vision.wall_plane import WallPlane

SAMPLE = Path(__file__).parents[2] / "sample_images" / "photos" / "long_wall.jpg"


def photo(rgb: NDArray[np.uint8], focal_px: float | None = 1200.0) -> Photo:
    return Photo(rgb, rgb.shape[1], rgb.shape[0], focal_px, None if focal_px else "cropped", 1, "x")


def said(rgb: NDArray[np.uint8], focal_px: float | None = 1200.0) -> set[str]:
    return {w.code for w in photo_warnings(photo(rgb, focal_px))}


@pytest.fixture(scope="module")
def sharp() -> NDArray[np.uint8]:
    return np.array(Image.open(SAMPLE).convert("RGB"))


def test_a_good_photo_is_left_in_peace(sharp: NDArray[np.uint8]) -> None:
    assert said(sharp) == set()


def test_a_dark_photo_is_called_dark(sharp: NDArray[np.uint8]) -> None:
    assert "dark" in said((sharp * 0.12).astype(np.uint8))


def test_a_smeared_lens_is_called_not_sharp(sharp: NDArray[np.uint8]) -> None:
    smeared = cv2.GaussianBlur(sharp, (0, 0), 7.0)
    assert "blurred" in said(np.asarray(smeared, np.uint8))


def test_a_cropped_picture_or_screen_shot_says_that_its_lens_is_unknown(sharp: NDArray[np.uint8]) -> None:
    assert "focal_unknown" in said(sharp, None)


def codes(
    yaw_deg: float = 0.0,
    marks_in: float = 96.0,
    horizontals: int = 12,
    cut: bool = False,
    height_sigma_in: float = 0.2,
    off_layout: float = 0.0,
    mark_sigma_px: float | None = None,
) -> set[str]:
    """Warnings of a plain 16 ft wall, seen straight on unless said otherwise; ten pixels to the inch."""
    plane = WallPlane(1.0, (0.0, 0.0), 0.0, 0.0, ((0.1, 0.0, 0.0), (0.0, -0.1, 96.0), (0.0, 0.0, 1.0)))
    viewed: Any = SimpleNamespace(
        view=SimpleNamespace(yaw_deg=yaw_deg, pitch_deg=0.0),
        adjusted=SimpleNamespace(horizontals=horizontals),
        model=True,
    )
    survey: Any = SimpleNamespace(
        region=SimpleNamespace(cut_left=False, cut_right=cut),
        face=0.01,
        face_seen=0.01,
        height_sigma=0.01 * height_sigma_in,
        members=(),
        maps=None,
    )
    placed: Any = SimpleNamespace(
        plane=plane,
        scale=SimpleNamespace(on_layout=10, studs=10, inches_per_unit=100.0, off_layout=off_layout),
    )
    wall = Wall(192.0, 0.2, 96.0, 0.4, ((0, 0), (1920, 0), (1920, 960), (0, 960)))
    tape = Reference.tape(marks_in, (10.0, 500.0), (10.0 + 10 * marks_in, 500.0), mark_sigma_px=mark_sigma_px)
    found, refuse = reading_warnings(viewed, survey, placed, tape, [], wall, None, None)
    assert not refuse
    return {w.code for w in found} - {"end_not_seen"}


def test_a_wall_taken_from_the_side_is_called_oblique() -> None:
    assert codes(yaw_deg=5.0) == set()
    assert codes(yaw_deg=25.0) == {"oblique"}


def test_a_short_reference_on_a_long_wall_is_called_short() -> None:
    assert codes(marks_in=24.0) == {"short_reference"}


def test_few_level_lines_and_a_wall_cut_off_are_said() -> None:
    assert codes(horizontals=2) == {"few_horizontals"}
    assert codes(cut=True) == {"wall_cut_off"}


def test_a_height_that_may_be_a_plate_more_or_less_wants_a_tape() -> None:
    assert codes(height_sigma_in=0.3) == set()
    assert codes(height_sigma_in=0.9) == {"height_unsure"}


def test_studs_beside_every_usual_spacing_ask_for_another_look_at_the_marks() -> None:
    assert codes(off_layout=0.006) == {"off_layout"}


def test_marks_set_on_a_small_picture_are_to_be_set_again_enlarged() -> None:
    """8 ft are 960 px here: a finger 4 px off each mark leaves the length 0.6 % off."""
    assert codes(mark_sigma_px=4.0) == {"rough_marks"}
    assert codes(mark_sigma_px=1.0) == codes(mark_sigma_px=None) == set()


def test_every_warning_says_what_is_wrong_and_what_to_do() -> None:
    for message, advice in WARNINGS.values():
        assert message.endswith(".")
        assert advice.endswith(".")
