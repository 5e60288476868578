"""`halfsplit revise`: go on with a corrected board."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument(
        "--board", metavar="BOARD", required=True, help="the board file as it is now"
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Put the board in the case; every reading is weighed anew."""
    from halfsplit.board.source import find_source
    from halfsplit.cli.cases import open_case

    source = find_source(args.board)
    with open_case(args.case) as bench:
        entry = bench.revise(source.text, source=source.where)
        left = {one.number: one.why_not for one in bench.log() if one.why_not}

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"#{entry.number} the board is now that of {source.where}.")
        yield from (f"  #{number} moves nothing now: {why}" for number, why in left.items())

    data = {"event": entry.to_json(), "left_out": list(left)}
    return Answer(data=data, lines=lines)


KIND = Command(
    name="revise",
    order=93,
    help="go on with a corrected board file; readings are kept",
    arguments=arguments,
    run=run,
)
