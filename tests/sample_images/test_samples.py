"""The committed sample photos: small enough, upright, and true to what lies beside them."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageOps

from sample_images import known_truth, photo_path, sample_names

NAMES = sample_names()


def test_there_are_at_most_twelve_photos_and_twelve_megabytes() -> None:
    sizes = [photo_path(n).stat().st_size for n in NAMES]
    assert 3 <= len(sizes) <= 12
    assert sum(sizes) < 12e6
    assert max(sizes) < 1.5e6


def test_the_samples_show_different_difficulties() -> None:
    assert len({known_truth(n)["row"] for n in NAMES}) >= 5


def test_an_unknown_name_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(KeyError, match=NAMES[0]):
        photo_path("no_such_wall")


@pytest.mark.parametrize("name", NAMES)
def test_the_stated_size_is_that_of_the_upright_photo(name: str) -> None:
    with Image.open(photo_path(name)) as image:
        upright = ImageOps.exif_transpose(image)
        assert upright.size == tuple(known_truth(name)["photo"].values())


@pytest.mark.parametrize("name", NAMES)
def test_pixels_of_the_truth_are_what_opencv_projects(name: str) -> None:
    t = known_truth(name)
    c, wall = t["camera"], t["wall"]
    turn = np.array(c["rotation"])
    shift = -turn @ np.array(c["position_in"])
    k = np.array([[c["f_px"], 0, c["cx_px"]], [0, c["f_px"], c["cy_px"]], [0, 0, 1]])
    lens = np.array([c["k1"], c["k2"], 0.0, 0.0])
    w, h = wall["length_in"], wall["height_in"]
    corners = np.array([(0, h, 0), (w, h, 0), (w, 0, 0), (0, 0, 0)], float)
    px = cv2.projectPoints(corners, cv2.Rodrigues(turn)[0], shift, k, lens)[0].reshape(-1, 2)
    np.testing.assert_allclose(px, wall["corners_px"], atol=0.002)
    if t["reference"]["kind"] != "none":
        marks = np.array(t["reference"]["marks_in"])
        px = cv2.projectPoints(marks, cv2.Rodrigues(turn)[0], shift, k, lens)[0].reshape(-1, 2)
        np.testing.assert_allclose(px, t["reference"]["marks_px"], atol=0.02)
        assert np.linalg.norm(marks[1] - marks[0]) == pytest.approx(t["reference"]["length_in"], abs=0.01)


@pytest.mark.parametrize("name", NAMES)
def test_a_face_stands_out_where_the_truth_puts_its_edges(name: str) -> None:
    """Brightness along a row at mid-height changes most near the stated edges of open members."""
    t = known_truth(name)
    if "sheet" in " ".join(t["tags"]):
        pytest.skip("a sheet hides the edges")
    with Image.open(photo_path(name)) as image:
        grey = np.asarray(ImageOps.exif_transpose(image).convert("L"), float)
    on, off = [], []
    for m in t["members"]:
        if m["visible"] < 0.95 or not m["full_height"]:
            continue
        (xl, yl), (xr, yr) = m["edges_mid_px"]
        y = round((yl + yr) / 2)
        if not (20 < y < grey.shape[0] - 20 and xl > 20 and xr < grey.shape[1] - 20):
            continue
        band = grey[y - 6 : y + 7].mean(axis=0)
        step = np.abs(band[2:] - band[:-2])
        near = [step[round(x) - 4 : round(x) + 3].max() for x in (xl, xr)]
        middle = (xl + xr) / 2
        wide = xr - xl
        inside = step[round(middle - wide * 0.15) : round(middle + wide * 0.15) + 1]
        on.append(float(np.mean(near)))
        off.append(float(inside.mean()))
    assert len(on) >= 2
    assert np.median(on) > 2 * np.median(off)
