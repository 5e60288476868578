"""`halfsplit open`: a case as a page in the browser."""

from __future__ import annotations

import argparse
from pathlib import Path

from halfsplit.cli.arguments import add_case, add_page
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen
from halfsplit.errors import CaseError

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    add_page(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Serve the page until it is stopped."""
    from halfsplit.bench import Bench
    from halfsplit.cli.page import serve

    path = _case_or_folder(args.case)
    if not path.is_dir():
        with Bench.open(path):
            pass
    return serve(path, args)


def _case_or_folder(word: str | None) -> Path:
    """The case named, or the only one here; else the folder, whose page lists its cases."""
    from halfsplit.cli.cases import case_path

    if word is None:
        try:
            return case_path(None)
        except CaseError:
            return Path()
    return Path(word) if Path(word).is_dir() else case_path(word)


KIND = Command(
    name="open",
    order=15,
    help="open a case as a page in the browser",
    arguments=arguments,
    run=run,
    more="The page is served to this machine alone, unless --network is given, until it is stopped "
    "with Ctrl-C. A folder, or a folder with several cases or none when CASE is left out, is shown "
    "as a list of cases.",
)
