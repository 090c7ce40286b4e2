"""The gate of shared pages: nothing passes without the PIN, and guessing ends soon."""

import asyncio
import re

import pytest

from dashboard.web.gate import MOST_WRONG, TRIES, WAIT, Gate, new_pin

PIN = "271828"


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


def asked(
    gate: Gate, path: str = "/", *, cookie: str = "", body: bytes | None = None, client: str = "10.0.0.7"
):
    """Status, headers and body of the answer to one request."""
    sent = []
    path, _, query = path.partition("?")
    headers = [(b"cookie", cookie.encode())] if cookie else []
    scope = {
        "type": "http", "method": "GET" if body is None else "POST", "path": path, "headers": headers,
        "query_string": query.encode(), "client": (client, 5), "server": ("10.0.0.1", 8501), "scheme": "http",
    }  # fmt: skip

    async def receive():
        return {"type": "http.request", "body": body or b"", "more_body": False}

    async def send(message):
        sent.append(message)

    asyncio.run(gate(scope, receive, send))
    told = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return sent[0]["status"], told, sent[1].get("body", b"").decode()


async def pages(scope, receive, send):
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"the units"})


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gate(clock) -> Gate:
    return Gate(pages, PIN, clock)


@pytest.mark.parametrize("path", ["/", "/short", "/static/js/x.js", "/_stcore/upload_file/1", "/pin/x"])
@pytest.mark.parametrize("cookie", ["", "coiltoll_device=", "coiltoll_device=guessed", "other=1"])
def test_nothing_passes_without_the_pin(gate, path, cookie):
    status, _, body = asked(gate, path, cookie=cookie)
    assert status == 401
    assert "the units" not in body and PIN not in body


@pytest.mark.parametrize("way", ["form", "code"])
def test_a_device_with_the_pin_comes_in_and_stays(gate, way):
    if way == "form":
        status, told, _ = asked(gate, "/pin", body=f"pin={PIN}".encode())
    else:
        status, told, _ = asked(gate, f"/pin?pin={PIN}")
    assert (status, told["location"]) == (303, "/")
    assert re.search("httponly", told["set-cookie"], re.IGNORECASE)
    assert re.search("samesite=strict", told["set-cookie"], re.IGNORECASE)
    cookie = told["set-cookie"].split(";")[0]
    assert asked(gate, "/short", cookie=cookie)[2] == "the units"
    assert asked(Gate(pages, PIN), "/short", cookie=cookie)[0] == 401, "until the program ends"


def test_guessing_has_to_wait_even_with_the_right_pin(gate, clock):
    for number in range(TRIES):
        assert asked(gate, f"/pin?pin={number:06d}")[0] == 401
    assert asked(gate, f"/pin?pin={PIN}")[0] == 429
    assert asked(gate, f"/pin?pin={PIN}", client="10.0.0.8")[0] == 303, "another device need not"
    clock.now = WAIT + 1.0
    assert asked(gate, f"/pin?pin={PIN}")[0] == 303


def test_many_addresses_guess_no_longer_than_one_in_ten_thousand(gate):
    for number in range(MOST_WRONG):
        assert asked(gate, "/pin?pin=000000", client=f"10.0.1.{number}")[0] == 401
    status, _, body = asked(gate, f"/pin?pin={PIN}", client="10.0.2.1")
    assert status == 429 and "Start the sharing again" in body


def test_a_socket_without_the_pin_is_closed(gate):
    sent = []

    async def receive():
        return {"type": "websocket.connect"}

    async def send(message):
        sent.append(message)

    asyncio.run(gate({"type": "websocket", "path": "/_stcore/stream", "headers": []}, receive, send))
    assert sent == [{"type": "websocket.close", "code": 1008}]


def test_a_long_form_is_not_read(gate):
    assert asked(gate, "/pin", body=b"pin=" + b"1" * 10_000)[0] == 401


def test_pins_are_six_digits_and_differ():
    pins = {new_pin() for _ in range(50)}
    assert len(pins) > 40 and all(re.fullmatch(r"\d{6}", one) for one in pins)
