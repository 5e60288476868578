"""Every chip against a function written from the data sheet's function table."""

from collections.abc import Mapping

import numpy as np
import pytest
from tests.parts.logic_bench import Bench, Bools, one_of_each_row
from tests.parts.logic_steps import MODELS
from tests.parts.logic_tables import FUNCTIONS

from halfsplit.parts._logic_chips import listed
from halfsplit.parts.logic import KINDS, LogicChip

MOST = 4096
BLACK = {"97", "124", "189", "289", "629", "4047"}
"""Chips whose outputs are taken as being at either level."""
PINS_74 = [f"{name}{u}" for name in ("nCLR", "nPRE", "D", "CLK") for u in "12"]
RUNS, STEPS = 32, 48


def test_every_row_has_one_function() -> None:
    assert not FUNCTIONS.keys() & MODELS.keys()
    assert set(listed()) == FUNCTIONS.keys() | MODELS.keys() | BLACK


@pytest.mark.parametrize(
    "kind",
    [kind for kind in one_of_each_row() if kind.key in FUNCTIONS],
    ids=lambda kind: kind.name,
)
def test_levels_follow_the_function_table(kind: LogicChip, rng: np.random.Generator) -> None:
    inputs = [pin.name for pin in kind.chip.pins if pin.role in ("in", "io")]
    cases = 2 ** len(inputs)
    rows = np.arange(cases) if cases <= MOST else rng.integers(0, cases, MOST // 4)
    columns = {name: ((rows >> n) & 1).astype(bool) for n, name in enumerate(inputs)}
    got = Bench(kind, rows.size).step(columns)
    assert set(got) == {output.name for output in kind.chip.outputs}
    for n in range(rows.size):
        given = {name: int(column[n]) for name, column in columns.items()}
        assert {name: levels[n] for name, levels in got.items()} == FUNCTIONS[kind.key](given), (
            given
        )


@pytest.mark.parametrize(
    "kind", [kind for kind in one_of_each_row() if kind.key in MODELS], ids=lambda kind: kind.name
)
def test_steps_follow_the_function_table(kind: LogicChip, rng: np.random.Generator) -> None:
    """Random pin levels, a few pins moving at a time; clears and loads are rare, so that what is
    stored shows."""
    inputs = [pin.name for pin in kind.chip.pins if pin.role in ("in", "io")]
    resting, barred = MODELS[kind.key].resting, MODELS[kind.key].barred
    bench = Bench(kind, RUNS)
    models = [MODELS[kind.key].make() for _ in range(RUNS)]
    before = {name: np.full(RUNS, bool(resting.get(name, 0))) for name in inputs}
    bench.step(before)
    for model in models:
        model.start({name: int(before[name][0]) for name in inputs})
    for _ in range(STEPS):
        after = {}
        for name in inputs:
            if name in resting:
                chosen = rng.random(RUNS) < 0.06
                after[name] = np.where(chosen, not resting[name], bool(resting[name]))
            else:
                after[name] = np.where(rng.random(RUNS) < 0.5, ~before[name], before[name])
        for n in range(RUNS):
            if barred(_at(before, n), _at(after, n)):
                for name in inputs:
                    after[name][n] = before[name][n]
        got = bench.step(after)
        for n, model in enumerate(models):
            old, new = _at(before, n), _at(after, n)
            want = model.step(old, new)
            assert {name: levels[n] for name, levels in got.items()} == want, (old, new)
        before = after


@pytest.mark.parametrize(
    ("name", "stages"), [("4020", 14), ("4024", 7), ("4040", 12), ("4060", 14)]
)
def test_long_counters_carry_from_any_count(
    name: str, stages: int, rng: np.random.Generator
) -> None:
    kind = next(kind for kind in KINDS if kind.name == name)
    count = rng.integers(0, 2**stages, 512)
    count[:stages] = 2 ** np.arange(1, stages + 1) - 1
    bench = Bench(kind, count.size)
    for k, out in enumerate(bench.out):
        if out.startswith("~s"):
            bench.bits[k] = ((count >> (int(out[2:]) - 1)) & 1).astype(bool)
    low, high = np.zeros(count.size, dtype=bool), np.ones(count.size, dtype=bool)
    bench.step({"CLK": high, "R": low})
    got = bench.step({"CLK": low, "R": low})
    for out, levels in got.items():
        if out.startswith("Q"):
            assert levels == list(((count + 1) >> (int(out[1:]) - 1)) & 1), out


def test_both_outputs_of_a_7474_store_alike_with_preset_and_clear_low() -> None:
    """Both low: both outputs high (data sheet); on release the bit may fall either way, but the
    two outputs must agree on it."""
    bench = Bench(next(kind for kind in KINDS if kind.name == "7474"), 1)
    low = {name: np.asarray([name[:-1] in ("D", "CLK")]) for name in PINS_74}
    assert bench.step(low) == {"Q1": [1], "nQ1": [1], "Q2": [1], "nQ2": [1]}
    released = bench.step({**low, "nPRE1": np.asarray([True]), "nCLR1": np.asarray([True])})
    assert {*released["Q1"], *released["nQ1"]} == {0, 1}


def _at(pins: Mapping[str, Bools], run: int) -> dict[str, int]:
    return {name: int(level[run]) for name, level in pins.items()}
