"""`halfsplit inside`: a block is opened into the parts that are in it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words",
        metavar="[CASE] BLOCK FILE",
        nargs="+",
        help="the case file, if there are several; the block, such as B4; and a file with the "
        "lines of the parts inside it, or - to type them",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Put the lines in the place of the block's."""
    from halfsplit.board.source import find_source
    from halfsplit.cli.cases import is_case_name, open_case
    from halfsplit.cli.show import next_lines
    from halfsplit.cli.suggested import offer

    words: list[str] = args.words
    case = words.pop(0) if len(words) > 2 and is_case_name(words[0]) else None
    if len(words) != 2:
        raise UsageError(f"expected a block and a file, got {' '.join(words)}")
    block, name = words
    inside = sys.stdin.read() if name == "-" else find_source(name).text
    with open_case(case) as bench:
        entry = bench.open_block(block, inside, source=name)
        left = [one.number for one in bench.log() if one.why_not]
        view = offer(bench, bench.next())

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"#{entry.number} {block} opened; the readings are kept.")
        for number in left:
            yield f"  #{number} is about a place that is no longer there, and moves nothing"
        yield ""
        yield from next_lines(view, screen)

    return Answer(data={"event": entry.to_json(), "left_out": left, **view.to_json()}, lines=lines)


KIND = Command(
    name="inside",
    order=89,
    help="open a block: type the parts inside it in its place, readings kept",
    arguments=arguments,
    run=run,
    more="The nets inside that come out have the names they have outside. The page's board editor "
    "does the same.",
)
