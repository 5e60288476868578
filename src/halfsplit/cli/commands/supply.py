"""`halfsplit supply`: what a bench supply does, and its volts, limit and output after a yes."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.instruments.kinds.supply import Standing
    from halfsplit.instruments.link import Link

    Job: TypeAlias = Callable[[Link, str], Standing]

__all__ = ["KIND"]


class Wanted(NamedTuple):
    """What to set, ``None`` to leave alone; ``below`` that it is for a rail below ground."""

    volts: float | None
    limit: float | None
    below: bool = False

    @property
    def words(self) -> str:
        """Empty when nothing is to be set."""
        from halfsplit.units import format_quantity

        told = [
            format_quantity(self.volts, "V") if self.volts is not None else "",
            f"a current limit of {format_quantity(self.limit, 'A')}"
            if self.limit is not None
            else "",
        ]
        turned = " (a rail below ground: the supply's plus goes to ground)" if self.below else ""
        return " and ".join(filter(None, told)) + turned


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "case", metavar="CASE", nargs="?", help="with --rail, the case; else the only one here"
    )
    parser.add_argument("--from", dest="name", metavar="NAME", default="", help="which supply")
    parser.add_argument("--channel", metavar="N", type=int, help="which of its outputs")
    parser.add_argument("--rail", metavar="NET", help="volts and limit of the power-up plan")
    parser.add_argument("--board", metavar="BOARD", help="with --rail, a board in place of a case")
    parser.add_argument(
        "--loaded", action="store_true", help="with --rail, the limit for the load plugged in"
    )
    parser.add_argument("--volts", metavar="V", help="set these volts")
    parser.add_argument("--limit", metavar="A", help="set this current limit")
    switch = parser.add_mutually_exclusive_group()
    switch.add_argument("--on", action="store_true", help="switch the output on")
    switch.add_argument("--off", action="store_true", help="switch the output off")
    parser.add_argument("--yes", action="store_true", help="you have looked; do it without asking")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Look, ask the person, set, read back; what comes after a no is not done."""
    from halfsplit.cli.asking import agreed
    from halfsplit.instruments.book import pick
    from halfsplit.instruments.kinds import supply

    wanted = _wanted(args)
    entry = pick("supply", args.name)
    done: list[str] = []
    with entry.open() as link:
        if args.channel is not None:
            supply.choose_output(link, args.channel)
        now = supply.standing(link, entry.way)
        for what, job in _jobs(args, wanted):
            question = f"{entry.name}: {now.words}. {what}?"
            if not agreed(question, yes=args.yes):
                done.append(f"{what}: not done")
                break
            now = job(link, entry.way)
            done.append(f"{what}: done")

    def lines(screen: Screen) -> Iterable[str]:
        yield from screen.wrap(f"{entry.name}: {now.words}", hang="  ")
        for line in done:
            yield from screen.wrap(line, "  ", "    ")

    data = {
        "instrument": entry.name,
        "channel": args.channel,
        "now": now.to_json(),
        "done": done,
        "cautions": list(supply.KIND.cautions),
    }
    return Answer(data=data, lines=lines)


def _jobs(args: argparse.Namespace, wanted: Wanted) -> Iterator[tuple[str, Job]]:
    """What is to be asked, and what does it after a yes."""
    from halfsplit.instruments.kinds.supply import KIND, set_supply, switch

    if wanted.words:
        job = partial(set_supply, volts=wanted.volts, limit=wanted.limit)
        yield f"Set {wanted.words}", job
    if args.off:
        yield "Switch its output off", partial(switch, on=False)
    if args.on:
        yield f"Switch its output on ({KIND.cautions[0]})", partial(switch, on=True)


def _wanted(args: argparse.Namespace) -> Wanted:
    """Volts and limit to set: as typed, else those of the plan."""
    from halfsplit.units import parse

    volts = None if args.volts is None else parse(args.volts, "V")
    limit = None if args.limit is None else parse(args.limit, "A")
    if args.rail is None:
        if args.case or args.board or args.loaded:
            raise UsageError("a case, --board and --loaded go with --rail NET")
        return Wanted(volts, limit)
    planned = _planned(args)
    return planned._replace(
        volts=planned.volts if volts is None else volts,
        limit=planned.limit if limit is None else limit,
    )


def _planned(args: argparse.Namespace) -> Wanted:
    """Raises UnknownName, ReadingError where the plan has no limit."""
    from halfsplit.cli.boards import world_of
    from halfsplit.cli.cases import open_case
    from halfsplit.diagnose.power_up import power_up
    from halfsplit.errors import ReadingError, UnknownName

    if args.board:
        plan = power_up(world_of(args))
    else:
        with open_case(args.case) as bench:
            plan = power_up(bench.world)
    rails = {one.net: one for one in plan.supplies}
    if args.rail not in rails:
        raise UnknownName("rail", args.rail, rails)
    one = rails[args.rail]
    limit = one.then if args.loaded else one.limit
    if not math.isfinite(limit):
        raise ReadingError(
            f"expected a current limit for {one.net} in the plan, got unresolved; give one by "
            "--volts and --limit in place of --rail"
        )
    return Wanted(abs(one.volts), limit, below=one.volts < 0.0)


KIND = Command(
    name="supply",
    order=49,
    help="look at a bench supply, and set its volts, limit and output after a yes",
    arguments=arguments,
    run=run,
    more="Without options it only looks. What was set is read back; the output is switched by --on "
    "and --off alone. The current limit protects the board, not people: see docs/instruments.md "
    "and halfsplit powerup first.",
)
