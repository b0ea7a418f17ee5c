"""The commands for jobs that are kept on this machine."""

from __future__ import annotations

import json
import re
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


def test_kept_jobs_are_made_changed_and_carried_with_json(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))

    def told(*words: str) -> dict:
        assert main([*words, "--json", "-"]) == 0
        return json.loads(capsys.readouterr().out)

    made = told("new-job", "Den")
    job_id = Store().jobs()[0].job_id
    assert made == {"id": job_id, "name": "Den", "surfaces": 0, "archived": False, "market": "us"}
    assert told("measure", made["id"], "12ft", "8ft")["surfaces"][0]["id"] == "Wall A"
    assert told("rename", made["id"], "Study") == {**made, "name": "Study", "surfaces": 1}
    other = told("copy", "Study", "Hall")
    assert (other["name"], other["surfaces"]) == ("Hall", 1)
    assert told("put-away", "Hall") == {**other, "archived": True}
    assert told("bring-back", "Hall") == other
    job, packed = str(tmp_path / "hall.json"), str(tmp_path / "hall.zip")
    assert told("job-file", "Hall", job) == {"file": job, "surfaces": 1}
    assert told("pack", "Hall", packed) == other
    assert told("unpack", packed)["name"] == "Hall"
    assert main(["pack", "Study", packed]) == 0
    assert "with its photos" in capsys.readouterr().out


def test_every_command_but_the_app_takes_json(capsys) -> None:
    assert main(["--help"]) == 0
    names = re.findall(r"^    ([a-z][a-z-]+)(?: |$)", capsys.readouterr().out, re.MULTILINE)
    assert {"studs", "boards", "app", "copy-room"} <= set(names)
    without = []
    for name in names:
        assert main([name, "--help"]) == 0
        if "--json FILE" not in capsys.readouterr().out:
            without.append(name)
    assert without == ["app"]
