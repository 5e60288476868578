"""``python -m benchmarks.reliability JOURNAL ... [--svg FILE] [--of PATTERN | --but PATTERN]``: how
often what was told was right, over the journals of any trials (``halfsplit trial BOARD --journal
JOURNAL``), of all suspects or of some."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Collection
from dataclasses import replace
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
from halfsplit.trial.report import Outcome
from halfsplit.trial.rivals import PROGRAM


def main() -> int:
    """Read the journals, print the table, draw it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("journals", nargs="+", type=Path)
    parser.add_argument("--svg", type=Path)
    some = parser.add_mutually_exclusive_group()
    some.add_argument("--of", default="", help="only suspects whose names begin so (a pattern)")
    some.add_argument("--but", help="all suspects but those")
    args = parser.parse_args()
    try:
        outcomes = [
            some_of(outcome, args.of, args.but)
            for path in args.journals
            for outcome in alike(Journal(path, None).known[PROGRAM].values())
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


def alike(outcomes: Collection[Outcome]) -> list[Outcome]:
    """The visible ones, weighted so that each trial counts by how many faults it has."""
    seen = [one for one in outcomes if one.visible]
    whole = sum(one.weight for one in seen)
    return [replace(one, weight=one.weight * len(seen) / whole) for one in seen]


def some_of(outcome: Outcome, of: str, but: str | None) -> Outcome:
    """With what was told of some suspects only."""
    kept = [
        tuple(
            one for one in said
            if re.match(of, one[0]) and not (but is not None and re.match(but, one[0]))
        )
        for said in (outcome.named, outcome.led)
    ]  # fmt: skip
    return replace(outcome, named=kept[0], led=kept[1])


if __name__ == "__main__":
    sys.exit(main())
