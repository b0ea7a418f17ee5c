"""What the box network's file promises to its caller."""

import itertools
from pathlib import Path

import numpy as np
import pytest

from vision.learned.box_model import APART_IN, PER_IN, find_boxes


def strips(n: int, rows: int) -> list[np.ndarray]:
    rng = np.random.default_rng(5)
    return [rng.integers(0, 256, (rows, 64, 3), dtype=np.uint8) for _ in range(n)]


@pytest.mark.parametrize("rows", [4, 236, 544])
def test_every_strip_has_an_answer_and_boxes_stand_apart(rows: int) -> None:
    given = strips(3, rows)
    found = find_boxes(given, 0.0)
    assert found is not None
    assert len(found) == 3
    for boxes in found:
        assert [b.share for b in boxes] == sorted((b.share for b in boxes), reverse=True)
        middles = sorted(b.middle_in for b in boxes)
        assert all(b - a > APART_IN for a, b in itertools.pairwise(middles))
        assert -2 < middles[0] <= middles[-1] < rows / PER_IN + 2
    assert found == find_boxes(given, 0.0)
    assert found[:1] == find_boxes(given[:1], 0.0)  # what else stands in the wall changes nothing


def test_nothing_is_found_above_what_the_network_is_sure_of() -> None:
    assert find_boxes(strips(2, 64), 1.0) == [[], []]


def test_a_missing_file_means_none(tmp_path: Path) -> None:
    assert find_boxes(strips(1, 64), 0.5, tmp_path / "nowhere.onnx") is None


def test_weights_kept_as_bytes_compute_what_the_exact_ones_do(tmp_path: Path) -> None:
    torch = pytest.importorskip("torch")
    pytest.importorskip("onnx")
    from vision.learned.recipe.export_boxes import export
    from vision.learned.recipe.strip_network import StripNet

    torch.manual_seed(4)
    net = StripNet().eval()
    torch.nn.init.normal_(net.head.weight, std=0.2)
    torch.save({"average": net.state_dict()}, tmp_path / "net.pt")
    export(tmp_path / "net.onnx", tmp_path / "net.pt")
    (given,) = strips(1, 64)
    with torch.no_grad():
        exact = net(torch.from_numpy(given.transpose(2, 0, 1)[None].astype(np.float32) / 255))[
            0, :, :, 0
        ].numpy()
    found = find_boxes([given], 0.0, tmp_path / "net.onnx")
    assert found is not None
    best = found[0][0]
    k = int(exact[0].argmax())
    assert best.share == pytest.approx(1 / (1 + np.exp(-exact[0, k])), abs=0.02)
    assert best.far_in == pytest.approx(exact[3, k], abs=0.05)
