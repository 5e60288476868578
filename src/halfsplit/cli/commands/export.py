"""`halfsplit export`: a case packed for other hands."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument("--to", metavar="FILE", help="file to make; left out, CASE.hsplit.zip")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Pack the case."""
    from pathlib import Path

    from halfsplit.cli.cases import case_path
    from halfsplit.shelf import name_of, pack_case
    from halfsplit.store.bundle import SUFFIX
    from halfsplit.store.writing import new_file

    path = case_path(args.case)
    into = Path(args.to or path.with_name(name_of(path) + SUFFIX))
    with new_file(into) as stream:
        pack_case(path, stream)
    said = f"{into}: log, board, photos, captures, checksums; to read it: halfsplit import {into}"
    return Answer(data={"case": str(path), "file": str(into)}, lines=lambda screen: [said])


KIND = Command(
    name="export",
    order=96,
    help="pack a case into one file for other hands",
    arguments=arguments,
    run=run,
)
