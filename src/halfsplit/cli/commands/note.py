"""`halfsplit note`: words for the log."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words",
        metavar="[CASE] WORDS",
        nargs="+",
        help="the case file, if there are several; and what to write down",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Write a note; it moves no belief."""
    from halfsplit.cli.cases import is_case_name, open_case
    from halfsplit.cli.show import log_lines

    words: list[str] = args.words
    case = words.pop(0) if len(words) > 1 and is_case_name(words[0]) else None
    with open_case(case) as bench:
        entry = bench.note(" ".join(words))

    def lines(screen: Screen) -> Iterable[str]:
        return log_lines([entry], screen)

    return Answer(data={"event": entry.to_json()}, lines=lines)


KIND = Command(
    name="note",
    order=95,
    help="write a note into the log",
    arguments=arguments,
    run=run,
)
