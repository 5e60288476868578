"""`halfsplit trial`: is the program right about a board, when another simulator plays it?"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from halfsplit.cli.arguments import add_board, whole_number
from halfsplit.cli.command import Answer, Command
from halfsplit.cli.screen import Screen

if TYPE_CHECKING:
    from halfsplit.build.fault import Fault
    from halfsplit.build.world import World
    from halfsplit.trial.report import Outcome, TrialReport

__all__ = ["KIND"]

_SHAPES = ("noticed", "double", "intermittent")
_SAMPLE = 20


def arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    add_board(parser)
    parser.add_argument(
        "--sample",
        type=whole_number,
        default=_SAMPLE,
        metavar="N",
        help=f"play N faults, drawn by how likely they are ({_SAMPLE})",
    )
    parser.add_argument(
        "--all", action="store_true", help="play every fault of the list, not a sample"
    )
    parser.add_argument(
        "--seed",
        type=whole_number,
        default=1,
        metavar="S",
        help="draws faults, tolerances and slips of the meter; same seed, same trial; else 1",
    )
    parser.add_argument(
        "--faults",
        nargs="+",
        metavar="ID",
        help="play these faults, named as `halfsplit faults` lists them",
    )
    shape = parser.add_mutually_exclusive_group()
    shape.add_argument(
        "--noticed", action="store_true", help="of the sample only faults that put an output wrong"
    )
    shape.add_argument(
        "--double", action="store_true", help="hide two faults in different parts at once"
    )
    shape.add_argument(
        "--intermittent", action="store_true", help="hide faults that are there now and then"
    )
    parser.add_argument(
        "--misread",
        type=_share,
        default=0.01,
        metavar="P",
        help="share of readings that are plainly wrong (0.01)",
    )
    parser.add_argument(
        "--capacitance",
        action="store_true",
        help="measure with a meter that has ranges for capacitance and series resistance too",
    )
    parser.add_argument(
        "--baselines",
        action="store_true",
        help="let others look for the same faults too: the likeliest part first, halving the path, "
        "any useful check",
    )
    parser.add_argument(
        "--processes", type=whole_number, default=1, metavar="N", help="share the work; else 1"
    )
    parser.add_argument(
        "--cluster",
        default="",
        metavar="ADDRESS",
        help="share it over the Dask cluster whose scheduler is at tcp://HOST:PORT; needs the "
        "extra halfsplit[cluster]",
    )
    parser.add_argument(
        "--journal",
        type=Path,
        metavar="FILE",
        help="keep every outcome here; the same command goes on where it stopped",
    )
    parser.add_argument(
        "--reliability",
        type=Path,
        metavar="FILE.svg",
        help="draw how often what was told with a probability was right",
    )


def run(args: argparse.Namespace, screen: Screen) -> Answer:
    """Play the faults and count how often the right suspect was named."""
    from dataclasses import asdict

    from halfsplit.build.cache import keep
    from halfsplit.checks.capacitance import USUAL_HERTZ
    from halfsplit.checks.esr import USUAL_HERTZ as ESR_HERTZ
    from halfsplit.checks.kind import Meter
    from halfsplit.cli.boards import world_of
    from halfsplit.diagnose.views import plain_json
    from halfsplit.trial.hidden import Hidden, draw_hidden
    from halfsplit.trial.journal import Journal, told_apart
    from halfsplit.trial.player import Hand
    from halfsplit.trial.rivals import PROGRAM, RIVALS
    from halfsplit.trial.run import run_trial

    world = world_of(args)
    shape = next((name for name in _SHAPES if getattr(args, name)), "single")
    faults = (
        [Hidden(faults=(fault,)) for fault in _named(args.faults, world)]
        if args.faults
        else draw_hidden(world, len(world.faults) if args.all else args.sample, args.seed, shape)
    )
    meter = Meter(capacitance_hertz=USUAL_HERTZ, esr_hertz=ESR_HERTZ) if args.capacitance else None
    journal = None
    if args.journal is not None:
        trial = told_apart(repr(world.board), faults, args.seed, args.misread, meter)
        journal = Journal(args.journal, trial)
    reports = {}
    for name, ask in RIVALS.items():
        if not args.baselines and name != PROGRAM:
            continue
        reports[name] = run_trial(
            world.board,
            world,
            faults,
            args.seed,
            processes=args.processes,
            ask=ask,
            hand=Hand(misread=args.misread),
            meter=meter,
            cluster=args.cluster,
            known=journal.known[name] if journal else None,
            keep=partial(journal.add, name) if journal else None,
            progress=_Progress() if sys.stderr.isatty() or journal else None,
        )
    report = reports.pop(PROGRAM)
    if args.reliability is not None:
        _draw(args.reliability, report)
    keep(world)
    figures = {name.replace(" ", "_"): value for name, value in report.summary().items()}
    data = plain_json(
        {
            **figures,
            "outcomes": [asdict(one) for one in report.outcomes],
            "baselines": {name: one.summary() for name, one in reports.items()},
        }
    )
    assert isinstance(data, dict)

    def lines(screen: Screen) -> Iterable[str]:
        yield screen.strong(report.board)
        for line in report.table().splitlines():
            yield from screen.wrap(line, hang="      ") if len(line) > screen.width else [line]
        if reports:
            yield ""
            yield from screen.columns(
                _compared({PROGRAM: report, **reports}), right=(1, 2, 3, 4, 5, 6, 7)
            )

    return Answer(data=data, lines=lines)


_FIGURES = {
    "cured share": "cured",
    "no good part replaced": "no good part",
    "no repair in vain": "none in vain",
    "needless repairs mean": "needless",
    "minutes to the cure mean": "minutes",
    "money mean": "money",
    "cost mean": "cost",
}
"""Figures that are compared, with the heads of their columns."""


def _compared(reports: Mapping[str, TrialReport]) -> list[tuple[str, ...]]:
    rows = [("who", *_FIGURES.values())]
    for name, report in reports.items():
        figures = report.summary()
        rows.append((name, *(str(figures[figure]) for figure in _FIGURES)))
    return rows


def _named(names: Sequence[str], world: World) -> list[Fault]:
    from halfsplit.errors import UnknownName

    known = {fault.id: fault for fault in world.faults}
    for name in names:
        if name not in known:
            raise UnknownName("fault", name, known)
    return [known[name] for name in names]


def _share(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value < 1.0:
        raise argparse.ArgumentTypeError(f"expected a share from 0 to below 1, got {text!r}")
    return value


def _draw(path: Path, report: TrialReport) -> None:
    from halfsplit.errors import TrialError
    from halfsplit.trial.reliability import at_verdicts, on_the_way, reliability, reliability_svg

    verdicts, way = at_verdicts(report.outcomes), on_the_way(report.outcomes)
    drawn = reliability_svg(reliability(verdicts), reliability(way), report.board)
    try:
        path.write_text(drawn, encoding="utf-8")
    except OSError as error:
        raise TrialError(f"expected to write {path}, got: {error}") from error


class _Progress:
    """A line for each fault played, with the time that the others will take at this rate."""

    def __init__(self) -> None:
        self.started, self.played = time.monotonic(), 0

    def __call__(self, done: int, total: int, last: Outcome) -> None:
        self.played += 1
        left = (total - done) * (time.monotonic() - self.started) / self.played
        how = "not played" if last.failed else "found" if last.right else "not found"
        how = how if last.visible or last.failed else "shows nowhere"
        print(f"{done} of {total}, {_minutes(left)} to go  {last.fault}: {how}", file=sys.stderr)


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:.0f} min" if seconds >= 90 else f"{seconds:.0f} s"


KIND = Command(
    name="trial",
    order=110,
    help="let an independent simulator play faults, and count how many are found",
    arguments=arguments,
    run=run,
    more="Needs ngspice, which plays the board with other device models, other tolerances and a "
    "noisy meter. A fault that no reading shows is counted apart.",
)
