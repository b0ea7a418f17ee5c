"""The commands for jobs that are kept on this machine."""

from __future__ import annotations

import json
from pathlib import Path

from tests.ui.commands import refused
from ui.command_line import main
from ui.store import Store

ROOT = Path(__file__).parents[2]


def test_a_kept_job_is_listed_packed_and_unpacked(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "here"))
    assert main(["jobs"]) == 0
    assert "No jobs" in capsys.readouterr().out
    store = Store()
    store.add_surface(store.new_job("Basement"), "North wall")
    assert main(["jobs"]) == 0
    assert "1 surfaces  Basement" in capsys.readouterr().out
    file = str(tmp_path / "basement.zip")
    assert main(["pack", "Basement", file]) == 0

    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "elsewhere"))
    assert "no kept job" in refused(capsys, ["pack", "Basement", file])
    assert main(["unpack", file]) == 0
    assert main(["unpack", file]) == 0
    assert main(["jobs", "--json", "-"]) == 0
    listed = json.loads(capsys.readouterr().out.split("\n", 2)[2])["jobs"]
    assert [(job["name"], job["surfaces"]) for job in listed] == [("Basement", 1), ("Basement", 1)]
    assert "several" in refused(capsys, ["pack", "Basement", file])
    assert main(["pack", listed[0]["id"][:8], file]) == 0
    (tmp_path / "letter.zip").write_text("dear wall")
    assert "not a packed job" in refused(capsys, ["unpack", str(tmp_path / "letter.zip")])


def test_a_store_that_cannot_be_used_is_one_line(tmp_path: Path, monkeypatch, capsys) -> None:
    (tmp_path / "seamwright.db").write_bytes(b"a letter, not a store" * 100)
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path))
    assert "damaged or no store" in refused(capsys, ["jobs"])
