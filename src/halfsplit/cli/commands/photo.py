"""`halfsplit photo`: a photo into a case."""

from __future__ import annotations

import argparse

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument("--file", metavar="FILE", required=True, help="a JPEG or PNG file")
    parser.add_argument(
        "--side",
        choices=("parts", "solder", "other"),
        default="parts",
        help="which side of the board it shows (parts)",
    )
    parser.add_argument("--words", metavar="WORDS", default="", help="what it shows")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Keep the photo in the case."""
    from halfsplit.bench import Bench
    from halfsplit.cli.cases import case_path
    from halfsplit.store.writing import read_file

    path = case_path(args.case)
    side = args.side if args.side == "other" else f"{args.side} side"
    with Bench.open(path) as bench:
        number = bench.add_photo(read_file(args.file), side=side, words=args.words)
    said = f"kept in {path} as entry {number}, without place, time and owner of the camera"
    return Answer(data={"case": str(path), "event": number}, lines=lambda screen: [said])


KIND = Command(
    name="photo",
    order=92,
    help="keep a photo of the board in the case",
    arguments=arguments,
    run=run,
)
