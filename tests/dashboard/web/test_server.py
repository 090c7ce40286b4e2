"""The server as it runs, in a folder whose settings would open it."""

import http.client
import os
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from streamlit import config, net_util

from dashboard.web.guard import HEADERS
from dashboard.web.server import close_to_the_outside
from dashboard.web.settings import SETTINGS
from tests.app_process import outside_calls, started

HOSTILE_SETTINGS = """
[server]
enableCORS = false
enableXsrfProtection = false
enableStaticServing = true
enableAgentApi = true
scriptHealthCheckEnabled = true
address = "0.0.0.0"
port = 1
baseUrlPath = "elsewhere"
corsAllowedOrigins = ["http://evil.example"]
trustedUserHeaders = { "X-User" = "email" }
maxUploadSize = 100000
[client]
showErrorDetails = "full"
showErrorLinks = true
toolbarMode = "developer"
[browser]
gatherUsageStats = true
serverAddress = "evil.example"
[theme]
font = "evil:http://evil.example/font.css"
[[theme.fontFaces]]
family = "evil"
url = "http://evil.example/font.woff2"
"""
HOSTILE_SECRETS = """
HTTP_PROXY = "http://evil.example"
[auth]
redirect_uri = "http://evil.example/oauth2callback"
cookie_secret = "known"
client_id = "x"
client_secret = "x"
server_metadata_url = "http://evil.example/.well-known/openid-configuration"
"""
HANDSHAKE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": "MDEyMzQ1Njc4OWFiY2RlZg==",
    "Sec-WebSocket-Protocol": "streamlit",
}


@pytest.fixture(scope="module")
def hostile_folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hostile")
    (folder / ".streamlit").mkdir()
    (folder / ".streamlit" / "config.toml").write_text(HOSTILE_SETTINGS, encoding="utf-8")
    (folder / ".streamlit" / "secrets.toml").write_text(HOSTILE_SECRETS, encoding="utf-8")
    (folder / "static").mkdir()
    (folder / "static" / "x.txt").write_text("x", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def server(hostile_folder, tmp_path_factory):
    """Port of the app in that folder, which is its home too, and the workspace."""
    workspace = tmp_path_factory.mktemp("app") / "units"
    variables = {
        "HOME": str(hostile_folder),
        "STREAMLIT_SERVER_ENABLE_CORS": "false",
        "STREAMLIT_SERVER_ENABLE_XSRF_PROTECTION": "false",
        "STREAMLIT_SERVER_ENABLE_AGENT_API": "true",
        "COILTOLL_CACHE": os.environ.get("COILTOLL_CACHE", str(Path.home() / ".cache" / "coiltoll")),
    }
    with started(workspace, hostile_folder, variables) as (address, _):
        yield urlsplit(address).port, workspace


def ask(port: int, path: str, **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection("127.0.0.1", port)
    connection.request("GET", path, headers={"Host": f"localhost:{port}"} | headers)
    answer = connection.getresponse()
    if answer.status != 101:
        answer.read()
    connection.close()
    return answer


def test_a_foreign_page_gets_no_socket_and_nobody_outside_is_asked(server):
    port, workspace = server
    own = ask(port, "/_stcore/stream", Origin=f"http://localhost:{port}", **HANDSHAKE)
    assert own.status == 101
    for origin in ("http://evil.example", f"http://127.0.0.1:{port + 1}", "null"):
        assert ask(port, "/_stcore/stream", Origin=origin, **HANDSHAKE).status == 403
    assert ask(port, "/_stcore/stream", Host="evil.example", **HANDSHAKE).status == 403
    assert outside_calls(workspace) == []


@pytest.mark.parametrize("path", ["/", "/season", "/_stcore/health", "/_stcore/host-config", "/no-such-page"])
def test_every_answer_has_the_headers_and_opens_to_no_other_place(server, path):
    answer = ask(server[0], path, Origin=f"http://localhost:{server[0]}")
    assert answer.status in (200, 404)
    assert {name: answer.headers[name] for name in HEADERS} == HEADERS
    assert "frame-ancestors 'none'" in answer.headers["Content-Security-Policy"]
    assert answer.headers["Access-Control-Allow-Origin"] in (None, f"http://localhost:{server[0]}")
    assert ask(server[0], path, Origin="http://evil.example").status == 403


@pytest.mark.parametrize(
    "path",
    [
        "/_stcore/metrics",
        "/_stcore/agent/openapi.json",
        "/_stcore/agent/interact",
        "/_stcore/script-health-check",
        "/auth/login",
        "/oauth2callback",
    ],
)
def test_metrics_agent_and_sign_in_are_closed(server, path):
    assert ask(server[0], path).status == 404


def test_files_of_the_current_folder_are_not_served(server):
    answer = ask(server[0], "/app/static/x.txt")
    assert (answer.status, answer.headers["Content-Type"].split(";")[0]) != (200, "text/plain")


def settings_now() -> dict[str, object]:
    """Every setting of Streamlit that is not as it comes, after reading whatever it reads."""
    found = config.get_config_options(force_reparse=True, options_from_flags=SETTINGS)
    return {
        name: option.value
        for name, option in found.items()
        if option.value != config._config_options_template[name].value and not option.sensitive
    }


@pytest.fixture
def streamlit_as_it_comes(monkeypatch):
    """Put Streamlit's settings and functions back afterwards."""
    for module, name in (
        (config, "_config_options"),
        (config, "get_config_files"),
        (net_util, "get_external_ip"),
        (net_util, "get_internal_ip"),
    ):
        monkeypatch.setattr(module, name, getattr(module, name))


@pytest.mark.usefixtures("streamlit_as_it_comes")
def test_settings_in_the_current_folder_and_at_home_change_nothing(hostile_folder, monkeypatch):
    monkeypatch.chdir(hostile_folder)
    monkeypatch.setenv("HOME", str(hostile_folder))
    assert "server.trustedUserHeaders" in settings_now(), "Streamlit by itself reads them"
    close_to_the_outside()
    assert settings_now().items() <= SETTINGS.items()
    assert {name: config.get_option(name) for name in SETTINGS} == SETTINGS


@pytest.mark.usefixtures("streamlit_as_it_comes")
def test_nobody_is_asked_for_the_address_of_this_computer(monkeypatch):
    asked = []
    monkeypatch.setattr(net_util, "_make_blocking_http_get", lambda *words, **_: asked.append(words))
    monkeypatch.setattr(net_util, "_external_ip", None)
    from streamlit.web.server import server_util

    server_util.is_url_from_allowed_origins("http://evil.example")
    assert asked, "Streamlit by itself asks"
    asked.clear()
    close_to_the_outside()
    assert not server_util.is_url_from_allowed_origins("http://evil.example")
    assert asked == []
