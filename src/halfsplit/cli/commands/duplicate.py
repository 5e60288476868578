"""`halfsplit duplicate`: a copy of a case."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument("--to", metavar="CASE", required=True, help="file to make")
    parser.add_argument(
        "--board-only",
        action="store_true",
        help="only the board, the meter and what is left out: another board of the kind",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Make the copy."""
    from halfsplit.cli.cases import case_path, new_case_path
    from halfsplit.shelf import duplicate_case

    into = new_case_path(args.to, "")
    duplicate_case(case_path(args.case), into, board_only=args.board_only)
    return Answer(data={"case": str(into)}, lines=lambda screen: [f"{into}: a copy"])


KIND = Command(
    name="duplicate",
    order=54,
    help="copy a case, or begin anew with its board",
    arguments=arguments,
    run=run,
)
