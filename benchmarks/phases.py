"""Share of line faults named right on captures played with noise, jitter and poor instruments.

    python -m benchmarks.phases [--rounds 3] [--seed 1]

Run from the top of the repository; the captures come from the player of the tests. A two-phase-on
drive without the polarity told is not played: whether its phases are on when high or low cannot be
seen. `named` counts the first explanation, `named or as likely` also those told beside it.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter

import numpy as np
import numpy.typing as npt
from tests.waves.played import (
    HALF,
    LINE_FAULTS,
    ONE_ON,
    TWO_ON,
    Array,
    as_changes,
    as_scope,
    seek,
    square,
    with_fault,
)

from halfsplit.capture.record import Analog, Record
from halfsplit.errors import HalfsplitError
from halfsplit.waves.account import account
from halfsplit.waves.channels import lines_of
from halfsplit.waves.explain import Explanation
from halfsplit.waves.line import Line, line_of_changes

CYCLES = {"one phase on": ONE_ON, "two phases on": TWO_ON, "half step": HALF}
SCOPES = {
    "8-bit scope, noise 0.08 V": {"low": 0.2, "high": 3.6, "noise": 0.08},
    "base swing 0.15 to 0.7 V": {"low": 0.15, "high": 0.7, "noise": 0.02},
}
CONDITIONS = (
    "clean", "jitter 8 %", *SCOPES, "12 samples a step", "one channel not recorded",
)  # fmt: skip


def main() -> None:
    """Play and count."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=_PLAIN)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng = np.random.default_rng(args.seed)
    right: Counter[str] = Counter()
    alike: Counter[str] = Counter()
    played: Counter[str] = Counter()
    began = time.perf_counter()
    for condition in CONDITIONS:
        for cycle in CYCLES:
            for fault in LINE_FAULTS:
                for _ in range(args.rounds):
                    first, any_of = _one(condition, cycle, fault, rng)
                    for key in (condition, cycle, fault, "all"):
                        played[key] += 1
                        right[key] += first
                        alike[key] += any_of
    seconds = (time.perf_counter() - began) / played["all"]
    for key, count in played.items():
        print(f"{key:28s} named {right[key] / count:6.1%}   or as likely {alike[key] / count:6.1%}"
              f"   of {count}")  # fmt: skip
    print(f"{seconds:.2f} s a capture")


def _one(condition: str, cycle: str, fault: str, rng: np.random.Generator) -> tuple[bool, bool]:
    """Whether the fault is named first, and whether it is among those told as likely."""
    lines = 3 if condition == "one channel not recorded" else 4
    pair = fault.startswith("shorted") or fault == "swapped"
    which = tuple(int(i) for i in rng.permutation(lines)[: 2 if pair else 1])
    resets = fault == "reset"
    played = seek(
        CYCLES[cycle],
        [int(rng.integers(20, 40)), -int(rng.integers(15, 30)), int(rng.integers(6, 12))],
        rng,
        jitter=0.08 if condition == "jitter 8 %" else 0.02,
        reset_every=int(rng.integers(5, 11)) if resets else 0,
        reset_code="0000",
    )
    at, rows = with_fault(played, fault, which, rng)
    try:
        names = ["A", "B", "C", "D"]
        seen = _seen(condition, names[:lines], at, rows, played.stop, rng)
        said = account(seen, phases=4, active_low=False, order_known=True, first_way=1).explanation
    except HalfsplitError as error:
        print(f"{condition}, {cycle}, {fault}: {error}")
        return False, False
    kind = "right" if fault == "none" else fault.partition(",")[0]
    concerned = () if kind in ("right", "reset") else tuple(sorted(names[i] for i in which))
    told = [(k, tuple(sorted(ls))) for k, ls in [(said.kind, said.lines), *said.also]]
    if (kind, concerned) != told[0]:
        _report(condition, cycle, (kind, concerned), said)
    return told[0] == (kind, concerned), (kind, concerned) in told


def _seen(
    condition: str,
    names: list[str],
    at: Array,
    rows: npt.NDArray[np.int64],
    stop: float,
    rng: np.random.Generator,
) -> list[Line]:
    """The lines as an instrument has them."""
    if condition in SCOPES:
        interval, scope = 2e-4, SCOPES[condition]
        channels = tuple(
            Analog(
                name=name, unit="V", step=interval,
                samples=as_scope(at, row, rng, interval=interval, **scope).astype(np.float32),
            )
            for name, row in zip(names, rows, strict=False)
        )  # fmt: skip
        record = Record(source="played", begin=0.0, end=stop, channels=channels)
        return lines_of(record)[0]
    if condition == "12 samples a step":
        slow = 4e-3 / 12
        moments = np.arange(0.0, stop, slow)
        return [
            line_of_changes(name, moments, square(at, row, moments).astype(float), stop, slow)
            for name, row in zip(names, rows, strict=False)
        ]
    return [
        line_of_changes(name, *as_changes(at, row, rng), stop=stop)
        for name, row in zip(names, rows, strict=False)
    ]


def _report(
    condition: str, cycle: str, truth: tuple[str, tuple[str, ...]], said: Explanation
) -> None:
    also = f", or {said.also}" if said.also else ""
    print(f"{condition}, {cycle}: {truth} was called {said.kind} {said.lines}{also}")


_PLAIN = argparse.RawDescriptionHelpFormatter

if __name__ == "__main__":
    main()
