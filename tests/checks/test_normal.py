"""The normal distribution against scipy (source: its definition, integral of the density)."""

import numpy as np
import pytest
from scipy import stats

from halfsplit.checks._normal import QUICK_ERROR, cdf, density, quick_cdf


def test_cdf_agrees_with_scipy_far_into_the_tails() -> None:
    z = np.linspace(-30.0, 8.0, 4001)
    np.testing.assert_allclose(cdf(z), stats.norm.cdf(z), rtol=1e-12, atol=0.0)
    assert cdf(z.reshape(4001, 1)).shape == (4001, 1)


def test_density_agrees_with_scipy() -> None:
    z = np.linspace(-12.0, 12.0, 1001)
    np.testing.assert_allclose(density(z), stats.norm.pdf(z), rtol=1e-12)


def test_quick_cdf_keeps_its_stated_error() -> None:
    z = np.linspace(-50.0, 50.0, 400_001)
    error = np.abs(quick_cdf(z.astype(np.float32)) - stats.norm.cdf(z)).max()
    assert 0.5 * QUICK_ERROR < error < QUICK_ERROR


@pytest.mark.parametrize(("z", "p"), [(0.0, 0.5), (1.0, 0.8413447), (1.96, 0.9750021)])
def test_cdf_of_table_values(z: float, p: float) -> None:
    """Abramowitz and Stegun, table 26.1 (from memory, confirmed by scipy)."""
    assert cdf(np.array([z]))[0] == pytest.approx(p, abs=1e-7)
