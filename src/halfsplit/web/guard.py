"""Who may ask, how much, and what a browser may do with the answer."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["MOST_BYTES", "Guard"]

MOST_BYTES = 64_000
"""Of a request's body."""

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

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        refusal = _refusal(scope)
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
                    headers[name] = value
            await send(message)

        if refusal:
            await PlainTextResponse(refusal[1], refusal[0])(scope, receive, with_headers)
            return
        await self._app(scope, receive, with_headers)


def _refusal(scope: Scope) -> tuple[int, str] | None:
    headers = Headers(scope=scope)
    host = headers.get("host", "")
    if _name(f"//{host}") not in NAMES:
        return 421, "This page is served to this machine alone, as 127.0.0.1 or localhost."
    origin = headers.get("origin")
    asks = scope["type"] == "websocket" or scope.get("method") not in ("GET", "HEAD")
    if asks and origin is not None and origin.casefold() != f"http://{host}".casefold():
        return 403, "A page of another origin may not ask this."
    if asks and headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return 403, "A page of another origin may not ask this."
    length = headers.get("content-length", "0")
    if not (length.isascii() and length.isdigit()) or int(length[:12]) > MOST_BYTES:
        return 413, f"A request holds at most {MOST_BYTES} bytes."
    return None


def _name(address: str) -> str | None:
    try:
        return urlsplit(address).hostname
    except ValueError:
        return None
