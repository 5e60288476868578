"""`halfsplit enter`: a reading goes into the log, and belief moves."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.bench import Bench
    from halfsplit.checks.kind import Check

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words",
        metavar="[CASE] [CHECK] READING",
        nargs="+",
        help="the case file, if there are several; the number of a suggestion or a check such as "
        '"volts U3.6 @run"; and what was read, such as 0.7, 4k7, OL, low, or ? for could not tell',
    )
    parser.add_argument("--kind", metavar="K", help="kind of check, in place of CHECK")
    parser.add_argument(
        "--place", metavar="P", action="append", default=[], help="where; twice for red and black"
    )
    parser.add_argument("--state", metavar="S", default="", help="state the board was in")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Enter the reading; a reading that is not understood is not logged."""
    from halfsplit.cli.cases import is_case_name, open_case
    from halfsplit.cli.show import entered_lines
    from halfsplit.cli.suggested import offer

    words: list[str] = args.words
    case = words.pop(0) if len(words) > 1 and is_case_name(words[0]) else None
    with open_case(case) as bench:
        check, reading = _asked(args, words, bench)
        view = bench.enter(check, reading)
        offer(bench, view.next)

    def lines(screen: Screen) -> Iterable[str]:
        return entered_lines(view, screen)

    return Answer(data=view.to_json(), lines=lines)


def _asked(args: argparse.Namespace, words: list[str], bench: Bench) -> tuple[Check, str]:
    """The check meant, and the words that are left as the reading."""
    from halfsplit.checks.catalogue import make_check
    from halfsplit.cli.suggested import check_of, offered_before

    if args.kind:
        return make_check(args.kind, args.place, args.state, bench.world), " ".join(words)
    if args.place or args.state:
        raise UsageError("--place and --state go with --kind; or give the check as one word")
    if len(words) < 2:
        raise UsageError(
            f"expected a check and a reading, got only {words[0]!r}; for the first suggestion "
            f"of `halfsplit next` type: halfsplit enter 1 {words[0]}"
        )
    return check_of(words, bench, offered_before(bench))


KIND = Command(
    name="enter",
    order=70,
    help="enter a reading, and hear how it was understood and what to do next",
    arguments=arguments,
    run=run,
    more="A number means what was last shown under it; one that was not offered, or that means "
    "something else by now, is refused. When a command returns, the reading is on the disk. Of a "
    "reading that cannot be understood nothing is kept.",
)
