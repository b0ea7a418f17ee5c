"""The app is started for this machine only and asks nothing of the outside."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from ui import launch
from ui.command_line import main


@pytest.fixture
def started(monkeypatch) -> list[list[str]]:
    commands: list[list[str]] = []

    def become(command: list[str], environment: dict[str, str]) -> int:
        commands.append(command)
        assert environment["PYTHONPATH"].split(os.pathsep)[0] == str(launch.APP_FILE.parents[1])
        return 0

    monkeypatch.setattr(launch, "_become", become)
    return commands


def test_the_server_listens_on_this_machine_only_and_reports_nothing(started, monkeypatch) -> None:
    assert main(["app"]) == 0
    (command,) = started
    assert "--server.address=127.0.0.1" in command
    assert "--browser.gatherUsageStats=false" in command
    assert "--client.toolbarMode=viewer" in command
    assert "--server.fileWatcherType=none" in command
    assert "--server.showEmailPrompt=false" in command


def test_every_flag_is_one_the_server_knows() -> None:
    from streamlit import config

    known = config.get_config_options()
    for flag in launch.streamlit_flags(8501, headless=True):
        assert flag.removeprefix("--").split("=")[0] in known


def test_without_a_display_the_address_is_printed_instead(started, monkeypatch, capsys) -> None:
    monkeypatch.setattr(launch.sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert main(["app"]) == 0
    assert "--server.headless=true" in started[0]
    assert "http://127.0.0.1:" in capsys.readouterr().out
    monkeypatch.setenv("DISPLAY", ":0")
    assert main(["app"]) == 0
    assert "--server.headless=false" in started[1]
    assert main(["app", "--no-browser"]) == 0
    assert "--server.headless=true" in started[2]


def test_a_taken_port_is_said_and_the_next_free_one_is_chosen_by_default(started, capsys) -> None:
    with socket.socket() as taken:
        taken.bind((launch.ADDRESS, 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert main(["app", "--port", str(port)]) == 2
        assert f"Port {port} is in use" in capsys.readouterr().err
    assert started == []


@pytest.mark.parametrize("port", ["0", "80", "99999", "http", "-1"])
def test_what_is_no_port_is_one_line(port: str, started, capsys) -> None:
    assert main(["app", "--port", port]) == 2
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.slow
def test_the_app_answers_on_this_machine_from_any_folder_and_stops_when_told(tmp_path: Path) -> None:
    with socket.socket() as probe:
        probe.bind((launch.ADDRESS, 0))
        port = probe.getsockname()[1]
    environment = {
        **os.environ,
        "SEAMWRIGHT_DATA": str(tmp_path / "data"),
        "PYTHONPATH": str(launch.APP_FILE.parents[1]),
    }
    command = [sys.executable, "-m", "ui.command_line", "app", "--no-browser", "--port", str(port)]
    with subprocess.Popen(command, cwd=tmp_path, env=environment, stdout=subprocess.DEVNULL) as running:
        try:
            assert answer(f"http://{launch.ADDRESS}:{port}/_stcore/health", running) == "ok"
        finally:
            running.terminate()
            running.wait(20)
    assert launch.port_is_free(port)


def answer(address: str, running: subprocess.Popen, wait_s: float = 60.0) -> str:
    """What the server says once it answers; fails when it ended before that."""
    until = time.monotonic() + wait_s
    while time.monotonic() < until and running.poll() is None:
        try:
            with urllib.request.urlopen(address, timeout=5) as reply:
                return str(reply.read().decode())
        except OSError:
            time.sleep(0.1)
    return "no answer"
