"""Start the app in the browser: on this machine only, quiet towards the outside."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

from ui.theme import theme_settings

ADDRESS = "127.0.0.1"
FIRST_PORT = 8501
LARGEST_UPLOAD_MB = 200
APP_FILE = Path(__file__).with_name("app.py")


class LaunchError(RuntimeError):
    """The app cannot be started; the text says what to do."""


def settings(port: int, headless: bool, address: str = ADDRESS) -> dict[str, Any]:
    """The settings the app is always started with, under Streamlit's names.

    Without an address Streamlit listens on every network interface, and asks an outside service
    which one that is; without the usage flag it reports usage.
    """
    return {
        "server.address": address,
        "server.port": port,
        "server.headless": headless,
        "server.maxUploadSize": LARGEST_UPLOAD_MB,
        "server.fileWatcherType": "none",
        "server.showEmailPrompt": False,
        "browser.gatherUsageStats": False,
        "browser.serverAddress": address,
        "client.toolbarMode": "viewer",
        "client.showErrorDetails": "none",
        **theme_settings(),
    }


def streamlit_flags(port: int, headless: bool) -> list[str]:
    """The same as options of Streamlit's command line."""
    return [
        f"--{name}={str(value).lower() if isinstance(value, bool) else value}"
        for name, value in settings(port, headless).items()
    ]


def start_app(port: int | None = None, *, open_browser: bool = True, share: bool = False) -> int:
    """Run the app until it is stopped (Ctrl+C); returns the server's exit status where it returns.

    With `share` it can be reached in the local network, by whoever gives the code that it prints.

    Raises
    ------
    LaunchError
        The port is taken.
    """
    if port is not None and not port_is_free(port):
        raise LaunchError(f"Port {port} is in use: give another one with --port, or stop what uses it.")
    chosen = port or _free_port()
    root = str(APP_FILE.parents[1])
    # The app imports its sister packages; from a checkout they are found only with the root on the path.
    path = os.pathsep.join(p for p in (root, os.environ.get("PYTHONPATH", "")) if p)
    environment = {**os.environ, "PYTHONPATH": path}
    if share:
        language = os.environ.get("LC_ALL") or os.environ.get("LANG") or "en"
        return _become([sys.executable, "-m", "ui.shared_app", str(chosen), language], environment)
    headless = not open_browser or not has_display()
    if headless:
        print(
            f"Open http://{ADDRESS}:{chosen} in a browser on this machine. Ctrl+C stops the app.", flush=True
        )
    command = [sys.executable, "-m", "streamlit", "run", str(APP_FILE), *streamlit_flags(chosen, headless)]
    return _become(command, environment)


def _become(command: list[str], environment: dict[str, str]) -> int:
    """Run the server in this process's place, so that whoever stops the one stops the other."""
    if os.name == "posix":
        sys.stdout.flush()
        os.execve(command[0], command, environment)
    try:
        return subprocess.call(command, env=environment)
    except KeyboardInterrupt:
        return 0


def has_display() -> bool:
    """Whether a browser window could open here."""
    if sys.platform in ("darwin", "win32"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def port_is_free(port: int) -> bool:
    """Whether nothing listens on that port of this machine."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((ADDRESS, port))
        except OSError:
            return False
    return True


def _free_port() -> int:
    for port in range(FIRST_PORT, FIRST_PORT + 50):
        if port_is_free(port):
            return port
    raise LaunchError(f"Ports {FIRST_PORT} to {FIRST_PORT + 49} are all in use: give one with --port.")
