"""`halfsplit cases`: the cases of a folder."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "folder", metavar="FOLDER", nargs="?", default=".", help="left out, the current one"
    )
    parser.add_argument("--all", action="store_true", help="those archived too")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """List the cases, the one last worked on first."""
    import os

    from halfsplit.errors import CaseError
    from halfsplit.shelf import Shelf

    if not os.path.isdir(args.folder):
        raise CaseError(f"{args.folder}: expected a folder, got none; check the name")
    cards = [card for card in Shelf(args.folder).cards() if args.all or not card.archived]

    def lines(screen: Screen) -> Iterable[str]:
        for card in cards:
            yield screen.strong(card.name) + (" (archived)" if card.archived else "")
            if card.trouble:
                yield f"  cannot be used: {card.trouble}"
                continue
            counts = f"{card.readings} readings, {card.photos} photos"
            yield f"  {card.title}; {counts}; last on {card.last[:16].replace('T', ' ')}"
        if not cards:
            yield "No case here. Begin one with: halfsplit new --board BOARD"

    return Answer(data={"cases": [card.to_json() for card in cards]}, lines=lines)


KIND = Command(
    name="cases",
    order=52,
    help="list the cases of a folder",
    arguments=arguments,
    run=run,
)
