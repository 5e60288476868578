"""Captures: taken in, listed, drawn window by window, read as steps."""

from __future__ import annotations

import math
from weakref import WeakKeyDictionary

from anyio import to_thread
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.bench import Bench
from halfsplit.build.healthy import compile_few
from halfsplit.build.transient_schedule import read_schedule
from halfsplit.capture.record import Record
from halfsplit.diagnose.captured import read_capture
from halfsplit.diagnose.overlay import overlay
from halfsplit.diagnose.views import plain_json
from halfsplit.errors import CaptureError
from halfsplit.evidence import Entered, enter_capture
from halfsplit.finding import drawn
from halfsplit.recordings import MOST_CHANNELS, Recordings, size_of
from halfsplit.waves.account import account
from halfsplit.waves.channels import lines_of
from halfsplit.waves.plot import picture_of
from halfsplit.web.asked import body, desk_of, text, to_file
from halfsplit.web.desk import Desk

__all__ = [
    "add", "columns", "enter", "give", "listed", "measured", "overlaid", "page_data", "picture",
    "remove", "steps",
]  # fmt: skip

ALONE = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""Of a drawing that is looked at by itself: its own style, and nothing else."""
MOST_COLUMNS = 4000
MOST_FOR_STEPS = 20_000_000
"""Edges and samples of all lines together that are read as steps at once."""
_of_desk: WeakKeyDictionary[Desk, Recordings] = WeakKeyDictionary()


async def recordings_of(request: Request) -> tuple[Desk, Recordings]:
    """The captures of the case that the address names."""
    desk = await desk_of(request)
    if desk not in _of_desk:
        _of_desk[desk] = Recordings(desk.pen.path)
    return desk, _of_desk[desk]


async def page_data(request: Request) -> dict[str, object]:
    """All captures, and the board's nets; a capture that cannot be opened says why."""
    desk, found = await recordings_of(request)

    def job() -> list[dict[str, object]]:
        told: list[dict[str, object]] = []
        for name in found.names():
            try:
                told.append(found.told(name, desk.pen.board))
            except CaptureError as error:
                told.append({"name": name, "trouble": str(error)})
        return told

    return {"captures": await to_thread.run_sync(job), "nets": list(desk.pen.board.nets())}


async def listed(request: Request) -> Response:
    """What `page_data` says."""
    return JSONResponse(plain_json(await page_data(request)))


async def add(request: Request) -> Response:
    """The bytes of a capture file as octets, ``?file=seek.vcd``; they are streamed to the disk,
    read, and kept. Answers what is in it."""
    desk, found = await recordings_of(request)
    file_name = request.query_params.get("file", "").replace("\\", "/").rpartition("/")[2][:200]
    try:
        path = found.fresh(file_name)
    except OSError as error:
        raise CaptureError(f"cannot be kept: {error.strerror}", source=file_name) from error
    try:
        with path.open("wb") as file:
            await to_file(request, file, "application/octet-stream")
        name = await to_thread.run_sync(lambda: found.add(file_name or "capture", path))
    except OSError as error:
        raise CaptureError(f"cannot be kept: {error.strerror}", source=file_name) from error
    finally:
        path.unlink(missing_ok=True)
    return JSONResponse(plain_json(found.told(name, desk.pen.board)), 201)


async def remove(request: Request) -> Response:
    """Put a capture away for good."""
    _, found = await recordings_of(request)
    await body(request)
    await to_thread.run_sync(lambda: found.remove(request.path_params["name"]))
    return JSONResponse({})


async def give(request: Request) -> Response:
    """``channel`` is on ``net``, empty for none."""
    desk, found = await recordings_of(request)
    data = await body(request)
    channel, net = text(data, "channel"), text(data, "net")
    found.give(request.path_params["name"], channel, net, desk.pen.board)
    return JSONResponse(plain_json(found.told(request.path_params["name"], desk.pen.board)))


async def columns(request: Request) -> Response:
    """``?begin=&end=&count=&channel=&channel=``: as `Recordings.columns` says."""
    _, found = await recordings_of(request)
    query = request.query_params
    begin, end = _number(query.get("begin")), _number(query.get("end"))
    count, channels = int(_number(query.get("count"))), query.getlist("channel")
    if not (begin < end and 0 < count <= MOST_COLUMNS and len(channels) <= MOST_CHANNELS):
        raise HTTPException(
            400,
            f"expected begin before end, 1 to {MOST_COLUMNS} columns, at most {MOST_CHANNELS} "
            "channels",
        )
    name = request.path_params["name"]
    data = await to_thread.run_sync(lambda: found.columns(name, channels, begin, end, count))
    return Response(data, media_type="application/octet-stream")


async def measured(request: Request) -> Response:
    """``?begin=&end=``: every channel between two times."""
    _, found = await recordings_of(request)
    begin, end = (_number(request.query_params.get(name)) for name in ("begin", "end"))
    if begin >= end:
        raise HTTPException(400, "expected begin before end")
    name = request.path_params["name"]
    told = await to_thread.run_sync(lambda: found.measured(name, begin, end))
    return JSONResponse(plain_json(told))


async def steps(request: Request) -> Response:
    """``?line=PHA&line=PHB&begin=&end=&family=ttl``: what phase lines did between two times."""
    _, found = await recordings_of(request)
    query = request.query_params
    name, lines = request.path_params["name"], query.getlist("line")
    family = query.get("family", "ttl")
    begin, end = _number(query.get("begin")), _number(query.get("end"))

    def job() -> dict[str, object]:
        record = found.get(name).record.window(begin, end)
        _require_small(record, lines)
        told = account(lines_of(record, lines, family)[0])
        picture = picture_of(told)
        data = told.to_json()
        return {
            **{key: data[key] for key in ("verdict", "lines", "sentence", "moves")},
            "marks": picture.to_json()["marks"],
            "ticks": [[step.time, step.position] for step in told.ledger.steps],
        }

    return JSONResponse(plain_json(await to_thread.run_sync(job)))


async def overlaid(request: Request) -> Response:
    """``?played=rest 20ms, a/b x8 10ms&fault=``: what the stages did, and the waveforms that a good
    board, and one with that fault, shows, at the record's own times."""
    desk, found = await recordings_of(request)
    name, query = request.path_params["name"], request.query_params
    schedule, fault = read_schedule(query.get("played", "")), query.get("fault") or None

    def job() -> dict[str, object]:
        # A small world of its own need not wait for what is being worked out about all faults.
        board = desk.pen.board
        world = compile_few(board, [fault] if fault else [])
        record = found.get(name).record
        nets = found.nets(name, board)
        _require_small(record, list(nets))
        captured = read_capture(record, nets, world, schedule)
        laid = overlay(record, nets, world, schedule, fault=fault)
        channel_of = {net: channel for channel, net in nets.items()}
        data = laid.to_json()
        del data["time"]
        for line in data["lines"]:  # type: ignore[attr-defined]  # a list of mappings, just made
            del line["measured"]
            line["channel"] = channel_of[line["net"]]
        begin = laid.laid.shift
        return {
            **captured.to_json(), **data, "begin": begin,
            "end": begin + laid.laid.pace * schedule.seconds,
        }  # fmt: skip

    return JSONResponse(plain_json(await to_thread.run_sync(job)))


async def enter(request: Request) -> Response:
    """Enter what the stages of a capture did: ``played`` says what was played meanwhile, empty for
    a motor that was being stepped."""
    desk, found = await recordings_of(request)
    name, played = request.path_params["name"], text(await body(request), "played")
    schedule = read_schedule(played) if played.strip() else None

    def job(bench: Bench) -> Entered:
        record = found.get(name).record
        nets = found.nets(name, bench.board)
        _require_small(record, list(nets))
        return enter_capture(bench, record, nets, schedule, keep=lambda: name)

    done = await desk.ask(job)
    desk.wake()
    return JSONResponse(
        plain_json({**done.captured.to_json(), "entered": list(done.readings)}), 201
    )


async def picture(request: Request) -> Response:
    """What a capture showed, drawn from the numbers that the case keeps."""
    desk = await desk_of(request)
    wanted = request.path_params["number"]
    shown = next((one for one in desk.pen.findings() if one.number == wanted), None)
    if shown is None:
        raise HTTPException(404, "There is no such finding in this case.")
    data = await to_thread.run_sync(lambda: drawn(desk.pen.attachment(shown.sha256)))
    return Response(data, media_type="image/svg+xml", headers={"content-security-policy": ALONE})


def _require_small(record: Record, lines: list[str]) -> None:
    size = sum(size_of(record.channel(line)) for line in lines)
    if size > MOST_FOR_STEPS:
        raise CaptureError(
            f"expected at most {MOST_FOR_STEPS:,} samples and edges to read at once, got {size:,}; "
            "look at a shorter window, or record less",
            source=record.source,
        )


def _number(given: str | None) -> float:
    try:
        value = float(given or "")
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise HTTPException(400, "expected times and counts as numbers")
    return value
