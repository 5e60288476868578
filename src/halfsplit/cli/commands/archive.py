"""`halfsplit archive`: say that a case is done with."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument("--back", action="store_true", help="it is on the bench again")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Write it into the log."""
    from halfsplit.bench import Bench
    from halfsplit.cli.cases import case_path

    path = case_path(args.case)
    with Bench.open(path) as bench:
        number = bench.archive(not args.back)
    said = "is on the bench again" if args.back else "is archived; nothing in it is changed"
    data = {"case": str(path), "event": number, "archived": not args.back}
    return Answer(data=data, lines=lambda screen: [f"{path} {said}"])


KIND = Command(
    name="archive",
    order=94,
    help="say that a case is done with, so that lists pass over it",
    arguments=arguments,
    run=run,
)
