"""`halfsplit repair`: a case at the bench, in the terminal, one question after another."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Ask for one reading after another until the person stops."""
    from halfsplit.cli.cases import open_case
    from halfsplit.cli.loop import Loop

    with open_case(args.case) as bench:
        return Loop(bench, screen).run()


KIND = Command(
    name="repair",
    order=55,
    help="work through a case in the terminal, one check after another",
    arguments=arguments,
    run=run,
    more="Shows the next check and takes the reading; ? lists what else can be typed.",
)
