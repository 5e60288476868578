"""`halfsplit coil`: what the rise of a coil's current says about coil, supply and path."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.records import add_file, add_window, record_of
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_file(parser)
    parser.add_argument("--channel", metavar="C", required=True, help="the current of the coil")
    parser.add_argument("--volts", metavar="V", required=True, help="supply of the coil")
    parser.add_argument("--ohms", metavar="R", required=True, help="its resistance")
    parser.add_argument("--henries", metavar="L", required=True, help="its inductance, 90mH")
    parser.add_argument("--drop", metavar="V", default="1V", help="lost in the driver; else 1V")
    parser.add_argument(
        "--shunt", metavar="R", help="where volts across a resistor were recorded: its ohms"
    )
    parser.add_argument("--clamp", metavar="V", default="0.8V", help="of the clamp; else 0.8V")
    parser.add_argument("--peak", metavar="V", help="peak at the collector after switching off")
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Fit the rise and name the single cause of what differs."""
    from halfsplit.capture.record import Analog
    from halfsplit.errors import WaveError
    from halfsplit.units import format_quantity, parse
    from halfsplit.waves.channels import even_samples
    from halfsplit.waves.coil import Coil, decay_seconds, fit_rise, judge_clamp, judge_rise

    record = record_of(args.file, args)
    channel = record.channel(args.channel)
    if not isinstance(channel, Analog):
        raise WaveError(f"{channel.name}: expected a channel of current, got one of levels")
    _, interval, current = even_samples(channel)
    if args.shunt:
        current = current / parse(args.shunt, "Ω")
    coil = Coil(
        volts=parse(args.volts, "V"), ohms=parse(args.ohms, "Ω"),
        henries=parse(args.henries, "H"), drop=parse(args.drop, "V"),
        clamp=parse(args.clamp, "V"),
    )  # fmt: skip
    if min(coil.ohms, coil.henries, coil.clamp, coil.final) <= 0:
        raise WaveError("expected ohms, henries, clamp and volts beyond the drop all above 0")
    rise = fit_rise(interval, current)
    findings = [judge_rise(rise, coil)]
    if args.peak:
        findings.append(judge_clamp(parse(args.peak, "V"), coil))
    data = {
        "source": record.source,
        "final": rise.end,
        "tau": rise.tau,
        "left": rise.left,
        "expected": {"final": coil.final, "tau": coil.tau, "decay": decay_seconds(coil)},
        "findings": [
            {"verdict": one.verdict, "sentence": one.words, "ratio": one.ratio} for one in findings
        ],
    }

    def lines(screen: Screen) -> Iterable[str]:
        yield from screen.wrap(
            f"{channel.name}: to {format_quantity(rise.end, 'A')} with "
            f"{format_quantity(rise.tau, 's')}; {format_quantity(coil.final, 'A')} with "
            f"{format_quantity(coil.tau, 's')} expected."
        )
        for one in findings:
            yield from screen.wrap(one.words)

    return Answer(data=data, lines=lines)


KIND = Command(
    name="coil",
    order=108,
    help="say what the rise of a coil's current tells about coil, supply and path",
    arguments=arguments,
    run=run,
    more="Choose with --from and --to the part from switching on to just before switching off.",
)
