"""`halfsplit demo`: an example board and a fresh case, to see what it is like."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_page
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]

_BOARD = "plotter-drive"


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_page(parser)
    parser.add_argument(
        "--terminal", action="store_true", help="here in the terminal, not in the browser"
    )
    parser.add_argument(
        "--board", metavar="BOARD", default=_BOARD, help=f"another board than {_BOARD}"
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Make a case in a folder for passing files, and open it."""
    import tempfile
    from pathlib import Path

    from halfsplit.bench import Bench
    from halfsplit.board.source import find_source
    from halfsplit.cli.cases import have_patience, new_case_path

    source = find_source(args.board)
    folder = Path(tempfile.mkdtemp(prefix="halfsplit-demo-"))
    path = folder / new_case_path(None, source.name)
    with Bench.create(path, source.text, source=source.where) as bench:
        if args.terminal:
            from halfsplit.cli.loop import Loop

            have_patience(bench)
            return Loop(bench, screen).run()
    from halfsplit.cli.page import serve

    return serve(path, args)


KIND = Command(
    name="demo",
    order=10,
    help="try it on an example board",
    arguments=arguments,
    run=run,
    more="The case is made in the folder for passing files; its name is shown.",
)
