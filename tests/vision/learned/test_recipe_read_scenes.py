"""Where the drawn uprights stand in the drawn photo: rays and points are each other's inverse."""

import numpy as np
import pytest

from vision.learned.recipe.camera import sample_arrays
from vision.learned.recipe.read_scenes import front_faces, photo_points

WIDTH, HEIGHT = 1440, 1080


@pytest.mark.parametrize("seed", [3, 12, 77])
def test_a_ray_through_a_studs_pixel_meets_that_stud(seed: int) -> None:
    arrays = sample_arrays(seed, WIDTH / HEIGHT, 256, photo=True)
    corners, heights = front_faces(arrays)
    points = corners.reshape(-1, 3)
    pixels = photo_points(arrays, points, WIDTH, HEIGHT)
    inside = (np.abs(pixels / (WIDTH, HEIGHT) - 0.5) < 0.5).all(1)
    assert inside.sum() >= 4
    # the rays as the tracer makes them (pixel centres, x in -1..1 over the width)
    x = (pixels[:, 0] + 0.5) * 2 / WIDTH - 1
    y = ((pixels[:, 1] + 0.5) * 2 - HEIGHT) / WIDTH
    stretch = 1 + float(arrays["k1"]) * (x * x + y * y)
    rays = np.column_stack([x * stretch, y * stretch, np.ones_like(x)]) @ arrays["rays"].astype(float).T
    towards = points - arrays["eye"]
    off = np.cross(rays, towards) / np.linalg.norm(rays, axis=1, keepdims=True)
    assert np.linalg.norm(off[inside], axis=1).max() < 0.02  # inches beside the corner
    assert (heights > 0).all()


def test_faces_are_as_wide_as_the_members_drawn() -> None:
    arrays = sample_arrays(12, WIDTH / HEIGHT, 256, photo=True)
    corners, heights = front_faces(arrays)
    widths = np.linalg.norm(corners[:, 2] - corners[:, 0], axis=1)
    n = int(arrays["count"])
    drawn = arrays["boxes"][:n][arrays["labels"][:n, 0] == 1]
    assert np.allclose(widths, 2 * drawn[:, 12], atol=1e-4)
    assert np.allclose(heights, 2 * drawn[:, 13], atol=1e-4)
