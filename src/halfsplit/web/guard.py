"""Who may ask, how much, and what a browser may do with the answer."""

from __future__ import annotations

import ipaddress
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

if TYPE_CHECKING:
    from halfsplit.web.pairing import Door

__all__ = ["MOST_BYTES", "Guard", "most_bytes"]

MOST_BYTES = 64_000
"""Of a request's body, where nothing else is said."""
MORE_BYTES = (
    ("/api/cases/packed", 1_000_000_000),
    ("/api/captures", 8_000_000_000),
    ("/api/photos", 25_000_000),
    ("/api/aside/sound", 100_000_000),
    ("/api/board", 4_000_000),
    ("/api/board/examined", 4_000_000),
    ("/api/board/table", 4_000_000),
    ("/api/cases", 4_000_000),
    ("/api/board/buzz", 400_000),
    ("/api/readings/many", 400_000),
)
"""Ends of addresses that take more."""

NAMES = frozenset({"127.0.0.1", "localhost", "::1"})

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "cache-control": "no-cache",
}


class Guard:
    """Refuses requests for other hosts (a name that was made to point here), requests that a page
    of another origin makes, and bodies that are too large; adds headers to every answer."""

    def __init__(self, app: ASGIApp, door: Door | None = None) -> None:
        """``door`` when the page is open to the local network."""
        self._app = app
        self._door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        refusal = _refusal(scope, self._door)
        if scope["type"] == "websocket":
            if refusal:
                await receive()
                await send({"type": "websocket.close", "code": 1008, "reason": refusal[1]})
                return
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        if refusal:
            answer: Response = PlainTextResponse(refusal[1], refusal[0])
            if refusal[0] == 401 and "text/html" in Headers(scope=scope).get("accept", ""):
                answer = RedirectResponse("/pair", 303)
            await answer(scope, receive, with_headers)
            return
        await self._app(scope, receive, with_headers)


def most_bytes(path: str) -> int:
    """Of the body of a request to this address."""
    return next((most for end, most in MORE_BYTES if path.endswith(end)), MOST_BYTES)


def _refusal(scope: Scope, door: Door | None) -> tuple[int, str] | None:
    headers = Headers(scope=scope)
    host = headers.get("host", "")
    name = _name(f"//{host}")
    # A name may be made to point here by anybody; an address in figures may not.
    if name not in NAMES and not (door is not None and _is_address(name)):
        return 421, "This page is served to this machine alone, as 127.0.0.1 or localhost."
    origin = headers.get("origin")
    asks = scope["type"] == "websocket" or scope.get("method") not in ("GET", "HEAD")
    if asks and origin is not None and origin.casefold() != f"http://{host}".casefold():
        return 403, "A page of another origin may not ask this."
    if asks and headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return 403, "A page of another origin may not ask this."
    length = headers.get("content-length", "0")
    most = most_bytes(scope["path"])
    if not (length.isascii() and length.isdigit()) or int(length[:12]) > most:
        return 413, f"A request holds at most {most} bytes here."
    if door is not None and not door.admits(scope):
        return 401, "Type the code that is shown where Halfsplit was started, at /pair."
    return None


def _is_address(name: str | None) -> bool:
    try:
        ipaddress.ip_address(name or "")
    except ValueError:
        return False
    return True


def _name(address: str) -> str | None:
    try:
        return urlsplit(address).hostname
    except ValueError:
        return None
