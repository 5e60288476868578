"""The meter on the card of the next check: it fills the box, and enters nothing."""

from __future__ import annotations

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.errors import CaseError
from halfsplit.instruments.book import load
from halfsplit.instruments.reading import ANSWERED, Shown, read_check
from halfsplit.web.asked import body, desk_of, text

__all__ = ["meters", "read"]


def meters() -> dict[str, object]:
    """Names of the meters that are remembered, and the kinds of check they answer. A book that
    cannot be read is none: typing does without."""
    try:
        names = [one.name for one in load().values() if one.kind == "meter"]
    except CaseError:
        names = []
    return {"meters": names, "metered": " ".join(ANSWERED)}


async def read(request: Request) -> Response:
    """``check`` and ``name`` of the meter: what it reads now. In a thread of its own, so that a
    meter that is slow keeps nobody waiting."""
    data = await body(request)
    check, name = text(data, "check"), text(data, "name")
    desk = await desk_of(request)

    def job() -> Shown:
        return read_check(desk.pen.check(check), desk.pen.world, name=name)

    return JSONResponse((await to_thread.run_sync(job)).to_json())
