"""`halfsplit play`: what a scope would show over time, healthy and with faults."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import add_board
from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.build.compiled import Compiled
    from halfsplit.build.transient_schedule import Schedule
    from halfsplit.draw.traces import Strip
    from halfsplit.solve.law import Array

__all__ = ["KIND"]

_MOST_FAULTS = 5
"""More lines than that in one strip nobody tells apart."""
_SHOWN_EDGES = 12


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_board(parser)
    parser.add_argument(
        "schedule", metavar="SCHEDULE",
        help="states and how long each lasts: "
        "'rest 2ms, hold-A/hold-B x8 400Hz, rest RUN=high 5ms'",
    )  # fmt: skip
    parser.add_argument(
        "--fault", action="append", default=[], metavar="ID",
        help="a fault beside the healthy board, such as 'D1 open'; may be given again",
    )  # fmt: skip
    parser.add_argument(
        "--place", action="append", default=[], metavar="P",
        help="where the probe is, such as U3.6 or TP1; may be given again",
    )  # fmt: skip
    parser.add_argument(
        "--current", action="append", default=[], metavar="L1",
        help="a part whose current is wanted; may be given again",
    )  # fmt: skip
    parser.add_argument(
        "--edges", action="store_true", help="logic levels with delays, in place of waveforms"
    )
    parser.add_argument(
        "--gap", metavar="T", help="time between the steps of one state, such as a pulse; else 10us"
    )
    parser.add_argument("--svg", metavar="FILE", help="write a picture of it")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Play the schedule for the healthy board and the faults asked for."""
    from halfsplit.build.fault import HEALTHY
    from halfsplit.build.transient_schedule import GAP, read_schedule
    from halfsplit.cli.boards import world_of
    from halfsplit.units import parse

    if len(args.fault) > _MOST_FAULTS:
        raise UsageError(f"expected at most {_MOST_FAULTS} faults, got {len(args.fault)}")
    if not args.place and not args.current:
        raise UsageError("expected --place or --current: what is to be looked at?")
    if args.edges and args.current:
        raise UsageError("expected --place with --edges, got --current: an edge is one of volts")
    gap = parse(args.gap, "s") if args.gap else GAP
    schedule = read_schedule(args.schedule, gap=gap)
    faults = list(dict.fromkeys((HEALTHY, *args.fault)))
    world = world_of(args)
    if args.edges:
        return _edges(world, schedule, faults, args)
    return _waves(world, schedule, faults, args)


def _waves(
    world: Compiled, schedule: Schedule, faults: Sequence[str], args: argparse.Namespace
) -> Answer:
    from halfsplit.build.transient import run as play
    from halfsplit.draw.traces import Strip

    done = play(world, schedule, faults=faults, places=args.place, currents=args.current)
    strips = [Strip(title=name, unit="V", values=rows) for name, rows in done.volts.items()]
    strips += [Strip(title=name, unit="A", values=rows) for name, rows in done.currents.items()]
    _draw(args.svg, done.time, faults, strips)
    lost = [name for name, bad in zip(faults, done.unresolved, strict=True) if bad]
    data: dict[str, object] = {
        "title": world.board.title,
        "faults": faults,
        "time": done.time.tolist(),
        "volts": {name: rows.tolist() for name, rows in done.volts.items()},
        "currents": {name: rows.tolist() for name, rows in done.currents.items()},
        "unresolved": lost,
        "assumed": list(done.assumed),
        "picture": args.svg,
    }

    def lines(screen: Screen) -> Iterable[str]:
        for strip in strips:
            yield screen.strong(strip.title)
            yield from screen.columns(
                [_summary(done.time, strip, k, name) for k, name in enumerate(faults)]
            )
            yield ""
        for name in lost:
            yield from screen.wrap(f"{name} could not be computed to the end", "! ", "  ")
        if done.assumed:
            names = ", ".join(done.assumed)
            text = f"nobody gave the value of {names}: its timing is a guess"
            yield from screen.wrap(text, "! ", "  ")
        if args.svg:
            yield f"drawn in {args.svg}"

    return Answer(data=data, lines=lines)


def _edges(
    world: Compiled, schedule: Schedule, faults: Sequence[str], args: argparse.Namespace
) -> Answer:
    import numpy as np

    from halfsplit.build.events import play
    from halfsplit.draw.traces import Strip
    from halfsplit.units import format_quantity

    done = play(world, schedule, faults=faults, places=args.place)
    heights = np.asarray([0.0, 1.0, 0.5, 0.5])
    time = np.append(done.time, schedule.seconds)
    strips = [
        Strip(title=name, unit="", values=heights[np.hstack((rows, rows[:, -1:]))], steps=True)
        for name, rows in done.levels.items()
    ]
    _draw(args.svg, time, faults, strips)
    edges = {p: {f: done.edges(p, f) for f in faults} for p in args.place}
    lost = [name for name, bad in zip(faults, done.unresolved, strict=True) if bad]
    restless = [name for name, moves in zip(faults, done.restless, strict=True) if moves]
    data: Mapping[str, object] = {
        "title": world.board.title,
        "faults": faults,
        "edges": edges,
        "unresolved": lost,
        "restless": restless,
        "picture": args.svg,
    }

    def lines(screen: Screen) -> Iterable[str]:
        for place, by_fault in edges.items():
            yield screen.strong(place)
            for fault, found in by_fault.items():
                told = [f"{level} at {format_quantity(t, 's', 5)}" for t, level in found]
                more = len(told) - _SHOWN_EDGES
                text = ", ".join(told[:_SHOWN_EDGES]) + (f" and {more} more" if more > 0 else "")
                yield from screen.wrap(f"{fault}: {text}", "  ", "    ")
            yield ""
        for name in restless:
            yield from screen.wrap(f"{name} may oscillate", "! ", "  ")
        for name in lost:
            yield from screen.wrap(f"{name} could not be computed to the end", "! ", "  ")
        if args.svg:
            yield f"drawn in {args.svg}"

    return Answer(data=data, lines=lines)


def _draw(path: str | None, time: Array, names: Sequence[str], strips: Sequence[Strip]) -> None:
    from halfsplit.draw.traces import traces_svg

    if path:
        try:
            Path(path).write_text(traces_svg(time, names, strips), encoding="utf-8")
        except OSError as error:
            raise UsageError(f"cannot write the picture {path}: {error.strerror}") from error


def _summary(time: Array, strip: Strip, k: int, name: str) -> tuple[str, str, str, str]:
    import numpy as np

    from halfsplit.units import format_quantity

    row = strip.values[k]
    if not np.isfinite(row).any():
        return name, "unresolved", "", ""
    low, high = float(np.nanmin(row)), float(np.nanmax(row))
    first, second = (format_quantity(x, strip.unit) for x in (low, high))
    told = ""
    if k:
        apart = np.nan_to_num(np.abs(row - strip.values[0]))
        at = int(apart.argmax())
        if apart[at] > 0.02 * max(abs(low), abs(high), 1e-9):
            told = (
                f"differs most at {format_quantity(float(time[at]), 's')}: "
                f"{format_quantity(float(row[at]), strip.unit)} for "
                f"{format_quantity(float(strip.values[0][at]), strip.unit)}"
            )
    return (
        name,
        f"{first} to {second}",
        f"ends at {format_quantity(float(row[-1]), strip.unit)}",
        told,
    )


KIND = Command(
    name="play",
    order=42,
    help="say what a scope shows while states follow one another, healthy and faulty",
    arguments=arguments,
    run=run,
    more="States follow one another as typed; with x8 they take turns, with 200Hz..600Hz they "
    "come faster and faster, and NET=high sets something beside a state. Coils, clamps and "
    "capacitors take part; --edges shows logic with the delays of chips instead, 0, 1, X for "
    "unknown and Z for not driven.",
)
