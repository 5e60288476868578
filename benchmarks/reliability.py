"""``python -m benchmarks.reliability JOURNAL ... [--svg FILE]``: how often what was told was right,
over the journals of any trials (``halfsplit trial BOARD --journal JOURNAL``)."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from halfsplit.errors import HalfsplitError
from halfsplit.trial.journal import Journal
from halfsplit.trial.reliability import (
    at_verdicts,
    on_the_way,
    reliability,
    reliability_svg,
    table,
)
from halfsplit.trial.rivals import PROGRAM


def main() -> int:
    """Read the journals, print the table, draw it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("journals", nargs="+", type=Path)
    parser.add_argument("--svg", type=Path)
    args = parser.parse_args()
    try:
        outcomes = [
            outcome
            for path in args.journals
            for outcome in Journal(path, None).known[PROGRAM].values()
        ]
    except HalfsplitError as error:
        print(error, file=sys.stderr)
        return 2
    verdicts, way = reliability(at_verdicts(outcomes)), reliability(on_the_way(outcomes))
    print(f"{len(outcomes)} faults")
    print(table(verdicts, way), end="")
    if args.svg:
        title = f"{len(args.journals)} trials, {len(outcomes)} faults"
        args.svg.write_text(reliability_svg(verdicts, way, title), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
