"""`halfsplit import`: a case of a packed file."""

from __future__ import annotations

import argparse

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", metavar="FILE", help="what `halfsplit export` made")
    parser.add_argument("--to", metavar="CASE", help="case to make; left out, named after FILE")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Unpack it into a new case."""
    from pathlib import Path

    from halfsplit.cli.cases import new_case_path
    from halfsplit.shelf import unpack_case

    name = Path(args.file).name.partition(".")[0] or "case"
    into = new_case_path(args.to, name)
    unpack_case(args.file, into)
    return Answer(data={"case": str(into)}, lines=lambda screen: [f"{into}: a whole case"])


KIND = Command(
    name="import",
    order=97,
    help="make a case of a packed one",
    arguments=arguments,
    run=run,
    more="Of a damaged or changed file nothing is taken.",
)
