"""`halfsplit experience`: the library of proven cases, shown, handed on, merged."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("--hand-on", metavar="FILE", help="write it to a file for somebody else")
    parser.add_argument("--merge", metavar="FILE", help="add somebody else's")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Show the counts; with an argument, write or merge them first."""
    from pathlib import Path

    from halfsplit.errors import CaseError
    from halfsplit.store.experience import experience_path, load, merged, save

    counts = load()
    if args.merge:
        if not Path(args.merge).is_file():
            raise CaseError(f"{args.merge}: expected a library of proven cases, got no file")
        counts = merged(counts, load(Path(args.merge)))
        save(counts)
    if args.hand_on:
        save(counts, Path(args.hand_on))
    rows = sorted(counts.items(), key=lambda row: -row[1])

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"{sum(counts.values())} proven cases in {experience_path()}")
        yield from (f"  {count:4}  {kind}, {mode}" for (kind, mode), count in rows)

    data = {
        "path": str(experience_path()),
        "proven": [{"kind": kind, "mode": mode, "cases": count} for (kind, mode), count in rows],
    }
    return Answer(data=data, lines=lines)


KIND = Command(
    name="experience",
    order=98,
    help="show what your proven cases were, and hand it on or merge another's",
    arguments=arguments,
    run=run,
    more="It holds counts by kind of part and way of failing, and nothing about boards, owners or "
    "dates.",
)
