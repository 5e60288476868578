"""`halfsplit expect`: what a good board reads, and which faults read otherwise."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.build.world import World
    from halfsplit.diagnose.expected import Expected

__all__ = ["KIND"]

_SHOWN = 4


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_board(parser)
    parser.add_argument("--net", metavar="N", help="every pin on this net")
    parser.add_argument("--place", metavar="P", help="one place, such as U3.6, U3.6/pad or TP1")
    parser.add_argument("--state", metavar="S", help="one state; else all that are powered")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Give DC volts at the nets or places asked for."""
    from halfsplit.build.cache import keep
    from halfsplit.cli.boards import world_of
    from halfsplit.diagnose.expected import expected_volts
    from halfsplit.errors import UnknownName

    world = world_of(args)
    states = [state.name for state in world.board.states if state.powered]
    if args.state:
        if world.board.state(args.state) is None:
            raise UnknownName("state", args.state, [s.name for s in world.board.states])
        states = [args.state]
    found = expected_volts(world, _places(args, world), states)
    keep(world)
    data = {"title": world.board.title, "expected": [one.to_json() for one in found]}

    def lines(screen: Screen) -> Iterable[str]:
        for state in states:
            rows = [one for one in found if one.state == state]
            yield screen.strong(f"state {state}")
            yield from screen.columns([_row(one) for one in rows])
            yield ""
        yield "Beside each reading: how many faults read otherwise, and the likeliest of them."

    return Answer(data=data, lines=lines)


def _places(args: argparse.Namespace, world: World) -> list[str]:
    from halfsplit.cli.command import UsageError
    from halfsplit.errors import UnknownName

    if args.net and args.place:
        raise UsageError("expected --net or --place, got both; leave one out")
    if args.place:
        return [args.place]
    nets = world.board.nets()
    if args.net:
        net = args.net.removeprefix("net ")
        if net not in nets:
            raise UnknownName("net", net, nets)
        return [
            name
            for name, place in world.places.items()
            if place.net == net and place.kind in ("leg", "testpoint")
        ]
    by_net: dict[str, str] = {}
    for name, place in world.places.items():
        if place.kind not in ("pad", "tail") and (place.net not in by_net or place.kind == "net"):
            by_net[place.net] = name
    return list(by_net.values())


def _row(one: Expected) -> tuple[str, str, str, str]:
    from halfsplit.units import format_span

    if one.unresolved:
        reading = "unresolved"
    else:
        reading = format_span(one.mean - 2 * one.spread, one.mean + 2 * one.spread, "V")
        if one.other == one.other:
            reading += f" or {one.other:.2f} V"
        if one.floating:
            reading += ", floating"
    likeliest = ", ".join(d.fault for d in one.differs[:_SHOWN])
    more = ", ..." if len(one.differs) > _SHOWN else ""
    return one.place, reading, str(len(one.differs)), likeliest + more


KIND = Command(
    name="expect",
    order=40,
    help="say what a good board reads, and which faults read otherwise",
    arguments=arguments,
    run=run,
    more="DC volts to ground: two standard deviations either way, the meter's own error included.",
)
