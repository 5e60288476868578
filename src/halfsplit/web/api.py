"""What the pages of a case ask and tell: readings, undo, notes, settings, what is expected."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, fields, replace
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.bench import DEMO_VARIABLE, Bench
from halfsplit.board.feedback import feedback
from halfsplit.build.channels import channels
from halfsplit.checks._calibrate import calibrated_as_typed
from halfsplit.checks.kind import ADDED, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.told import limits_data
from halfsplit.diagnose.views import plain_json
from halfsplit.errors import UnknownName
from halfsplit.report import html
from halfsplit.report.drawing import drawing
from halfsplit.report.pdf import pdf
from halfsplit.report.wording import SETUPS, meter_lines
from halfsplit.store import own_meter
from halfsplit.web.asides import aside, heard
from halfsplit.web.asked import as_list, body, desk_of, number, share, text, to_file
from halfsplit.web.choices import choices
from halfsplit.web.table import table_of

__all__ = [
    "board_drawing",
    "check",
    "expected",
    "finish",
    "limits",
    "many_readings",
    "meter",
    "meter_measured",
    "note",
    "offered",
    "paths",
    "readings",
    "record_file",
    "record_pdf",
    "rehearse",
    "repaired",
    "settings",
    "sound",
    "state",
    "suspect",
    "table",
    "undo",
    "undo_after",
]  # fmt: skip

MOST_AT_ONCE = 2000
MOST_SOURCE = 100


async def state(request: Request) -> Response:
    """How the case stands now."""
    return JSONResponse(plain_json((await desk_of(request)).state))


async def offered(request: Request) -> Response:
    """Kinds of check, places, parts, outputs and states that a person may name."""
    return JSONResponse(choices((await desk_of(request)).pen.board))


async def check(request: Request) -> Response:
    """One check, described: ``?id=volts U3.6 @rest``."""
    found = await (await desk_of(request)).asked(request.query_params.get("id", ""))
    return JSONResponse(plain_json(found))


async def expected(request: Request) -> Response:
    """What a good board reads: ``?place=U3.6&state=rest``."""
    query = request.query_params
    desk = await desk_of(request)
    found = await desk.expected(query.get("place", ""), query.get("state", ""))
    return JSONResponse(plain_json(found))


async def table(request: Request) -> Response:
    """What a good board reads at every net: ``?state=rest&state=home``."""
    states = request.query_params.getlist("state")
    desk = await desk_of(request)
    return JSONResponse(plain_json(await desk.ask(lambda bench: table_of(bench, states))))


async def suspect(request: Request) -> Response:
    """One suspect with its reasons, however unlikely: ``?id=U2``."""
    wanted = request.query_params.get("id", "").strip()

    def job(bench: Bench) -> object:
        found = bench.suspects()
        for one in found:
            if wanted.casefold() in (one.id.casefold(), one.suspect.suspect.designator.casefold()):
                return one.to_json(most_faults=5)
        raise UnknownName("suspect", wanted, [one.id for one in found])

    return JSONResponse(plain_json(await (await desk_of(request)).ask(job)))


async def paths(request: Request) -> Response:
    """The signal paths with what readings say of each net, loops of blocks, and the groups of like
    channels."""

    def job(bench: Bench) -> dict[str, object]:
        return {
            "paths": [one.to_json() for one in bench.halvings()],
            "loops": [one.to_json() for one in feedback(bench.board)],
            "channels": [
                [{"nets": list(one.nets), "parts": list(one.parts)} for one in group]
                for group in channels(bench.board)
            ],
        }

    return JSONResponse(plain_json(await (await desk_of(request)).ask(job)))


async def beside(request: Request) -> Response:
    """What is asked beside the next check: ``/api/aside/worth``."""
    name, query = request.path_params["name"], dict(request.query_params)
    found = await (await desk_of(request)).ask(lambda bench: aside(name, bench, query))
    return JSONResponse(plain_json(found))


async def sound(request: Request) -> Response:
    """A recording as octets, made at ``rate`` steps a second: which faults would sound like it."""
    desk, query = await desk_of(request), dict(request.query_params)
    with tempfile.TemporaryDirectory(prefix="halfsplit-sound-") as folder:
        recording = Path(folder) / "sound.wav"
        with recording.open("wb") as file:
            await to_file(request, file, "application/octet-stream")
        found = await desk.ask(lambda bench: heard(bench, recording, query))
    return JSONResponse(plain_json(found))


async def finish(request: Request) -> Response:
    """Close the case; refused while the acceptance run is not complete, unless ``unproven``."""
    unproven = (await body(request)).get("unproven") is True
    return await _told(request, lambda pen: pen.finish(unproven=unproven)[0].number)


async def settings(request: Request) -> Response:
    """The meter and what is left out."""
    told = (await desk_of(request)).pen.told
    return JSONResponse({"meter": asdict(told.meter), "limits": limits_data(told.limits)})


async def rehearse(request: Request) -> Response:
    """In the demo: what the board with its hidden fault reads: ``?check=volts U3.6 @rest``."""
    fault = os.environ.get(DEMO_VARIABLE, "")
    if not fault or "case" in request.path_params:
        raise HTTPException(404, "This is not the demo; the board itself has to be asked.")
    named = request.query_params.get("check", "")
    desk = await desk_of(request)
    said = await desk.ask(lambda bench: bench.rehearse(fault, bench.check(named)))
    return JSONResponse({"text": said, "fault": fault})


async def readings(request: Request) -> Response:
    """``check``, ``text``, ``source`` when an instrument filled it, and ``since`` when it may have
    been sent before. When this answers, the reading is on the disk."""
    data = await body(request)
    desk = await desk_of(request)
    source = text(data, "source")[:MOST_SOURCE] if "source" in data else ""
    made = await desk.write(
        text(data, "check"), text(data, "text"), source=source, since=number(data, "since")
    )
    return JSONResponse({"number": made}, 201)


async def many_readings(request: Request) -> Response:
    """``readings``, a list of ``check`` and ``text``, and ``since``: each answered in its place by
    ``number``, or by ``error`` when it was not understood and so not kept."""
    data = await body(request)
    asked = as_list(data, "readings")
    if not 0 < len(asked) <= MOST_AT_ONCE or not all(isinstance(one, dict) for one in asked):
        raise HTTPException(400, f"expected 1 to {MOST_AT_ONCE} readings")
    pairs = [(text(one, "check"), text(one, "text")) for one in asked if isinstance(one, Mapping)]
    found = await (await desk_of(request)).write_many(pairs, since=number(data, "since"))
    return JSONResponse({"results": found, "number": max(one.get("number", 0) for one in found)})


async def undo(request: Request) -> Response:
    """``number`` of the event, or nothing for the last one; ``after`` the last event seen."""
    data = await body(request)
    which, after = number(data, "number"), number(data, "after")
    return await _told(request, lambda pen: pen.take_back(which, after=after))


async def undo_after(request: Request) -> Response:
    """Take back all that was done after ``number``; ``after`` the last event seen."""
    data = await body(request)
    which, after = number(data, "number"), number(data, "after")
    if which is None:
        raise HTTPException(400, "expected a whole number as 'number'")
    return await _told(request, lambda pen: pen.take_back_after(which, after=after))


async def note(request: Request) -> Response:
    """``text`` to write into the log."""
    words = text(await body(request), "text")
    return await _told(request, lambda pen: pen.note(words).number)


async def repaired(request: Request) -> Response:
    """``suspect``: its repair is done; readings from now on are of the board as it is then."""
    suspect = text(await body(request), "suspect")
    return await _told(request, lambda pen: pen.repaired(suspect).number)


async def limits(request: Request) -> Response:
    """``without_kinds`` and ``without_setups``: what is left out from now on; ``give_up``, what a
    substitute costs, when somebody said."""
    data = await body(request)
    kinds = _among(as_list(data, "without_kinds"), [kind.name for kind in CHECKS], "kind of check")
    setups = _among(as_list(data, "without_setups"), SETUPS, "setup")
    price = None if data.get("give_up") is None else share(data, "give_up")
    if price is not None and not 0.0 <= price < 1e9:
        raise HTTPException(400, "expected a price from 0 up")

    def job(pen: Bench) -> int:
        chosen = replace(pen.told.limits, without_kinds=kinds, without_setups=setups, give_up=price)
        return pen.set_limits(chosen).number

    return await _told(request, job)


async def meter(request: Request) -> Response:
    """Fields of the meter, numbers in SI units or fractions; calibration may be left out."""
    data = await body(request)
    names = [field.name for field in fields(Meter) if field.name in data or field.name not in ADDED]
    values = {name: share(data, name) for name in names}
    if not all(0.0 <= value <= 1e12 for value in values.values()) or values["input_ohms"] < 1e3:
        raise HTTPException(400, "expected numbers from 0 up, and an input of 1 kΩ at least")
    return await _told(request, lambda pen: pen.set_meter(replace(pen.told.meter, **values)).number)


async def meter_measured(request: Request) -> Response:
    """``resistors``, each its value, what the ohms range shows and what the diode test shows, and
    ``diode``, what the diode test and the ohms range show, or nothing; ``keep`` for new cases too.
    Answers what the meter is then, in ``lines``."""
    data = await body(request)
    resistors = [_texts(one, 3) for one in as_list(data, "resistors")]
    diode = _texts(data.get("diode"), 2) if data.get("diode") else None
    desk = await desk_of(request)

    def job(pen: Bench) -> tuple[int, Meter]:
        found = calibrated_as_typed(pen.told.meter, resistors, diode)
        return pen.set_meter(found).number, found

    made, found = await desk.tell(job)
    if data.get("keep") is True:
        own_meter.save(asdict(found))
    return JSONResponse({"number": made, "lines": list(meter_lines(found))}, 201)


def _texts(one: object, count: int) -> list[str]:
    if not isinstance(one, list) or len(one) != count or not all(isinstance(x, str) for x in one):
        raise HTTPException(400, f"expected lists of {count} texts")
    return one


async def record_file(request: Request) -> Response:
    """The repair record as one file that needs nothing else."""
    desk = await desk_of(request)
    made = await desk.ask(lambda bench: html.whole(bench.record(), bench.attachment))
    headers = {"content-security-policy": html.policy(), **_saved(desk.pen.path.stem, "html")}
    return Response(made, media_type="text/html", headers=headers)


async def board_drawing(request: Request) -> Response:
    """The drawing of the board as a picture."""
    made = drawing((await desk_of(request)).pen.board)
    return Response(made, media_type="image/svg+xml")


async def record_pdf(request: Request) -> Response:
    """The repair record as PDF."""
    desk = await desk_of(request)
    made = await desk.ask(lambda bench: pdf(bench.record(), bench.attachment))
    headers = _saved(desk.pen.path.stem, "pdf")
    return Response(made, media_type="application/pdf", headers=headers)


def _saved(name: str, ending: str) -> dict[str, str]:
    plain = "".join(sign if sign.isascii() and sign.isalnum() else "-" for sign in name)
    return {"content-disposition": f'attachment; filename="{plain}-record.{ending}"'}


def _among(given: list[object], known: Iterable[str], what: str) -> frozenset[str]:
    names = list(known)
    for one in given:
        if one not in names:
            raise UnknownName(what, str(one), names)
    return frozenset(str(one) for one in given)


async def _told(request: Request, job: Callable[[Bench], int]) -> Response:
    made = await (await desk_of(request)).tell(job)
    return JSONResponse({"number": made}, 201)
