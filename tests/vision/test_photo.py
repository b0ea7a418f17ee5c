"""A photo of any kind a phone sends comes out upright, in 8-bit RGB, with an honest focal length."""

from __future__ import annotations

import io
import math

import cv2
import numpy as np
import pytest
from photo_files import BLUE, GREEN, HEIGHT, RED, WHITE, WIDTH, exif, mean_colours, quarters, saved
from PIL import Image, ImageOps

from vision.focal_length import FOCAL_35, focal_from_exif
from vision.photo import load_photo, shrunk_by_of

LOSSY = {"JPEG": {"quality": 95}, "WEBP": {"quality": 95}, "HEIF": {"quality": 95}}


def near(got: list[tuple[int, ...]], wanted: list[tuple[int, ...]], slack: int = 6) -> bool:
    return bool(np.abs(np.subtract(got, wanted)).max() <= slack)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_each_kind_of_file_gives_the_same_picture(kind: str) -> None:
    photo = load_photo(saved(quarters(), kind, **LOSSY.get(kind, {})))
    assert (photo.width_px, photo.height_px) == (WIDTH, HEIGHT)
    assert photo.rgb.shape == (HEIGHT, WIDTH, 3)
    assert photo.rgb.dtype == np.uint8
    assert near(mean_colours(photo.rgb), [RED, GREEN, BLUE, WHITE])
    assert photo.shrunk_by == 1


def test_pixels_cannot_be_changed_afterwards() -> None:
    photo = load_photo(saved(quarters(), "PNG"))
    with pytest.raises(ValueError, match="read-only"):
        photo.rgb[0, 0] = 0


# Exif 3.0 (CIPA DC-008), tag Orientation: where the stored row 0 and column 0 belong on the upright
# picture. The four colours below are those of the STORED picture's quarters seen upright.
UPRIGHT = {
    1: [RED, GREEN, BLUE, WHITE],
    2: [GREEN, RED, WHITE, BLUE],
    3: [WHITE, BLUE, GREEN, RED],
    4: [BLUE, WHITE, RED, GREEN],
    5: [RED, BLUE, GREEN, WHITE],
    6: [BLUE, RED, WHITE, GREEN],
    7: [WHITE, GREEN, BLUE, RED],
    8: [GREEN, WHITE, RED, BLUE],
}


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_every_orientation_is_turned_upright(kind: str, orientation: int) -> None:
    data = saved(quarters(), kind, exif=exif({0x0112: orientation}), **LOSSY.get(kind, {}))
    photo = load_photo(data)
    assert near(mean_colours(photo.rgb), UPRIGHT[orientation])
    assert (photo.width_px, photo.height_px) == ((HEIGHT, WIDTH) if orientation >= 5 else (WIDTH, HEIGHT))


@pytest.mark.parametrize("orientation", range(1, 9))
def test_turning_agrees_with_two_general_libraries(orientation: int) -> None:
    data = saved(quarters(), "JPEG", quality=95, exif=exif({0x0112: orientation}))
    photo = load_photo(data)
    by_pillow = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(data))))
    by_opencv = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)[..., ::-1]
    assert np.array_equal(photo.rgb, by_pillow)
    assert np.abs(photo.rgb.astype(int) - by_opencv).max() <= 3  # two JPEG decoders round differently


@pytest.mark.parametrize("orientation", [0, 9, 77, 65535])
def test_an_orientation_outside_the_standard_counts_as_upright(orientation: int) -> None:
    photo = load_photo(saved(quarters(), "JPEG", quality=95, exif=exif({0x0112: orientation})))
    assert near(mean_colours(photo.rgb), UPRIGHT[1])


def test_a_heic_turned_by_its_own_box_comes_upright_once() -> None:
    data = saved(quarters(), "HEIF", quality=95, exif=exif({0x0112: 6}))
    assert near(mean_colours(load_photo(data).rgb), UPRIGHT[6])


def test_cmyk_grey_palette_and_bilevel_become_rgb() -> None:
    cmyk = load_photo(saved(quarters().convert("CMYK"), "JPEG", quality=95))
    assert near(mean_colours(cmyk.rgb), [RED, GREEN, BLUE, WHITE])
    palette = load_photo(saved(quarters().quantize(16), "PNG"))
    assert near(mean_colours(palette.rgb), [RED, GREEN, BLUE, WHITE])
    grey = load_photo(saved(quarters().convert("L"), "PNG"))
    assert np.array_equal(grey.rgb[..., 0], np.asarray(quarters().convert("L")))
    bilevel = load_photo(saved(quarters().convert("1"), "PNG"))
    assert set(np.unique(bilevel.rgb)) == {0, 255}


def test_sixteen_bit_pictures_are_scaled_not_clipped() -> None:
    ramp = np.linspace(0, 65535, WIDTH).astype(np.uint16)
    grey16 = np.tile(ramp, (HEIGHT, 1))
    ok, data = cv2.imencode(".png", grey16)
    assert ok
    assert np.array_equal(load_photo(data.tobytes()).rgb[0, :, 0], ramp >> 8)
    ok, data = cv2.imencode(".png", np.dstack([grey16] * 3))
    assert ok
    assert np.abs(load_photo(data.tobytes()).rgb[0, :, 1].astype(int) - (ramp >> 8)).max() <= 1


def test_transparent_parts_are_laid_on_white() -> None:
    see_through = quarters().convert("RGBA")
    see_through.putalpha(0)
    assert load_photo(saved(see_through, "PNG")).rgb.min() == 255
    palette = quarters().quantize(4)
    palette.info["transparency"] = palette.getpixel((0, 0))
    shown = load_photo(saved(palette, "PNG", transparency=palette.getpixel((0, 0))))
    assert near(mean_colours(shown.rgb), [(255, 255, 255), GREEN, BLUE, WHITE])


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_the_first_frame_of_an_animated_picture_is_taken(kind: str) -> None:
    second = Image.new("RGB", (WIDTH, HEIGHT), (0, 0, 0))
    data = saved(quarters(), kind, save_all=True, append_images=[second], lossless=True)
    assert near(mean_colours(load_photo(data).rgb), [RED, GREEN, BLUE, WHITE])


def test_the_name_of_the_file_plays_no_part() -> None:
    # A PNG under a .jpg name is the same bytes; the loader never sees a name.
    assert near(mean_colours(load_photo(saved(quarters(), "PNG")).rgb), [RED, GREEN, BLUE, WHITE])


# --- focal length ---


def photo_with(size: tuple[int, int] = (WIDTH, HEIGHT), **tags: float):
    names = {
        "film_mm": 0xA405,
        "focal_mm": 0x920A,
        "plane_x": 0xA20E,
        "plane_y": 0xA20F,
        "plane_unit": 0xA210,
        "stated_w": 0xA002,
        "stated_h": 0xA003,
        "zoom": 0xA404,
    }
    detail = {names[name]: value for name, value in tags.items()}
    return load_photo(saved(quarters(*size), "JPEG", exif=exif(detail=detail)))


def test_a_50_mm_lens_on_film_proportions_gives_50_over_36_of_the_width() -> None:
    # A 24 x 36 mm frame on 36 pixels a millimetre: 1 mm of focal length is 36 px, by definition.
    photo = photo_with((1296, 864), film_mm=50)
    assert photo.focal_px == pytest.approx(50 * 36)
    assert photo.focal_doubt is None


def test_26_mm_equivalent_on_a_4_to_3_sensor_sees_80_degrees_across_the_diagonal() -> None:
    # Diagonal field of view 2 atan(43.27 / (2 · 26)) = 79.5 degrees: textbook pinhole geometry.
    photo = photo_with(film_mm=26)
    assert photo.focal_px is not None
    field = 2 * math.degrees(math.atan(math.hypot(WIDTH, HEIGHT) / 2 / photo.focal_px))
    assert field == pytest.approx(79.5, abs=0.1)


def test_an_ultra_wide_camera_of_13_mm_sees_118_degrees_across_the_diagonal() -> None:
    # 2 atan(43.27 / (2 · 13)) = 118 degrees; in a narrow basement no other lens of the phone holds the wall.
    photo = photo_with(film_mm=13)
    assert photo.focal_px is not None
    field = 2 * math.degrees(math.atan(math.hypot(WIDTH, HEIGHT) / 2 / photo.focal_px))
    assert field == pytest.approx(118.0, abs=0.1)


# A compact camera of 2010: 4.3 mm at its widest, sold as 24 mm (value from memory). Its Exif: 4320 x 3240
# pixels, 160000/9 to the inch on the focal plane, no 35 mm equivalent.
COMPACT = {
    "focal_mm": 4.3,
    "plane_x": 160000 / 9,
    "plane_y": 160000 / 9,
    "plane_unit": 2,
    "stated_w": 4320,
    "stated_h": 3240,
}


@pytest.mark.parametrize("more", [{}, {"film_mm": 0}, {"plane_unit": 3, "plane_x": 7000, "plane_y": 7000}])
def test_a_camera_that_states_its_focal_length_and_its_sensor_is_as_good_as_one_with_the_equivalent(
    more: dict[str, float],
) -> None:
    photo = photo_with(**(COMPACT | more))
    assert photo.focal_px is not None
    assert photo.focal_px * 43.27 / math.hypot(WIDTH, HEIGHT) == pytest.approx(24.0, abs=0.3)


@pytest.mark.parametrize(
    "more",
    [
        {"stated_w": WIDTH, "stated_h": HEIGHT},  # shrunk, and the resolution left as it was
        {"stated_w": 1600, "stated_h": 1200},
        {"focal_mm": 24.0, "plane_x": 4233.3, "plane_y": 4233.3, "stated_w": 3000, "stated_h": 2250},
        {"plane_x": 0},
        {"plane_unit": 9},
        {"focal_mm": 0},
    ],
)
def test_a_sensor_that_cannot_be_leaves_the_focal_length_unknown(more: dict[str, float]) -> None:
    photo = photo_with(**(COMPACT | more))
    assert photo.focal_px is None
    assert photo.focal_doubt == "not_stated"


def test_a_photo_resized_as_a_whole_keeps_its_focal_length() -> None:
    assert photo_with(film_mm=26, stated_w=4000, stated_h=3000).focal_px is not None


@pytest.mark.parametrize("size", [(533, 400), (512, 384), (500, 375), (571, 428), (603, 452)])
def test_a_picture_shrunk_to_a_round_side_or_share_is_no_cut_one(size: tuple[int, int]) -> None:
    # 571 = 4000 / 7; 603 = 4020 * 15 / 100
    stated = (4020, 3014) if size[0] == 603 else (4000, 3000)
    assert photo_with(size, film_mm=26, stated_w=stated[0], stated_h=stated[1]).focal_px is not None


def test_a_cut_that_keeps_the_shape_and_leaves_the_stated_sides_has_no_round_one() -> None:
    photo = photo_with((617, 463), film_mm=26, stated_w=4000, stated_h=3000)
    assert photo.focal_px is None
    assert photo.focal_doubt == "cropped"


@pytest.mark.parametrize("size", [(4032, 3024), (4000, 3000), (4624, 3468), (5712, 4284), (4080, 3072)])
def test_pictures_of_usual_sensors_are_whole(size: tuple[int, int]) -> None:
    focal, doubt = focal_from_exif({FOCAL_35: 26}, *size)
    assert doubt is None
    assert focal is not None


def test_a_turned_photo_with_unturned_stated_sides_keeps_its_focal_length() -> None:
    assert photo_with(film_mm=26, stated_w=300, stated_h=400).focal_px is not None


@pytest.mark.parametrize(
    ("size", "tags", "why"),
    [
        ((WIDTH, HEIGHT), {}, "not_stated"),
        ((WIDTH, HEIGHT), {"film_mm": 0}, "not_stated"),
        ((WIDTH, HEIGHT), {"film_mm": 177}, "out_of_range"),
        ((WIDTH, HEIGHT), {"film_mm": 3}, "out_of_range"),
        ((WIDTH, HEIGHT), {"film_mm": 65535}, "out_of_range"),
        ((WIDTH, HEIGHT), {"film_mm": 26, "zoom": 2.0}, "zoomed"),
        ((400, 260), {"film_mm": 26, "stated_w": 4000, "stated_h": 3000}, "cropped"),
        ((480, 270), {"film_mm": 26}, "cropped"),
        ((480, 270), {"film_mm": 26, "stated_w": 480, "stated_h": 270}, "cropped"),
        ((300, 300), {"film_mm": 26}, "cropped"),
        ((397, 298), {"film_mm": 26}, "cropped"),
        ((398, 298), {"film_mm": 26}, "cropped"),
        ((800, 600), {"film_mm": 26, "stated_w": 400, "stated_h": 300}, "cropped"),
    ],
)
def test_a_focal_length_that_may_lie_is_not_used(size, tags, why) -> None:
    photo = photo_with(size, **tags)
    assert photo.focal_px is None
    assert photo.focal_doubt == why


def test_a_cut_picture_is_read_by_about_the_focal_length_that_it_states() -> None:
    """16:9 of an ultra-wide camera: 14 mm on its own diagonal, or on that of the 4:3 sensor behind it."""
    photo = photo_with((480, 270), film_mm=14)
    own, whole = (14 * math.hypot(480, height) / math.hypot(36, 24) for height in (270, 360))
    assert photo.focal_px is None
    assert own < photo.focal_guess_px < whole
    assert photo.focal_guess_px / own == pytest.approx(whole / photo.focal_guess_px)
    zoomed = photo_with(film_mm=26, zoom=2.0)
    assert zoomed.focal_px is None
    assert zoomed.focal_guess_px == pytest.approx(photo_with(film_mm=26).focal_px)
    square = photo_with((300, 300), film_mm=14)
    assert square.focal_guess_px > 14 * math.hypot(300, 300) / math.hypot(36, 24)


@pytest.mark.parametrize("tags", [{}, {"film_mm": 0}, {"film_mm": 177}, {"film_mm": 3}])
def test_where_no_lens_is_stated_none_is_guessed_from_it(tags) -> None:
    assert photo_with(**tags).focal_guess_px is None


def test_a_focal_length_to_be_trusted_needs_no_guess() -> None:
    assert photo_with(film_mm=26).focal_guess_px is None


def test_broken_exif_counts_as_none() -> None:
    for block in (b"Exif\0\0garbage", b"Exif\0\0II*\0\xff\xff\xff\xff", b"Exif\0\0MM\0*\0\0\0\x08\xff\xff"):
        photo = load_photo(saved(quarters(), "JPEG", exif=block))
        assert (photo.focal_px, photo.focal_doubt) == (None, "not_stated")


def test_a_very_large_jpeg_is_shrunk_and_says_so() -> None:
    data = saved(Image.new("L", (9001, 6001), 128), "JPEG", quality=30)
    photo = load_photo(data)
    assert shrunk_by_of(data) == photo.shrunk_by
    assert photo.shrunk_by == 2
    assert (photo.width_px, photo.height_px) == (4501, 3001)
