"""What commands read is never written over, and what they write is there as a whole or not at all."""

from __future__ import annotations

import errno
import json
import os
import stat
from pathlib import Path

import pytest

from layout import Job, write_job
from tests.layout.common import sixteen_in_wall
from tests.ui.commands import Asked, refused
from ui.command_files import writing
from ui.command_line import main
from ui.store import Store

PRICES = "supplier,kind,thickness,width,length,price\nYard,regular,1/2 in,48 in,8 ft,15\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch) -> Path:
    (tmp_path / "job.json").write_text(json.dumps(write_job(Job((sixteen_in_wall(96.0),)))))
    (tmp_path / "prices.csv").write_text(PRICES)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path


@pytest.mark.parametrize(
    ("command", "file"),
    [
        ("boards job.json --json job.json", "job.json"),
        ("boards job.json --json ./data/../job.json", "job.json"),
        ("order job.json --pdf job.json", "job.json"),
        ("order job.json --write-job job.json", "job.json"),
        ("order job.json --prices prices.csv --csv prices.csv", "prices.csv"),
        ("stacks job.json --pdf job.json", "job.json"),
        ("gather job.json job.json", "job.json"),
    ],
)
def test_what_a_command_reads_is_not_written_over(folder: Path, capsys, command: str, file: str) -> None:
    (folder / "data").mkdir()
    before = (folder / file).read_bytes()
    assert "which this command reads: name another file" in refused(capsys, command.split())
    assert (folder / file).read_bytes() == before


def test_the_photo_is_not_written_over_by_its_reading(
    folder: Path, capsys, asked: Asked, photo_file: str
) -> None:
    before = Path(photo_file).read_bytes()
    os.link(photo_file, folder / "same photo.jpg")
    for other in (photo_file, "same photo.jpg"):
        assert "which this command reads" in refused(capsys, ["studs", photo_file, "--json", other])
    assert Path(photo_file).read_bytes() == before


def test_a_reading_where_the_job_was_forgotten_stays(
    folder: Path, capsys, asked: Asked, photo_file: str
) -> None:
    for name in ("a.json", "b.json"):
        assert main(["studs", photo_file, "--json", name]) == 0
    before = (folder / "a.json").read_bytes()
    assert "a.json is there already and is no job file" in refused(capsys, ["gather", "a.json", "b.json"])
    assert (folder / "a.json").read_bytes() == before
    assert main(["gather", "job.json", "a.json", "b.json"]) == 0, "a job file is written anew"
    assert len(json.loads((folder / "job.json").read_text())["surfaces"]) == 2


def test_a_packed_job_replaces_a_packed_job_only(folder: Path, capsys) -> None:
    Store().new_job("Den")
    said = refused(capsys, ["pack", "Den", "job.json"])
    assert "job.json is there already and is no packed job" in said
    assert "is no job file" in refused(capsys, ["job-file", "Den", "prices.csv"])
    for _ in range(2):
        assert main(["pack", "Den", "den.zip"]) == 0


def test_two_outputs_do_not_share_a_file(folder: Path, capsys) -> None:
    said = refused(capsys, ["order", "job.json", "--csv", "list", "--pdf", "list"])
    assert "--csv and --pdf both name list" in said
    assert not (folder / "list").exists()
    assert main(["order", "job.json", "--csv", os.devnull, "--pdf", os.devnull]) == 0


@pytest.mark.parametrize(
    "fault", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()], ids=["full", "stopped"]
)
def test_a_disk_that_fills_up_or_a_stop_leaves_what_was_there(
    folder: Path, capsys, monkeypatch, fault: BaseException
) -> None:
    assert main(["boards", "job.json", "--json", "plan.json"]) == 0
    before = (folder / "plan.json").read_bytes()

    def failing(_: int) -> None:
        raise fault

    monkeypatch.setattr(os, "fsync", failing)
    status = 130 if isinstance(fault, KeyboardInterrupt) else 2
    said = refused(capsys, ["boards", "job.json", "--json", "plan.json"], status)
    assert status == 130 or "plan.json cannot be written (No space left on device)" in said
    assert (folder / "plan.json").read_bytes() == before
    assert len(list(folder.iterdir())) == 3, "nothing is left lying beside it"


def test_a_file_written_anew_keeps_its_link_and_its_rights(folder: Path) -> None:
    kept = folder / "job.json"
    kept.chmod(0o640)
    (folder / "link.json").symlink_to(kept)
    assert main(["boards", "job.json", "--json", "new.json"]) == 0
    with writing("link.json") as out:
        out.write(b"{}")
    assert kept.read_bytes() == b"{}"
    assert (folder / "link.json").is_symlink()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o640
    usual = folder / "usual"
    usual.touch()
    assert stat.S_IMODE((folder / "new.json").stat().st_mode) == stat.S_IMODE(usual.stat().st_mode)
