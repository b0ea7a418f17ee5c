"""A network made wider goes on from what the narrower one had learned."""

import pytest

torch = pytest.importorskip("torch")

from vision.learned.recipe import network  # noqa: E402


def test_wider_network_computes_what_the_narrower_one_did(monkeypatch: pytest.MonkeyPatch) -> None:
    torch.manual_seed(3)
    monkeypatch.setattr(network, "WIDTHS", (32, 48, 80, 112, 128))
    narrow = network.FrontFaceNet().eval()
    monkeypatch.undo()
    wide = network.FrontFaceNet()
    network.take_over(wide, narrow.state_dict())
    wide.eval()
    picture = torch.rand(1, 3, 64, 96)
    with torch.no_grad():
        before, after = narrow(picture), wide(picture)
    # The narrow one here has four blocks in e4 too, so every old weight finds its place.
    assert float((before - after).abs().max()) < 1e-4 * float(before.abs().max())
