"""``python -m halfsplit.trial BOARD``: play faults on a board and print how many were found."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.checks.kind import Limits
from halfsplit.errors import HalfsplitError
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.agreement import agreement
from halfsplit.trial.hidden import draw_faults
from halfsplit.trial.report import Outcome
from halfsplit.trial.run import run_trial

__all__ = ["main"]


def main(words: list[str] | None = None) -> int:
    """Run a trial; 0 when it ran, 2 when it could not."""
    options = _parser().parse_args(words)
    try:
        text = Path(options.board).read_text(encoding="utf-8")
        world = compile_board(read_board(text, PartsVocabulary(), source=options.board))
        if options.agreement:
            found = agreement(world, options.agreement, seed=options.seed)
            print(found.table(), end="")
            return 0
        report = run_trial(
            world.board,
            world,
            draw_faults(world, options.faults, options.seed),
            options.seed,
            options.processes,
            limits=Limits(without_kinds=frozenset(options.without)),
            progress=None if options.quiet else _progress,
        )
    except (HalfsplitError, OSError) as error:
        print(error, file=sys.stderr)
        return 2
    print(report.json() if options.json else report.table(), end="")
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m halfsplit.trial", description=__doc__)
    parser.add_argument("board", help="a board file")
    parser.add_argument("--faults", type=int, default=40, help="how many, drawn by their rates")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--without", nargs="*", default=[], help="kinds of check left out")
    parser.add_argument("--json", action="store_true", help="figures and every outcome")
    parser.add_argument("--quiet", action="store_true", help="no line for each fault")
    parser.add_argument(
        "--agreement", nargs="+", metavar="KIND",
        help="compare predictions for a good board instead: volts, ohms, diode",
    )  # fmt: skip
    return parser


def _progress(done: int, of: int, outcome: Outcome) -> None:
    told = "right" if outcome.right else "missed"
    if outcome.failed:
        told = "not played"
    elif not outcome.visible:
        told = "cannot be seen"
    print(f"{done}/{of} {outcome.fault}: {told}, {outcome.checks} checks", file=sys.stderr)


if __name__ == "__main__":
    sys.exit(main())
