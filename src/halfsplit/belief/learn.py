"""What proven cases teach about ways to fail: Dirichlet, the handbook as a weak prior.

The posterior mean of a Dirichlet with weights ``strength`` times the handbook's shares after counts
n is (strength h + n) / (strength + sum n) (A. Gelman et al., Bayesian Data Analysis, section 3.4,
from memory).
"""

from __future__ import annotations

import numpy as np

from halfsplit.belief.posterior import Array

__all__ = ["STRENGTH", "learned_shares"]

STRENGTH = 20.0
"""Cases that the handbook is worth (a choice of ours: it speaks of other equipment)."""


def learned_shares(shares: Array, counts: Array, strength: float = STRENGTH) -> Array:
    """[K] shares of K classes after ``counts`` [K] of proven cases; ``shares`` [K] sum to one."""
    found = (strength * shares + counts) / (strength + counts.sum())
    return np.asarray(found, dtype=np.float64)
