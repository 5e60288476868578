"""The case of a part with a pin marked, for the next check's card."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.board.model import Board
from halfsplit.draw.package import Package, package_of, package_svg
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.web.asked import desk_of

__all__ = ["package"]


async def package(request: Request) -> Response:
    """``?place=U3.6``: the ``name`` of the case and the ``sides`` it is seen from, each an SVG;
    empty when the place is no pin or the case cannot be told."""
    board = (await desk_of(request)).pen.board
    part, _, pin = request.query_params.get("place", "").partition("/")[0].partition(".")
    found = _package(board, part)
    if found is None or pin not in found.legs:
        return JSONResponse({})
    sides = {"parts side": False, "solder side": True}
    drawn = {name: package_svg(found, pin, solder) for name, solder in sides.items()}
    return JSONResponse({"name": found.name, "part": part, "pin": pin, "sides": drawn})


def _package(board: Board, designator: str) -> Package | None:
    part = board.part(designator)
    if part is None:
        return None
    word = PartsVocabulary().kinds().get(part.kind)
    names = [pin.name for pin in word.pins] if word and word.pins else list(part.pins)
    return package_of(part.kind, part.type, names)
