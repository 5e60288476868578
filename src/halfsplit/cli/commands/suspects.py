"""`halfsplit suspects`: what may be wrong, how likely, and which readings say so."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case, whole_number
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]

_SHOWN = 10
_SETTLED = 0.9
"""From this probability on it is told that nothing would change it."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument(
        "--count",
        type=whole_number,
        metavar="N",
        help=f"the likeliest N; left out, {_SHOWN}, or all with --json",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """List the suspects, likeliest first."""
    from halfsplit.cli.cases import open_case
    from halfsplit.cli.show import suspect_lines

    with open_case(args.case) as bench:
        found = bench.suspects(args.count or (None if args.json else _SHOWN))
        title, total = bench.board.title, len(bench.world.suspects)
        number = bench.last_event
        out, changes = bench.reasons()
    data = {
        "title": title,
        "last_event": number,
        "suspects": [one.to_json() for one in found],
        "ruled_out": [
            {"suspect": one.suspect, "bits": one.bits, "entry": one.by, "sentence": one.sentence}
            for one in out
        ],
        "would_change": [
            {
                "check": one.check.id,
                "chance": one.chance,
                "then": one.then,
                "sentence": one.sentence,
            }
            for one in changes
        ],
    }

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(title)
        yield from suspect_lines(found, screen)
        if len(found) < total:
            yield f"  and {total - len(found)} more; --count tells how many to show"
        told = [one.sentence for one in out] + [one.sentence for one in changes]
        if not changes and found and found[0].suspect.probability > _SETTLED:
            told.append(f"No check left would take the lead from {found[0].suspect.suspect.id}.")
        yield from (f"  {sentence}" for sentence in told)

    return Answer(data=data, lines=lines)


KIND = Command(
    name="suspects",
    order=80,
    help="list what may be wrong, how likely, and which readings say so",
    arguments=arguments,
    run=run,
    more="A suspect is what one repair would put right; its probability is the sum over its "
    "faults. Bits say how much a reading raised (+) or lowered (-) a suspect.",
)
