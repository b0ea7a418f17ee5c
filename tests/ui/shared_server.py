"""The running shared app, for tests: asked over this machine's own address in the network."""

from __future__ import annotations

import http.client
import os
import re
import socket
import subprocess
import sys
import time

import pytest

from tests.ui.browser import ROOT
from ui.sharing.share import local_address


class Shared:
    """The running shared app, and what its terminal says."""

    def __init__(self, folder):
        self.address = local_address()
        if self.address.startswith("127."):
            pytest.skip("this machine has no address in a network")
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.log = folder / "terminal.txt"
        self.secret_file = folder / "data" / "seamwright.db"
        with self.log.open("w") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "ui.command_line", "app", "--share", "--port", str(self.port)],
                cwd=ROOT,
                env={**os.environ, "SEAMWRIGHT_DATA": str(folder / "data"), "LANG": "en_US.UTF-8"},
                stdout=out,
                stderr=subprocess.STDOUT,
            )
        until = time.monotonic() + 90
        while time.monotonic() < until:
            try:
                if self.ask("/_stcore/health", host="127.0.0.1")[0] == 200:
                    break
            except OSError:
                time.sleep(0.1)

    def code(self):
        return re.findall(r"\b([A-Z0-9]{4}-[A-Z0-9]{4})\b", self.log.read_text())[-1]

    def ask(self, path, *, host=None, method="GET", body=None, **headers):
        """Status, headers and body, the path sent as it is."""
        to = http.client.HTTPConnection(host or self.address, self.port, timeout=20)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        to.request(method, path, body=body, headers=named)
        reply = to.getresponse()
        answer = reply.status, dict(reply.getheaders()), reply.read()
        to.close()
        return answer

    def socket(self, *, cookie="", origin=None):
        """Open the app's socket as a browser does; raises when it is refused."""
        from websockets.sync.client import connect

        return connect(
            f"ws://{self.address}:{self.port}/_stcore/stream",
            subprotocols=["streamlit"],
            origin=origin or f"http://{self.address}:{self.port}",
            additional_headers={"Cookie": cookie} if cookie else {},
            open_timeout=20,
        )

    def stop(self):
        """End the server."""
        self.process.terminate()
        self.process.wait(20)
