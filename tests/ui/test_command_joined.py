"""`seamwright studs LEFT RIGHT`: one long wall in two photos, by the true reader."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.ui.long_wall import long_wall_photos
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
