"""`halfsplit limits`: what will not be done, and what giving up would cost."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]

SOLDERING = ("part out", "pin lifted")


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument(
        "--no-soldering", action="store_true", help="no pin lifted, no part taken out"
    )
    parser.add_argument(
        "--without", metavar="KIND", nargs="*", default=[], help="kinds of check left out"
    )
    parser.add_argument(
        "--give-up", metavar="PRICE", type=float, help="what a substitute unit costs"
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Set the limits; those not given are lifted."""
    from halfsplit.checks.kind import Limits
    from halfsplit.checks.registry import CHECKS
    from halfsplit.cli.cases import open_case
    from halfsplit.cli.show import log_lines

    limits = Limits(
        without_kinds=frozenset(CHECKS.get(name).name for name in args.without),
        without_setups=frozenset(SOLDERING if args.no_soldering else ()),
        give_up=args.give_up,
    )
    with open_case(args.case) as bench:
        entry = bench.set_limits(limits)

    def lines(screen: Screen) -> Iterable[str]:
        return log_lines([entry], screen)

    return Answer(data={"event": entry.to_json()}, lines=lines)


KIND = Command(
    name="limits",
    order=57,
    help="say what you will not do, and what giving up would cost",
    arguments=arguments,
    run=run,
    more="Each time all limits are set anew; without arguments there are none.",
)
