"""`halfsplit path`: from what drives the board to what it does, and how far it is good."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_case
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_case(parser)
    parser.add_argument("--output", metavar="NAME", help="only the paths of this output")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """List the paths with their marks."""
    from halfsplit.board.feedback import feedback
    from halfsplit.cli.cases import open_case
    from halfsplit.errors import UnknownName

    with open_case(args.case) as bench:
        found, loops = bench.halvings(), feedback(bench.board)
        title, outputs = bench.board.title, [one.name for one in bench.board.outputs]
    if args.output:
        if args.output not in outputs:
            raise UnknownName("output", args.output, outputs)
        found = tuple(one for one in found if one.path.output == args.output)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(title)
        for one in found:
            yield one.sentence
            signs = {"good": "+", "bad": "!", "not read": ""}
            nets = [net + signs[mark] for net, mark in zip(one.path.nets, one.marks, strict=True)]
            parts = [f" {stage.part} " for stage in one.path.stages]
            begin = f"{one.path.origin} " if one.path.origin else ""
            yield f"  {begin}" + "".join(a + b for a, b in zip(nets, [*parts, ""], strict=True))
        yield from (f"{loop.sentence}." for loop in loops)

    data = {
        "title": title,
        "paths": [one.to_json() for one in found],
        "loops": [loop.to_json() for loop in loops],
    }
    return Answer(data=data, lines=lines)


KIND = Command(
    name="path",
    order=85,
    help="show the signal paths of the board, and how far readings have proven each good",
    arguments=arguments,
    run=run,
    more="Nets are followed by + where they read good and ! where they read bad.",
)
