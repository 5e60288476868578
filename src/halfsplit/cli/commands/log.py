"""`halfsplit log`: everything that was done in a case."""

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


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """List all events in order, those taken back among them."""
    from halfsplit.cli.cases import open_case
    from halfsplit.cli.show import log_lines

    with open_case(args.case) as bench:
        entries, title = bench.log(), bench.board.title
    data = {"title": title, "events": [entry.to_json() for entry in entries]}

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(title)
        yield from log_lines(entries, screen)
        if not all(entry.counts for entry in entries):
            yield "- marks what was taken back or does not count. Times are UTC."
        else:
            yield "Times are UTC."

    return Answer(data=data, lines=lines)


KIND = Command(
    name="log",
    order=90,
    help="list everything that was done in a case",
    arguments=arguments,
    run=run,
)
