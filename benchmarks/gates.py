"""Logic with thousands of gates: how few probes and how fast, beside a SAT solver.

    python -m benchmarks.gates
    python -m benchmarks.gates --cases 200 c7552.bench

One inverted gate under one random vector that shows it, all gates alike beforehand, probes that
never slip, the same cases for all. Probes are read under that vector alone, and with further
random vectors to choose from.
The best order of probes is found by trying every one, where up to MOST gates explain the vector.
Times are of the processor: of fault simulation the best of three, else the median of the cases.
The SAT solver answers only which gates explain the outputs.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from math import log2
from pathlib import Path
from statistics import mean, median
from typing import TypeVar

import numpy as np
from benchmarks.gates_sat import inverted_that_explain

from halfsplit.belief.split import split_gains
from halfsplit.build.gates import NamedGates, read_bench
from halfsplit.diagnose.gates import LITTLE, GateCase, GateTest, Level, listed
from halfsplit.errors import ReadingError
from halfsplit.solve.gates import Bits, columns
from halfsplit.solve.gates_cases import Changes, nets_under
from halfsplit.solve.gates_faults import stuck_faults
from halfsplit.solve.gates_simulate import shown_by

FOLDER = Path(__file__).parents[1] / "tests" / "truth" / "gates"
MOST = 16
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One case: bits at the start, probes each way, seconds. Probes are the mean over all gates
    that explain; ``walked`` and ``random`` those to the one that it was."""

    bits: float
    probes: float
    chosen: float
    walked: int
    random: int
    best: float | None
    next_seconds: float
    find_seconds: float
    sat_seconds: float


def multiplier(n: int) -> NamedGates:
    """n bits times n bits by rows of full adders, in gates of two inputs."""
    lines = [f"INPUT({word}{k})" for word in "AB" for k in range(n)]
    lines += [f"P{i}_{j} = AND(A{i}, B{j})" for i in range(n) for j in range(n)]
    row = [f"P{i}_0" for i in range(n)]
    outputs = [row[0]]
    for j in range(1, n):
        carry, new = "", []
        for i in range(n):
            name, above = f"r{j}_{i}", row[i + 1] if i + 1 < len(row) else ""
            terms = [each for each in (f"P{i}_{j}", above, carry) if each]
            out, carry = _add(lines, name, terms)
            new.append(out)
        row = [*new, carry]
        outputs.append(row[0])
    lines += [f"OUTPUT({net})" for net in [*outputs, *row[1:]]]
    return read_bench("\n".join(lines), source=f"{n} x {n} multiplier")


def _add(lines: list[str], name: str, terms: list[str]) -> tuple[str, str]:
    """Sum and carry of two or three nets."""
    one, other, *more = terms
    lines += [f"{name}h = XOR({one}, {other})", f"{name}g = AND({one}, {other})"]
    if not more:
        return f"{name}h", f"{name}g"
    lines += [
        f"{name}s = XOR({name}h, {more[0]})",
        f"{name}t = AND({name}h, {more[0]})",
        f"{name}c = OR({name}g, {name}t)",
    ]
    return f"{name}s", f"{name}c"


def cases(named: NamedGates, count: int, seed: int) -> Iterator[tuple[GateTest, int, Changes]]:
    """Vectors with what the outputs show, the net of the bad gate, and all gates that may be."""
    rng = np.random.default_rng(seed)
    changes = listed(named, "inverted")
    while count:
        bad = rng.integers(changes.count, size=1)
        given = rng.random(len(named.inputs)) < 0.5
        seen = columns(
            nets_under(named.network, changes.take(bad), given)[named.network.outputs],
            np.array([0]),
        )[:, 0]
        test = GateTest(given=given, seen=seen.astype(np.int8))
        try:
            GateCase.start(named, [test], model="inverted")
        except ReadingError:
            continue
        count -= 1
        yield test, int(bad[0]), changes.take(bad)


def play(named: NamedGates, count: int, offer: int, seed: int) -> list[Row]:
    """So many cases, each way."""
    rng = np.random.default_rng(seed)
    rows = []
    for test, _, bad in cases(named, count, seed):
        case, find = _timed(lambda test=test: _start(named, test, 0))
        _, ask = _timed(lambda case=case: case.probes(1))
        explained, sat = _timed(
            lambda test=test: inverted_that_explain(named.network, test.given, test.seen)
        )
        assert explained == sorted(case.changes.net.tolist()), "the SAT solver says otherwise"
        rows.append(
            Row(
                bits=case.bits_left(),
                probes=_mean_probes(case),
                chosen=_mean_probes(_start(named, test, offer)),
                walked=_walk(case, bad, lambda case: case.probes(1)[0].net),
                random=_walk(case, bad, lambda case: _any(case, rng)),
                best=_best(case),
                next_seconds=ask,
                find_seconds=find,
                sat_seconds=sat,
            )
        )
    return rows


def _start(named: NamedGates, test: GateTest, offer: int) -> GateCase:
    return GateCase.start(named, [test], model="inverted", slip=0.0, other=0.0, offer=offer)


def _walk(case: GateCase, bad: Changes, choose: Callable[[GateCase], str]) -> int:
    """Probes until one gate is left."""
    nets = nets_under(case.named.network, bad, case.tests[0].given)
    truth = columns(nets, np.array([0]))[:, 0]
    taken = 0
    while case.probes(1):
        at = case.named.net(choose(case))
        case = case.read(Level(net=at, test=0, high=bool(truth[at])))
        taken += 1
    assert case.changes.net[case.p.argmax()] == bad.net[0]
    return taken


def _any(case: GateCase, rng: np.random.Generator) -> str:
    useful = np.flatnonzero(split_gains(case.p, case.high[0]) > LITTLE)
    return case.named.names[rng.choice(useful)]


def _mean_probes(case: GateCase) -> float:
    """By the probe that splits most evenly: it tells most while all are alike."""
    count = case.changes.count
    levels = np.concatenate([columns(high, np.arange(count)) for high in case.high])

    def total(levels: Bits) -> int:
        size = levels.shape[1]
        if size == 1:
            return 0
        highs = levels.sum(axis=1)
        net = levels[np.minimum(highs, size - highs).argmax()]
        return size + total(levels[:, net]) + total(levels[:, ~net])

    return total(levels) / count


def _best(case: GateCase) -> float | None:
    """Mean probes of the best order, by trying every one; None when too many gates explain."""
    count = case.changes.count
    if count > MOST:
        return None
    every = columns(case.high[0], np.arange(count))
    splits = {sum(1 << int(at) for at in np.flatnonzero(net)) for net in every}

    def least(size: int) -> int:
        """Sum of depths in a tree of so many leaves, whatever is read (Huffman 1952)."""
        floor = int(log2(size))
        return size * floor + 2 * (size - 2**floor)

    @cache
    def total(left: int) -> int:
        size = left.bit_count()
        if size == 1:
            return 0
        ways = {min(left & split, left & ~split) for split in splits} - {0}
        found = size * size
        for way in sorted(ways, key=lambda way: abs(2 * way.bit_count() - size)):
            part = way.bit_count()
            if size + least(part) + least(size - part) < found:
                found = min(found, size + total(way) + total(left ^ way))
        return found

    return total((1 << count) - 1) / count


def _timed(work: Callable[[], T]) -> tuple[T, float]:
    start = time.process_time()
    found = work()
    return found, time.process_time() - start


def report(named: NamedGates, count: int, offer: int, seed: int) -> None:
    """Print the lines of one circuit."""
    network = named.network
    stuck = stuck_faults(network)
    given = np.random.default_rng(seed).random((len(network.inputs), 1000)) < 0.5
    runs = [_timed(lambda: shown_by(network, stuck, stuck.heads, given)) for _ in range(3)]
    shown, seconds = min(runs, key=lambda run: run[1])
    gates = len(named.names) - len(named.inputs)
    seen = int(shown.any(axis=1).sum())
    print(f"{named.title}: {gates} gates, {len(stuck.heads)} classes of stuck-at faults, "
          f"{seen} shown by 1000 random vectors in {seconds:.2f} s")  # fmt: skip
    test, _, _ = next(cases(named, 1, seed))
    case, start = _timed(lambda: GateCase.start(named, [test], model="both"))
    _, ask = _timed(lambda: case.probes(5))
    print(f"  stuck and inverted, {listed(named, 'both').count} faults: which explain, "
          f"{start:.3f} s; next probe, {ask:.4f} s")  # fmt: skip
    rows = play(named, count, offer, seed)
    bits = mean(row.bits for row in rows)
    print(f"  {count} inverted gates, {bits:.2f} bits: probes / bits  "
          f"one vector {mean(row.probes for row in rows) / bits:.3f}, "
          f"{offer} more to choose from {mean(row.chosen for row in rows) / bits:.3f}, "
          f"as walked {mean(row.walked for row in rows) / bits:.3f}, "
          f"any useful probe {mean(row.random for row in rows) / bits:.3f}")  # fmt: skip
    small = [row for row in rows if row.best is not None]
    if small:
        print(f"  where at most {MOST} explain ({len(small)} cases): one vector "
              f"{mean(row.probes for row in small):.3f} probes, best order "
              f"{mean(row.best or 0.0 for row in small):.3f}, "
              f"bits {mean(row.bits for row in small):.3f}")  # fmt: skip
    find, sat = median(row.find_seconds for row in rows), median(row.sat_seconds for row in rows)
    ask = median(row.next_seconds for row in rows)
    print(f"  which explain (the same in all cases): {1e3 * find:.1f} ms, SAT {1e3 * sat:.1f} ms; "
          f"next probe {1e3 * ask:.2f} ms")  # fmt: skip


def main() -> None:
    """Read the command line and report."""
    parser = argparse.ArgumentParser(description="probes and times on logic")
    parser.add_argument("netlists", nargs="*", type=Path, help="further .bench netlists")
    parser.add_argument("--cases", type=int, default=400)
    parser.add_argument("--few", type=int, default=20, help="cases of circuits over 1000 gates")
    parser.add_argument("--offer", type=int, default=32)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    for path in (FOLDER / "c432.bench", *args.netlists):
        named = read_bench(path.read_text(encoding="utf-8"), source=path.stem)
        few = len(named.names) > 1000
        report(named, args.few if few else args.cases, args.offer, args.seed)
    report(multiplier(25), args.few, args.offer, args.seed)


if __name__ == "__main__":
    main()
