"""Captures of the coils' ends of the example drive: what peak and time to rest add to the lines.

    python -m benchmarks.switched [--every 4] [--seed 1]

The transient engine plays the exercise for faults near one coil; a scope records the four ends.
"""

from __future__ import annotations

import argparse

import numpy as np
from benchmarks.evidence import EXERCISE, Instrument, belief_ranks, recorded, told_ranks

from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.cache import compile_kept
from halfsplit.build.transient import run
from halfsplit.build.transient_schedule import read_schedule
from halfsplit.checks._recorded import stage_at
from halfsplit.checks._switched import near
from halfsplit.checks.kind import Meter
from halfsplit.diagnose.captured import read_capture
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.parts.vocabulary import PartsVocabulary

SCOPE = Instrument(noise=0.02, share=0.01, samples=500)
NET = "J2/1"


def main() -> None:
    """Play, read, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=4, help="one fault in so many")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng = np.random.default_rng(args.seed)
    source = find_source("plotter-drive")
    world = compile_kept(read_board(source.text, PartsVocabulary(), source=source.where))
    stage = stage_at(f"net {NET}", world)
    faults = [world.faults[row].id for row in near(NET, world)][:: args.every]
    schedule = read_schedule(EXERCISE)
    played = run(world, schedule, faults=faults, places=stage.places)
    catalogue = Catalogue(world, Meter())
    lines, shapes = [], []
    for row, fault in enumerate(played.faults):
        if played.unresolved[row]:
            continue
        record, _ = recorded([stage], played, row, schedule, SCOPE, rng)
        said = read_capture(record, {net: net for net in stage.nets}, world, schedule)
        with_lines = [(one.check, one.text) for one in said.stages]
        with_shapes = [*with_lines, *((one.check, one.text) for one in said.measured)]
        lines.append(belief_ranks(catalogue, fault, with_lines)[1])
        shapes.append(belief_ranks(catalogue, fault, with_shapes)[1])
    print(f"{len(lines)} faults near {NET}")
    told_ranks("the lines alone", lines)
    told_ranks("with peak and time to rest", shapes)


if __name__ == "__main__":
    main()
