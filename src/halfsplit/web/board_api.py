"""What the board editor asks: what is wrong with a text, its words, a table or sweeps as text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from anyio import to_thread
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from halfsplit.bench import Bench
from halfsplit.board.buzz import Sweep, bare_parts, toned
from halfsplit.board.lint import warnings
from halfsplit.board.opening import opened, spliced
from halfsplit.board.pintable import board_of_table
from halfsplit.board.reader import examine
from halfsplit.board.source import examples, find_source
from halfsplit.errors import BoardError, Problem, UnknownName
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.schematic.picture import picture
from halfsplit.web.asked import as_list, body, desk_of, text

__all__ = [
    "buzz", "examined", "example", "from_table", "inside", "open_block", "revise", "words",
]  # fmt: skip

MOST_PARTS_DRAWN = 400


async def revise(request: Request) -> Response:
    """``text``: go on with a corrected board; readings are kept."""
    typed = text(await body(request), "text")
    made = await (await desk_of(request)).tell(lambda pen: pen.revise(typed).number)
    return JSONResponse({"number": made}, 201)


async def examined(request: Request) -> Response:
    """``text``: its ``problems``, how much it says, and its ``drawing`` when that can be made."""
    typed = text(await body(request), "text")
    earlier = (await desk_of(request)).pen.boards
    return JSONResponse(await to_thread.run_sync(lambda: _examined(typed, earlier)))


async def inside(request: Request) -> Response:
    """``block`` and ``text``, lines of the parts inside it: as `examined` for the board with them
    in its place, lines counted in what was typed, 0 for what is wrong elsewhere."""
    data = await body(request)
    block, typed = text(data, "block"), text(data, "text")
    pen = (await desk_of(request)).pen
    return JSONResponse(await to_thread.run_sync(lambda: _inside(pen, block, typed)))


async def open_block(request: Request) -> Response:
    """``block`` and ``text``: the parts go into its place; readings are kept. ``left`` are the
    numbers of those that are about a place that is no longer there."""
    data = await body(request)
    block, typed = text(data, "block"), text(data, "text")
    desk = await desk_of(request)
    made = await desk.tell(lambda pen: pen.open_block(block, typed).number)
    left = await desk.ask(lambda bench: [one.number for one in bench.log() if one.why_not])
    answer = {"number": made, "left": left, "text": desk.pen.told.board_text}
    return JSONResponse(answer, 201)


async def words(request: Request) -> Response:
    """What may be typed: kinds with their pins and fields, type numbers, words of lines."""
    vocabulary = PartsVocabulary()
    kinds = {
        kind.name: {
            "title": kind.title,
            "unit": kind.value_unit or "",
            "pins": [pin.name for pin in kind.pins],
            "fields": [field.name for field in kind.fields],
            "example": kind.example,
        }
        for kind in vocabulary.kinds().values()
    }
    types = {name: word.kind for name, word in vocabulary.types().items()}
    return JSONResponse(
        {"kinds": kinds, "types": types, "letters": dict(vocabulary.letters())},
        headers={"cache-control": "private, max-age=3600"},
    )


async def from_table(request: Request) -> Response:
    """``text``: a table of parts, pins and nets; answers the lines it makes."""
    made = board_of_table(text(await body(request), "text"), PartsVocabulary())
    remarks = [{"row": one.row, "words": one.words} for one in made.remarks]
    return JSONResponse({"text": made.text, "remarks": remarks})


async def example(request: Request) -> Response:
    """The text of an example: ``?name=logic-card``."""
    name = request.query_params.get("name", "")
    if name not in examples():
        raise UnknownName("example", name, examples())
    return JSONResponse({"text": find_source(name).text})


async def buzz(request: Request) -> Response:
    """``parts`` typed without nets and the ``sweeps`` so far; answers what to sweep next."""
    data = await body(request)
    parts, wrong = bare_parts(text(data, "parts"), PartsVocabulary())
    sweeps = [_sweep(one) for one in as_list(data, "sweeps")]
    if wrong:
        return JSONResponse({"wrong": list(wrong)})
    found = toned(parts, sweeps, PartsVocabulary())
    return JSONResponse(
        {
            "wrong": [],
            "ask": found.ask,
            "open": list(found.open),
            "nets": {net: list(pins) for net, pins in found.nets.items()},
            "conflicts": list(found.conflicts),
            "text": found.text,
        }
    )


def _sweep(one: object) -> Sweep:
    if not isinstance(one, Mapping):
        raise HTTPException(400, "expected sweeps as objects")
    others = as_list(one, "others")
    return Sweep(
        pin=text(one, "pin"),
        others=tuple(str(other) for other in others),
        net="".join(text(one, "net").split())[:40],
    )


def _inside(pen: Bench, block: str, typed: str) -> dict[str, Any]:
    whole, first = spliced(pen.board, block, typed)
    found = _examined(whole, pen.boards)
    if found["good"]:
        try:
            opened(pen.board, block, typed, PartsVocabulary())
        except BoardError as error:
            found |= {"good": False, "problems": [_said(one) for one in error.problems]}
    last = first + len(typed.splitlines())
    for problem in found["problems"]:
        within = first <= problem["line"] < last
        problem["line"] = problem["line"] - first + 1 if within else 0
    return found


def _examined(typed: str, earlier: Sequence[str]) -> dict[str, Any]:
    vocabulary = PartsVocabulary()
    found = examine(typed, vocabulary)
    problems = list(found.problems)
    board = found.board
    if board is not None and found.good:
        problems += warnings(board, vocabulary)
    small = board is not None and 0 < len(board.parts) <= MOST_PARTS_DRAWN
    return {
        "good": found.good and board is not None,
        "problems": [_said(problem) for problem in problems],
        "parts": len(board.parts) if board else 0,
        "nets": list(board.nets()) if board else [],
        "states": len(board.states) if board else 0,
        "outputs": len(board.outputs) if board else 0,
        "drawing": str(picture(board, earlier)) if board is not None and small else "",
    }


def _said(problem: Problem) -> dict[str, object]:
    return {
        "line": problem.line,
        "column": problem.column,
        "severity": problem.severity,
        "message": problem.message,
        "nearest": problem.nearest,
    }
