"""Who may come into the shared app: the code, the tries, the end of a visit; without a server."""

from __future__ import annotations

import asyncio
import inspect
from concurrent.futures import ThreadPoolExecutor

import pytest

from ui.sharing import Doorkeeper
from ui.sharing import doorkeeper as module
from ui.sharing.doorkeeper import TRIES_KEPT_S, TRIES_OF_ALL, TRIES_OF_ONE, VISIT_S
from ui.sharing.gate import COOKIE, Gate


def run_apart(task):
    """Run a coroutine in a loop of its own: the browser's loop may be running in this thread."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, task).result()


class Clock:
    def __init__(self):
        self.now = 1000.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def door(clock):
    return Doorkeeper(clock)


def test_a_code_lets_one_device_in_and_is_used_up(door):
    code = door.code
    entry = door.enter(code.lower().replace("-", " "), "192.168.1.7")
    assert door.seconds_left(entry.secret) == VISIT_S
    assert door.code != code
    assert door.enter(code, "192.168.1.8").reason == "wrong"


def test_a_visit_ends_after_its_time_and_when_all_are_sent_out(door, clock):
    secret = door.enter(door.code, "a").secret
    clock.now += VISIT_S + 1
    assert door.seconds_left(secret) == 0
    other = door.enter(door.code, "a").secret
    code = door.code
    door.end_all()
    assert door.seconds_left(other) == 0
    assert door.code != code


def test_after_five_wrong_codes_even_the_right_one_must_wait(door, clock):
    for _ in range(TRIES_OF_ONE):
        assert door.enter("AAAA-AAAA", "192.168.1.7").reason == "wrong"
    assert door.enter(door.code, "192.168.1.7").reason == "wait"
    assert door.enter(door.code, "192.168.1.8").secret  # another device is not kept out
    clock.now += TRIES_KEPT_S + 1
    assert door.enter(door.code, "192.168.1.7").secret


def test_many_addresses_together_are_limited_too(door):
    for number in range(TRIES_OF_ALL):
        door.enter("AAAA-AAAA", f"10.0.0.{number}")
    assert door.enter(door.code, "10.0.1.1").reason == "wait"


def test_codes_are_compared_in_constant_time():
    # no timing test is steady on a busy machine: what compares is named instead
    assert "hmac.compare_digest" in inspect.getsource(module.Doorkeeper.enter)


def test_codes_differ_and_hold_no_sign_that_is_mistaken_for_another(clock):
    codes = {Doorkeeper(clock).code for _ in range(300)}
    assert len(codes) == 300
    assert not set("".join(codes)) & set("0O1IL8B5S2Z")


@pytest.mark.parametrize("given", ["", "é", "\x00" * 50, "A" * 10_000, "١٢٣٤٥٦٧٨"])
def test_odd_codes_are_wrong_and_nothing_else(door, given):
    assert door.enter(given, "a").reason == "wrong"


# --- the gate as an ASGI application ---


async def inside(scope, receive, send):
    """The app behind the gate."""
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.accept"})
        message = await receive()
        await send({"type": "told", "message": message})
        return
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"inside"})


def ask(
    door,
    *,
    path="/",
    host="192.168.1.5:8501",
    client="192.168.1.7",
    kind="http",
    method="GET",
    body=b"",
    **headers,
):
    """What the gate sends for one request."""
    sent = []
    queue = [{"type": "http.request", "body": body}] if kind == "http" else [{"type": "websocket.connect"}]

    async def receive():
        if queue:
            return queue.pop(0)
        await asyncio.sleep(30)

    async def send(message):
        sent.append(message)

    named = [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    scope = {
        "type": kind,
        "path": path,
        "method": method,
        "query_string": b"",
        "client": (client, 40000),
        "headers": [(b"host", host.encode()), *named],
    }
    gate = Gate(inside, door, frozenset({"192.168.1.5", "localhost", "127.0.0.1"}))
    run_apart(asyncio.wait_for(gate(scope, receive, send), 5))
    return sent


def status(sent):
    return sent[0].get("status")


def test_this_computer_needs_no_code_and_a_header_cannot_claim_to_be_it(door):
    assert status(ask(door, host="localhost:8501", client="127.0.0.1")) == 200
    assert status(ask(door, x_forwarded_for="127.0.0.1", forwarded="for=127.0.0.1")) == 401


def test_a_strangers_name_that_points_here_reaches_nothing(door):
    assert status(ask(door, host="evil.example:8501", client="127.0.0.1")) == 421
    assert status(ask(door, host="", client="127.0.0.1")) == 421
    assert (
        ask(door, kind="websocket", host="evil.example", client="127.0.0.1")[0]["type"] == "websocket.close"
    )


def test_another_sites_page_opens_no_socket_with_this_browsers_cookie(door):
    secret = door.enter(door.code, "a").secret
    cookie = f"{COOKIE}={secret}"
    assert (
        ask(door, kind="websocket", cookie=cookie, origin="http://evil.example")[0]["type"]
        == "websocket.close"
    )
    refused = ask(
        door, kind="websocket", client="127.0.0.1", host="localhost:8501", origin="http://evil.example"
    )
    assert refused[0]["type"] == "websocket.close"


def test_a_socket_is_closed_when_its_visit_ends():
    # a real clock: the socket's own end is timed by the event loop
    door = Doorkeeper()
    secret = door.enter(door.code, "a").secret
    door._visits = {digest: door._clock() + 0.2 for digest in door._visits}
    sent = ask(door, kind="websocket", cookie=f"{COOKIE}={secret}", origin="http://192.168.1.5:8501")
    assert [m["type"] for m in sent] == ["websocket.accept", "websocket.close", "told"]
    assert sent[-1]["message"]["type"] == "websocket.disconnect"


@pytest.mark.parametrize(
    "wanted",
    ["https://evil.example", "//evil.example", "/\\evil.example", "javascript:alert(1)", "a\r\nb: c", "///x"],
)
def test_the_way_on_after_the_code_never_leaves_the_app(door, wanted):
    from urllib.parse import urlencode

    sent = ask(
        door, path="/enter", method="POST", body=urlencode({"code": door.code, "wanted": wanted}).encode()
    )
    assert status(sent) == 303
    location = dict(sent[0]["headers"])[b"location"]
    assert location.startswith(b"/")
    assert not location.startswith(b"//")
    assert b"\n" not in location


def test_a_flood_of_a_form_is_no_code(door):
    assert status(ask(door, path="/enter", method="POST", body=b"code=" + b"A" * 100_000)) == 401
