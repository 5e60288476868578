"""`halfsplit open`: a case as a page in the browser."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_case, add_page
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    add_page(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Serve the page until it is stopped."""
    from halfsplit.bench import Bench
    from halfsplit.cli.cases import case_path
    from halfsplit.cli.page import serve

    path = case_path(args.case)
    with Bench.open(path):
        pass
    return serve(path, args)


KIND = Command(
    name="open",
    order=15,
    help="open a case as a page in the browser",
    arguments=arguments,
    run=run,
    more="The page is served to this machine alone, until it is stopped with Ctrl-C.",
)
