"""Which address is answered by what. Every address of a case is there twice: from the root for the
case that was opened first, and under ``/case/NAME/`` for any."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route, WebSocketRoute

from halfsplit.packaged import packaged
from halfsplit.web import (
    api,
    board_api,
    capture_api,
    experience_api,
    instrument_api,
    package_api,
    pages,
    photo_api,
    shelf_api,
)
from halfsplit.web.assets import ADDRESS, Assets
from halfsplit.web.news import news
from halfsplit.web.pairing import pair

__all__ = ["routes"]


def routes() -> list[BaseRoute]:
    """All of them."""
    return [
        *_of_a_case(),
        Mount("/case/{case}", routes=_of_a_case()),
        Route("/pair", pages.pair),
        Route("/api/pair", pair, methods=["POST"]),
        Route("/cases", pages.cases),
        Route("/api/cases", shelf_api.cases),
        Route("/api/cases", shelf_api.new, methods=["POST"]),
        Route("/api/cases/packed", shelf_api.unpack, methods=["POST"]),
        Route("/api/cases/{name}/packed", shelf_api.packed),
        Route("/api/cases/{name}/duplicate", shelf_api.duplicate, methods=["POST"]),
        Route("/api/cases/{name}/archive", shelf_api.archive, methods=["POST"]),
        Route("/api/experience", experience_api.shown),
        Route("/api/experience", experience_api.merge, methods=["POST"]),
        Route("/api/experience/file", experience_api.handed_on),
        Route("/record.css", record_style),
        Mount(ADDRESS, Assets(), name="static"),
    ]


def _of_a_case() -> list[BaseRoute]:
    return [
        Route("/", pages.bench),
        Route("/readings", pages.readings),
        Route("/photos", pages.photos),
        Route("/captures", pages.captures),
        Route("/board", pages.board),
        Route("/record", pages.record),
        Route("/record.html", api.record_file),
        Route("/record.pdf", api.record_pdf),
        Route("/board.svg", api.board_drawing),
        Route("/tools", pages.tools),
        Route("/api/state", api.state),
        Route("/api/choices", api.offered),
        Route("/api/check", api.check),
        Route("/api/expected", api.expected),
        Route("/api/package", package_api.package),
        Route("/api/table", api.table),
        Route("/api/suspect", api.suspect),
        Route("/api/paths", api.paths),
        Route("/api/aside/sound", api.sound, methods=["POST"]),
        Route("/api/aside/{name}", api.beside),
        Route("/api/settings", api.settings),
        Route("/api/rehearse", api.rehearse),
        Route("/api/readings", api.readings, methods=["POST"]),
        Route("/api/readings/many", api.many_readings, methods=["POST"]),
        Route("/api/meter/reading", instrument_api.read, methods=["POST"]),
        Route("/api/undo", api.undo, methods=["POST"]),
        Route("/api/undo-after", api.undo_after, methods=["POST"]),
        Route("/api/repaired", api.repaired, methods=["POST"]),
        Route("/api/finish", api.finish, methods=["POST"]),
        Route("/api/notes", api.note, methods=["POST"]),
        Route("/api/limits", api.limits, methods=["POST"]),
        Route("/api/meter", api.meter, methods=["POST"]),
        Route("/api/meter/measured", api.meter_measured, methods=["POST"]),
        Route("/api/photos", photo_api.add, methods=["POST"]),
        Route("/api/photos/{number:int}", photo_api.show),
        Route("/api/photos/{number:int}/markers", photo_api.mark, methods=["POST"]),
        Route("/api/captures", capture_api.listed),
        Route("/api/captures", capture_api.add, methods=["POST"]),
        Route("/api/captures/{name}/columns", capture_api.columns),
        Route("/api/captures/{name}/measured", capture_api.measured),
        Route("/api/captures/{name}/steps", capture_api.steps),
        Route("/api/captures/{name}/overlay", capture_api.overlaid),
        Route("/api/captures/{name}/enter", capture_api.enter, methods=["POST"]),
        Route("/api/findings/{number:int}.svg", capture_api.picture),
        Route("/api/captures/{name}/nets", capture_api.give, methods=["POST"]),
        Route("/api/captures/{name}/remove", capture_api.remove, methods=["POST"]),
        Route("/api/board", board_api.revise, methods=["POST"]),
        Route("/api/board/examined", board_api.examined, methods=["POST"]),
        Route("/api/board/inside", board_api.open_block, methods=["POST"]),
        Route("/api/board/inside/examined", board_api.inside, methods=["POST"]),
        Route("/api/board/words", board_api.words),
        Route("/api/board/table", board_api.from_table, methods=["POST"]),
        Route("/api/board/example", board_api.example),
        Route("/api/board/buzz", board_api.buzz, methods=["POST"]),
        WebSocketRoute("/news", news),
    ]


async def record_style(request: Request) -> Response:
    """The record's own style sheet, which a saved record carries inside."""
    text = packaged("report/record.css").read_text(encoding="utf-8")
    return Response(text, media_type="text/css")
