"""`halfsplit board`: is a board file right, and what does it say?"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command, problem_data
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.board.model import Board
    from halfsplit.errors import Problem

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_board(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Examine the file; exit code 1 when a line cannot be used."""
    from halfsplit.board.lint import warnings
    from halfsplit.board.reader import examine
    from halfsplit.board.source import find_source
    from halfsplit.parts.vocabulary import PartsVocabulary

    source, vocabulary = find_source(args.board), PartsVocabulary()
    examination = examine(source.text, vocabulary)
    problems = list(examination.problems)
    board = examination.board
    if board is not None and examination.good:
        problems += warnings(board, vocabulary)
        problems += _from_circuit(board)
    problems.sort(key=lambda problem: (problem.line, problem.column))
    errors = sum(problem.severity == "error" for problem in problems)
    counts = {
        "parts": len(board.parts) if board else 0,
        "nets": len(board.nets()) if board else 0,
        "rails": len(board.rails) if board else 0,
        "states": len(board.states) if board else 0,
        "outputs": len(board.outputs) if board else 0,
        "offsheet": len(board.offsheet) if board else 0,
        "testpoints": len(board.testpoints) if board else 0,
    }
    title = board.title if board else ""
    data = {
        "source": source.where,
        "title": title,
        "revision": board.revision if board else "",
        "good": errors == 0,
        "errors": errors,
        "warnings": len(problems) - errors,
        "counts": counts,
        "problems": [problem_data(problem) for problem in problems],
    }

    def lines(screen: Screen) -> Iterable[str]:
        for problem in problems:
            yield from screen.wrap(problem.at(source.where), hang="    ")
        if problems:
            yield ""
        yield screen.strong(title or source.where)
        yield "  " + ", ".join(_counted(n, what) for what, n in counts.items() if n)
        yield "  " + _verdict(errors, len(problems) - errors)

    return Answer(data=data, lines=lines, code=1 if errors else 0)


def _from_circuit(board: Board) -> list[Problem]:
    """What only shows when the board is made into a circuit."""
    from halfsplit.build.compiled import compile_board
    from halfsplit.errors import BoardError, HalfsplitError, Problem

    try:
        compile_board(board)
    except BoardError as error:
        return list(error.problems)
    except HalfsplitError as error:
        return [Problem(line=0, column=0, severity="error", message=str(error))]
    return []


_ONE = {
    "parts": "part", "nets": "net", "rails": "rail", "states": "state", "outputs": "output",
    "offsheet": "net off the sheet", "testpoints": "test point",
}  # fmt: skip
_MANY = {"offsheet": "nets off the sheet", "testpoints": "test points"}


def _counted(number: int, what: str) -> str:
    return f"{number} {_ONE[what] if number == 1 else _MANY.get(what, what)}"


def _verdict(errors: int, warnings: int) -> str:
    doubts = f"{warnings} warning{'s' if warnings != 1 else ''}"
    if errors:
        return f"{errors} error{'s' if errors != 1 else ''}, {doubts}: mend the errors first"
    return f"no errors, {doubts}" if warnings else "reads well"


KIND = Command(
    name="board",
    order=20,
    help="check a board file and count what it says",
    arguments=arguments,
    run=run,
    more="The exit code is 1 when there are errors in the file, 0 when it can be used.",
)
