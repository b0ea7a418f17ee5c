"""What is no usable photo is refused with one sentence that says what to do, in bounded memory."""

from __future__ import annotations

import random
import resource
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from photo_files import exif, jpeg_header_stating, png_bomb, quarters, saved
from PIL import Image

from vision.photo import PhotoError, load_photo
from vision.photo_privacy import without_position


def refusal(data: bytes) -> str:
    with pytest.raises(PhotoError) as caught:
        load_photo(data)
    sentence = str(caught.value)
    assert "\n" not in sentence
    assert sentence.endswith(".")
    assert ":" in sentence, "what is wrong, then what to do"
    return sentence


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\0",
        b"just text",
        b"%PDF-1.7",
        b"GIF89a" + b"\0" * 50,
        b"BM" + b"\0" * 60,
        b"<svg/>",
        b"MZ" * 100,
    ],
    ids=["empty", "one byte", "text", "pdf", "gif", "bmp", "svg", "program"],
)
def test_what_is_not_a_picture_of_these_kinds_is_refused(data: bytes) -> None:
    sentence = refusal(data)
    assert "empty" in sentence or "JPEG, PNG, WebP or HEIC" in sentence


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
@pytest.mark.parametrize("part", [0.02, 0.3, 0.6, 0.9])
def test_a_file_cut_short_is_refused(kind: str, part: float) -> None:
    noisy = Image.effect_noise((500, 400), 80).convert("RGB")
    data = saved(noisy, kind)
    assert "damaged or cut short" in refusal(data[: max(16, int(len(data) * part))])


CLOUDS = Image.effect_noise((300, 225), 90).resize((1200, 900), Image.Resampling.BICUBIC).convert("RGB")
WAYS = {
    "in one pass": {"quality": 85},
    "with tables of its own": {"quality": 85, "optimize": True},
    "with restart marks": {"quality": 85, "restart_marker_rows": 1},
    "in grey": {"quality": 85, "grey": True},
}


def as_jpeg(grey: bool = False, **how: object) -> bytes:
    return saved(CLOUDS.convert("L") if grey else CLOUDS, "JPEG", **how)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("lost", [600, 20_000])
@pytest.mark.parametrize("part", [0.3, 0.7])
def test_a_jpeg_that_lost_bytes_in_its_middle_is_refused(way: str, lost: int, part: float) -> None:
    whole = as_jpeg(**WAYS[way])
    assert load_photo(whole).width_px == 1200
    at = int(len(whole) * part)
    assert "lost on its way" in refusal(whole[:at] + whole[at + lost :])


def test_a_torn_photo_kept_from_before_that_was_asked_still_opens_its_wall() -> None:
    whole = as_jpeg(quality=85)
    torn = whole[: len(whole) // 2] + whole[len(whole) // 2 + 20_000 :]
    assert load_photo(torn, kept=True).width_px == 1200
    assert without_position(torn, kept=True)
    with pytest.raises(PhotoError, match="lost on its way"):
        without_position(torn)


def test_a_restart_mark_that_got_lost_is_noticed() -> None:
    whole = as_jpeg(quality=85, restart_marker_rows=1)
    at = whole.index(b"\xff\xd3")
    assert "lost on its way" in refusal(whole[:at] + whole[at + 2 :])


@pytest.mark.parametrize("colour", [0, 128, 255])
@pytest.mark.parametrize("how", [{}, {"progressive": True}, {"optimize": True}, {"restart_marker_blocks": 4}])
def test_a_plain_picture_is_whole_though_it_looks_like_what_fills_up_a_gap(colour: int, how) -> None:
    assert load_photo(saved(Image.new("RGB", (643, 487), (colour,) * 3), "JPEG", **how)).width_px == 643


def test_bytes_that_some_cameras_leave_before_the_end_of_a_picture_do_no_harm() -> None:
    whole = as_jpeg(quality=85)
    assert whole.endswith(b"\xff\xd9")
    assert load_photo(whole[:-2] + bytes(200) + b"\xff\xd9" + b"a second picture").width_px == 1200


def test_a_thumbnail_is_refused_with_its_size() -> None:
    assert "1 x 1" in refusal(saved(Image.new("RGB", (1, 1)), "PNG"))
    assert "160 x 120" in refusal(saved(Image.new("RGB", (160, 120)), "JPEG"))


def test_a_200_megapixel_jpeg_is_refused_before_decoding() -> None:
    assert "far more pixels" in refusal(jpeg_header_stating(16320, 12240))
    assert "14000 x 10000" in refusal(jpeg_header_stating(14000, 10000))


def test_a_header_that_claims_more_than_the_file_holds_is_refused() -> None:
    assert "damaged" in refusal(jpeg_header_stating(4000, 3000))


def test_a_900_megapixel_bomb_is_refused_in_bounded_memory(tmp_path) -> None:
    bomb = tmp_path / "photo.jpg"
    bomb.write_bytes(png_bomb(30000, 30000))
    assert bomb.stat().st_size < 300_000
    script = (
        "import resource, sys; from vision.photo import load_photo, PhotoError\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "try: load_photo(open(sys.argv[1], 'rb').read())\n"
        "except PhotoError as fault: print(fault)\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(bomb)], capture_output=True, text=True, check=True
    )
    sentence, grown_kb = done.stdout.splitlines()
    assert "pixels" in sentence
    assert int(grown_kb) < 20_000
    assert done.stderr == ""


def test_the_largest_accepted_jpeg_is_read_in_bounded_memory(tmp_path) -> None:
    file = tmp_path / "photo.jpg"
    Image.new("RGB", (12600, 9450), (90, 120, 30)).save(file, quality=40)  # 119 megapixels
    script = (
        "import resource, sys; from vision.photo import load_photo\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "photo = load_photo(open(sys.argv[1], 'rb').read())\n"
        "print(photo.shrunk_by, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(file)], capture_output=True, text=True, check=True
    )
    shrunk_by, grown_kb = done.stdout.split()
    assert shrunk_by == "2"
    assert int(grown_kb) < 600_000  # the full picture alone would be 476 MB before any copy


def test_heic_without_its_library_says_what_to_install(monkeypatch) -> None:
    data = saved(quarters(), "HEIF")
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    assert "pip install pillow-heif" in refusal(data)


def test_an_unusual_brand_in_a_heic_header_is_a_sentence_too() -> None:
    refusal(b"\0\0\0\x18ftypavif\0\0\0\0" + b"\0" * 100)
    refusal(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 100)


SEEDS = {
    "JPEG": saved(quarters(300, 260), "JPEG", exif=exif({0x0112: 6}, {0xA405: 26})),
    "progressive": saved(quarters(300, 260), "JPEG", progressive=True),
    "PNG": saved(quarters(300, 260), "PNG"),
    "WEBP": saved(quarters(300, 260), "WEBP"),
    "HEIF": saved(quarters(300, 260), "HEIF"),
}


@settings(max_examples=150, deadline=None)
@given(
    seed=st.sampled_from(sorted(SEEDS)),
    randomness=st.randoms(use_true_random=False),
    changes=st.integers(1, 12),
)
def test_a_file_with_bytes_changed_at_random_gives_a_picture_or_one_sentence(
    seed: str, randomness: random.Random, changes: int
) -> None:
    data = bytearray(SEEDS[seed])
    for _ in range(changes):
        at = (
            randomness.randrange(len(data))
            if randomness.random() < 0.5
            else randomness.randrange(min(700, len(data)))
        )
        data[at] = randomness.choice((0, 0xFF, 0x7F, 0x80, randomness.randrange(256)))
    if randomness.random() < 0.2:
        del data[randomness.randrange(len(data)) :]
    photo, sentence = None, ""
    try:
        photo = load_photo(bytes(data))
    except PhotoError as refused:
        sentence = str(refused)
    assert "\n" not in sentence
    assert (photo is None) == bool(sentence)
    if photo is not None:
        assert photo.rgb.shape == (photo.height_px, photo.width_px, 3)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss < 3_000_000


@settings(max_examples=200, deadline=None)
@given(
    st.binary(max_size=300),
    st.sampled_from([b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF\0\0\0\0WEBP"]),
)
def test_random_bytes_behind_any_announcement_are_refused(body: bytes, start: bytes) -> None:
    with pytest.raises(PhotoError):
        load_photo(start + body)


def test_odd_exif_puts_nothing_on_the_users_screen(tmp_path) -> None:
    file = tmp_path / "odd.jpg"
    file.write_bytes(saved(quarters(), "JPEG", exif=b"Exif\0\0MM\0*\0\0\0\x08\xff\xff"))
    script = "import sys; from vision.photo import load_photo; load_photo(open(sys.argv[1], 'rb').read())"
    done = subprocess.run(
        [sys.executable, "-c", script, str(file)], capture_output=True, text=True, check=True
    )
    assert done.stderr == ""
