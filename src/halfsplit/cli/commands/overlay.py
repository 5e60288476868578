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
    add_pictures,
    add_window,
    nets_given,
    pictures,
    record_of,
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
    parser.add_argument("--fault", metavar="ID", help="lay it over that fault as well: 'D1 open'")
    add_pictures(parser, "draw them, line by line")
    add_window(parser)


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Predict, lay over, tell where they differ."""
    from halfsplit.build.healthy import compile_few
    from halfsplit.build.transient_schedule import read_schedule
    from halfsplit.cli.boards import board_of
    from halfsplit.diagnose.captured import nets_of_channels
    from halfsplit.diagnose.overlay import overlay
    from halfsplit.draw.traces import traces_svg
    from halfsplit.evidence import overlay_strips

    schedule = read_schedule(args.schedule)
    record = record_of(args.file, args)
    world = compile_few(board_of(args)[1], [args.fault] if args.fault else [])
    nets = nets_of_channels(record, world, nets_given(args))
    found = overlay(record, nets, world, schedule, fault=args.fault)
    cases, strips = overlay_strips(found)
    drawn = pictures(args, lambda: traces_svg(found.time, cases, strips))
    data = {"source": record.source, "nets": nets, **found.to_json(), "pictures": drawn}

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
        if drawn:
            yield f"drawn in {' and '.join(drawn)}"

    return Answer(data=data, lines=lines)


def _told(pair: Pair) -> str:
    from halfsplit.units import format_quantity

    said = "as a good board"
    if pair.differs:
        at, span = (format_quantity(value, "s") for value in (pair.at, pair.span))
        said = f"differs {pair.differs:.0%} of the time, for {span} from {at} on"
    if pair.faulty is not None:
        said += f"; from the fault {pair.differs_faulty:.0%}"
    return said


KIND = Command(
    name="overlay",
    order=109,
    help="lay a capture over what a good board, or a fault, shows for the same exercise",
    arguments=arguments,
    run=run,
    more="Where in the record the exercise begins, and whether it went a tenth slower or faster "
    "than told, is found. Coils, clamps and capacitors take part in what is predicted.",
)
