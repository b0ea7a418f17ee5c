"""The gate before the whole app: every request and every socket passes here first.

An ASGI application around another one. Without the code nothing of the app is answered: no page, no
script, no picture, no upload, no socket.
"""

from __future__ import annotations

import asyncio
import ipaddress
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs, urlsplit

from ui.sharing.code_page import code_page
from ui.sharing.doorkeeper import VISIT_S, Doorkeeper

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "seamwright_visit"
ENTER = "/enter"
LARGEST_FORM_BYTES = 2_000
POLICY_VIOLATION = 1008
"""Close code of RFC 6455, section 7.4.1."""
HEADERS = [
    (b"cache-control", b"no-store"),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
]


class Gate:
    """Lets through this computer itself and whoever gave the code.

    Parameters
    ----------
    app : ASGI application
    door : Doorkeeper
    hosts : set of str
        The names and addresses by which the app may be called. Others are refused, also from this
        computer: a page of a stranger that points its own name here must not reach the app.
    """

    def __init__(self, app: App, door: Doorkeeper, hosts: frozenset[str]) -> None:
        self.app = app
        self.door = door
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request or socket."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = _headers(scope)
        if not self._called_rightly(headers, scope["type"] == "websocket"):
            await _refuse(scope, receive, send, 421, "This address is not the app's own.")
            return
        if _own_computer(scope):
            await self.app(scope, receive, send)
            return
        if scope["type"] == "http" and scope["path"] == ENTER:
            await self._enter(scope, receive, send, headers)
            return
        left_s = self.door.seconds_left(_secret(headers))
        if left_s <= 0:
            await self._ask(scope, receive, send, headers)
        elif scope["type"] == "websocket":
            await self.app(scope, _ending(receive, send, left_s), send)
        else:
            await self.app(scope, receive, send)

    def _called_rightly(self, headers: dict[str, str], socket: bool) -> bool:
        host = _name_of("//" + headers.get("host", ""))
        if host not in self.hosts:
            return False
        origin = headers.get("origin")
        if origin is None:
            return True
        # a socket opened by another site's page would carry this browser's cookie
        return _place_of(origin) == headers.get("host", "") if socket else True

    async def _ask(self, scope: Scope, receive: Receive, send: Send, headers: dict[str, str]) -> None:
        if scope["type"] == "http" and scope["method"] == "GET" and "text/html" in headers.get("accept", ""):
            query = scope.get("query_string", b"").decode("latin-1")
            wanted = scope["path"] + (f"?{query}" if query else "")
            await self._page(send, 401, headers, wanted, "")
            return
        await _refuse(scope, receive, send, 401, "Open the app's page and give the code.")

    async def _enter(self, scope: Scope, receive: Receive, send: Send, headers: dict[str, str]) -> None:
        if scope["method"] != "POST":
            await self._page(send, 200, headers, "/", "")
            return
        origin = headers.get("origin")
        if origin not in (None, "null") and _place_of(origin) != headers.get("host", ""):
            await _refuse(scope, receive, send, 403, "Give the code on the app's own page.")
            return
        form = _form(await _body(receive))
        wanted = _inside(form.get("wanted", ["/"])[0])
        entry = self.door.enter(form.get("code", [""])[0], str((scope.get("client") or ("",))[0]))
        if not entry.secret:
            await self._page(send, 429 if entry.reason == "wait" else 401, headers, wanted, entry.reason)
            return
        cookie = f"{COOKIE}={entry.secret}; Path=/; Max-Age={VISIT_S:.0f}; HttpOnly; SameSite=Strict"
        more = [(b"location", wanted.encode("latin-1", "ignore")), (b"set-cookie", cookie.encode())]
        await _answer(send, 303, b"", b"text/plain", more)

    async def _page(self, send: Send, status: int, headers: dict[str, str], wanted: str, reason: str) -> None:
        text, policy = code_page(wanted, reason, headers.get("accept-language", ""))
        more = [(b"content-security-policy", policy.encode())]
        await _answer(send, status, text.encode(), b"text/html; charset=utf-8", more)


def _headers(scope: Scope) -> dict[str, str]:
    return {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}


def _name_of(url: str) -> str:
    try:
        return (urlsplit(url).hostname or "").lower()
    except ValueError:
        return ""


def _place_of(url: str) -> str | None:
    """Host and port of an address; None for one that is none."""
    try:
        return urlsplit(url).netloc
    except ValueError:
        return None


def _form(body: str) -> dict[str, list[str]]:
    try:
        return parse_qs(body, max_num_fields=10)
    except ValueError:
        return {}


def _own_computer(scope: Scope) -> bool:
    """Whether the request came over the loopback device. The address is the socket's own, no header's."""
    client = scope.get("client")
    try:
        return client is not None and ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        return False


def _secret(headers: dict[str, str]) -> str:
    try:
        morsel = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return "" if morsel is None else morsel.value


def _inside(wanted: str) -> str:
    """A path of the app, whatever a form asked for: never another site."""
    try:
        parts = urlsplit(wanted.replace("\\", "/"))
    except ValueError:
        return "/"
    if parts.scheme or parts.netloc or not parts.path.startswith("/") or not wanted.isprintable():
        return "/"
    return "/" + parts.path.lstrip("/") + (f"?{parts.query}" if parts.query else "")


def _ending(receive: Receive, send: Send, left_s: float) -> Receive:
    """The same messages of a socket until the visit ends; then the socket is closed."""
    ends = asyncio.get_running_loop().time() + left_s

    async def next_message() -> MutableMapping[str, Any]:
        try:
            return await asyncio.wait_for(receive(), max(0.0, ends - asyncio.get_running_loop().time()))
        except TimeoutError:
            await send({"type": "websocket.close", "code": POLICY_VIOLATION})
            return {"type": "websocket.disconnect", "code": POLICY_VIOLATION}

    return next_message


async def _body(receive: Receive) -> str:
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return ""
        body += message.get("body", b"")
        if len(body) > LARGEST_FORM_BYTES:
            return ""
        if not message.get("more_body"):
            return body.decode("utf-8", "replace")


async def _refuse(scope: Scope, receive: Receive, send: Send, status: int, sentence: str) -> None:
    if scope["type"] == "websocket":
        await receive()  # the opening message; closing before accepting answers 403
        await send({"type": "websocket.close", "code": POLICY_VIOLATION})
        return
    await _answer(send, status, sentence.encode(), b"text/plain; charset=utf-8", [])


async def _answer(send: Send, status: int, body: bytes, kind: bytes, more: list[tuple[bytes, bytes]]) -> None:
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode()), *HEADERS, *more]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
