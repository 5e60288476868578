"""`halfsplit powerup`: how to switch a board on without harm."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Make the plan."""
    from halfsplit.cli.boards import world_of
    from halfsplit.diagnose.power_up import power_up

    world = world_of(args)
    plan = power_up(world)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"{world.board.title}: power-up")
        for caution in plan.cautions:
            yield from screen.wrap(f"Caution: {caution}", "  ", "    ")
        for number, step in enumerate(plan.steps, 1):
            yield from screen.wrap(step, f"{number:3}  ", "     ")
        yield screen.strong("watch")
        for line in plan.watch:
            yield from screen.wrap(line, "  ", "    ")
        yield screen.strong("stop when")
        for line in plan.stop:
            yield from screen.wrap(line, "  ", "    ")

    return Answer(data={"title": world.board.title, "plan": plan.to_json()}, lines=lines)


KIND = Command(
    name="powerup",
    order=46,
    help="plan the power-up of a board: ohms, currents, limits, when to stop",
    arguments=add_board,
    run=run,
    more="For the first time and after every repair. Currents are those of the prediction at rest "
    "in each state; what empty reservoirs take is told beside them, what a motor takes as it"
    " starts is not.",
)
