"""The drawn training scenes: rays meet boxes where a ruler says, and truth fits the wall."""

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from vision.learned.recipe.camera import sample_arrays  # noqa: E402
from vision.learned.recipe.shade import render  # noqa: E402
from vision.learned.recipe.textures import make_atlas  # noqa: E402
from vision.learned.recipe.tracer import nearest  # noqa: E402


def test_a_ray_meets_the_near_face_of_the_nearer_stud() -> None:
    unturned = [1, 0, 0, 0, 1, 0, 0, 0, 1]
    far_stud = [0, 48, -1.75, *unturned, 0.75, 48, 1.75]
    near_stud = [0, 48, 11.75, *unturned, 0.75, 48, 0.75]  # its front face lies at z = 12.5
    boxes = torch.tensor([[far_stud, near_stud]], dtype=torch.float32)
    origin = torch.tensor([[[0.5, 0.5], [40.0, 40.0], [112.5, 112.5]]])
    straight, past = [0.0, 0.0, -1.0], [1.0, 0.0, 0.0]
    direction = torch.tensor([straight, past]).T[None].contiguous()
    t, index, face = nearest(origin, direction, boxes, torch.tensor([2], dtype=torch.int32))
    assert float(t[0, 0]) == pytest.approx(100.0, abs=1e-3)
    assert index.tolist() == [[1, -1]]
    assert int(face[0, 0]) == 5  # the side towards +z


def test_front_faces_of_the_drawn_wall_lie_within_its_outline() -> None:
    arrays = {k: torch.as_tensor(np.asarray(v))[None] for k, v in sample_arrays(12, 4 / 3, 256).items()}
    arrays["labels"][..., 1] = 0  # side faces may show beyond the outline; fronts may not
    made = render(arrays, torch.from_numpy(make_atlas(3)).float(), 48, 64, torch.Generator().manual_seed(1))
    front, wall = made["classes"][0, 1] > 0.5, made["wall"][0, 0] > 0.5
    assert front.any()
    assert float((front & wall).sum()) > 0.9 * float(front.sum())
    assert torch.isfinite(made["colour"]).all()
    assert bool((made["classes"].sum(1) == 1).all())
