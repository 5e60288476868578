"""Captures: readers beside general-purpose ones on the same files, and windows of a long record.

    pip install pandas polars pyvcd pyDigitalWaveTools    # each may be missing
    python benchmarks/captures.py [--changes 1500000] [--rows 400000] [--rounds 5]
                                  [--samples 10000000] [--channels 16] [--folder F]

All readers take turns, so that a busy machine troubles all alike; the best of the rounds counts,
the first two rounds only for a reader that takes more than a second.
Megabytes a second of processor time (all threads added up) and of the clock on the wall. The files
are made first and removed at the end.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from halfsplit.capture.compiled import load_readers
from halfsplit.capture.keep import keep
from halfsplit.capture.kept import Kept
from halfsplit.capture.read import read
from halfsplit.capture.record import Analog, Record

Runs = dict[str, Callable[[], object]]
_SLOW = 2
"""Rounds for a reader that takes more than a second."""


def main() -> None:
    arguments = argparse.ArgumentParser(description="Captures: reading, keeping, windows.")
    arguments.add_argument("--changes", type=int, default=1_500_000)
    arguments.add_argument("--rows", type=int, default=400_000)
    arguments.add_argument("--rounds", type=int, default=5)
    arguments.add_argument("--samples", type=int, default=10_000_000)
    arguments.add_argument("--channels", type=int, default=16)
    arguments.add_argument("--folder", type=Path, help="where the files are made")
    asked = arguments.parse_args()
    folder = Path(tempfile.mkdtemp(dir=asked.folder))
    try:
        print(f"compiled readers: {'yes' if load_readers() else 'no'}")
        path = make_vcd(folder / "a.vcd", asked.changes)
        show(f"VCD, {asked.changes} changes", path, vcd_readers(path), asked.rounds)
        path = make_text(folder / "a.csv", asked.rows)
        show(f"text, {asked.rows} rows of 5 numbers", path, text_readers(path), asked.rounds)
        show_kept(folder / "a.kept", asked.samples, asked.channels)
    finally:
        shutil.rmtree(folder)


def make_vcd(path: Path, changes: int) -> Path:
    """Sixteen lines that change one at a time at odd moments."""
    rng = np.random.default_rng(1)
    times = np.cumsum(rng.integers(1, 400, changes)).tolist()
    lines = rng.integers(0, 16, changes).tolist()
    level = [0] * 16
    with path.open("w") as file:
        file.write("$timescale 1 ns $end\n$scope module top $end\n")
        file.writelines(f"$var wire 1 {chr(33 + k)} D{k} $end\n" for k in range(16))
        file.write("$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n")
        file.writelines(f"0{chr(33 + k)}\n" for k in range(16))
        file.write("$end\n")
        for at, k in zip(times, lines, strict=True):
            level[k] ^= 1
            file.write(f"#{at}\n{level[k]}{chr(33 + k)}\n")
    return path


def make_text(path: Path, rows: int) -> Path:
    """Time, three voltages and a level."""
    rng = np.random.default_rng(2)
    times = np.arange(rows) * 1e-6
    volts = rng.normal(0, 3, (rows, 3))
    with path.open("w") as file:
        file.write("Time (s),CH1 (V),CH2 (V),CH3 (V),D0\n")
        for t, (a, b, c), d in zip(times, volts, rng.integers(0, 2, rows), strict=True):
            file.write(f"{t:.9f},{a:.5f},{b:.5f},{c:.5f},{d}\n")
    return path


def plain(path: Path) -> int:
    """Read the bytes, and do nothing with them."""
    with path.open("rb", buffering=0) as file:
        return sum(len(piece) for piece in iter(lambda: file.read(1 << 20), b""))


def engine(name: str, path: Path) -> Callable[[], object]:
    def run() -> object:
        os.environ["HALFSPLIT_ENGINE"] = name
        return read(path)

    return run


def vcd_readers(path: Path) -> Runs:
    runs: Runs = {"plain reading": lambda: plain(path), "halfsplit, numpy": engine("numpy", path)}
    if load_readers():
        runs["halfsplit, compiled"] = engine("", path)
    try:
        from pyDigitalWaveTools.vcd.parser import VcdParser

        def waves() -> object:
            with path.open() as file:
                parser = VcdParser()
                parser.parse(file)
                return parser

        runs["pyDigitalWaveTools"] = waves
    except ImportError:
        pass
    try:
        from vcd.reader import tokenize

        def tokens() -> object:
            with path.open("rb") as file:
                return sum(1 for _ in tokenize(file))

        runs["pyvcd, tokens only"] = tokens
    except ImportError:
        pass
    return runs


def text_readers(path: Path) -> Runs:
    runs: Runs = {"plain reading": lambda: plain(path), "halfsplit, numpy": engine("numpy", path)}
    if load_readers():
        runs["halfsplit, compiled"] = engine("", path)
    try:
        import pandas

        runs["pandas"] = lambda: pandas.read_csv(path)
    except ImportError:
        pass
    try:
        import polars

        runs["polars"] = lambda: polars.read_csv(path)
    except ImportError:
        pass
    runs["numpy.loadtxt"] = lambda: np.loadtxt(path, delimiter=",", skiprows=1)
    return runs


def show(title: str, path: Path, runs: Runs, rounds: int) -> None:
    """One table: each reader's best of the rounds."""
    size = path.stat().st_size / 1e6
    own: dict[str, float] = {}
    wall: dict[str, float] = {}
    for turn in range(rounds):
        for name, run in runs.items():
            if turn >= _SLOW and wall[name] > 1.0:
                continue
            started, spent = time.perf_counter(), time.process_time()
            run()
            own[name] = min(own.get(name, np.inf), time.process_time() - spent)
            wall[name] = min(wall.get(name, np.inf), time.perf_counter() - started)
    others = [name for name in runs if not name.startswith(("halfsplit", "plain"))]
    best = min(others, key=lambda name: own[name], default=None)
    print(f"\n{title}, {size:.1f} MB")
    print("| reader | MB/s, processor | MB/s, wall | of plain reading | times the best other |")
    print("|---|---|---|---|---|")
    for name in runs:
        times = f"{own[best] / own[name]:.1f}" if best else ""
        share = own["plain reading"] / own[name]
        speeds = f"{size / own[name]:.1f} | {size / wall[name]:.1f}"
        print(f"| {name} | {speeds} | {share:.1%} | {times} |")


def show_kept(folder: Path, samples: int, channels: int) -> None:
    """Keep a long record, open it, and ask for windows of all widths."""
    started = time.perf_counter()
    keep(long_record(samples, channels), folder)
    kept_in = time.perf_counter() - started
    size = sum(path.stat().st_size for path in folder.iterdir())
    before = anonymous()
    started = time.perf_counter()
    kept = Kept.open(folder)
    opened = time.perf_counter() - started
    rng = np.random.default_rng(3)
    end, spent = kept.record.end, []
    for turn in range(400):
        width = end * 10.0 ** -rng.uniform(0, 6) if turn % 4 else end
        begin = rng.uniform(0, end - width) if width < end else 0.0
        name = kept.record.names[turn % channels]
        spent.append(min(seconds(kept, name, begin, begin + width) for _ in range(5)))
    print(f"\nkept record: {samples} samples x {channels} channels, {size / 1e9:.2f} GB")
    print("| what | |")
    print("|---|---|")
    print(f"| written, with summaries and checksums | {kept_in:.1f} s |")
    print(f"| opened | {opened * 1e3:.1f} ms |")
    print(f"| window of one channel to 2000 columns, median | {np.median(spent) * 1e3:.3f} ms |")
    print(f"| the same, 95 % of windows | {np.quantile(spent, 0.95) * 1e3:.3f} ms |")
    print(f"| memory beyond the file cache, after all windows | {anonymous() - before:.1f} MB |")
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"| largest of the whole run, mapped files and readers above included | {most:.0f} MB |")


def seconds(kept: Kept, name: str, begin: float, end: float) -> float:
    """What one window takes; the first time its pages come from the disk."""
    started = time.perf_counter()
    kept.columns(name, begin, end)
    return time.perf_counter() - started


def long_record(samples: int, channels: int) -> Iterator[Record]:
    """Noise on a slow wave, the same on every channel."""
    piece = 1 << 20
    rng = np.random.default_rng(4)
    noise = rng.normal(0, 0.1, piece).astype(np.float32)
    step = 1e-7
    for first in range(0, samples, piece):
        count = min(piece, samples - first)
        wave = np.float32(2.0) * np.sin((first + np.arange(count)) * np.float32(1e-5))
        row = (wave + noise[:count]).astype(np.float32)
        yield Record(
            source="made",
            begin=first * step,
            end=(first + count) * step,
            channels=tuple(
                Analog(name=f"CH{k}", unit="V", samples=row, start=first * step, step=step)
                for k in range(channels)
            ),
        )


def anonymous() -> float:
    """Megabytes of this process that are not mapped files (Linux; elsewhere not told)."""
    try:
        status = Path("/proc/self/status").read_text()
    except OSError:
        return float("nan")
    line = next(line for line in status.splitlines() if line.startswith("RssAnon"))
    return int(line.split()[1]) / 1024


if __name__ == "__main__":
    main()
