"""Check or repair: worked examples and trying everything (tests/truth/diagnosis_examples.csv)."""

import itertools

import numpy as np
import pytest
from tests.belief.truth import truth

from halfsplit.belief.decide import cost_of_order, worth_of_checks
from halfsplit.belief.exact import Case, cheapest
from halfsplit.belief.gain import fault_gains
from halfsplit.belief.tables import Tables

TRUTH = truth()
NEVER = 1e5
P, COST = np.array([0.45, 0.30, 0.15, 0.10]), np.array([30.0, 10.0, 5.0, 20.0])


def only_repairs(p: np.ndarray, cures: np.ndarray, cost: np.ndarray, give_up: float) -> Case:
    return Case(
        p=p, tables=(), check_cost=np.zeros(0), cures=cures, repair_cost=cost, give_up=give_up
    )


def test_order_of_repairs_by_ratio_and_by_trying_everything() -> None:
    assert cost_of_order(P, COST, NEVER) == pytest.approx(TRUTH["repair best"])
    best = cheapest(only_repairs(P, np.eye(4), COST, NEVER))
    assert best.cost == pytest.approx(TRUTH["repair best"])
    assert best.first in {("repair", 1), ("repair", 2)}


def test_a_service_call_ends_what_repairs_do_not() -> None:
    p, cost = np.array([0.35, 0.25, 0.20]), np.array([12.0, 20.0, 8.0])
    assert cost_of_order(p, cost, 100.0) == pytest.approx(TRUTH["service best"])
    cures = np.hstack([np.eye(3), np.zeros((3, 1))])
    best = cheapest(only_repairs(np.append(p, 0.20), cures, cost, 100.0))
    assert best.cost == pytest.approx(TRUTH["service best"])


def test_trying_everything_finds_what_the_greedy_order_misses() -> None:
    p = np.array([0.20, 0.25, 0.40, 0.15])
    cures = np.array([[1.0, 1, 0, 0], [0, 1, 1, 0], [0, 0, 1, 1]])
    best = cheapest(only_repairs(p, cures, np.ones(3), NEVER))
    assert best.cost == pytest.approx(TRUTH["overlap best"])
    assert best.first == ("repair", 2)


@pytest.mark.parametrize("n", [8, 10])
def test_halving_is_the_best_plan_on_a_row_of_stages(n: int) -> None:
    """Repairs dear enough that nobody guesses: what is paid for checks is the Huffman mean."""
    stages = np.arange(n)
    tables = [np.stack([stages <= k, stages > k], axis=1).astype(float) for k in range(n - 1)]
    case = Case(
        p=np.full(n, 1.0 / n), tables=tables, check_cost=np.ones(n - 1), cures=np.eye(n),
        repair_cost=np.full(n, 1000.0), give_up=1e6,
    )  # fmt: skip
    assert cheapest(case).cost - 1000.0 == pytest.approx(TRUTH[f"half-split {n}"])


def test_giving_up_is_taken_when_it_is_cheapest() -> None:
    assert cheapest(only_repairs(P, np.eye(4), COST, 12.0)).first == ("give up", 0)
    assert cost_of_order(P, COST, 4.0) == pytest.approx(4.0)


@pytest.mark.parametrize("seed", range(5))
def test_cost_of_order_is_the_least_of_all_orders_and_stops(seed: int) -> None:
    rng = np.random.default_rng(seed)
    p, cost = 0.9 * rng.dirichlet(np.ones(4)), rng.uniform(1.0, 40.0, 4)
    every = []
    for length in range(5):
        for order in itertools.permutations(range(4), length):
            left, total = 1.0, 0.0
            for at in order:
                total += left * cost[at]
                left -= p[at]
            every.append(total + left * 60.0)
    assert cost_of_order(p, cost, 60.0) == pytest.approx(min(every))


def test_a_cheap_check_before_a_dear_repair_on_paper() -> None:
    """Chip 0.9 at 40, joint 0.1 at 3; a sure check at 1. At once: joint first 3 + 0.9 * 40 = 39,
    chip first 40 + 0.1 * 3 = 40.3. After the check: 0.9 * 40 + 0.1 * 3 = 36.3."""
    p, group = np.array([0.0, 0.9, 0.1, 0.0]), np.array([2, 0, 1, 2])
    table = np.array([[0.5, 0.5], [1.0, 0.0], [0.0, 1.0], [0.5, 0.5]])
    worth = worth_of_checks(
        p, group, Tables.pack([table], 4), [0], np.array([40.0, 3.0]), NEVER
    )  # fmt: skip
    assert worth.now == pytest.approx(39.0, abs=1e-3)
    assert worth.then[0] == pytest.approx(36.3, abs=1e-3)


def test_most_bits_a_minute_need_not_be_cheapest() -> None:
    """Faults 1 (0.5, repair 1) and 2 (0.5, repair 1) against 3 (tiny, repair 500): the check that
    splits the first two tells a whole bit and saves next to nothing."""
    p, group = np.array([0.0, 0.48, 0.48, 0.04, 0.0]), np.array([3, 0, 1, 2, 3])
    cost = np.array([1.0, 1.0, 500.0])
    split = np.array([[0.5, 0.5], [1.0, 0], [0, 1.0], [0.5, 0.5], [0.5, 0.5]])
    spare = np.array([[0.5, 0.5], [1.0, 0], [1.0, 0], [0, 1.0], [0.5, 0.5]])
    tables = Tables.pack([split, spare], 5)
    bits = fault_gains(p, tables)
    worth = worth_of_checks(p, group, tables, [0, 1], cost, NEVER)
    assert bits[0] > 3.0 * bits[1]
    saved = worth.now - worth.then
    assert saved[0] == pytest.approx(0.48, abs=0.1)
    assert saved[1] == pytest.approx(0.04 * 2.0, abs=0.1)
