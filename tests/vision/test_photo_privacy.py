"""Kept photo bytes carry the pixels and the lens, and neither a position nor anything else personal."""

from __future__ import annotations

import io

import numpy as np
import pytest
from photo_files import exif, quarters, saved, with_position
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from vision.photo import PhotoError, load_photo
from vision.photo_privacy import without_position


@pytest.mark.parametrize("how", [{}, {"progressive": True}, {"quality": 100, "subsampling": 0}])
@pytest.mark.parametrize("orientation", [1, 6, 8])
def test_a_jpeg_keeps_every_pixel_bit_for_bit(how: dict, orientation: int) -> None:
    noisy = Image.effect_noise((640, 480), 90).convert("RGB")
    data = saved(noisy, "JPEG", exif=exif({0x0112: orientation}, {0xA405: 26}), **how)
    before, after = load_photo(data), load_photo(without_position(data))
    assert np.array_equal(before.rgb, after.rgb)
    assert before.focal_px is not None
    assert after.focal_px == before.focal_px


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_focal_length_that_the_sensor_makes_is_kept(kind: str) -> None:
    camera = {0x920A: 4.3, 0xA20E: 17778.0, 0xA20F: 17778.0, 0xA210: 2, 0xA002: 4320, 0xA003: 3240}
    data = saved(quarters(), kind, exif=exif({}, camera))
    before, after = load_photo(data), load_photo(without_position(data))
    assert before.focal_px is not None
    assert after.focal_px == pytest.approx(before.focal_px)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_position_maker_and_time_are_gone(kind: str) -> None:
    data = saved(quarters(), kind, exif=with_position())
    kept = without_position(data)
    tags = Image.open(io.BytesIO(kept)).getexif()
    assert not tags.get_ifd(0x8825)
    assert set(tags) <= {0x0112, 0x8769}
    assert set(tags.get_ifd(0x8769)) <= {0xA405, 0xA002, 0xA003, 0xA404}
    for secret in (b"Invented Cameras", b"2026:01:02", b"maker's secret", b"GPS"):
        assert secret not in kept
    photo = load_photo(kept)
    assert photo.focal_px == pytest.approx(load_photo(data).focal_px)


def test_comments_xmp_and_a_second_picture_behind_the_first_are_gone() -> None:
    plain = saved(quarters(), "JPEG", comment=b"my address", xmp=b"<x:xmpmeta>where I live</x:xmpmeta>")
    hidden = saved(quarters(), "JPEG", exif=with_position())
    kept = without_position(plain + hidden + b"a moving picture")
    for secret in (b"my address", b"where I live", b"Invented Cameras", b"a moving picture"):
        assert secret not in kept
    assert np.array_equal(load_photo(kept).rgb, load_photo(plain).rgb)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "HEIF"])
def test_notes_and_xmp_of_other_kinds_are_gone(kind: str) -> None:
    how: dict = {"xmp": b"<x:xmpmeta>where I live</x:xmpmeta>"}
    if kind == "PNG":
        notes = PngInfo()
        notes.add_text("Comment", "my address", zip=False)
        notes.add_itxt("XML:com.adobe.xmp", "where I live")
        how = {"pnginfo": notes}
    data = saved(quarters(), kind, exif=with_position(), **how)
    assert b"where I live" in data
    kept = without_position(data)
    for secret in (b"my address", b"where I live", b"Invented Cameras"):
        assert secret not in kept


def test_a_damaged_jpeg_is_not_kept() -> None:
    data = saved(Image.effect_noise((640, 480), 90).convert("RGB"), "JPEG")
    with pytest.raises(PhotoError):
        without_position(data[: len(data) // 2])


def test_stripping_twice_changes_nothing_more() -> None:
    once = without_position(saved(quarters(), "JPEG", exif=with_position()))
    assert without_position(once) == once
