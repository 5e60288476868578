"""`halfsplit worth`: go on, or stop; and what must not be lost on the way."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Weigh both, and give the order that risks least."""
    from halfsplit.cli.cases import open_case
    from halfsplit.diagnose.protect import advice
    from halfsplit.diagnose.worth import worth

    with open_case(args.case) as bench:
        found, careful = worth(bench.session), advice(bench.session)

    def lines(screen: Screen) -> Iterable[str]:
        yield from screen.wrap(found.sentence)
        for change in found.changes:
            yield from screen.wrap(change, "  ", "    ")
        yield screen.strong("what risks least, first")
        yield from screen.columns(
            [(f"{one.risk:.0f} min", f"{one.what} ({one.why})") for one in careful], right=(0,)
        )

    data = {"worth": found.to_json(), "advice": [one.to_json() for one in careful]}
    return Answer(data=data, lines=lines)


KIND = Command(
    name="worth",
    order=82,
    help="weigh a repair against stopping, and what must not be lost",
    arguments=add_case,
    run=run,
    more="Minutes count work, price and risk. The price of a substitute is set by `halfsplit "
    "limits --give-up`.",
)
