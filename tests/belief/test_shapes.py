"""Faults in other shapes, against enumeration and arithmetic on paper."""

import itertools

import numpy as np
import pytest

from halfsplit.belief.after import FAILED, HARMED, across_repairs, seconds
from halfsplit.belief.shapes import best_pairs, mixed, now_and_then, two


def rows(rng: np.random.Generator, readings: int, size: int) -> np.ndarray:
    """Log2 likelihoods in which most faults leave most readings as they are."""
    found = np.zeros((readings, size))
    moved = rng.random((readings, size)) < 0.2
    moved[:, 0] = False
    found[moved] = rng.normal(0.0, 4.0, int(moved.sum()))
    return found


@pytest.mark.parametrize("seed", range(6))
def test_the_best_pairs_are_those_of_trying_all(seed: int) -> None:
    rng = np.random.default_rng(seed)
    likelihood = rows(rng, 7, 26)
    prior = np.append(0.0, rng.dirichlet(np.full(25, 0.4)))
    every = {
        (a, b): np.log2(prior[a] * prior[b])
        + two(likelihood[:, a], likelihood[:, b], likelihood[:, 0]).sum()
        for a, b in itertools.combinations(range(1, 25), 2)
        if prior[a] * prior[b] > 0.0
    }
    best = sorted(every, key=every.__getitem__, reverse=True)[:8]
    found = best_pairs(prior, likelihood, 8)
    assert [tuple(sorted((one.first, one.second))) for one in found] == best
    assert [one.weight for one in found] == pytest.approx([every[pair] for pair in best])


def test_of_two_faults_the_one_that_deviates_decides() -> None:
    healthy, a, b = np.array([-5.0, -1.0]), np.array([-5.0, -6.0]), np.array([-1.0, -1.0])
    assert two(a, b, healthy) == pytest.approx([-1.0, -6.0])
    both = two(np.array([-2.0]), np.array([-4.0]), np.array([-9.0]))
    assert both == pytest.approx(np.log2(0.5 * (2.0**-2 + 2.0**-4)))


def test_a_fault_at_a_share_of_readings_on_paper() -> None:
    """0.25 of 1/2 and 0.75 of 1/64: log2(0.125 + 0.01171875)."""
    assert mixed(np.array([-1.0]), np.array([-6.0]), 0.25) == pytest.approx(np.log2(0.13671875))


@pytest.mark.parametrize("share", [0.15, 0.5, 0.85])
def test_the_share_of_an_intermittent_fault_is_found_again(share: float) -> None:
    rng = np.random.default_rng(5)
    there = rng.random(60) < share
    fault = np.where(there, -1.0, -7.0)
    likelihood = np.stack([np.where(there, -7.0, -1.0), fault, np.full(60, -3.0)], axis=1)
    found = now_and_then(likelihood)
    assert found.fraction[1] == pytest.approx(there.mean(), abs=0.12)
    assert found.weight[1] > max(likelihood[:, 0].sum(), likelihood[:, 1].sum())


def test_belief_across_a_repair_on_paper() -> None:
    """Two faults, the first repaired, nothing it could have harmed; then a reading that is right
    with 0.9 on a good board, 0.1 under either fault. Prior 0.6 : 0.4 and no reading before.
    First fault: took (0.97) or failed (0.04 of the whole): 0.96 * 0.9 + 0.04 * 0.1 = 0.868;
    second 0.1. Cause: 0.5208 : 0.04; cured 0.5184 of 0.5608."""
    prior = np.array([0.0, 0.6, 0.4, 0.0])
    right = np.log2(np.array([0.9, 0.1, 0.1, 0.5]))
    at, tries = np.array([0, 1, 0, 0]), np.array([0, 1, 0, 0])
    split = across_repairs(prior, [np.zeros(4), right], at, tries, [np.zeros(4, dtype=np.bool_)])
    assert split.cause[1] == pytest.approx(0.5208 / 0.5608)
    assert split.now[0] == pytest.approx(0.6 * 0.96 * 0.9 / 0.5608)
    assert split.now[2] == pytest.approx(0.04 / 0.5608)
    assert split.now.sum() == pytest.approx(1.0)


def test_what_the_work_harmed_is_suspected_after_it() -> None:
    """The repair is followed by a reading that only the fault in row 3 explains, a joint that the
    iron was on: it takes over in proportion to how often work does harm."""
    prior = np.array([0.0, 0.98, 0.01, 0.01, 0.0])
    after = np.log2(np.array([0.01, 0.01, 0.01, 0.9, 0.1]))
    at, tries = np.array([0, 1, 0, 0, 0]), np.array([0, 1, 0, 0, 0])
    harm = np.array([False, False, False, True, False])
    split = across_repairs(prior, [np.zeros(5), after], at, tries, [harm])
    weights = 0.98 * np.array([1.0 - FAILED - HARMED, FAILED]) * 0.01
    harmed, alone = 0.98 * HARMED * 0.9, 0.01 * 0.9
    total = weights.sum() + harmed + alone + 0.01 * 0.01
    assert split.now[3] == pytest.approx((harmed + alone) / total)


def test_what_is_left_beside_a_repair_is_weighed_over_all_that_it_put_right() -> None:
    """Rows 1 and 2 are put right by one repair. Of one reading before it and one after, on paper:
    before, row 1 explains with 1/2 and row 2 with 1/4 what rows 0, 3 and 4 do with 1/16; after,
    row 3 explains with 1/2 what all others do with 1/8."""
    prior = np.array([0.0, 0.2, 0.4, 0.3, 0.1, 0.0])
    before = np.log2(np.array([1, 8, 4, 1, 1, 2]) / 16.0)
    after = np.log2(np.array([1, 1, 1, 4, 1, 2]) / 8.0)
    at = np.array([0, 1, 1, 0, 0, 0])
    found = seconds(prior, np.stack([before, after]), np.array([0, 1]), at)
    firsts = 0.2 * 0.5 + 0.4 * 0.25
    assert np.exp2(found.weight[3:5]) == pytest.approx(
        [firsts * 0.3 * 0.5, firsts * 0.1 * 0.125]
    )  # fmt: skip
    assert found.first[3] in (1, 2)
    of_first = {1: 0.5, 2: 0.25}[int(found.first[3])]
    assert found.prior[3] == pytest.approx(0.3 * firsts / of_first)
    assert found.prior[[0, 1, 2, 5]].tolist() == [0.0, 0.0, 0.0, 0.0]


def test_a_reading_that_waited_for_the_fault_counts_in_full() -> None:
    """One quick reading and one that was waited for: 0.1 to 0.9 in the mean for the first (half the
    sum of both explanations), 0.95 of 1/2 and 0.05 of 1/64 for the second."""
    rows = np.log2(np.array([[0.5, 0.25, 0.3], [1.0 / 64.0, 0.5, 0.3]]))
    found = now_and_then(rows, np.array([np.nan, 0.95]))
    quick, waited = 0.5 * (0.5 + 0.25), 0.95 * 0.5 + 0.05 / 64.0
    assert np.exp2(found.weight[1]) == pytest.approx(quick * waited)
