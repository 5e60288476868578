"""Value of a check, against worked examples, a slow plain sum, and the clock."""

import time

import numpy as np
import pytest
from tests.belief.truth import truth

from halfsplit.belief.gain import fault_gains, group_gain, group_gains, screened_gains
from halfsplit.belief.posterior import Array, Indices, entropy, group_sums, normalise
from halfsplit.belief.tables import Tables
from halfsplit.belief.ties import distances, tied

TRUTH = truth()


def random_tables(rng: np.random.Generator, rows: int, widths: list[int]) -> list[Array]:
    return [rng.dirichlet(np.full(width, 0.3), size=rows) for width in widths]


def plain_gain(p: Array, group: Indices, table: Array) -> float:
    """Entropy of the groups less its mean after the outcome, summed the slow way."""
    count = int(group.max()) + 1
    left = 0.0
    for column in table.T:
        weight = float(p @ column)
        if weight > 0.0:
            left += weight * entropy(group_sums(normalise(p * column), group, count))
    return entropy(group_sums(p, group, count)) - left


def test_gain_is_the_plain_sum(rng: np.random.Generator) -> None:
    tables = random_tables(rng, 30, [2, 9, 45, 3, 9])
    p, group = normalise(rng.random(30) ** 4), rng.integers(0, 9, 30)
    packed = Tables.pack(tables, 30)
    each_its_own = np.arange(30)
    for check, table in enumerate(tables):
        faults, groups = plain_gain(p, each_its_own, table), plain_gain(p, group, table)
        assert fault_gains(p, packed)[check] == pytest.approx(faults, abs=2e-5)
        assert group_gains(p, group, packed)[check] == pytest.approx(groups, abs=2e-5)
        assert group_gain(p, group, table) == pytest.approx(groups, abs=1e-12)


def test_gain_with_few_rows_believed(rng: np.random.Generator) -> None:
    tables = random_tables(rng, 40, [12, 4])
    p = np.zeros(40)
    p[[3, 17, 39]] = 0.5, 0.3, 0.2
    group = rng.integers(0, 9, 40)
    packed = Tables.pack(tables, 40)
    expected = [plain_gain(p, group, table) for table in tables]
    assert group_gains(p, group, packed) == pytest.approx(expected, abs=2e-5)
    alone = group_gains(p, group, packed, np.array([1]))
    assert alone == pytest.approx(expected[1:], abs=2e-5)
    by_fault = [plain_gain(p, np.arange(40), table) for table in tables]
    assert fault_gains(p, packed) == pytest.approx(by_fault, abs=2e-5)


def test_tables_larger_than_the_cache_are_summed_piece_by_piece(
    rng: np.random.Generator, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("halfsplit.belief.gain.CACHED", 64)
    tables = random_tables(rng, 40, [12, 12, 12])
    p = np.zeros(40)
    p[[1, 3, 8, 17, 30, 39]] = 0.3, 0.2, 0.2, 0.1, 0.1, 0.1
    expected = [plain_gain(p, np.arange(40), table) for table in tables]
    assert fault_gains(p, Tables.pack(tables, 40)) == pytest.approx(expected, abs=2e-5)


def test_merging_columns_that_tell_nothing_loses_nothing(rng: np.random.Generator) -> None:
    floor = np.full((20, 30), 0.02 / 30)
    floor[:, :5] += 0.98 * rng.dirichlet(np.ones(5), size=20)
    packed = Tables.pack([floor], 20)
    assert packed.blocks[0].p.shape == (20, 1, 8)
    p, group = normalise(rng.random(20)), np.arange(20) // 2
    assert group_gains(p, group, packed)[0] == pytest.approx(plain_gain(p, group, floor), abs=2e-5)


def test_polybox_best_probe() -> None:
    """Rows: healthy, {A1}, {M1}, {A2 M2}, {M2 M3}, something else."""
    single, double = 0.01 * 0.99**4, 0.01**2 * 0.99**3
    p = np.array([0.0, single, single, double, double, 0.0])
    p = p / p.sum()
    assert p[1] == pytest.approx(TRUTH["polybox single share"], abs=5e-4)
    assert entropy(p) == pytest.approx(TRUTH["polybox entropy"], abs=5e-5)
    values = {"X": (6, 6, 4, 6, 6), "Y": (6, 6, 6, 4, 4), "Z": (6, 6, 6, 6, 8)}
    tables = [
        np.array([[float(value == out) for out in (4, 6, 8)] for value in row] + [[0.0, 1.0, 0.0]])
        for row in values.values()
    ]
    gains = fault_gains(p, Tables.pack(tables, 6))
    for probe, gain in zip(values, gains, strict=True):
        assert entropy(p) - gain == pytest.approx(TRUTH[f"polybox probe {probe}"], abs=1e-4)


@pytest.mark.parametrize("n", [8, 10, 16])
def test_half_split_needs_as_many_checks_as_huffman(n: int) -> None:
    """n stages in a row; check k says whether the signal is still right after stage k."""
    rows = n + 2
    stage = np.arange(rows) - 1
    tables = []
    for after in range(n - 1):
        wrong = ((stage <= after) & (stage >= 0)).astype(np.float64)
        tables.append(np.column_stack([wrong, 1.0 - wrong]))
    packed, used = Tables.pack(tables, rows), []
    for bad in range(1, n + 1):
        p = np.zeros(rows)
        p[1 : n + 1] = 1.0 / n
        count = 0
        while p.max() < 0.999:
            check = int(np.argmax(fault_gains(p, packed).round(4)))
            table = tables[check]
            p = normalise(p * table[:, int(np.argmax(table[bad]))])
            count += 1
        used.append(count)
    assert np.mean(used) == pytest.approx(TRUTH[f"half-split {n}"])


def test_screen_finds_the_best_checks_about_groups(rng: np.random.Generator) -> None:
    rows, group = 60, np.arange(60) // 4
    tables = random_tables(rng, rows, [6] * 200)
    p, worth = normalise(rng.random(rows) ** 3), rng.uniform(0.1, 1.0, 200)
    worth[:3] = 0.0
    packed = Tables.pack(tables, rows)
    screened = screened_gains(p, group, packed, worth, sure=10)
    exact = group_gains(p, group, packed)
    best = np.argsort(-exact * worth)[:10]
    found = np.argsort(-np.where(screened.exact, screened.bits * worth, -1.0))[:10]
    assert found.tolist() == best.tolist()
    assert screened.bits[screened.exact] == pytest.approx(exact[screened.exact], abs=1e-5)
    assert (screened.bits >= exact - 1e-4).all()
    assert not screened.exact[:3].any()


def test_ties_are_groups_that_no_check_tells_apart(rng: np.random.Generator) -> None:
    tables = random_tables(rng, 6, [5, 5, 5])
    for table in tables:
        table[3] = table[1]
    group, p = np.array([0, 1, 2, 3, 3, 4]), np.array([0.0, 0.3, 0.3, 0.3, 0.0, 0.1])
    apart = distances(p, group, Tables.pack(tables, 6), [1, 2, 3])
    assert apart[0, 2] == pytest.approx(0.0, abs=1e-6)
    by_hand = max(0.5 * np.abs(table[1] - table[2]).sum() for table in tables)
    assert apart[0, 1] == apart[1, 0] == pytest.approx(by_hand, abs=1e-6)
    assert tied(apart) == ((0, 2),)


def test_a_tie_ends_when_one_check_tells_them_apart() -> None:
    same = np.full((4, 2), 0.5)
    telling = np.array([[1.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.5]])
    group, p = np.arange(4), np.array([0.0, 0.5, 0.5, 0.0])
    assert tied(distances(p, group, Tables.pack([same], 4), [1, 2])) == ((0, 1),)
    assert tied(distances(p, group, Tables.pack([same, telling], 4), [1, 2])) == ()


def test_464_checks_by_350_faults_by_45_outcomes_in_time(rng: np.random.Generator) -> None:
    """The size of the prototype; its clock said 5 ms and 55 ms. Worst case: no column merges."""
    rows = 351
    tables = [table / table.sum(axis=1, keepdims=True) for table in rng.random((464, rows, 45))]
    packed, p = Tables.pack(tables, rows), normalise(rng.random(rows) ** 6)
    group, worth = rng.integers(0, 115, rows), np.ones(464)
    screened_gains(p, group, packed, worth)
    took = []
    for _ in range(5):
        begin = time.process_time()
        screened_gains(p, group, packed, worth)
        took.append(time.process_time() - begin)
    assert min(took) < 0.150  # 0.03 to 0.05 on a quiet core
