"""What the list of cases asks: begin, copy, archive, pack and unpack."""

from __future__ import annotations

import tempfile
from pathlib import Path
from urllib.parse import quote

from anyio import to_thread
from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response

from halfsplit.bench import Bench
from halfsplit.board.source import examples, find_source
from halfsplit.errors import UnknownName
from halfsplit.shelf import name_of, pack_case
from halfsplit.store.bundle import SUFFIX
from halfsplit.web.asked import body, shelf_of, text, to_file

__all__ = ["archive", "cases", "duplicate", "new", "packed", "unpack"]


async def cases(request: Request) -> Response:
    """All cases of the folder."""
    cards = await to_thread.run_sync(shelf_of(request).cards)
    hidden = {"case"}
    said = [
        {name: value for name, value in card.to_json().items() if name not in hidden}
        | {"address": f"/case/{quote(card.name)}/"}
        for card in cards
    ]
    return JSONResponse({"cases": said})


async def new(request: Request) -> Response:
    """``name``, and ``example`` or ``text``: begin a case."""
    data = await body(request)
    shelf = shelf_of(request)
    name = text(data, "name")
    if "example" in data:
        example = text(data, "example")
        if example not in examples():
            raise UnknownName("example", example, examples())
        source = find_source(example)
        board, where = source.text, source.where
    else:
        board, where = text(data, "text"), "board"
    made = await to_thread.run_sync(
        lambda: shelf.new(shelf.free_name(name or "case"), board, source=where)
    )
    return _made(name_of(made))


async def duplicate(request: Request) -> Response:
    """``name`` of the copy, and ``board_only``."""
    data = await body(request)
    shelf, name = shelf_of(request), request.path_params["name"]
    only = data.get("board_only") is True
    made = await to_thread.run_sync(
        lambda: shelf.duplicate(name, shelf.free_name(text(data, "name") or name), board_only=only)
    )
    return _made(name_of(made))


async def archive(request: Request) -> Response:
    """``archived``: done with, or on the bench again."""
    archived = (await body(request)).get("archived") is True
    path = shelf_of(request).path(request.path_params["name"])

    def job() -> int:
        with Bench.open(path) as bench:
            return bench.archive(archived)

    return JSONResponse({"number": await to_thread.run_sync(job)}, 201)


async def packed(request: Request) -> Response:
    """The case as one packed file."""
    path = shelf_of(request).path(request.path_params["name"])
    folder = tempfile.TemporaryDirectory(prefix="halfsplit-packed-")
    file = f"{folder.name}/packed.zip"

    def job() -> None:
        with open(file, "xb") as stream:
            pack_case(path, stream)

    try:
        await to_thread.run_sync(job)
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(
        file,
        media_type="application/zip",
        filename=name_of(path) + SUFFIX,
        background=BackgroundTask(folder.cleanup),
    )


async def unpack(request: Request) -> Response:
    """A packed case, as it is: ``?name=`` says how to call it."""
    shelf = shelf_of(request)
    name = request.query_params.get("name", "").partition(".")[0]
    with tempfile.TemporaryDirectory(prefix="halfsplit-packed-") as folder:
        source = Path(folder) / "packed.zip"
        with source.open("xb") as file:
            await to_file(request, file, "application/zip", "application/octet-stream")
        made = await to_thread.run_sync(
            lambda: shelf.unpack(source, shelf.free_name(name or "case"))
        )
    return _made(name_of(made))


def _made(name: str) -> Response:
    return JSONResponse({"name": name, "address": f"/case/{quote(name)}/"}, 201)
