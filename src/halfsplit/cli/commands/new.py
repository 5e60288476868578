"""`halfsplit new`: begin a case."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "case", metavar="CASE", nargs="?", help="file to make; left out, named after the board"
    )
    parser.add_argument(
        "--board", metavar="BOARD", required=True, help="a board file, or the name of an example"
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Make the case file and say what to do first."""
    from halfsplit.bench import Bench
    from halfsplit.board.source import find_source
    from halfsplit.cli.cases import new_case_path

    source = find_source(args.board)
    path = new_case_path(args.case, source.name)
    with Bench.create(path, source.text, source=source.where) as bench:
        board, entry = bench.board, bench.log()[0]
    data = {"case": str(path), "title": board.title, "event": entry.to_json()}

    def lines(screen: Screen) -> Iterable[str]:
        yield f"{path}: a new case of {board.title}"
        yield f"What to measure first: halfsplit next {path}"

    return Answer(data=data, lines=lines)


KIND = Command(
    name="new",
    order=50,
    help="begin a case: one board, one repair, one file",
    arguments=arguments,
    run=run,
    more="The board is copied into the case, so that the file is all there is to keep.",
)
