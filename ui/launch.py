"""Start the app in the browser: on this machine only, quiet towards the outside."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

from ui.theme import theme_flags

ADDRESS = "127.0.0.1"
FIRST_PORT = 8501
LARGEST_UPLOAD_MB = 200
APP_FILE = Path(__file__).with_name("app.py")


class LaunchError(RuntimeError):
    """The app cannot be started; the text says what to do."""


def streamlit_flags(port: int, headless: bool) -> list[str]:
    """The settings the app is always started with.

    Without an address Streamlit listens on every network interface, and asks an outside service
    which one that is; without the usage flag it reports usage.
    """
    return [
        f"--server.address={ADDRESS}",
        f"--server.port={port}",
        f"--server.headless={'true' if headless else 'false'}",
        f"--server.maxUploadSize={LARGEST_UPLOAD_MB}",
        "--server.fileWatcherType=none",
        "--server.showEmailPrompt=false",
        "--browser.gatherUsageStats=false",
        f"--browser.serverAddress={ADDRESS}",
        "--client.toolbarMode=viewer",
        "--client.showErrorDetails=none",
        *theme_flags(),
    ]


def start_app(port: int | None = None, *, open_browser: bool = True) -> int:
    """Run the app until it is stopped (Ctrl+C); returns the server's exit status where it returns.

    Raises
    ------
    LaunchError
        The port is taken.
    """
    if port is not None and not port_is_free(port):
        raise LaunchError(f"Port {port} is in use: give another one with --port, or stop what uses it.")
    chosen = port or _free_port()
    headless = not open_browser or not has_display()
    if headless:
        print(
            f"Open http://{ADDRESS}:{chosen} in a browser on this machine. Ctrl+C stops the app.", flush=True
        )
    root = str(APP_FILE.parents[1])
    # The app imports its sister packages; from a checkout they are found only with the root on the path.
    path = os.pathsep.join(p for p in (root, os.environ.get("PYTHONPATH", "")) if p)
    command = [sys.executable, "-m", "streamlit", "run", str(APP_FILE), *streamlit_flags(chosen, headless)]
    return _become(command, {**os.environ, "PYTHONPATH": path})


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
