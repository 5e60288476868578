"""`halfsplit jumper`: a wire in place of a track."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.screen import Screen

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "board", metavar="BOARD", nargs="?", help="a board, when the current is to be predicted"
    )
    parser.add_argument("net", metavar="NET", nargs="?", help="the net that the track belongs to")
    parser.add_argument("--current", metavar="A", help="amperes, such as 0.4A or 400mA")
    parser.add_argument("--length", metavar="MM", type=float, default=100.0, help="mm of wire")
    parser.add_argument("--width", metavar="MM", type=float, help="mm, width of the track")
    parser.add_argument(
        "--ounces", metavar="OZ", type=float, default=1.0, help="copper of the board; else 1 oz"
    )
    parser.add_argument("--inside", action="store_true", help="the track is inside the board")
    parser.add_argument("--drop", metavar="V", help="volts that may be lost, such as 20mV")


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Weigh every gauge."""
    from halfsplit import units
    from halfsplit.replacement.copper import Track
    from halfsplit.replacement.jumper import choose, jumpers
    from halfsplit.replacement.tables import table

    amps, where = _current(args)
    if not all(x is None or 0.0 < x < 1e5 for x in (args.length, args.width, args.ounces)):
        raise UsageError("length, width and ounces must be above 0")
    track = None
    if args.width is not None:
        track = Track(width=args.width * 1e-3, ounces=args.ounces, inside=args.inside)
    limit = units.parse(args.drop, "V") if args.drop else None
    found = jumpers(amps, args.length * 1e-3, track=track, most_drop=limit)
    best = choose(found)
    advice = {each["what"]: each["words"] for each in table("mending")["advice"]}

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"{units.format_quantity(amps, 'A')} over {args.length:g} mm{where}")
        if track is not None:
            yield (
                f"The track: {track.ohms(args.length * 1e-3) * 1e3:.3g} mΩ, "
                f"{track.rise(amps):.2g} K above the board at that current (IPC-2221)."
            )
        rows = [
            (f"gauge {one.wire.gauge}", f"{one.wire.diameter * 1e3:.2f} mm",
             f"{one.drop * 1e3:.3g} mV", units.format_quantity(one.watts, "W"),
             "will do" if not one.why_not else "; ".join(one.why_not))
            for one in found
        ]  # fmt: skip
        yield from screen.columns(rows)
        yield f"Take gauge {best.wire.gauge}." if best else "None of these: use two in parallel."
        for what, words in advice.items():
            yield screen.strong(what)
            for line in words:
                yield from screen.wrap(line, "  ")

    data = {
        "amps": amps,
        "length": args.length * 1e-3,
        "track": None if track is None else {
            "ohms": track.ohms(args.length * 1e-3), "rise": track.rise(amps)},
        "wires": [one.to_json() for one in found],
        "take": best.wire.gauge if best else None,
        "advice": advice,
    }  # fmt: skip
    return Answer(data=data, lines=lines)


def _current(args: argparse.Namespace) -> tuple[float, str]:
    from halfsplit import units

    if args.current:
        amps = units.parse(args.current, "A")
        if amps <= 0.0:
            raise UsageError(f"the current must be above 0, got {args.current!r}")
        return amps, ""
    if not (args.board and args.net):
        raise UsageError(
            "expected --current, or a board and a net: halfsplit jumper --current 400mA"
        )
    from halfsplit.cli.boards import world_of
    from halfsplit.replacement.net import net_current
    from halfsplit.replacement.operating import operate

    amps, label = net_current(operate(world_of(args)), args.net)
    if amps <= 0.0:
        raise UsageError(f"no current is predicted in {args.net}; give --current")
    return amps, f" ({args.net}, {label})"


KIND = Command(
    name="jumper",
    order=48,
    help="choose a wire in place of a track: gauge, drop, heat",
    arguments=arguments,
    run=run,
    more="Tracks by the charts of IPC-2221, wire by ASTM B258; with --width the wire may lose no "
    "more than the track did. Followed by advice on mending the board.",
)
