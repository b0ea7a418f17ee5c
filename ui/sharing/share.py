"""The share of this run: the address in the local network, the picture to scan, the door."""

from __future__ import annotations

import io
import socket
from dataclasses import dataclass, field
from urllib.parse import urlencode

import segno

from ui.sharing.doorkeeper import Doorkeeper

NOBODY = ("192.0.2.1", 9)
"""An address that belongs to no machine (RFC 5737, TEST-NET-1): asking the way there sends nothing."""


@dataclass(frozen=True)
class Share:
    """How the app can be reached in the local network."""

    address: str
    port: int
    door: Doorkeeper = field(default_factory=Doorkeeper)

    @property
    def url(self) -> str:
        """What is typed by hand."""
        return f"http://{self.address}:{self.port}"

    def url_with_code(self, job_id: str = "") -> str:
        """What the picture says: the address, the job, and the code where no browser sends it on."""
        query = f"?{urlencode({'job': job_id})}" if job_id else ""
        return f"{self.url}/walls{query}#{urlencode({'code': self.door.code})}"

    def hosts(self) -> frozenset[str]:
        """The names this machine answers to."""
        name = socket.gethostname().lower()
        return frozenset(
            {self.address, "localhost", "127.0.0.1", "::1", name, f"{name.split('.')[0]}.local"} - {""}
        )


_at_hand: Share | None = None


def start_share(port: int, address: str | None = None) -> Share:
    """Share from now on, in this process."""
    global _at_hand
    _at_hand = Share(address or local_address(), port)
    return _at_hand


def share_at_hand() -> Share | None:
    """The share of this process; None when the app listens on this computer only."""
    return _at_hand


def local_address() -> str:
    """This machine's address in the network it would use; the loopback address without a network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(NOBODY)
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def qr_svg(text: str) -> str:
    """A QR code (ISO/IEC 18004, error correction M) as SVG, dark on white with its quiet zone."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        out, kind="svg", scale=6, border=4, dark="#000000", light="#ffffff", xmldecl=False, svgns=True
    )
    return out.getvalue().decode()


def qr_terminal(text: str) -> str:
    """The same for a terminal."""
    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out, compact=True)
    return out.getvalue()
