"""The pages of a case, and the list of cases."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path
from urllib.parse import quote

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.templating import Jinja2Templates

from halfsplit.album import SIDES, Photo
from halfsplit.bench import DEMO_VARIABLE
from halfsplit.board.opening import blocks_of
from halfsplit.board.reader import read_board
from halfsplit.board.source import examples, find_source
from halfsplit.build.gates_board import has_gates
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.views import plain_json
from halfsplit.finding import Finding
from halfsplit.glossary import WORDS
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.report import html
from halfsplit.report.wording import SETUPS
from halfsplit.schematic.picture import picture
from halfsplit.web.asked import desk_of, shelf_of
from halfsplit.web.assets import ADDRESS, needed_by
from halfsplit.web.desks import Desks
from halfsplit.web.instrument_api import meters
from halfsplit.web.pairing import Door
from halfsplit.web.snapshot import board_mark

__all__ = ["bench", "board", "captures", "cases", "pair", "photos", "readings", "record", "tools"]

PAGES = Jinja2Templates(directory=Path(__file__).parent / "templates")
PAGES.env.globals |= {"words": WORDS, "static": ADDRESS, "needed_by": needed_by}


async def bench(request: Request) -> Response:
    """The bench: next check, outputs, suspects, drawing, log. Without a case, the list."""
    desks: Desks = request.app.state.desks
    if desks.first is None and "case" not in request.path_params:
        return RedirectResponse("/cases")
    pen = (await desk_of(request)).pen
    drawn = await to_thread.run_sync(picture, pen.board, pen.boards)
    return await _page(
        request, "bench", drawing=drawn, notes=pen.board.notes, logic=has_gates(pen.board),
        stepping=sum(part.kind == "winding" for part in pen.board.parts) > 1,
        **meters(),
    )  # fmt: skip


async def readings(request: Request) -> Response:
    """The table of readings."""
    return await _page(request, "readings")


async def photos(request: Request) -> Response:
    """Photos and the markers on them."""
    return await _page(request, "photos", sides=SIDES)


async def captures(request: Request) -> Response:
    """Captures as waveforms."""
    return await _page(request, "captures")


async def board(request: Request) -> Response:
    """The editor of the board's text."""
    desk = await desk_of(request)
    drawn = await to_thread.run_sync(picture, desk.pen.board, desk.pen.boards)
    return await _page(
        request, "board", text=desk.pen.told.board_text, drawing=drawn,
        examples=_examples(), blocks=blocks_of(desk.pen.board),
    )  # fmt: skip


async def record(request: Request) -> Response:
    """The repair record."""
    desk = await desk_of(request)
    found = await desk.ask(lambda bench: bench.record())
    base = base_of(request)
    drawn = f"{base}board.svg?{board_mark(desk.pen.board)}"

    def source(shown: Photo | Finding) -> str:
        if isinstance(shown, Photo):
            return f"{base}api/photos/{shown.number}"
        return f"{base}api/findings/{shown.number}.svg"

    article = html.body(found, source, drawn)
    return await _page(request, "record", article=article)


async def tools(request: Request) -> Response:
    """What the person has and can do: meter, limits; and notes."""
    return await _page(request, "tools", kinds=list(CHECKS), setups=SETUPS)


async def cases(request: Request) -> Response:
    """All cases of the folder."""
    shelf = shelf_of(request)
    desks: Desks = request.app.state.desks
    context = {
        "page": "cases", "base": "/", "folder": shelf.folder.absolute().name,
        "examples": _examples(), "first": desks.first is not None,
    }  # fmt: skip
    return PAGES.TemplateResponse(request, "cases.html", context)


@cache
def _examples() -> tuple[tuple[str, str], ...]:
    """Name and title of each board that comes with the program."""
    words = PartsVocabulary()
    return tuple((name, read_board(find_source(name).text, words).title) for name in examples())


async def pair(request: Request) -> Response:
    """Where a phone types the code."""
    return PAGES.TemplateResponse(request, "pair.html", {"page": "pair", "base": "/"})


def base_of(request: Request) -> str:
    """Where the addresses of this case begin."""
    case = request.path_params.get("case")
    return f"/case/{quote(case)}/" if case else "/"


def network_address(request: Request) -> str:
    """Address and code for a phone, when the page is open to the network and asked for here."""
    door: Door | None = request.app.state.door
    return f"{door.address} with the code {door.code}" if door else ""


async def _page(request: Request, name: str, **more: object) -> Response:
    desk = await desk_of(request)
    board = desk.pen.board
    context = {
        "page": name,
        "base": base_of(request),
        "title": board.title or "Board without a title",
        "revision": board.revision,
        "mark": board_mark(board),
        "kept": desk.mark,
        "case": desk.pen.path.stem,
        "states": [one.name for one in board.states if one.powered],
        "address": network_address(request),
        "state": plain_json(desk.state),
        "demo": bool(os.environ.get(DEMO_VARIABLE)) and "case" not in request.path_params,
    }
    return PAGES.TemplateResponse(request, f"{name}.html", context | more)
