"""What stands before the server of the pages: it answers to its own pages alone, and opens to no other.

A browser sends along whose page asked (`Origin`) and the name that the server was called by (`Host`). A page
of another place is refused by the first, a foreign name that somebody made to point at this computer by the
second, both before any other code sees the request. Every answer carries headers that keep a page from being
framed, and from loading anything from elsewhere.

References
----------
RFC 6454 (origin), RFC 9110 section 7.2 (host); Content Security Policy Level 3, W3C.
"""

import base64
import hashlib
import ipaddress
import re
import socket
from collections.abc import Iterable
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

THIS_COMPUTER = frozenset({"localhost", "127.0.0.1", "[::1]"})
CLOSED = ("/_stcore/metrics", "/_stcore/agent", "/_stcore/script-health-check", "/auth", "/oauth2callback")
"""Parts of Streamlit's server that the pages have no use for."""
HEADERS = {
    "X-Frame-Options": "DENY",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_HOST = re.compile(r"(\[[0-9a-f:.]+\]|[a-z0-9_.-]+)(?::[0-9]{1,5})?")
_INLINE_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)


@dataclass(frozen=True)
class Names:
    """Names that the server may be called by.

    Attributes
    ----------
    own : frozenset of str
        Names and addresses, an IPv6 address in brackets.
    any_number : bool
        Whether any address in numbers will do, as where it listens on all of this computer's.
    """

    own: frozenset[str]
    any_number: bool = False

    def hold(self, host: str) -> bool:
        """Whether a `Host` header names this server; the port is left to the way that the request took."""
        found = _HOST.fullmatch(host.lower())
        if found is None:
            return False
        name = found[1]
        return name in self.own or (self.any_number and _is_number(name))


def names_of(address: str) -> Names:
    """Names of a server that listens on an address.

    Parameters
    ----------
    address : str
        As given to `coiltoll app --address`.

    Returns
    -------
    Names
        Those of this computer; of an address that others reach, it and this computer's name in the network.
    """
    try:
        number = ipaddress.ip_address(address)
    except ValueError:
        return Names(THIS_COMPUTER | {address.lower()})
    own = THIS_COMPUTER | {f"[{number}]" if number.version == 6 else str(number)}
    if number.is_loopback:
        return Names(own)
    computer = socket.gethostname().lower()
    return Names(own | {computer, f"{computer}.local"}, any_number=number.is_unspecified)


def _is_number(name: str) -> bool:
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


class Guard:
    """A program for a server with all others behind it.

    Parameters
    ----------
    behind : ASGI program
        What answers where nothing is refused.
    names : Names
        What it may be called by.
    documents : iterable of str
        HTML of the pages; scripts written into them may run, no others that are not files of the server.
    forms : bool
        Whether a page may send a form to this server.
    """

    def __init__(self, behind: ASGIApp, names: Names, documents: Iterable[str], forms: bool = False) -> None:
        self._behind = behind
        self._forms = "'self'" if forms else "'none'"
        self._names = names
        scripts = dict.fromkeys(script for text in documents for script in _INLINE_SCRIPT.findall(text))
        self._scripts = " ".join(f"'sha256-{_digest(script)}'" for script in scripts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse a request, or hand it on."""
        if scope["type"] not in ("http", "websocket"):
            await self._behind(scope, receive, send)
            return
        headers = Headers(scope=scope)
        host = headers.get("host", "").lower()

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                answer = MutableHeaders(scope=message)
                for name, text in HEADERS.items():
                    answer[name] = text
                answer["Content-Security-Policy"] = self._policy(host)
            await send(message)

        refusal = self._refusal(scope["path"], headers)
        if refusal is None:
            await self._behind(scope, receive, send_with_headers)
        elif scope["type"] == "http":
            await refusal(scope, receive, send_with_headers)
        else:
            await receive()  # the request to connect, which is to be taken before it is refused
            await send({"type": "websocket.close", "code": 1008})

    def _refusal(self, path: str, headers: Headers) -> PlainTextResponse | None:
        """What a request is refused with; None where it is answered."""
        hosts, origins = headers.getlist("host"), headers.getlist("origin")
        if len(hosts) != 1 or not self._names.hold(hosts[0]):
            return PlainTextResponse("This is not the name of this server.\n", 421)
        if any(origin.lower() != f"http://{hosts[0].lower()}" for origin in origins):
            return PlainTextResponse("Pages of another place get no answer.\n", 403)
        if any(path == closed or path.startswith(f"{closed}/") for closed in CLOSED):
            return PlainTextResponse("Not found.\n", 404)
        return None

    def _policy(self, host: str) -> str:
        """What a page may load: from this server alone; styles and pictures may be written into it."""
        socket_here = f" ws://{host}" if self._names.hold(host) else ""
        parts = {
            "default-src": "'none'",
            "script-src": f"'self' {self._scripts}".strip(),
            "style-src": "'self' 'unsafe-inline'",
            "img-src": "'self' data: blob:",
            "font-src": "'self' data:",
            "media-src": "'self' data: blob:",
            "connect-src": f"'self'{socket_here}",
            "worker-src": "'self' blob:",
            "manifest-src": "'self'",
            "frame-src": "data:",  # the preview of a report
            "frame-ancestors": "'none'",
            "form-action": self._forms,
            "base-uri": "'self'",
        }
        return "; ".join(f"{name} {sources}" for name, sources in parts.items())


def _digest(script: str) -> str:
    return base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
