"""`halfsplit steps`: what phase lines did, step by step, and what is wrong with them."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command
from halfsplit.cli.records import (
    add_channels,
    add_file,
    add_phases,
    add_pictures,
    add_window,
    names,
    pictures,
    record_of,
)
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.waves.account import Account
    from halfsplit.waves.digitise import Digitised

__all__ = ["KIND"]

_SHOWN = 12


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_file(parser)
    add_channels(parser)
    add_phases(parser)
    add_window(parser)
    add_pictures(parser, "draw the lines with what was found")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Recognise the sequence, write the ledger of steps, explain."""
    from halfsplit.waves.account import account, digitised_data
    from halfsplit.waves.channels import lines_of
    from halfsplit.waves.plot import picture_of, svg_text

    record = record_of(args.file, args)
    lines, digitised = lines_of(record, names(args.lines), args.family)
    found = account(
        lines,
        phases=args.phases,
        active_low=None if args.on is None else args.on == "low",
        order_known=args.in_order,
        first_way=None if args.first is None else 1 if args.first == "up" else -1,
    )
    drawn = pictures(args, lambda: svg_text(picture_of(found)))
    data = {
        "source": record.source,
        **found.to_json(),
        "levels": [digitised_data(one) for one in digitised],
        "remarks": list(record.remarks),
        "pictures": drawn,
    }
    return Answer(data=data, lines=lambda screen: _lines(found, digitised, screen))


def _lines(found: Account, digitised: list[Digitised], screen: Screen) -> Iterable[str]:
    yield from (screen.strong(line) for line in screen.wrap(found.explanation.words))
    for kind, lines in found.explanation.also:
        yield from screen.wrap(f"As likely: {' and '.join(lines)} {kind}.")
    best = found.found.best
    yield from screen.wrap(
        f"{best.sequence.phases} phases, {best.sequence.name}, on when "
        f"{'low' if best.active_low else 'high'}; a step takes about "
        f"{1e3 * found.found.tidy.step:.3g} ms."
    )
    yield ""
    yield from _moves(found, screen)
    yield from _oddities(found, screen)
    for one in digitised:
        yield from screen.wrap(f"{one.line.name}: {_levels(one)}", hang="  ")


def _moves(found: Account, screen: Screen) -> Iterator[str]:
    from halfsplit.units import format_quantity

    rows = [("move", "at", "steps", "net", "from", "to", "ramp", "settle")]
    for number, move in enumerate(found.ledger.moves, 1):
        rows.append(
            (
                str(number), format_quantity(move.first, "s"), str(move.steps), f"{move.net:+d}",
                _rate(move.start_rate), _rate(move.top_rate), str(move.ramp),
                format_quantity(move.settle, "s"),
            )
        )  # fmt: skip
    yield from screen.columns(rows, right=range(7))


def _rate(rate: float) -> str:
    return f"{rate:.0f}/s" if rate == rate else ""


def _oddities(found: Account, screen: Screen) -> Iterator[str]:
    from halfsplit.units import format_quantity

    oddities = found.ledger.oddities
    if not oddities:
        return
    yield ""
    yield screen.strong(f"Out of turn: {len(oddities)}")
    yield from screen.columns(
        [
            (
                format_quantity(one.time, "s", 5), one.kind, one.code,
                f"expected {one.expected}" if one.expected else " ".join(one.lines),
            )
            for one in oddities[:_SHOWN]
        ],
        right=(0,),
    )  # fmt: skip
    if len(oddities) > _SHOWN:
        yield f"  and {len(oddities) - _SHOWN} more; --json has them all"


def _levels(one: Digitised) -> str:
    from halfsplit.units import format_quantity

    text = (
        f"low {one.levels.low:.2f} V, high {one.levels.high:.2f} V; low below "
        f"{one.thresholds.low:.2f} V, high above {one.thresholds.high:.2f} V ({one.thresholds.why})"
    )
    if one.undefined:
        text += f"; {format_quantity(one.undefined, 's')} between them"
    return text + "".join(f"; {count} × {kind}" for kind, count in sorted(one.counts.items()))


KIND = Command(
    name="steps",
    order=102,
    help="say what phase lines did, step by step, and what is wrong with them",
    arguments=arguments,
    run=run,
    more="Two to five lines of a stepping motor, at any stage: the sequence, the order of the "
    "wires and the simplest fault of a line are found, or the pattern is said to be right.",
)
