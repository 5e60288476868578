"""Letting a phone in: a code shown where the program was started, a cookie once it was typed."""

from __future__ import annotations

import hmac
import ipaddress
import secrets
import time
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

from halfsplit.web.asked import body, text

__all__ = ["COOKIE", "Door", "pair"]

COOKIE = "halfsplit"
FREE_TRIES = 5
"""Wrong codes before there is a wait, which doubles with each further one."""
LONGEST_WAIT = 900.0
OPEN_TO_ALL = ("/pair", "/api/pair")


class Door:
    """Who may come in while the page is open to the local network: this machine, and whoever has
    typed the code. Held in memory: when the program is started again, phones pair again."""

    def __init__(
        self, code: str, *, address: str = "", clock: Callable[[], float] = time.monotonic
    ) -> None:
        """``address`` is where a phone finds the page."""
        self.code, self.address = code, address
        self._clock = clock
        self._tokens: set[str] = set()
        self._wrong = 0
        self._not_before = 0.0

    def admits(self, scope: Scope) -> bool:
        """Whether this request may pass."""
        client = scope.get("client")
        if client and _is_loopback(client[0]):
            return True
        if scope["path"] in OPEN_TO_ALL or scope["path"].startswith("/static/"):
            return True
        token = _cookie(Headers(scope=scope).get("cookie", ""))
        return any(hmac.compare_digest(token.encode(), one.encode()) for one in self._tokens)

    def try_code(self, typed: str) -> str | float:
        """A token for the right code; else the seconds to wait before the next try."""
        wait = self._not_before - self._clock()
        if wait > 0.0:
            return wait
        plain = "".join(sign for sign in typed if sign.isdigit())
        if hmac.compare_digest(plain.encode(), self.code.encode()):
            self._wrong = 0
            token = secrets.token_urlsafe(32)
            self._tokens.add(token)
            return token
        self._wrong += 1
        over = self._wrong - FREE_TRIES
        pause = min(LONGEST_WAIT, 5.0 * 2.0 ** min(over, 10)) if over >= 0 else 0.0
        self._not_before = self._clock() + pause
        return pause


async def pair(request: Request) -> Response:
    """``code`` as typed; the answer sets the cookie that lets this browser in."""
    door: Door | None = request.app.state.door
    typed = text(await body(request), "code")
    found = door.try_code(typed) if door is not None else 0.0
    if isinstance(found, str):
        answer = JSONResponse({"paired": True})
        answer.set_cookie(COOKIE, found, httponly=True, samesite="strict")
        return answer
    wait = f" Wait {found:.0f} s before the next try." if found >= 1.0 else ""
    message = f"That is not the code shown where Halfsplit was started.{wait}"
    return JSONResponse({"error": {"type": "Request", "message": message}}, 403)


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host.partition("%")[0]).is_loopback
    except ValueError:
        return False


def _cookie(header: str) -> str:
    try:
        found = SimpleCookie(header).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found else ""
