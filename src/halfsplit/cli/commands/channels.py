"""`halfsplit channels`: like paths of a board, found by its own symmetry."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """List the channels, group by group."""
    from halfsplit.build.channels import channels
    from halfsplit.cli.boards import board_of

    _, board = board_of(args)
    groups = channels(board)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(board.title)
        if not groups:
            yield "  no two paths of this board are alike"
        for group in groups:
            yield f"{len(group)} like channels:"
            for number, channel in enumerate(group, 1):
                yield f"  {number}  {' '.join(channel.nets)}   {' '.join(channel.parts)}"

    data = {
        "title": board.title,
        "groups": [
            [{"nets": list(channel.nets), "parts": list(channel.parts)} for channel in group]
            for group in groups
        ],
    }
    return Answer(data=data, lines=lines)


KIND = Command(
    name="channels",
    order=45,
    help="list the like channels of a board, net by net",
    arguments=add_board,
    run=run,
    more="Channels are found by what parts they are made of and how these hang together, values "
    "included; names do not matter. The check `sisters` compares them.",
)
