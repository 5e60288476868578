"""The page as an application: `create_app` makes it, a server runs it."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.bench import CASE_VARIABLE, NETWORK_VARIABLE
from halfsplit.errors import CaseError, ConflictError, HalfsplitError
from halfsplit.web.desks import Desks
from halfsplit.web.guard import Guard
from halfsplit.web.pairing import Door
from halfsplit.web.routes import routes

__all__ = ["create_app"]


def create_app(path: str | os.PathLike[str] | None = None) -> Starlette:
    """The pages of the case or folder of cases at ``path``, else of what the environment names.

    Raises CaseError when neither names a case that can be opened.
    """
    named = path if path is not None else os.environ.get(CASE_VARIABLE)
    if not named:
        raise CaseError(f"expected the path of a case in {CASE_VARIABLE}, found none")
    desks = Desks(Path(named))
    code, _, address = os.environ.get(NETWORK_VARIABLE, "").partition(" ")
    door = Door(code, address=address) if code else None

    @asynccontextmanager
    async def open_case(app: Starlette) -> AsyncIterator[None]:
        await desks.start()
        try:
            yield
        finally:
            await desks.stop()

    app = Starlette(
        routes=routes(),
        middleware=[Middleware(Guard, door=door)],
        exception_handlers={HalfsplitError: _refused, HTTPException: _not_done},
        lifespan=open_case,
    )
    app.state.desks = desks
    app.state.door = door
    return app


async def _refused(request: Request, error: Exception) -> Response:
    status = 409 if isinstance(error, ConflictError) else 422
    return JSONResponse({"error": {"type": type(error).__name__, "message": str(error)}}, status)


async def _not_done(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    data = {"error": {"type": "Request", "message": error.detail}}
    return JSONResponse(data, error.status_code)
