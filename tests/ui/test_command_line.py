"""The console command itself: any command line, help, pipes, terminals."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout import Job, write_job
from tests.layout.common import sixteen_in_wall
from tests.ui.commands import Asked, refused
from ui.command_line import main

ROOT = Path(__file__).parents[2]


WORDS = [
    "studs",
    "boards",
    "gather",
    "jobs",
    "pack",
    "job-file",
    "unpack",
    "--tape",
    "--from",
    "--to",
    "--json",
    "-x",
]
WORDS += [
    "--on-centre",
    "--corners",
    "--face",
    "--check",
    "--mm",
    "--",
    "=",
    "96in",
    "1,2",
    "-3,4",
    "nan",
    "0",
    "",
]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.one_of(st.sampled_from(WORDS), st.text(max_size=8)), max_size=8))
def test_any_command_line_ends_with_a_known_status_and_at_most_one_line(
    tmp_path: Path, capsys, monkeypatch, words: list[str]
) -> None:
    monkeypatch.setenv("SEAMWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", type("Stdin", (), {"buffer": io.BytesIO()})())
    assert main(words) in (0, 2, 3)
    err = capsys.readouterr().err
    assert err.count("\n") <= 1
    assert "report it" not in err


def test_help_and_version_are_done(capsys) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("seamwright ")
    assert main(["studs", "--help"]) == 0
    assert "--on-centre" in capsys.readouterr().out


def test_no_command_or_a_wrong_one_is_one_line(capsys) -> None:
    assert "COMMAND" in refused(capsys, [])
    refused(capsys, ["measure"])
    for port in ("80", "²", "a"):
        assert "is no port: write a number from 1024 to 65535" in refused(capsys, ["app", "--port", port])


def test_a_photo_may_come_through_standard_input(asked: Asked, photo_file: str, monkeypatch) -> None:
    data = io.BytesIO(Path(photo_file).read_bytes())
    monkeypatch.setattr(sys, "stdin", type("Stdin", (), {"buffer": data})())
    assert main(["studs", "-"]) == 0


def test_a_reader_of_the_output_who_leaves_early_is_no_fault() -> None:
    command = [sys.executable, "-m", "ui.command_line", "studs", "--help"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait() == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this machine")
@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("boards JOB > /dev/full", "The output cannot be written (No space left on device)"),
        ("boards JOB --json - > /dev/full", "The output cannot be written"),
        ("order JOB --pdf - > /dev/full", "The output cannot be written"),
        ("boards JOB >&-", "The standard output is closed"),
        ("boards - <&-", "The standard input is closed: name a file"),
        ("boards gone.json 2> /dev/full", ""),
        ("boards gone.json 2>&-", ""),
    ],
)
def test_an_output_that_takes_nothing_is_the_users_to_mend(tmp_path: Path, words: str, told: str) -> None:
    job = tmp_path / "job.json"
    job.write_text(json.dumps(write_job(Job((sixteen_in_wall(96.0),)))))
    line = f"{sys.executable} -m ui.command_line {words.replace('JOB', str(job))}"
    done = subprocess.run(["sh", "-c", line], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert told in done.stderr
    assert len(done.stderr.splitlines()) == bool(told), "one line, and nothing from the interpreter's end"
    assert "report it" not in done.stderr


def test_ctrl_c_is_answered_before_anything_large_is_loaded() -> None:
    """Whatever takes long to load is loaded where `main` answers Ctrl-C, not before."""
    look = "import sys, ui.command_line; print([n for n in ('numpy', 'scipy', 'argparse', 'layout', 'vision')"
    done = subprocess.run(
        [sys.executable, "-c", f"{look} if n in sys.modules])"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "[]"


def test_ctrl_c_while_a_command_loads_or_works_is_one_line(monkeypatch, capsys) -> None:
    def stopped(_: list[str]) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("ui.commands.run", stopped)
    assert refused(capsys, ["jobs"], 130) == "seamwright: Stopped."


def test_a_terminal_that_lacks_a_sign_still_shows_the_rest(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "ui.command_line", "gather", "-", str(tmp_path / "gone\u2013.json")],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert b"There is no file" in done.stderr
    assert b"Traceback" not in done.stderr
