"""Order of repair, against worked examples (sources in tests/truth/diagnosis_examples.csv)."""

import itertools

import numpy as np
import pytest
from tests.belief.truth import truth

from halfsplit.belief.repair import MOST_ACTIONS, by_ratio, cheapest_order, expected_cost

TRUTH = truth()
A, B, C, D = range(4)
P = np.array([0.45, 0.30, 0.15, 0.10])
COST = np.array([30.0, 10.0, 5.0, 20.0])


@pytest.mark.parametrize(
    ("name", "order"),
    [
        ("repair best", (B, C, A, D)),
        ("repair best", (C, B, A, D)),
        ("repair next", (B, A, C, D)),
        ("repair worst", (D, A, C, B)),
    ],
)
def test_expected_cost_of_four_repairs(name: str, order: tuple[int, ...]) -> None:
    assert expected_cost(P, COST, order) == pytest.approx(TRUTH[name], abs=1e-9)


def test_order_by_ratio_is_the_best_of_all_24() -> None:
    costs = [expected_cost(P, COST, order) for order in itertools.permutations(range(4))]
    assert by_ratio(P, COST) == (B, C, A, D)
    assert min(costs) == pytest.approx(TRUTH["repair best"])
    assert max(costs) == pytest.approx(TRUTH["repair worst"])


def test_service_call_is_paid_when_no_repair_cures() -> None:
    p, cost = np.array([0.35, 0.25, 0.20]), np.array([12.0, 20.0, 8.0])
    fuel, plugs, battery = range(3)
    best = expected_cost(p, cost, (fuel, battery, plugs), service=100.0)
    worst = expected_cost(p, cost, (plugs, battery, fuel), service=100.0)
    assert best == pytest.approx(TRUTH["service best"])
    assert worst == pytest.approx(TRUTH["service worst"])
    assert by_ratio(p, cost) == (fuel, battery, plugs)


def test_look_first_then_repair() -> None:
    p, look, fix = np.array([0.3, 0.7]), np.array([2.0, 8.0]), np.array([20.0, 10.0])
    first = expected_cost(p, look, (0, 1), on_success=fix)
    second = expected_cost(p, look, (1, 0), on_success=fix)
    assert first == pytest.approx(TRUTH["look first 1"])
    assert second == pytest.approx(TRUTH["look first 2"])
    assert by_ratio(p, look) == (0, 1)


def test_overlapping_cures_beat_the_greedy_order() -> None:
    cures = np.array([[1, 1, 0, 0], [0, 1, 1, 0], [0, 0, 1, 1]], dtype=np.bool_)
    p = np.array([0.20, 0.25, 0.40, 0.15])
    order, cost = cheapest_order(cures, p, np.ones(3))
    assert cost == pytest.approx(TRUTH["overlap best"])
    assert order == (2, 0)
    greedy = 1.0 + (1 - 0.65) + (1 - 0.65 - 0.20)
    assert greedy == pytest.approx(TRUTH["overlap greedy"])


def test_search_over_sets_agrees_with_the_ratio_order_without_overlap() -> None:
    order, cost = cheapest_order(np.eye(4, dtype=np.bool_), P, COST)
    assert cost == pytest.approx(TRUTH["repair best"])
    assert sorted(order[:2]) == [B, C]
    assert order[2:] == (A, D)


def test_what_no_action_cures_is_paid_for_in_every_try() -> None:
    p, cost = np.array([0.35, 0.20, 0.25]), np.array([12.0, 8.0, 20.0])
    _, total = cheapest_order(np.eye(3, dtype=np.bool_), p, cost)
    assert total == pytest.approx(TRUTH["service best"] - 0.20 * 100.0)


def test_search_over_sets_refuses_more_than_it_can_do() -> None:
    many = MOST_ACTIONS + 1
    with pytest.raises(ValueError, match="at most"):
        cheapest_order(np.eye(many, dtype=np.bool_), np.full(many, 1 / many), np.ones(many))
