"""Photos: taken in, shown, marked."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.web.asked import body, desk_of, raw, share, text

__all__ = ["add", "mark", "show"]

_ALONE = "default-src 'none'; sandbox"


async def add(request: Request) -> Response:
    """The bytes of a JPEG or PNG; ``?side=parts side&words=as it came``."""
    data = await raw(request, "image/jpeg", "image/png")
    query = request.query_params
    side, words = query.get("side", ""), query.get("words", "")
    desk = await desk_of(request)
    made = await desk.tell(lambda pen: pen.add_photo(data, side=side, words=words))
    return JSONResponse({"number": made}, 201)


async def show(request: Request) -> Response:
    """The photo's bytes, under a policy that lets nothing in them act."""
    desk = await desk_of(request)
    wanted = request.path_params["number"]
    found = next((one for one in desk.pen.photos() if one.number == wanted), None)
    if found is None:
        raise HTTPException(404, "There is no such photo in this case.")
    headers = {"content-security-policy": _ALONE, "cache-control": "private, max-age=86400"}
    return Response(desk.pen.attachment(found.sha256), media_type=found.media, headers=headers)


async def mark(request: Request) -> Response:
    """``place`` at ``x`` and ``y``, fractions of the photo from its top left."""
    data = await body(request)
    number = request.path_params["number"]
    place, x, y = text(data, "place").strip(), share(data, "x"), share(data, "y")
    desk = await desk_of(request)
    made = await desk.tell(lambda pen: pen.mark_photo(number, place, x, y))
    return JSONResponse({"number": made}, 201)
