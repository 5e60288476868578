"""`halfsplit next`: what to measure, or to repair, now."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case, whole_number
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument(
        "--count", type=whole_number, default=5, metavar="N", help="at most N suggestions; else 5"
    )
    parser.add_argument("--full", action="store_true", help="tell all of every suggestion")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Rank what could be done."""
    from halfsplit.cli.cases import open_case
    from halfsplit.cli.show import next_lines
    from halfsplit.cli.suggested import offer

    with open_case(args.case) as bench:
        view, title = offer(bench, bench.next(args.count)), bench.board.title

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(title)
        yield from next_lines(view, screen, full=args.count if args.full else 1)

    return Answer(data={"title": title, **view.to_json()}, lines=lines)


KIND = Command(
    name="next",
    order=60,
    help="say what to measure or to repair now, and why",
    arguments=arguments,
    run=run,
    more="The numbers before the suggestions may be given to `halfsplit enter`.",
)
