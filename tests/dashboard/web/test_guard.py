import asyncio

import pytest

from dashboard.web.guard import HEADERS, THIS_COMPUTER, Guard, names_of

HERE = {"host": "localhost:8501"}
DOCUMENT = "<script>one</script><script src='x'></script><script>two</script>"


def ask(headers: dict[str, str] | list[tuple[str, str]], path="/season", kind="http", address="127.0.0.1"):
    """What a request is answered with, and whether it came to what is behind the guard."""
    came, sent = [], []

    async def behind(scope, receive, send):
        came.append(scope["path"])
        if kind == "http":
            await send({"type": "http.response.start", "status": 200, "headers": []})
            await send({"type": "http.response.body", "body": b"page"})
        else:
            await receive()
            await send({"type": "websocket.accept"})

    async def receive():
        return {"type": "http.request" if kind == "http" else "websocket.connect"}

    async def send(message):
        sent.append(message)

    pairs = headers.items() if isinstance(headers, dict) else headers
    scope = {
        "type": kind,
        "path": path,
        "method": "GET",
        "headers": [(name.encode(), text.encode("latin-1")) for name, text in pairs],
    }
    asyncio.run(Guard(behind, names_of(address), [DOCUMENT])(scope, receive, send))
    return sent, bool(came)


@pytest.mark.parametrize("kind", ["http", "websocket"])
@pytest.mark.parametrize("host", ["localhost:8501", "LOCALHOST", "127.0.0.1:8501", "[::1]:9"])
def test_own_pages_are_answered(host, kind):
    for origin in ({}, {"origin": f"http://{host}"}):
        sent, came = ask({"host": host} | origin, kind=kind)
        assert came
        assert sent[0]["type"] in ("http.response.start", "websocket.accept")


@pytest.mark.parametrize("path", ["/", "/season", "/_stcore/stream", "/_stcore/health", "//x"])
@pytest.mark.parametrize("kind", ["http", "websocket"])
@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"host": "localhost.evil.example:8501"},
        {"host": "192.0.2.7:8501"},
        {"host": "user@localhost:8501"},
        {"host": "localhost:8501/x"},
        {"host": ""},
        {},
        [("host", "localhost:8501"), ("host", "evil.example")],
        HERE | {"origin": "http://evil.example"},
        HERE | {"origin": "http://localhost:3000"},
        HERE | {"origin": "https://localhost:8501"},
        HERE | {"origin": "http://127.0.0.1:8501"},
        HERE | {"origin": "null"},
        HERE | {"origin": ""},
        [("host", "localhost:8501"), ("origin", "http://localhost:8501"), ("origin", "http://evil.example")],
    ],
    ids=str,
)
def test_a_foreign_page_or_name_is_refused_before_anything_behind(headers, path, kind):
    sent, came = ask(headers, path, kind)
    assert not came
    if kind == "http":
        assert sent[0]["status"] in (403, 421)
    else:
        assert [message["type"] for message in sent] == ["websocket.close"]


@pytest.mark.parametrize(
    "path",
    ["/_stcore/metrics", "/_stcore/metrics/", "/_stcore/agent", "/_stcore/agent/openapi.json", "/auth/login"],
)
def test_what_the_pages_do_not_need_is_closed(path):
    sent, came = ask(HERE, path)
    assert (sent[0]["status"], came) == (404, False)


@pytest.mark.parametrize(("headers", "path"), [(HERE, "/"), ({}, "/"), (HERE, "/_stcore/metrics")])
def test_every_answer_forbids_frames_and_other_places(headers, path):
    sent, _ = ask(headers, path)
    told = {name.decode(): text.decode() for name, text in sent[0]["headers"]}
    for name, text in HEADERS.items():
        assert told[name.lower()] == text
    policy = dict(part.split(" ", 1) for part in told["content-security-policy"].split("; "))
    assert policy["frame-ancestors"] == "'none'"
    assert policy["default-src"] == "'none'"
    assert "unsafe-eval" not in policy["script-src"]
    assert "unsafe-inline" not in policy["script-src"]
    assert policy["script-src"].count("sha256-") == 2, "one for each script that is written into the page"
    allowed = {word for sources in policy.values() for word in sources.split() if "//" in word}
    assert allowed == ({"ws://localhost:8501"} if headers else set())


@pytest.mark.parametrize(
    ("address", "own", "foreign"),
    [
        ("127.0.0.1", ["localhost"], ["192.0.2.7", "evil.example", "[2001:db8::1]"]),
        ("192.0.2.7", ["localhost", "192.0.2.7"], ["192.0.2.8", "evil.example"]),
        ("0.0.0.0", ["localhost", "192.0.2.8", "[2001:db8::1]"], ["evil.example", "1.evil.example"]),
        ("2001:db8::1", ["[2001:db8::1]:8501"], ["[2001:db8::2]"]),
        ("office-computer", ["office-computer", "localhost"], ["other-computer"]),
    ],
)
def test_names_go_with_the_address_that_is_listened_on(address, own, foreign):
    names = names_of(address)
    assert names.own >= THIS_COMPUTER
    assert [name for name in own if not names.hold(name)] == []
    assert [name for name in foreign if names.hold(name)] == []
