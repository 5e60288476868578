"""Acceptance statistics against published worked values, and against scipy."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from halfsplit.belief.acceptance import (
    Sequential,
    bounds,
    hours_needed,
    quiet_chance,
    quiet_trials,
    rule_of_three,
    trials_needed,
    upper_bound,
)

TRUTH = Path(__file__).parents[1] / "truth" / "acceptance_examples.csv"


def worked(topic: str) -> list[tuple[list[float], list[float]]]:
    """Inputs and values of one topic."""
    with TRUTH.open(encoding="utf-8") as file:
        return [
            ([float(x) for x in row["inputs"].split()], [float(x) for x in row["value"].split()])
            for row in csv.DictReader(file)
            if row["topic"] == topic
        ]


@pytest.mark.parametrize(("inputs", "value"), worked("success run"))
def test_success_run(inputs: list[float], value: list[float]) -> None:
    assert trials_needed(inputs[0], inputs[1], int(inputs[2])) == value[0]


@pytest.mark.parametrize(("inputs", "value"), worked("zero failures"))
def test_zero_failures_and_rule_of_three(inputs: list[float], value: list[float]) -> None:
    n = int(inputs[0])
    exact = float(upper_bound(np.array(0), np.array(n), 0.95))
    assert exact == pytest.approx(value[0], rel=1e-5)
    assert exact < rule_of_three(n) == pytest.approx(3 / n)


@pytest.mark.parametrize(("inputs", "value"), worked("bounds"))
def test_two_sided_bounds(inputs: list[float], value: list[float]) -> None:
    low, high = bounds(np.array(inputs[0]), np.array(inputs[1]), inputs[2])
    assert float(low) == pytest.approx(value[0], abs=1e-6)
    assert float(high) == pytest.approx(value[1], abs=1e-6)


@pytest.mark.parametrize(("inputs", "value"), worked("sequential"))
def test_sequential_lines(inputs: list[float], value: list[float]) -> None:
    good, bad, alpha, beta = inputs
    test = Sequential(good=good, bad=bad, alpha=alpha, beta=beta)
    assert [test.pass_line, test.fail_line, test.slope] == pytest.approx(value[:3], rel=2e-5)
    first = int(value[3])
    assert test.passes_at(0) == first
    assert test.verdict(0, first) == "pass"
    assert test.verdict(0, first - 1) == "go on"
    assert test.verdict(5, first) == "fail"


@pytest.mark.parametrize(("inputs", "value"), worked("hours"))
def test_hours_for_each_hour_claimed(inputs: list[float], value: list[float]) -> None:
    assert hours_needed(1.0, inputs[0], int(inputs[1])) == pytest.approx(value[0], rel=1e-6)


def test_bounds_of_a_whole_table_against_scipy() -> None:
    n = np.array([7, 40, 300, 5000])[:, None]
    failures = np.array([0, 1, 3, 7])[None, :]
    low, high = bounds(failures, n, 0.9)
    expected_low = np.where(failures == 0, 0.0, stats.beta.ppf(0.05, failures, n - failures + 1))
    expected_high = np.where(
        failures == n, 1.0, stats.beta.ppf(0.95, failures + 1, np.maximum(n - failures, 1e-9))
    )
    np.testing.assert_allclose(low, expected_low, rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(high, expected_high, rtol=1e-8)


def test_an_intermittent_keeps_quiet_as_the_beta_binomial_has_it() -> None:
    trials = np.array([1, 10, 200])
    expected = stats.betabinom.pmf(0, trials, 3.5, 17.5)
    np.testing.assert_allclose(quiet_chance(3, 20, trials), expected, rtol=1e-9)
    need = quiet_trials(3, 20, 0.95)
    assert stats.betabinom.pmf(0, need, 3.5, 17.5) <= 0.05
    assert stats.betabinom.pmf(0, need - 1, 3.5, 17.5) > 0.05


def test_a_rare_intermittent_needs_a_longer_run() -> None:
    assert quiet_trials(1, 50, 0.9) > quiet_trials(10, 50, 0.9)


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(ValueError, match="confidence must be between 0 and 1, got 1"):
        trials_needed(0.9, 1.0)
    with pytest.raises(ValueError, match="good must be below bad"):
        Sequential(good=0.1, bad=0.01)
    with pytest.raises(ValueError, match="failures from 0 to the trials"):
        upper_bound(np.array(3), np.array(2), 0.9)
