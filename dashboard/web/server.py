"""The server of the pages: that of Streamlit, which gets its own address.

A page whose address is more than the server's, such as `/season`, does not know where the server is, and asks
at its own address first: two requests that fail and stand as errors in the browser's console. So each page is
handed out with the address of the server written into it.
"""

from collections.abc import Iterator
from pathlib import Path

import streamlit as st
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

from dashboard.web.page_list import EVERY

SAY_WHERE = '<script>window.__streamlit = {BACKEND_BASE_URL: location.origin + "/"}</script>'


def page_app(script: Path) -> st.App:
    """The pages as a program that can be served.

    Parameters
    ----------
    script : Path
        Entry script of the pages.

    Returns
    -------
    streamlit.App
        Its method `run` serves it until it is stopped.
    """
    return st.App(script, routes=list(_routes()))


def _routes() -> Iterator[Route]:
    """One for each page; only the document around it is other than Streamlit's."""
    document = first_document()

    async def answer(_: Request) -> HTMLResponse:
        return HTMLResponse(document, headers={"Cache-Control": "no-cache"})

    for question in EVERY:
        yield Route(f"/{question.address}", answer)


def first_document() -> str:
    """What a browser is handed first: Streamlit's own page with our name and the address of the server.

    Returns
    -------
    str
        HTML.
    """
    shipped = (Path(st.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")
    named = shipped.replace("<title>Streamlit</title>", "<title>Coiltoll</title>")
    return named.replace("</title>", f"</title>\n    {SAY_WHERE}", 1)
