"""`halfsplit replace`: what a part stands on its board, and what may take its place."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.replacement.advice import Replacement

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_board(parser)
    parser.add_argument("part", metavar="PART", nargs="?", help="a designator, such as Q5")
    parser.add_argument("--all", action="store_true", help="every part, like ones together")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Answer for one part, or for all."""
    from halfsplit.cli.boards import world_of
    from halfsplit.replacement.advice import Replacer
    from halfsplit.replacement.operating import operate

    if bool(args.part) == args.all:
        raise UsageError("expected a designator or --all: halfsplit replace BOARD Q5")
    world = world_of(args)
    replacer = Replacer(operate(world))
    found = list(replacer.every()) if args.all else [replacer.of(args.part)]

    def lines(screen: Screen) -> Iterable[str]:
        for one in found:
            yield from _lines(one, screen)
        yield from screen.wrap(
            "Limits are those of the types; another maker's sheet comes first. Tried: the whole "
            "board was predicted with it, every state, parts and supplies at their limits."
        )

    data = {"title": world.board.title, "parts": [one.to_json() for one in found]}
    return Answer(data=data, lines=lines)


def _lines(one: Replacement, screen: Screen) -> Iterator[str]:
    part = one.part
    names = " ".join((part.designator, *one.like))
    yield screen.strong(f"{names}: {part.kind} {part.type}".rstrip())
    for stop in one.stops:
        yield from screen.wrap(f"Stop: {stop}", "  ", "    ")
    for stress in one.stress:
        yield from screen.wrap(stress.words, "  ", "    ")
    for cause in one.causes:
        yield from screen.wrap(f"May have killed it: {cause}", "  ", "    ")
    yield from screen.columns(
        [(each.verdict, each.name, "tried" if each.tried else "", each.why)
         for each in one.candidates],
        indent="    ",
    )  # fmt: skip
    for remark in one.remarks:
        yield from screen.wrap(remark, "  ", "    ")
    yield ""


KIND = Command(
    name="replace",
    order=47,
    help="say what a part stands on its board, and what may take its place",
    arguments=arguments,
    run=run,
    more="Stress comes from the prediction: every state, tolerances and supplies at their limits, "
    "the moment when a coil lets go, and which fault elsewhere may have killed the part.",
)
