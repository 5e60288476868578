"""`halfsplit exercise`: play the controller's part on its lifted or unplugged lines."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from halfsplit.cli.command import Answer, Command, UsageError
from halfsplit.cli.records import names, write_text
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.diagnose.expected import Expected
    from halfsplit.waves.exercise import Limits, Move

__all__ = ["KIND"]


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("out", metavar="OUT", help="file to write: .vcd, .csv, .c or .py")
    parser.add_argument("--lines", metavar="A,B,C,D", default="A,B,C,D", help="names of the lines")
    parser.add_argument(
        "--sequence", metavar="S", default="one phase on",
        help="one phase on, two phases on, half step; else one phase on",
    )  # fmt: skip
    parser.add_argument("--on", choices=("high", "low"), default="high", help="level of a phase on")
    parser.add_argument(
        "--moves", metavar="N,...", default="8,-8", help="steps of each move; else 8,-8"
    )
    parser.add_argument("--rate", metavar="R", default="50", help="steps per second; else 50")
    parser.add_argument("--ramp", metavar="N", type=int, default=0, help="steps of the ramp")
    parser.add_argument("--hold", metavar="T", default="50ms", help="coils on after a move")
    parser.add_argument("--pause", metavar="T", default="0s", help="coils off after that")
    parser.add_argument("--volts", metavar="V", required=True, help="what drives the coils")
    parser.add_argument("--ohms", metavar="R", required=True, help="resistance of one coil")
    parser.add_argument("--rated", metavar="V", help="what a coil may have all the time")
    parser.add_argument("--longest", metavar="T", help="longest time for one phase to be on")
    parser.add_argument(
        "--board", metavar="BOARD", help="predict what is read on this board for each code"
    )
    parser.add_argument(
        "--like", metavar="STATE", help="with --board: the state in which the lines are driven"
    )
    parser.add_argument(
        "--pulse", metavar="NET", help="with --board: the clock that takes each code over"
    )
    parser.add_argument(
        "--response", metavar="OUT.csv",
        help="with --board: write the waveform of every net of a good board meanwhile",
    )  # fmt: skip


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Lay the plan out, write it, say what to beware of and what will be read."""
    from halfsplit.board.source import find_source
    from halfsplit.capture.write import write_text as write_record
    from halfsplit.diagnose.stimulated import stimulated
    from halfsplit.waves.exercise import CAUTIONS, Plan, excitation_named, stimulus
    from halfsplit.waves.stimulus_text import WRITERS

    lines = names(args.lines)
    out = Path(args.out)
    writer = WRITERS.get(out.suffix.lower().removeprefix("."))
    if writer is None:
        raise UsageError(f"expected a file ending in .{', .'.join(WRITERS)}, got {out.name}")
    plan = Plan(
        excitation=excitation_named(args.sequence, len(lines)),
        names=tuple(lines),
        moves=_moves(args),
        active_low=args.on == "low",
    )
    limits = _limits(args)
    played = stimulus(plan, limits)
    if args.response and not args.board:
        raise UsageError("expected --board with --response: whose response?")
    predicted: list[Expected] = []
    assumed: tuple[str, ...] = ()
    if args.board:
        on_board = stimulated(find_source(args.board), played, like=args.like, pulse=args.pulse)
        predicted = on_board.held()
        if args.response:
            record, assumed = on_board.response()
            write_record(record, args.response)
    write_text(args.out, writer(played))
    data = {
        "file": str(out),
        "lines": lines,
        "sequence": plan.excitation.name,
        "codes": len(played.codes),
        "seconds": 1e-6 * played.stop,
        "longest_on": played.on,
        "longest_allowed": limits.longest_on,
        "current_limit": played.amperes,
        "cautions": list(CAUTIONS),
        "response": args.response,
        "assumed": list(assumed),
        "predicted": [one.to_json() for one in predicted],
    }

    def text(screen: Screen) -> Iterable[str]:
        yield screen.strong(f"{out}: {len(played.codes)} codes over {1e-6 * played.stop:.3g} s")
        yield from screen.wrap(
            f"Limit the supply to {played.amperes:.2g} A. A phase is on for {played.on:.3g} s at "
            f"most; {limits.longest_on:.3g} s is allowed."
        )
        for caution in CAUTIONS:
            yield from screen.wrap(f"- {caution}", hang="  ")
        yield from _table(predicted, screen)
        if args.response:
            yield f"{args.response}: what every net of a good board does meanwhile"
        if assumed:
            guess = f"nobody gave the value of {', '.join(assumed)}: its timing is a guess"
            yield from screen.wrap(guess, "! ", "  ")

    return Answer(data=data, lines=text)


def _moves(args: argparse.Namespace) -> tuple[Move, ...]:
    from halfsplit.units import parse
    from halfsplit.waves.exercise import Move

    try:
        counts = [int(word) for word in names(args.moves)]
    except ValueError as error:
        raise UsageError(f"expected moves such as 8,-8, got {args.moves!r}") from error
    return tuple(
        Move(
            steps=count, rate=parse(args.rate), ramp=args.ramp, hold=parse(args.hold, "s"),
            pause=parse(args.pause, "s"),
        )
        for count in counts
    )  # fmt: skip


def _limits(args: argparse.Namespace) -> Limits:
    from halfsplit.units import parse
    from halfsplit.waves.exercise import Limits

    volts, ohms = parse(args.volts, "V"), parse(args.ohms, "Ω")
    if volts <= 0 or ohms <= 0:
        raise UsageError("expected volts and ohms above 0")
    return Limits(
        volts=volts, ohms=ohms,
        rated=None if args.rated is None else parse(args.rated, "V"),
        longest=None if args.longest is None else parse(args.longest, "s"),
    )  # fmt: skip


def _table(predicted: list[Expected], screen: Screen) -> Iterable[str]:
    """One row a net that changes, one column a code."""
    if not predicted:
        return
    from halfsplit.diagnose.stimulated import PLAYING

    states = list(dict.fromkeys(one.state for one in predicted))
    rows = [("net", *(state.removeprefix(PLAYING) for state in states))]
    for net in dict.fromkeys(one.net for one in predicted):
        own = {one.state: one for one in predicted if one.net == net}
        means = [own[state].mean for state in states]
        if max(means) - min(means) > 0.05:
            rows.append((net, *(f"{mean:.2f} V" for mean in means)))
    yield ""
    yield screen.strong("What a good board reads while each code is held")
    yield from screen.columns(rows, right=range(1, len(states) + 1))


KIND = Command(
    name="exercise",
    order=106,
    help="write a step pattern that plays the controller's part on its lifted lines",
    arguments=arguments,
    run=run,
    more="For a pattern source (.vcd, .csv) or a small microcontroller board (.c, .py, which is "
    "MicroPython). The pattern is refused when a coil would be on for too long.",
)
