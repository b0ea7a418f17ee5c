"""The shared app as a stranger in the network meets it: real HTTP and WebSocket requests.

This machine's own address in the network is not the loopback device, so a request to it is that of
another device.
"""

from __future__ import annotations

import urllib.parse

import pytest

from tests.ui.shared_server import Shared
from ui.places import at_no_place
from ui.sharing.gate import COOKIE
from ui.sharing.too_deep import NOWHERE

pytestmark = pytest.mark.slow
CLOSED = (
    "/",
    "/walls",
    "/wall?job=1",
    "/_stcore/health",
    "/_stcore/host-config",
    "/_stcore/script-health-check",
    "/_stcore/metrics",
    "/_stcore/bidi-components/wall_editor/editor.js",
    "/media/0123456789abcdef.jpg",
    "/component/any/index.html",
    "/static/js/index.js",
    "/app/static/seamwright.db",
    "/oauth2callback",
    "/favicon.png",
)
"""Every kind of route the server has."""
ASTRAY = (
    "/../../../../../../etc/passwd",
    "/..%2f..%2f..%2f..%2f..%2fetc/passwd",
    "/static/../../../../../../etc/passwd",
    "/static/..%2f..%2f..%2f..%2f..%2f..%2fetc%2fpasswd",
    "/static/%2e%2e/%2e%2e/%2e%2e/%2e%2e/%2e%2e/etc/passwd",
    "/media/../../../../../../etc/passwd",
    "/media/..%5c..%5c..%5cetc%5cpasswd",
    "/component/x/../../../../../../etc/passwd",
    "/_stcore/bidi-components/wall_editor/../../../../../../etc/passwd",
    "/_stcore/bidi-components/wall_editor/..%2f..%2f..%2f..%2fetc%2fpasswd",
    "/app/static/../../../../../../etc/passwd",
    "//etc/passwd",
    "/file:///etc/passwd",
)


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    running = Shared(tmp_path_factory.mktemp("shared"))
    yield running
    running.stop()


@pytest.fixture(scope="module")
def cookie(shared):
    """A device let in with the code that the terminal shows."""
    form = urllib.parse.urlencode({"code": shared.code(), "wanted": "/walls?job=abc"})
    kind = "application/x-www-form-urlencoded"
    status, headers, _ = shared.ask("/enter", method="POST", body=form, Content_Type=kind)
    assert status == 303
    assert headers["location"] == "/walls?job=abc"
    assert "HttpOnly" in headers["set-cookie"]
    assert "SameSite=Strict" in headers["set-cookie"]
    return headers["set-cookie"].split(";")[0]


@pytest.mark.parametrize("path", CLOSED)
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"])
def test_without_the_code_no_route_answers(shared, path, method):
    status, _, body = shared.ask(path, method=method, Accept="*/*")
    assert status == 401
    assert body in (b"", b"Open the app's page and give the code.")


def test_a_browser_without_the_code_gets_the_page_that_asks_for_it_and_no_more(shared):
    status, headers, body = shared.ask("/walls?job=1", Accept="text/html,*/*")
    assert status == 401
    assert b"/enter" in body
    assert b"job=1" in body
    assert b"streamlit" not in body.lower()
    assert "default-src 'none'" in headers["content-security-policy"]


def test_without_the_code_no_photo_can_be_uploaded(shared):
    status, _, _ = shared.ask("/_stcore/upload_file/abc/def", method="PUT", body=b"x" * 1000)
    assert status == 401


def test_without_the_code_no_socket_opens(shared):
    from websockets.exceptions import InvalidStatus

    for cookie in ("", f"{COOKIE}=", f"{COOKIE}=guess", f"{COOKIE}={'A' * 43}"):
        with pytest.raises(InvalidStatus) as refused:
            shared.socket(cookie=cookie)
        assert refused.value.response.status_code == 403


def test_with_the_code_the_page_and_the_socket_open(shared, cookie):
    status, _, body = shared.ask("/", Cookie=cookie, Accept="text/html")
    assert status == 200
    assert b"<html" in body
    with shared.socket(cookie=cookie) as socket:
        assert socket.subprotocol == "streamlit"


def test_an_address_below_a_screen_leads_to_where_the_app_says_there_is_no_such_page(shared, cookie):
    status, headers, _ = shared.ask("/walls/foo", Cookie=cookie, Accept="text/html")
    assert (status, headers["location"]) == (307, NOWHERE)
    status, _, body = shared.ask(NOWHERE, Cookie=cookie, Accept="text/html")
    assert status == 200
    assert b"<html" in body
    assert at_no_place(f"http://phone{NOWHERE}")
    assert shared.ask("/_stcore/health", Cookie=cookie, Accept="text/html")[0] == 200


def test_another_sites_page_cannot_use_a_device_that_is_in(shared, cookie):
    from websockets.exceptions import InvalidStatus

    with pytest.raises(InvalidStatus):
        shared.socket(cookie=cookie, origin="http://evil.example")


@pytest.mark.parametrize("path", ASTRAY)
def test_a_device_that_is_in_reads_no_file_of_this_computer(shared, cookie, path):
    _, _, body = shared.ask(path, Cookie=cookie, Accept="*/*")
    assert b"root:" not in body
    named = path.replace("etc/passwd", "").replace("etc%2fpasswd", "") + str(shared.secret_file).lstrip("/")
    _, _, body = shared.ask(named, Cookie=cookie, Accept="*/*")
    assert not body.startswith(b"SQLite format 3")


def test_this_computer_needs_no_code(shared):
    assert shared.ask("/_stcore/health", host="127.0.0.1")[0] == 200


def test_the_code_in_the_terminal_was_used_up(shared, cookie):
    # after `cookie` the same code is one wrong try
    form = urllib.parse.urlencode({"code": shared.code()})
    assert shared.ask("/enter", method="POST", body=form)[0] == 401


def test_guessing_ends_in_waiting(shared, cookie):
    # last: from here on this address must wait
    answers = [shared.ask("/enter", method="POST", body="code=AAAA-AAAA")[0] for _ in range(8)]
    assert answers[0] == 401
    assert answers[-1] == 429
