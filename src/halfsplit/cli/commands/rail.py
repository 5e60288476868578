"""`halfsplit rail`: ripple and dips of a supply, and whether odd events come with them."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import asdict

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.records import add_file, add_phases, add_window, names, record_of
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]

_SHOWN = 12


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_file(parser)
    parser.add_argument("--channel", metavar="C", required=True, help="the channel of the rail")
    parser.add_argument("--lowest", metavar="V", required=True, help="below this it dips, 4.75V")
    parser.add_argument(
        "--lines", metavar="A,B,C,D", help="phase lines: what is out of turn there is the events"
    )
    parser.add_argument("--within", metavar="T", default="1ms", help="of a dip; else 1ms")
    parser.add_argument("--family", metavar="F", default="ttl", help="as for halfsplit steps")
    add_phases(parser)
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Read the rail; hold the events of the phase lines against its dips."""
    import numpy as np

    from halfsplit.capture.record import Analog
    from halfsplit.errors import WaveError
    from halfsplit.units import format_quantity, parse
    from halfsplit.waves.account import account
    from halfsplit.waves.channels import even_samples, lines_of
    from halfsplit.waves.rail import coincidence, read_rail

    record = record_of(args.file, args)
    channel = record.channel(args.channel)
    if not isinstance(channel, Analog):
        raise WaveError(f"{channel.name}: expected a channel in volts, got one of levels")
    start, interval, volts = even_samples(channel)
    rail = read_rail(start, interval, volts, parse(args.lowest, "V"))
    together = None
    if args.lines:
        found = account(
            lines_of(record, names(args.lines), args.family)[0],
            phases=args.phases,
            active_low=None if args.on is None else args.on == "low",
            order_known=args.in_order,
        )
        events = np.array([one.time for one in found.ledger.oddities])
        stop = start + interval * len(volts)
        together = coincidence(events, rail.dips, start, stop, parse(args.within, "s"))
    data = {
        "source": record.source,
        "mean": rail.mean,
        "ripple": rail.ripple,
        "hertz": rail.hertz if rail.hertz == rail.hertz else None,
        "sentence": rail.source,
        "dips": [asdict(dip) for dip in rail.dips],
        "coincidence": None
        if together is None
        else {**asdict(together), "sentence": together.words},
    }

    def lines(screen: Screen) -> Iterable[str]:
        count = len(rail.dips)
        yield from screen.wrap(
            f"{channel.name}: {rail.mean:.3f} V, ripple {format_quantity(rail.ripple, 'V')} peak "
            f"to peak, {rail.source}; {count} dip{'' if count == 1 else 's'}."
        )
        yield from screen.columns(
            [
                (format_quantity(d.time, "s", 5), format_quantity(d.span, "s"), f"{d.lowest:.2f} V")
                for d in rail.dips[:_SHOWN]
            ],
            right=range(3),
        )
        if together is not None:
            yield from screen.wrap(together.words)

    return Answer(data=data, lines=lines)


KIND = Command(
    name="rail",
    order=107,
    help="say how a supply ripples and dips, and whether odd events come with the dips",
    arguments=arguments,
    run=run,
    more="The chance that so many events fall into dips by accident is computed.",
)
