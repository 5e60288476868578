"""How much the current that motion induces changes the answers, on the example drive.

    python benchmarks/induced.py [--every 40] [--rates 60 120 250]

Every so many-th fault is played there and back three times with the waveforms of the transient
engine: without induced currents; with those of the quick way, which gives the winding its own ohms
and henries as their path; and with the induced volts put into the board, where switches and clamps
decide what flows (one turn: volts from the motion of the first run). Told are how many faults get
another word, and how far apart they stand at the far end.
"""

from __future__ import annotations

import argparse

import numpy as np

from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build import transient
from halfsplit.build.compiled import Compiled, compile_board
from halfsplit.build.motion import Stepper, schedule_of, steppers, turns
from halfsplit.build.motion_file import described
from halfsplit.motion.judge import WORDS, Errand, judge
from halfsplit.motion.mechanism import Array, Mechanism
from halfsplit.motion.walk import Grid, Walk, walk
from halfsplit.parts.vocabulary import PartsVocabulary

_STEPS = 12


def main() -> None:
    arguments = argparse.ArgumentParser(description="What induced currents change.")
    arguments.add_argument("--every", type=int, default=40)
    arguments.add_argument("--rates", type=float, nargs="+", default=[60.0, 120.0, 250.0])
    asked = arguments.parse_args()
    world = compile_board(read_board(find_source("plotter-drive").text, PartsVocabulary()))
    [stepper] = steppers(world)
    unit = described(world.board, stepper).mechanism
    names = [fault.id for fault in world.faults[:: asked.every]]
    for rate in asked.rates:
        errand = Errand.make(_STEPS, len(stepper.states), rate)
        words, ends = [], []
        for name in names:
            three = _three(world, stepper, unit, errand, name)
            words.append([judge(errand, done, size=stepper.size).word[0] for done in three])
            ends.append([done.landings[errand.far, 0] for done in three])
        said, at = np.array(words), np.array(ends)
        runs = said[:, 0] == WORDS.index("runs")
        print(f"{rate:g} a second, {len(names)} faults: another word than the board's feedback "
              f"without induced currents {(said[:, 0] != said[:, 2]).sum()}, by the quick way "
              f"{(said[:, 1] != said[:, 2]).sum()}; where it runs, apart at the far end by "
              f"{np.abs(at[runs, 1] - at[runs, 2]).max(initial=0.0):.3f} steps")  # fmt: skip


def _three(
    world: Compiled, stepper: Stepper, unit: Mechanism, errand: Errand, name: str
) -> tuple[Walk, Walk, Walk]:
    """Without, by the quick way, and through the board."""
    grid = Grid.make(unit, errand.seconds.tolist())
    winding = (stepper.ohms, stepper.henries)
    plain = _currents(world, stepper, errand, grid, name, ())
    bare = walk(unit, grid, plain, start=stepper.first)
    quick = walk(unit, grid, plain, start=stepper.first, winding=winding)
    volts = _volts(unit, bare)
    back = [
        transient.Emf(
            designator=winding_name, time=np.concatenate([[0.0], grid.time]),
            volts=stepper.sign * np.concatenate([[0.0], volts[:, at]]),
        )
        for at, winding_name in enumerate(stepper.windings)
    ]  # fmt: skip
    through = _currents(world, stepper, errand, grid, name, back)
    return bare, quick, walk(unit, grid, through, start=stepper.first)


def _currents(
    world: Compiled, stepper: Stepper, errand: Errand, grid: Grid, name: str,
    emf: tuple[transient.Emf, ...] | list[transient.Emf],
) -> Array:  # fmt: skip
    waves = transient.run(
        world, schedule_of(stepper, errand), faults=[name], currents=stepper.windings, emf=emf
    )
    row = [fault.id for fault in world.faults].index(name)
    given = [waves.at(grid.middles, waves.currents[each]).T for each in stepper.windings]
    found: Array = np.nan_to_num(
        stepper.sign * np.stack(given, axis=1) * turns(world, stepper)[row][:, None]
    )
    return found


def _volts(unit: Mechanism, done: Walk) -> Array:
    """[K, P] volts against a current that pulls: torque for an ampere times radians a second."""
    angle = done.position[:, 0] * 2.0 * np.pi / unit.cycle
    slope = -np.sin(angle[:, None] - unit.angles[None, :])
    found: Array = unit.holding * unit.step_angle / unit.rated * slope * done.speed[:, :1]
    return found


if __name__ == "__main__":
    main()
