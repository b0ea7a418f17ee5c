"""`seamwright studs LEFT RIGHT`: one long wall in two photos, by the true reader."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.ui.long_wall import long_wall_photos
from tests.ui.test_wall_photos import LEFT, RIGHT
from ui.command_line import main


@pytest.fixture(scope="module")
def two_photos(tmp_path_factory) -> tuple[str, str, dict]:
    return long_wall_photos(tmp_path_factory.mktemp("long"))


def test_a_long_wall_in_two_photos_is_one_wall(two_photos, tmp_path: Path) -> None:
    left, right, truth = two_photos
    out = tmp_path / "wall.json"
    assert main(["studs", left, right, "--on-centre", "16in", "--json", str(out)]) == 0
    report = json.loads(out.read_text())
    true = np.array([m["centre_in"] for m in truth["members"]])
    found = np.array([s["centre_in"] for s in report["studs"]])
    assert len(found) == len(true)
    sigma = np.array([s["sigma_in"] for s in report["studs"]])
    assert (np.abs(found - true) < np.maximum(0.25, 3 * sigma)).all()
    assert report["wall"]["length_in"] == pytest.approx(truth["wall"]["length_in"], abs=0.5)
    assert [len(s["seen_in"]) for s in report["studs"]].count(2) >= 3
    assert report["studs"][0]["photo"] == 1
    assert report["studs"][-1]["photo"] == 2
    assert len(report["photos"]) == 2


def test_all_pixels_of_a_joined_wall_are_those_of_the_photo_files(tmp_path: Path, monkeypatch) -> None:
    """Photos that are read at half their size: every figure in pixels is one of the file it lies in."""
    reports = []
    for scale in (1, 2):
        files = [str(tmp_path / f"{side}{scale}.jpg") for side in ("left", "right")]
        for file in files:
            Image.new("L", (4500 * scale, 3000 * scale), 120).save(file, quality=30)
        read = iter([LEFT, RIGHT])
        monkeypatch.setattr("vision.read_wall", lambda *_, read=read, **__: next(read))
        out = tmp_path / f"{scale}.json"
        assert main(["studs", *files, "--same", "1:7=2:2", "--json", str(out)]) == 0
        reports.append(json.loads(out.read_text()))
    small, large = reports

    def doubled(points: list[list[float]]) -> list[list[float]]:
        return [[2 * x + 0.5, 2 * y + 0.5] for x, y in points]

    assert large["wall"]["corners_px"] == doubled(small["wall"]["corners_px"])
    assert [s["front_px"] for s in large["studs"]] == [doubled(s["front_px"]) for s in small["studs"]]
    assert large["photo"] == {"width_px": 9000, "height_px": 6000}
    assert [p["width_px"] for p in large["photos"]] == [9000, 9000]
