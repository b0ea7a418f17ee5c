"""Electrical boxes in the drawn training scenes: beside a post, with room, in the order they were drawn."""

import random

import pytest

from vision.learned.recipe.camera import sample_scene
from vision.learned.recipe.wiring import HIGHEST_IN, LOWEST_IN, add_wiring, posts_of


@pytest.mark.parametrize("seed", range(12))
def test_a_drawn_box_stands_beside_its_post_and_in_no_other(seed: int) -> None:
    scene = sample_scene(seed)
    posts = posts_of(scene)
    boxes = add_wiring(scene, random.Random(seed))
    assert posts_of(scene) == posts  # nothing that is added is an upright
    for box in boxes:
        middle = (box.bottom + box.top) / 2
        edge = posts[box.post].edge(box.side, middle)
        near, far = sorted(box.side * (x - edge) for x in (box.left, box.right))
        assert -0.01 < near < 2
        assert 1.8 < far - near < 7
        assert LOWEST_IN < middle < HIGHEST_IN
        for k, post in enumerate(posts):
            if k != box.post and abs(middle - post.y) < post.half_height:
                assert post.edge(1, middle) < box.left + 0.6 or post.edge(-1, middle) > box.right - 0.6
        rim = list(scene.boxes[box.first : box.last])
        assert max(row[2] + row[14] for row in rim) == pytest.approx(box.proud, abs=0.02)


def test_most_drawn_walls_have_boxes() -> None:
    counts = [len(add_wiring(sample_scene(seed), random.Random(seed))) for seed in range(40)]
    assert sum(n > 0 for n in counts) > 30
