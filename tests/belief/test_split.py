"""Gain of readings of one of two levels, against the general tables."""

import numpy as np
import pytest

from halfsplit.belief.gain import fault_gains
from halfsplit.belief.posterior import normalise
from halfsplit.belief.split import likelihood, split_gains
from halfsplit.belief.tables import Tables
from halfsplit.solve.gates import pack


@pytest.mark.parametrize("slip", [0.0, 0.03])
def test_gains_are_those_of_the_general_tables(slip: float, rng: np.random.Generator) -> None:
    high = rng.random((300, 90)) < rng.random((300, 1))
    p = normalise(rng.random(91) * (rng.random(91) < 0.6))
    tables = []
    for net in high:
        row = likelihood(net, 1, slip=slip)
        tables.append(np.stack([1.0 - row, row], axis=1))
    expected = fault_gains(p, Tables.pack(tables, 91))
    assert split_gains(p, pack(high), slip) == pytest.approx(expected, abs=3e-5)


def test_a_net_that_halves_equal_faults_tells_one_bit() -> None:
    high = np.array([[True, False, True, False], [True, True, True, True]])
    p = np.array([0.25, 0.25, 0.25, 0.25, 0.0])
    assert split_gains(p, pack(high)) == pytest.approx([1.0, 0.0], abs=1e-6)


def test_readings_that_disagree_tell_nothing() -> None:
    high = np.array([True, False])
    assert likelihood(high, 1, 1, 0.1) == pytest.approx([0.09, 0.09, 0.09])
    assert likelihood(high, 2, 0, 0.1) == pytest.approx([0.81, 0.01, 0.41])
