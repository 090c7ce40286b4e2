"""The server of the pages: that of Streamlit, given its own address, a guard, and our settings alone.

A page whose address is more than the server's, such as `/season`, does not know where the server is, and asks
at its own address first: two requests that fail and stand as errors in the browser's console. So each page is
handed out with the address of the server written into it.

Streamlit reads settings from files in the current folder and at home, and would ask a service outside for the
address of this computer when a stranger's page calls. Both are switched off here.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import streamlit as st
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route
from starlette.types import Receive, Scope, Send
from streamlit import config, net_util

from dashboard.web.gate import Gate
from dashboard.web.guard import Guard, names_of
from dashboard.web.page_list import EVERY

SAY_WHERE = '<script>window.__streamlit = {BACKEND_BASE_URL: location.origin + "/"}</script>'
HANDS = "/coiltoll/hands.js"
"""Address of our own script: keypads, the order of fields, what Streamlit leaves without a name."""
WITHOUT_SCRIPTS = "<noscript>The pages need JavaScript, from this computer alone.</noscript>"
_AGENT_LINK = re.compile(r'<link rel="service-desc"[^>]*>')
_NOSCRIPT = re.compile(r"<noscript>.*?</noscript>", re.DOTALL)


class GuardedApp(st.App):
    """Streamlit's program with the guard before all of it.

    Parameters
    ----------
    script : Path
        Entry script of the pages.
    address : str
        Address that the server listens on.
    pin : str
        What every device has to know; empty where none is asked for.
    """

    def __init__(self, script: Path, address: str, pin: str = "") -> None:
        document = first_document()
        super().__init__(script, routes=list(_routes(document)))
        behind = Gate(super().__call__, pin) if pin else super().__call__
        documents = [document, _shipped_document()]
        self._guard = Guard(behind, names_of(address), documents, forms=bool(pin))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        await self._guard(scope, receive, send)


def page_app(script: Path, address: str = "127.0.0.1", pin: str = "") -> GuardedApp:
    """The pages as a program that can be served.

    Parameters
    ----------
    script : Path
        Entry script of the pages.
    address : str
        Address that the server listens on.
    pin : str
        What every device has to know; empty where none is asked for.

    Returns
    -------
    GuardedApp
        Its method `run` serves it until it is stopped.
    """
    close_to_the_outside()
    return GuardedApp(script, address, pin)


def close_to_the_outside() -> None:
    """Have Streamlit read no file of settings or secrets, and ask nobody for this computer's address."""
    config.get_config_files = _no_files
    net_util.get_external_ip = _nowhere
    net_util.get_internal_ip = _nowhere


def _no_files(file_name: str) -> list[str]:
    return []


def _nowhere() -> None:
    return None


def _routes(document: str) -> Iterator[Route]:
    """One for each page; only the document around it is other than Streamlit's."""

    async def answer(_: Request) -> HTMLResponse:
        return HTMLResponse(document, headers={"Cache-Control": "no-cache"})

    async def script(_: Request) -> Response:
        return Response(own, media_type="text/javascript", headers={"Cache-Control": "no-cache"})

    own = Path(__file__).with_name("hands.js").read_text(encoding="utf-8")
    yield Route(HANDS, script)
    for question in EVERY:
        yield Route(f"/{question.address}", answer)


def first_document() -> str:
    """What a browser is handed first: Streamlit's own page with our name and the address of the server.

    Returns
    -------
    str
        HTML.
    """
    named = _shipped_document().replace("<title>Streamlit</title>", "<title>Coiltoll</title>")
    own = _NOSCRIPT.sub(WITHOUT_SCRIPTS, _AGENT_LINK.sub("", named))
    return own.replace("</title>", f'</title>\n    {SAY_WHERE}\n    <script src="{HANDS}" defer></script>', 1)


def _shipped_document() -> str:
    """Streamlit's own page."""
    return (Path(st.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")
