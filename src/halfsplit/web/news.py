"""News of a case: every new state, over one WebSocket a page."""

from __future__ import annotations

import asyncio
import contextlib

from starlette.websockets import WebSocket, WebSocketDisconnect

from halfsplit.errors import CaseError
from halfsplit.web.asked import desk_of

__all__ = ["news"]


async def news(socket: WebSocket) -> None:
    """Every new state of the case, as JSON; what the page says is not listened to."""
    try:
        desk = await desk_of(socket)
    except CaseError:
        await socket.close(1008, "no such case")
        return
    await socket.accept()
    queue = desk.watch()
    listening = asyncio.create_task(_until_gone(socket))
    try:
        while not listening.done():
            waiting = asyncio.create_task(queue.get())
            await asyncio.wait({waiting, listening}, return_when=asyncio.FIRST_COMPLETED)
            if not waiting.done():
                waiting.cancel()
                break
            await socket.send_text(waiting.result())
    except (WebSocketDisconnect, RuntimeError):
        pass
    finally:
        desk.leave(queue)
        listening.cancel()


async def _until_gone(socket: WebSocket) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            await socket.receive_text()
