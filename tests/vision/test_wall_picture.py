"""The straightened picture of a wall that fills little of a large photo, and the width of a face in it."""

from __future__ import annotations

import io
from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

import sample_images
from vision import Reference, load_photo, read_wall
from vision.doubt import WIDE_SIGMA_BY_SPACING_IN
from vision.face_width import FACE_STEPS, best_face
from vision.rectify import sample
from vision.viewing import find_view
from vision.wall_picture import picture_wall

SAMPLE = sample_images.photo_path(sample_images.sample_names()[0])


def enlarged(times: int) -> bytes:
    rgb = np.asarray(Image.open(SAMPLE).convert("RGB"))
    large = cv2.resize(rgb, None, fx=times, fy=times, interpolation=cv2.INTER_CUBIC)
    data = io.BytesIO()
    Image.fromarray(large).save(data, "JPEG", quality=95)
    return data.getvalue()


def test_small_wall_in_a_large_photo_is_sampled_finer_than_the_working_copy_and_in_its_place():
    photo = load_photo(enlarged(2))
    viewed = find_view(photo, None)
    assert viewed is not None
    assert viewed.region is not None
    whole = viewed.region
    part = replace(whole, left=whole.left + 0.3 * whole.width, right=whole.right - 0.3 * whole.width)
    picture = picture_wall(replace(viewed, region=part), photo)
    assert picture.grid.step < 0.7 / (viewed.view.focal_px * viewed.scale)
    # The same points of the photo at full size show the same colours: nothing has moved.
    direct = sample(photo.rgb, viewed.view, picture.grid)
    mine = cv2.cvtColor(picture.lab, cv2.COLOR_Lab2RGB) * 255
    off = np.abs(cv2.blur(mine, (3, 3)) - cv2.blur(direct.astype(np.float32), (3, 3)))
    moved = np.abs(cv2.blur(mine, (3, 3)) - cv2.blur(np.roll(direct, 2, 1).astype(np.float32), (3, 3)))
    assert off[picture.seen].mean() < 3
    assert off[picture.seen].mean() < 0.6 * moved[picture.seen].mean()


def test_photo_no_larger_than_the_working_copy_is_sampled_as_it_is():
    photo = load_photo(SAMPLE.read_bytes())
    viewed = find_view(photo, None)
    assert viewed is not None
    picture = picture_wall(viewed, photo)
    assert picture.grid.step >= 0.999 / (viewed.view.focal_px * viewed.scale)


@given(st.floats(3, 60), st.sampled_from([0.68, 0.77, 0.88, 1.0]))
def test_face_looked_too_wide_by_blurred_labels_is_narrowed_to_where_members_score_best(
    seen: float, share: float
):
    true = share * seen
    found = best_face(seen, lambda face: 10 - 60 * np.log(face / true) ** 2)
    assert abs(np.log(found / true)) < 0.07


@given(st.floats(3, 60))
def test_face_is_never_taken_for_half_of_itself_however_well_halves_score(seen: float):
    found = best_face(seen, lambda face: 20 if face < 0.55 * seen else 10 - 20 * np.log(face / seen) ** 2)
    assert found == seen


@pytest.mark.parametrize("score", [0.0, 10.0])
def test_face_stays_as_seen_where_no_width_scores_better(score: float):
    assert best_face(12.0, lambda face: score) == 12.0
    assert min(FACE_STEPS.values()) > 0.5


def test_with_the_spacing_alone_a_sure_place_is_known_to_less_than_three_sixteenths():
    photo = load_photo(SAMPLE.read_bytes())
    sure = [m for m in read_wall(photo, Reference.on_centre(16.0)).members if m.sure]
    assert sure
    assert max(m.sigma_in for m in sure) <= WIDE_SIGMA_BY_SPACING_IN < 3 / 16
