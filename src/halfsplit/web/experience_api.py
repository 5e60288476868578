"""The library of proven cases: counts, handed on as a file and merged."""

from __future__ import annotations

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.store.experience import dumped, load, merged, parsed, save
from halfsplit.web.asked import raw

__all__ = ["handed_on", "merge", "shown"]


async def shown(request: Request) -> Response:
    """Proven cases by kind of part and way of failing, the most frequent first."""
    counts = await to_thread.run_sync(load)
    rows = sorted(counts.items(), key=lambda row: -row[1])
    said = [{"kind": kind, "mode": mode, "cases": count} for (kind, mode), count in rows]
    return JSONResponse({"proven": said})


async def handed_on(request: Request) -> Response:
    """The library as a file for somebody else."""
    headers = {"content-disposition": 'attachment; filename="experience.json"'}
    text = dumped(await to_thread.run_sync(load))
    return Response(text, media_type="application/json", headers=headers)


async def merge(request: Request) -> Response:
    """Add somebody else's library to one's own."""
    text = (await raw(request, "application/json")).decode("utf-8", errors="replace")
    added = parsed(text, "the file")
    await to_thread.run_sync(lambda: save(merged(load(), added)))
    return JSONResponse({"cases": sum(added.values())}, 201)
