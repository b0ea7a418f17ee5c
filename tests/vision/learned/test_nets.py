"""The networks compute what another runtime makes of the same files: OpenCV's `dnn` module."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import cv2
import numpy as np
import pytest

from vision.learned import box_model, column_model, model
from vision.learned.nets import answer

ASKED = [
    (model.WEIGHTS, (1, 3, 96, 160)),
    (column_model.WEIGHTS, (1, 12, 24, 112)),
    (box_model.WEIGHTS, (2, 3, 320, 64)),
]


@pytest.mark.parametrize(("weights", "shape"), ASKED, ids=lambda each: getattr(each, "stem", None))
def test_the_answer_is_that_of_opencv(weights: Path, shape: tuple[int, ...]) -> None:
    asked = np.random.default_rng(3).random(shape, np.float32)
    net = cv2.dnn.readNetFromONNX(str(weights))
    net.setInput(asked)
    answered = answer(weights, asked)
    assert answered is not None
    assert answered.dtype == np.float32
    assert float(np.ptp(answered)) > 1
    np.testing.assert_allclose(answered, net.forward(), atol=1e-4)


def test_sessions_that_read_walls_at_once_do_not_mix_their_answers() -> None:
    weights, shape = ASKED[1]
    asked = [np.random.default_rng(k).random(shape, np.float32) for k in range(8)]
    alone = [answer(weights, each) for each in asked]
    with ThreadPoolExecutor(4) as sessions:
        at_once = list(sessions.map(lambda each: answer(weights, each), asked))
    assert all(np.array_equal(a, b) for a, b in zip(alone, at_once, strict=True))  # type: ignore[arg-type]


def test_a_broken_file_means_none(tmp_path: Path) -> None:
    broken = tmp_path / "broken.onnx"
    broken.write_bytes(model.WEIGHTS.read_bytes()[:5000])
    assert answer(broken, np.zeros(ASKED[0][1], np.float32)) is None
