"""What the page asks the server: the page itself, readings, undo, what is expected, news."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import Mapping
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles
from starlette.templating import Jinja2Templates
from starlette.websockets import WebSocket, WebSocketDisconnect

from halfsplit.diagnose.views import plain_json
from halfsplit.web.choices import choices
from halfsplit.web.desk import Desk
from halfsplit.web.guard import MOST_BYTES
from halfsplit.web.picture import picture
from halfsplit.web.snapshot import board_mark

__all__ = ["routes"]

HERE = Path(__file__).parent
PAGES = Jinja2Templates(directory=HERE / "templates")


def routes() -> list[BaseRoute]:
    """All of them."""
    return [
        Route("/", page),
        Route("/api/state", state),
        Route("/api/choices", offered),
        Route("/api/check", check),
        Route("/api/expected", expected),
        Route("/api/readings", readings, methods=["POST"]),
        Route("/api/undo", undo, methods=["POST"]),
        WebSocketRoute("/news", news),
        Mount("/static", StaticFiles(directory=HERE / "static"), name="static"),
    ]


async def page(request: Request) -> Response:
    """The page of the case, with its drawing; the rest comes by `news`."""
    desk = _desk(request)
    board = desk.pen.board
    return PAGES.TemplateResponse(
        request,
        "page.html",
        {
            "title": board.title,
            "revision": board.revision,
            "notes": board.notes,
            "mark": board_mark(board),
            "case": desk.pen.path.name,
            "drawing": picture(board),
            "states": [one.name for one in board.states if one.powered],
        },
    )


async def state(request: Request) -> Response:
    """How the case stands now."""
    return JSONResponse(plain_json(_desk(request).state))


async def offered(request: Request) -> Response:
    """Kinds of check, places, parts, outputs and states that a person may name."""
    return JSONResponse(choices(_desk(request).pen.board))


async def check(request: Request) -> Response:
    """One check, described: ``?id=volts U3.6 @rest``."""
    found = await _desk(request).asked(request.query_params.get("id", ""))
    return JSONResponse(plain_json(found))


async def expected(request: Request) -> Response:
    """What a good board reads: ``?place=U3.6&state=rest``."""
    query = request.query_params
    found = await _desk(request).expected(query.get("place", ""), query.get("state", ""))
    return JSONResponse(plain_json(found))


async def readings(request: Request) -> Response:
    """``check``, ``text``, and ``since`` when it may have been sent before. When this answers, the
    reading is on the disk."""
    data = await _body(request)
    number = await _desk(request).write(
        _text(data, "check"), _text(data, "text"), since=_number(data, "since")
    )
    return JSONResponse({"number": number}, 201)


async def undo(request: Request) -> Response:
    """``number`` of the event, or nothing for the last one; ``after`` the last event seen."""
    data = await _body(request)
    number = await _desk(request).take_back(_number(data, "number"), _number(data, "after"))
    return JSONResponse({"number": number}, 201)


async def news(socket: WebSocket) -> None:
    """Every new state of the case, as JSON; what the page says is not listened to."""
    await socket.accept()
    desk: Desk = socket.app.state.desk
    queue = desk.watch()
    listening = asyncio.create_task(_until_gone(socket))
    try:
        while not listening.done():
            waiting = asyncio.create_task(queue.get())
            await asyncio.wait({waiting, listening}, return_when=asyncio.FIRST_COMPLETED)
            if not waiting.done():
                waiting.cancel()
                break
            await socket.send_text(json.dumps(plain_json(waiting.result()), allow_nan=False))
    except (WebSocketDisconnect, RuntimeError):
        pass
    finally:
        desk.leave(queue)
        listening.cancel()


async def _until_gone(socket: WebSocket) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            await socket.receive_text()


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


async def _body(request: Request) -> Mapping[str, object]:
    """The JSON object that was sent. A content type that a form cannot send keeps forms of other
    pages out."""
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise HTTPException(415, "expected application/json")
    raw = bytearray()
    async for chunk in request.stream():
        raw += chunk
        if len(raw) > MOST_BYTES:
            raise HTTPException(413, f"A request holds at most {MOST_BYTES} bytes.")
    try:
        data = json.loads(raw)
    except (ValueError, RecursionError):
        raise HTTPException(400, "expected a JSON object, got something else") from None
    if not isinstance(data, dict):
        raise HTTPException(400, "expected a JSON object, got something else")
    return data


def _text(data: Mapping[str, object], name: str) -> str:
    value = data.get(name)
    if not isinstance(value, str):
        raise HTTPException(400, f"expected a text as {name!r}")
    return value


def _number(data: Mapping[str, object], name: str) -> int | None:
    value = data.get(name)
    if value is not None and (isinstance(value, bool) or not isinstance(value, int)):
        raise HTTPException(400, f"expected a whole number as {name!r}")
    return value
