"""`halfsplit mended`: a repair was done; what follows tells whether it cured."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "words",
        metavar="[CASE] SUSPECT",
        nargs="+",
        help="the case file, if there are several; and what was put right, as `halfsplit "
        "suspects` names it: U3, joint U3.6, track U3.6, rail +5",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Log the repair and say what the acceptance run asks."""
    from halfsplit.cli.cases import is_case_name, open_case

    words: list[str] = args.words
    case = words.pop(0) if len(words) > 1 and is_case_name(words[0]) else None
    with open_case(case) as bench:
        entry = bench.repaired(" ".join(words))
        found = bench.acceptance()
        assert found is not None
        view = bench.next(1)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"#{entry.number} repair of {entry.words} done.")
        yield from screen.wrap(view.verdict.verdict.sentence or found.sentence)
        yield from (f"  to do: {missing}" for missing in found.missing)

    data = {
        "event": entry.to_json(),
        "acceptance": found.to_json(),
        "verdict": view.verdict.to_json(),
    }
    return Answer(data=data, lines=lines)


KIND = Command(
    name="mended",
    order=75,
    help="say that a repair was done; readings from then on are of the board as it is now",
    arguments=arguments,
    run=run,
    more="Readings before it keep their say about what was wrong, readings after it tell whether "
    "it was that, whether there is a second fault, and whether the work made a new one.",
)
