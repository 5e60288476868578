"""`halfsplit demo`: an example board and a fresh case, to see what it is like."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_page, whole_number
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]

_BOARD = "plotter-drive"
_FAULT = "Q2 c short to e"
"""Hidden in that board unless asked otherwise; its inverter holds phase B off."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_page(parser)
    parser.add_argument(
        "--terminal", action="store_true", help="here in the terminal, not in the browser"
    )
    parser.add_argument(
        "--board", metavar="BOARD", default=_BOARD, help=f"another board than {_BOARD}"
    )
    parser.add_argument(
        "--fault", metavar="ID", help="hide this fault, named as `halfsplit faults` lists them"
    )
    parser.add_argument("--seed", type=whole_number, metavar="S", help="draw the fault to hide")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Make a case in a folder for passing files, and open it."""
    import os
    import tempfile
    from pathlib import Path

    from halfsplit.bench import DEMO_VARIABLE, Bench
    from halfsplit.board.source import find_source
    from halfsplit.cli.cases import have_patience, new_case_path
    from halfsplit.diagnose.rehearsal import fault_named

    source = find_source(args.board)
    folder = Path(tempfile.mkdtemp(prefix="halfsplit-demo-"))
    path = folder / new_case_path(None, source.name)
    with Bench.create(path, source.text, source=source.where) as bench:
        wanted = args.fault or (_FAULT if args.board == _BOARD and args.seed is None else "")
        have_patience(bench)
        hidden = fault_named(wanted, bench.world).id if wanted else bench.hide_fault(args.seed or 1)
        bench.complain(hidden)
        if args.terminal:
            from halfsplit.cli.loop import Loop

            return Loop(bench, screen, hidden=hidden).run()
    os.environ[DEMO_VARIABLE] = hidden
    from halfsplit.cli.page import serve

    return serve(path, args)


KIND = Command(
    name="demo",
    order=10,
    help="try it on an example board",
    arguments=arguments,
    run=run,
    more="A fault is hidden in the board, which answers when asked, by the program's own "
    "predictions: that shows how one works, not how well it does (see trial). The case is made in "
    "the folder for passing files; its name is shown.",
)
