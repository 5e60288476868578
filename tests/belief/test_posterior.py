"""Update of the belief, against worked examples and its own laws."""

import itertools

import numpy as np
import pytest
from tests.belief.truth import truth

from halfsplit.belief.posterior import (
    either,
    entropy,
    group_sums,
    joint,
    misfit,
    normalise,
    posterior,
    repeats,
    surprise,
)

TRUTH = truth()


def test_full_adder_with_several_faults_at_once() -> None:
    """All 32 sets of faulty gates as rows; a faulty gate puts out either level."""
    gates = ("X1", "X2", "A1", "A2", "O1")
    sets = list(itertools.product((False, True), repeat=5))
    prior = np.array([np.prod([0.01 if bad else 0.99 for bad in bads]) for bads in sets])
    seen = np.array([_chance_of_seen(dict(zip(gates, bads, strict=True))) for bads in sets])
    p = posterior(prior, joint([seen], len(prior)))
    only_x1 = sets.index((True, False, False, False, False))
    assert p[only_x1] == pytest.approx(TRUTH["adder only X1"], abs=5e-6)
    for at, gate in enumerate(gates):
        marginal = sum(p[row] for row, bads in enumerate(sets) if bads[at])
        assert marginal == pytest.approx(TRUTH[f"adder {gate}"], abs=5e-6), gate


def _chance_of_seen(bad: dict[str, bool]) -> float:
    """P(sum 1, carry 0) with inputs 1, 0 and carry-in 1."""

    def out(gate: str, right: int) -> list[tuple[int, float]]:
        return [(0, 0.5), (1, 0.5)] if bad[gate] else [(right, 1.0)]

    total = 0.0
    for x1, w1 in out("X1", 1 ^ 0):
        for x2, w2 in out("X2", x1 ^ 1):
            for a1, w3 in out("A1", 1 & 0):
                for a2, w4 in out("A2", x1 & 1):
                    for o1, w5 in out("O1", a1 | a2):
                        total += w1 * w2 * w3 * w4 * w5 * (x2 == 1 and o1 == 0)
    return total


def test_order_of_readings_does_not_matter_and_batches_agree(rng: np.random.Generator) -> None:
    prior = normalise(rng.random(9))
    rows = list(rng.random((4, 9)))
    at_once = posterior(prior, joint(rows, 9))
    stepwise = prior
    for row in reversed(rows):
        stepwise = normalise(stepwise * row)
    assert at_once == pytest.approx(stepwise, abs=1e-12)


def test_many_tiny_likelihoods_do_not_underflow() -> None:
    rows = [np.array([1e-200, 2e-200, 1e-200])] * 20
    p = posterior(np.array([0.0, 0.5, 0.5]), joint(rows, 3))
    assert p[1] == pytest.approx(2.0**20 / (2.0**20 + 1))


def test_when_nothing_is_left_something_else_takes_all() -> None:
    prior = np.array([0.0, 0.7, 0.3, 0.0])
    p = posterior(prior, joint([np.array([1.0, 0.0, 0.0, 1.0])], 4))
    assert p.tolist() == [0.0, 0.0, 0.0, 1.0]
    assert normalise(np.zeros(2)).tolist() == [0.0, 1.0]


def test_repeats_in_agreement_count_once_and_slips_add_up() -> None:
    row = np.array([0.5, 8.0, 0.02, 1.0])
    twice = np.exp2(repeats([row, row]))
    assert twice[:2] == pytest.approx([0.5, 8.0])
    assert twice[3] == pytest.approx(1.0)
    assert twice[2] == pytest.approx(0.125 * (0.02 * 8) ** 2)


def test_repeats_that_disagree_favour_neither() -> None:
    one, other = np.array([0.0, 8.0, 0.02, 1.0]), np.array([0.0, 0.02, 8.0, 1.0])
    both = repeats([one, other])
    assert both[1] == pytest.approx(both[2])
    assert both[1] < 0.0
    assert both[0] == -np.inf


def test_misfit_is_measured_from_a_blind_guess() -> None:
    assert misfit(np.array([0.25, 1.0, 2.0, 1.0])).tolist() == [2.0, 0.0, -1.0, 0.0]
    assert misfit(np.array([0.25, 1.0, 0.0])).tolist() == [2.0, 0.0, np.inf]
    assert misfit(np.zeros(3)).tolist() == [0.0, 0.0, 0.0]


def test_surprise() -> None:
    p = np.array([0.0, 0.5, 0.5, 0.0])
    assert surprise(p, np.array([1.0, 1.0, 1.0, 1.0])) == 0.0
    assert surprise(p, np.array([0.0, 0.25, 0.25, 1.0])) == pytest.approx(2.0)
    assert surprise(p, np.array([1.0, 0.0, 0.0, 0.0])) == np.inf
    assert surprise(p, np.zeros(4)) == 0.0


def test_entropy_and_group_sums() -> None:
    assert entropy(np.full(8, 0.125)) == pytest.approx(3.0)
    assert entropy(np.array([1.0, 0.0])) == 0.0
    sums = group_sums(np.array([0.1, 0.2, 0.3, 0.4]), np.array([2, 0, 0, 1]), 3)
    assert sums == pytest.approx([0.5, 0.4, 0.1])


def test_readings_that_repeat_only_by_some_faults_count_fault_by_fault() -> None:
    one, other = np.array([8.0, 4.0, 1.0]), np.array([8.0, 2.0, 1.0])
    first = np.array([[0, 0, 0], [0, 1, 1]])
    both = np.exp2(repeats([one, other], first))
    assert both == pytest.approx([8.0, 8.0, 1.0]), "once for the first fault, twice for the second"


def test_what_stands_either_way_may_stand_one_way_throughout() -> None:
    """Ten readings of a latch that stands one way: half a bit each on its own, one bit together."""
    each = np.array([-10.0, 0.0])
    one, other = np.array([0.0, 0.0]), np.array([-60.0, 0.0])
    found = either(each, one, other)
    assert found[0] == pytest.approx(-2.0, abs=0.01)
    assert found[1] == pytest.approx(0.0)
