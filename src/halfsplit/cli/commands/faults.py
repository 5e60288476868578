"""`halfsplit faults`: everything that is reckoned can be wrong with a board."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_board(parser)
    parser.add_argument("--part", metavar="R7", help="only faults of this part and its joints")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """List the faults, likeliest first, with where each rate comes from."""
    from halfsplit.build.fault import ELSE, HEALTHY
    from halfsplit.cli.boards import world_of
    from halfsplit.errors import UnknownName

    world = world_of(args)
    priors: dict[str, float] = {}
    rates: dict[str, float] = {}
    for prior, fault in zip(world.prior, world.faults, strict=False):
        priors[fault.plain_id] = priors.get(fault.plain_id, 0.0) + float(prior)
        rates[fault.plain_id] = rates.get(fault.plain_id, 0.0) + fault.rate
    rows = [
        (priors[fault.id], fault)
        for fault in world.faults
        if fault.id != HEALTHY and not fault.version_of
    ]
    if args.part:
        known = {part.designator for part in world.board.parts}
        if args.part not in known:
            raise UnknownName("part", args.part, known)
        rows = [
            (prior, fault)
            for prior, fault in rows
            if args.part in (fault.designator, *(pin.designator for pin in fault.pins))
        ]
    rows.sort(key=lambda row: -row[0])
    data = {
        "title": world.board.title,
        "faults": [
            {
                "id": fault.id,
                "suspect": fault.suspect,
                "words": fault.words,
                "prior": prior,
                "rate": rates[fault.id],
                "source": fault.source,
            }
            for prior, fault in rows
        ],
        "something_else": float(world.prior[-1]),
    }

    def lines(screen: Screen) -> Iterable[str]:
        suspects = len({fault.suspect for _, fault in rows})
        yield screen.strong(f"{len(rows)} faults in {suspects} suspects")
        yield f"  beside them, {ELSE}: {100 * world.prior[-1]:.1f} %"
        yield ""
        table = [("prior", "per 10^6 h", "fault", "")]
        table += [
            (f"{100 * prior:.2f} %", f"{rates[fault.id]:.3g}", fault.id, fault.words)
            for prior, fault in rows
        ]
        yield from screen.columns(table, right=(0, 1))

    return Answer(data=data, lines=lines)


KIND = Command(
    name="faults",
    order=30,
    help="list all that can be wrong with a board, likeliest first",
    arguments=arguments,
    run=run,
    more="Rates are failures per million hours; --json gives the source of each.",
)
