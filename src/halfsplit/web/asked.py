"""What a request carries: its desk, a JSON body, texts and numbers in it, raw bytes."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Mapping
from typing import IO

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request

from halfsplit.shelf import Shelf
from halfsplit.web.desk import Desk
from halfsplit.web.desks import Desks
from halfsplit.web.guard import most_bytes

__all__ = [
    "as_list", "body", "desk_of", "number", "raw", "share", "shelf_of", "text", "to_file",
]  # fmt: skip


async def desk_of(connection: HTTPConnection) -> Desk:
    """The desk of the case that the address names. Raises CaseError."""
    desks: Desks = connection.app.state.desks
    return await desks.get(connection.path_params.get("case", ""))


def shelf_of(connection: HTTPConnection) -> Shelf:
    """The shelf of all cases."""
    desks: Desks = connection.app.state.desks
    return desks.shelf


async def body(request: Request) -> Mapping[str, object]:
    """The JSON object that was sent. A content type that a form cannot send keeps forms of other
    pages out."""
    _require_type(request, "application/json")
    try:
        data = json.loads(await _whole(request))
    except (ValueError, RecursionError):
        raise HTTPException(400, "expected a JSON object, got something else") from None
    if not isinstance(data, dict):
        raise HTTPException(400, "expected a JSON object, got something else")
    return data


async def raw(request: Request, *types: str) -> bytes:
    """The bytes that were sent as one of these types."""
    _require_type(request, *types)
    return bytes(await _whole(request))


async def to_file(request: Request, file: IO[bytes], *types: str) -> None:
    """What was sent, streamed to ``file``; nothing is kept in memory."""
    _require_type(request, *types)
    async for chunk in _chunks(request):
        file.write(chunk)


def text(data: Mapping[str, object], name: str) -> str:
    """The text of that name."""
    value = data.get(name)
    if not isinstance(value, str):
        raise HTTPException(400, f"expected a text as {name!r}")
    return value


def number(data: Mapping[str, object], name: str) -> int | None:
    """The whole number of that name, if there is one."""
    value = data.get(name)
    if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
        raise HTTPException(400, f"expected a whole number as {name!r}")
    return value


def share(data: Mapping[str, object], name: str) -> float:
    """The number of that name."""
    value = data.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise HTTPException(400, f"expected a number as {name!r}")
    return float(value)


def as_list(data: Mapping[str, object], name: str) -> list[object]:
    """The list of that name."""
    value = data.get(name)
    if not isinstance(value, list):
        raise HTTPException(400, f"expected a list as {name!r}")
    return value


def _require_type(request: Request, *types: str) -> None:
    if request.headers.get("content-type", "").partition(";")[0].strip() not in types:
        raise HTTPException(415, f"expected {' or '.join(types)}")


async def _whole(request: Request) -> bytearray:
    data = bytearray()
    async for chunk in _chunks(request):
        data += chunk
    return data


async def _chunks(request: Request) -> AsyncIterator[bytes]:
    """The body bit by bit, no further than the address allows, whatever was announced."""
    most, size = most_bytes(request.url.path), 0
    async for chunk in request.stream():
        size += len(chunk)
        if size > most:
            raise HTTPException(413, f"A request holds at most {most} bytes here.")
        yield chunk
