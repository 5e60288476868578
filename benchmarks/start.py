"""How long a start takes: processor time from an empty process, beside that of importing numpy.

    python benchmarks/start.py [--rounds 9] [--board linear-supply]

Every line is a process of its own; they take turns, and the median of each is told. Modules are
compiled to bytecode and the kinds of parts listed once before, as they are from the second start
on; predictions are not kept, but for the lines that say so.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

FIRST_ANSWER = """
import sys
from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary

board = read_board(find_source(sys.argv[1]).text, PartsVocabulary())
world = compile_board(board)
print(world.volts(board.states[0].name, list(world.places)[:1]).mean[0, 0])
"""
"""The board file read, its circuit and faults made, and its first state predicted for them all."""


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--rounds", type=int, default=9)
    options.add_argument("--board", default="linear-supply")
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        environment = _environment(Path(folder))
        case = str(Path(folder) / "case.hsplit")
        halfsplit = [sys.executable, "-m", "halfsplit"]
        subprocess.run([*halfsplit, "new", "--board", given.board, case], env=environment,
                       check=True, capture_output=True)  # fmt: skip
        lines = {
            "python": [sys.executable, "-c", "pass"],
            "import numpy": [sys.executable, "-c", "import numpy"],
            "first answer": [sys.executable, "-c", FIRST_ANSWER, given.board],
            "--version": [*halfsplit, "--version"],
            "--help": [*halfsplit, "--help"],
            "next --help": [*halfsplit, "next", "--help"],
            f"board {given.board}": [*halfsplit, "board", given.board],
            f"faults {given.board}": [*halfsplit, "faults", given.board],
            "log": [*halfsplit, "log", case],
            "next, predictions kept": [*halfsplit, "next", case],
            "suspects, predictions kept": [*halfsplit, "suspects", case],
        }
        print(f"{'':28} {'median s':>9} {'/ numpy':>8}")
        medians = _medians(lines, environment, given.rounds)
        for name, seconds in medians.items():
            print(f"{name:28} {seconds:9.3f} {seconds / medians['import numpy']:8.1f}")


def _environment(folder: Path) -> dict[str, str]:
    dropped = {"PYTHONDONTWRITEBYTECODE", "HALFSPLIT_ENGINE"}
    kept = {name: value for name, value in os.environ.items() if name not in dropped}
    places = {f"XDG_{what}_HOME": str(folder / what) for what in ("CACHE", "CONFIG", "DATA")}
    return {**kept, **places, "PYTHONPYCACHEPREFIX": str(folder / "bytecode")}


def _medians(
    lines: Mapping[str, Sequence[str]], environment: Mapping[str, str], rounds: int
) -> dict[str, float]:
    taken: dict[str, list[float]] = {name: [] for name in lines}
    for turn in range(rounds + 1):
        for name, words in lines.items():
            seconds = _processor_time(words, environment)
            if turn:  # the first writes what is kept
                taken[name].append(seconds)
    return {name: statistics.median(seconds) for name, seconds in taken.items()}


def _processor_time(words: Sequence[str], environment: Mapping[str, str]) -> float:
    """Of one process and its threads, user and system."""
    before = getrusage(RUSAGE_CHILDREN)
    subprocess.run(words, env=environment, check=True, stdout=subprocess.DEVNULL)
    after = getrusage(RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


if __name__ == "__main__":
    main()
