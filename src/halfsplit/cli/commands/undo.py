"""`halfsplit undo`: take something back."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import whole_number
from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words",
        metavar="[CASE] [NUMBER]",
        nargs="*",
        help="the case file, if there are several; and the number of the entry in the log, if it "
        "is not the last one",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Take back one entry; the log keeps both it and the undo."""
    from halfsplit.cli.cases import open_case
    from halfsplit.cli.show import log_lines

    words: list[str] = list(args.words)
    number = None
    if words and words[-1].lstrip("#").isdigit() and words[-1].isascii():
        number = whole_number(words.pop().lstrip("#"))
    if len(words) > 1:
        raise UsageError(f"expected a case and a number, got {' '.join(args.words)!r}")
    with open_case(words[0] if words else None) as bench:
        undo = bench.undo(number)
        taken = next(entry for entry in bench.log() if entry.number == undo.takes_back)
    data = {"event": undo.to_json(), "taken_back": taken.to_json()}

    def lines(screen: Screen) -> Iterable[str]:
        yield "taken back:"
        yield from log_lines([taken], screen)
        yield f"To have it again: halfsplit undo {undo.number}"

    return Answer(data=data, lines=lines)


KIND = Command(
    name="undo",
    order=100,
    help="take back the last entry of the log, or any other",
    arguments=arguments,
    run=run,
    more="Nothing is erased: the log keeps the entry and the undo, and an undo can be undone.",
)
