"""Addresses below a screen: a page loads its scripts beside its own address and would stay blank there."""

from __future__ import annotations

from ui.sharing.gate import App, Receive, Scope, Send

NOWHERE = "/no-such-page"
"""An address of the first level that names no screen: there the app says so."""
SERVERS_OWN = ("_stcore", "static", "media", "component", "app", "vendor")
"""First parts of the addresses that the server answers itself."""


class TooDeep:
    """Sends a browser from ``/walls/foo`` to an address where the app can say that there is no such page.

    Parameters
    ----------
    app : ASGI application
    """

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request or socket."""
        if scope["type"] != "http" or not _wants_page_below(scope):
            await self.app(scope, receive, send)
            return
        headers = [
            (b"location", NOWHERE.encode()),
            (b"cache-control", b"no-store"),
            (b"content-length", b"0"),
        ]
        await send({"type": "http.response.start", "status": 307, "headers": headers})
        await send({"type": "http.response.body", "body": b""})


def _wants_page_below(scope: Scope) -> bool:
    parts = scope["path"].strip("/").split("/")
    accept = b",".join(value for name, value in scope["headers"] if name.lower() == b"accept")
    page = scope["method"] == "GET" and b"text/html" in accept
    return page and len(parts) > 1 and parts[0] not in SERVERS_OWN
