"""The gate of pages that are shared in a local network: a PIN for each device, few tries, nothing without it.

The PIN is new at each start and shown on the terminal of the computer alone. A device that gives it gets a
random token in a cookie, which no script and no other site's page can use, and which ends with the program.
Wrong PINs are counted for each address and for all together: whoever guesses is shut out long before one PIN
in a thousand is tried. The way is plain HTTP: whoever can listen in the network can read along.

References
----------
RFC 6265 (cookies); NIST SP 800-63B, section 5.2.2 (limiting the rate of guesses).
"""

import hmac
import secrets
import time
from collections.abc import Callable
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.requests import Request, cookie_parser
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

PIN_DIGITS = 6
TRIES = 5
"""Wrong PINs of one address before it has to wait."""
WAIT = 600.0
"""How long it then waits [s]."""
MOST_WRONG = 100
"""Wrong PINs of all addresses together, after which no further device is let in until the next start."""
LONGEST_FORM = 200
"""Bytes of a form with a PIN."""
PATH = "/pin"
_COOKIE = "coiltoll_device"
_PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Coiltoll: PIN</title><style>
body {{ font: 1.1rem/1.4 sans-serif; max-width: 22rem; margin: 4rem auto; padding: 0 1rem; color: #1b2630; }}
input, button {{ font: inherit; min-height: 44px; width: 100%; box-sizing: border-box; margin: .4rem 0; }}
button {{ background: #0a6577; color: #fff; border: 0; border-radius: .35rem; }}
</style></head><body><main><h1>Coiltoll</h1><p role="status">{said}</p>
<form method="post" action="/pin"><label for="pin">PIN, from the screen of the computer that shares its units
</label><input id="pin" name="pin" inputmode="numeric" autocomplete="off" maxlength="6" required autofocus>
<button>Open</button></form></main></body></html>
"""


def new_pin() -> str:
    """A PIN that nobody can foresee."""
    return f"{secrets.randbelow(10**PIN_DIGITS):0{PIN_DIGITS}d}"


class Gate:
    """A program for a server that a device reaches with the PIN only.

    Parameters
    ----------
    behind : ASGI program
        What is behind the gate.
    pin : str
        The PIN.
    clock : callable
        Seconds that never go back.
    """

    def __init__(self, behind: ASGIApp, pin: str, clock: Callable[[], float] = time.monotonic) -> None:
        self._behind = behind
        self._pin = pin
        self._clock = clock
        self._tokens: set[str] = set()
        self._wrong: dict[str, list[float]] = {}
        self._all_wrong = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand a request on, or ask for the PIN."""
        if scope["type"] not in ("http", "websocket") or self._is_known(Headers(scope=scope)):
            await self._behind(scope, receive, send)
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
        else:
            answer = await self._answer(Request(scope, receive))
            await answer(scope, receive, send)

    def _is_known(self, headers: Headers) -> bool:
        token = cookie_parser(headers.get("cookie", "")).get(_COOKIE, "")
        return any(hmac.compare_digest(token.encode(), known.encode()) for known in self._tokens)

    async def _answer(self, request: Request) -> Response:
        """The form, or the way in for who gave the PIN."""
        if request.url.path != PATH:
            return _form("This computer shares its units in this network.", 401)
        given = request.query_params.get("pin", "")
        if request.method == "POST":
            given = parse_qs((await _body(request)).decode("ascii", "replace")).get("pin", [""])[0]
        if not given:
            return _form("This computer shares its units in this network.", 401)
        return self._judged(given, request.client.host if request.client else "")

    def _judged(self, given: str, address: str) -> Response:
        """The way in, or why there is none; every wrong PIN is counted."""
        now = self._clock()
        recent = [moment for moment in self._wrong.get(address, []) if now - moment < WAIT]
        if self._all_wrong >= MOST_WRONG:
            return _form("Too many wrong PINs. Start the sharing again on the computer.", 429)
        if len(recent) >= TRIES:
            return _form(f"Too many wrong PINs. Wait {WAIT / 60:.0f} minutes.", 429)
        if hmac.compare_digest(given.strip().encode(), self._pin.encode()):
            token = secrets.token_urlsafe(32)
            self._tokens.add(token)
            answer = RedirectResponse("/", 303)
            answer.set_cookie(_COOKIE, token, httponly=True, samesite="strict", path="/")
            return answer
        self._wrong[address] = [*recent, now]
        self._all_wrong += 1
        return _form(f"This is not the PIN. {TRIES - len(recent) - 1} tries are left.", 401)


async def _body(request: Request) -> bytes:
    """Body of a short form; a longer one is read no further."""
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > LONGEST_FORM:
            return b""
    return body


def _form(said: str, status: int) -> Response:
    return HTMLResponse(_PAGE.format(said=said), status, headers={"Cache-Control": "no-store"})
