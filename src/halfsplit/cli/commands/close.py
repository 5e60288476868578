"""`halfsplit close`: the acceptance run is complete, the case is done."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument(
        "--unproven", action="store_true", help="close it all the same; nothing is learned from it"
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Close the case, and count what was proven."""
    from halfsplit.cli.cases import open_case

    with open_case(args.case) as bench:
        entry, learned = bench.finish(unproven=args.unproven)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"#{entry.number} the case is closed.")
        yield (
            f"Counted in your library: {learned[0]}, {learned[1]}."
            if learned
            else "Nothing was proven, so nothing is counted."
        )

    data = {
        "event": entry.to_json(),
        "learned": {"kind": learned[0], "mode": learned[1]} if learned else None,
    }
    return Answer(data=data, lines=lines)


KIND = Command(
    name="close",
    order=76,
    help="close a case whose acceptance run is complete, and learn from it",
    arguments=arguments,
    run=run,
    more="What it was is counted by kind of part and way of failing in your own library of proven "
    "cases, see `halfsplit experience`; later cases begin with it.",
)
