"""What the column network's file promises to its caller."""

from pathlib import Path

import numpy as np
import pytest

from vision.learned.column_model import WEIGHTS, judge_columns


@pytest.mark.parametrize("width", [16, 333, 1024])
def test_every_column_gets_four_shares(width: int) -> None:
    bands = np.random.default_rng(2).integers(0, 256, (12, 24, width), dtype=np.uint8)
    shares = judge_columns(bands)
    assert shares is not None
    assert shares.shape == (4, width)
    assert float(shares.min()) >= 0
    assert float(shares.max()) <= 1
    assert np.array_equal(shares, judge_columns(bands))


def test_a_missing_file_means_none(tmp_path: Path) -> None:
    assert judge_columns(np.zeros((12, 24, 64), np.uint8), tmp_path / "nowhere.onnx") is None


def test_all_networks_together_stay_under_four_megabytes() -> None:
    assert sum(p.stat().st_size for p in WEIGHTS.parent.glob("*.onnx")) < 4_000_000


def test_weights_kept_as_bytes_compute_what_the_exact_ones_do(tmp_path: Path) -> None:
    torch = pytest.importorskip("torch")
    pytest.importorskip("onnx")
    from vision.learned.recipe.column_network import ColumnNet
    from vision.learned.recipe.export_columns import export

    torch.manual_seed(4)
    nets = [ColumnNet().eval() for _ in range(2)]
    for k, net in enumerate(nets):
        torch.save({"average": net.state_dict()}, tmp_path / f"{k}.pt")
    export(tmp_path / "out.onnx", [tmp_path / "0.pt", tmp_path / "1.pt"])
    bands = np.random.default_rng(2).integers(0, 256, (12, 24, 160), dtype=np.uint8)
    shares = judge_columns(bands, tmp_path / "out.onnx")
    with torch.no_grad():
        x = torch.from_numpy(bands[None].astype(np.float32) / 255)
        exact = torch.sigmoid((nets[0](x) + nets[1](x)) / 2)[0, :, 0].numpy()
    assert shares is not None
    assert float(np.abs(shares - exact).max()) < 0.03
