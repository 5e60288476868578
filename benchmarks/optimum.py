"""``python -m benchmarks.optimum [--cases N] [--seed S]``: the program's own way through small
cases against the best way there is, the same costs and the same outcome tables for both.

A case is a board after its symptoms, cut down to a few suspects and a few checks of three outcomes
at most (``halfsplit.trial.reduced``), or a chain of equal blocks.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Iterator

import numpy as np

from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import compile_board
from halfsplit.build.world import World
from halfsplit.checks.kind import Meter
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.hidden import draw_faults
from halfsplit.trial.optimum import Compared, compare
from halfsplit.trial.reduced import Reduced, after_symptoms, reduce

KINDS = ("volts", "level", "ohms", "continuity", "diode", "parttest", "look", "swap", "reseat")
BOARDS = ("linear-supply", "plotter-drive", "panel-display", "tension-card")
CHAINS = (8, 10, 12)
SUSPECTS, CHECKS = 8, 6
GOAL = 1.15
"""Ours over the best, and no more."""


def main() -> None:
    """Print a line a case, then the means."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boards", nargs="*", default=BOARDS)
    parser.add_argument("--chains", nargs="*", type=int, default=CHAINS)
    parser.add_argument("--cases", type=int, default=2, help="a board")
    parser.add_argument("--suspects", type=int, default=SUSPECTS)
    parser.add_argument("--checks", type=int, default=CHECKS)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    print(
        f"{'case':44} {'best':>7} {'ours':>7} {'ratio':>6} {'beyond':>6}  begins with (ours, best)"
    )
    found = [_told(f"chain of {blocks} blocks", reduce_chain(blocks)) for blocks in args.chains]
    for name in args.boards:
        for told, case in _cases(name, args.cases, args.suspects, args.checks, args.seed):
            found.append(_told(f"{name}: {told}", case))
    ours, best = sum(one.ours for one in found), sum(one.best for one in found)
    right = sum(one.right for one in found)
    print(
        f"{len(found)} cases: ours over the best {ours / best:.3f}, "
        f"the right repair taken off both {(ours - right) / (best - right):.3f}; "
        f"median {statistics.median(one.ratio for one in found):.3f}, "
        f"at most {GOAL}: {sum(one.ratio <= GOAL for one in found)}"
    )


def reduce_chain(blocks: int) -> Reduced:
    """Equal blocks in a row, the output known to be wrong."""
    nets = [f"N{at}" for at in range(blocks + 1)]
    lines = [f"B{at + 1} block in 1={nets[at]} out 2={nets[at + 1]}" for at in range(blocks)]
    text = "\n".join(
        [f'board "{blocks} blocks"', *lines, f'output "end" right {nets[-1]}', "state run"]
    )
    catalogue = Catalogue(_world(text), Meter())
    p = after_symptoms(catalogue, 1)
    return reduce(catalogue, p, suspects=blocks, checks=blocks - 1, kinds=("signal",))


def _cases(
    name: str, count: int, suspects: int, checks: int, seed: int
) -> Iterator[tuple[str, Reduced]]:
    world = _world(find_source(name).text)
    catalogue = Catalogue(world, Meter())
    rows = {fault.id: at for at, fault in enumerate(world.faults)}
    for fault in draw_faults(world, count, seed):
        p = after_symptoms(catalogue, rows[fault.id])
        yield fault.id, reduce(catalogue, p, suspects=suspects, checks=checks, kinds=KINDS)


def _world(text: str) -> World:
    return compile_board(read_board(text, PartsVocabulary()))


def _told(name: str, case: Reduced) -> Compared:
    began = time.perf_counter()
    found = compare(case)
    first = "the same" if found.first[0] == found.first[1] else " | ".join(found.first)
    print(
        f"{name:44} {found.best:7.2f} {found.ours:7.2f} {found.ratio:6.3f} {found.beyond:6.2f}  "
        f"{first} ({int(np.count_nonzero(case.prior))} faults, {len(case.repairs)} suspects, "
        f"{time.perf_counter() - began:.1f} s)",
        flush=True,
    )
    if found.ratio > GOAL:
        worst = found.worst
        print(
            f"    worst step, {worst.minutes:.2f} min, {worst.chance:.0%} of cases: {worst.ours} "
            f"where {worst.best} is best, after {worst.seen or 'nothing'}"
        )
    return found


if __name__ == "__main__":
    main()
