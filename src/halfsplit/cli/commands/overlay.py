"""`halfsplit overlay`: a capture over what a good board shows for the same exercise."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.records import (
    add_file,
    add_nets,
    add_window,
    nets_given,
    record_of,
    write_text,
)
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.diagnose.overlay import Pair

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_file(parser)
    add_board(parser)
    parser.add_argument(
        "schedule", metavar="SCHEDULE", help="what was played meanwhile, as for halfsplit play"
    )
    add_nets(parser)
    parser.add_argument("--svg", metavar="OUT", help="draw both, line by line")
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Predict, lay over, tell where they differ."""
    import numpy as np

    from halfsplit.build.healthy import compile_healthy
    from halfsplit.build.transient_schedule import read_schedule
    from halfsplit.cli.boards import board_of
    from halfsplit.diagnose.captured import nets_of_channels
    from halfsplit.diagnose.overlay import overlay
    from halfsplit.draw.traces import Strip, traces_svg

    schedule = read_schedule(args.schedule)
    record = record_of(args.file, args)
    world = compile_healthy(board_of(args)[1])
    nets = nets_of_channels(record, world, nets_given(args))
    found = overlay(record, nets, world, schedule)
    if args.svg:
        strips = [
            Strip(title=pair.net, unit="V", values=np.stack((pair.predicted, pair.measured)))
            for pair in found.pairs
        ]
        write_text(args.svg, traces_svg(found.time, ("good board", "recorded"), strips))
    data = {"source": record.source, "nets": nets, **found.to_json(), "picture": args.svg}

    def lines(screen: Screen) -> Iterable[str]:
        from halfsplit.units import format_quantity

        yield screen.strong(
            f"{record.source}: the exercise begins at {format_quantity(found.laid.shift, 's')} "
            f"and takes {found.laid.pace:.0%} of the time told"
        )
        yield from screen.columns([(pair.net, _told(pair)) for pair in found.pairs])
        for one in found.left_out:
            yield from screen.wrap(one, "! ", "  ")
        if found.assumed:
            text = f"nobody gave the value of {', '.join(found.assumed)}: its timing is a guess"
            yield from screen.wrap(text, "! ", "  ")
        if args.svg:
            yield f"drawn in {args.svg}"

    return Answer(data=data, lines=lines)


def _told(pair: Pair) -> str:
    from halfsplit.units import format_quantity

    if not pair.differs:
        return "as a good board"
    at, span = (format_quantity(value, "s") for value in (pair.at, pair.span))
    return f"differs {pair.differs:.0%} of the time, for {span} from {at} on"


KIND = Command(
    name="overlay",
    order=109,
    help="lay a capture over what a good board shows for the same exercise",
    arguments=arguments,
    run=run,
    more="Where in the record the exercise begins, and whether it went a tenth slower or faster "
    "than told, is found. Coils, clamps and capacitors take part in what is predicted.",
)
