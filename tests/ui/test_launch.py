"""The app is started for this machine only and asks nothing of the outside."""

from __future__ import annotations

import socket

import pytest

from ui import launch
from ui.command_line import main


@pytest.fixture
def started(monkeypatch) -> list[list[str]]:
    commands: list[list[str]] = []

    def call(command: list[str], env: dict[str, str]) -> int:
        commands.append(command)
        assert env["PYTHONPATH"].split(":")[0] == str(launch.APP_FILE.parents[1])
        return 0

    monkeypatch.setattr(launch.subprocess, "call", call)
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
