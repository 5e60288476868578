"""How long a repaired unit must run right before a claim about it holds.

``n`` counts trials of this one unit under the conditions tried: repeated seeks are not
independent units, so every claim is about this unit in these conditions and about no other.

Sources: C. J. Clopper and E. S. Pearson, Biometrika 26, 1934; A. Wald, Sequential Analysis, 1947;
MIL-HDBK-781A for run hours; NIST/SEMATECH e-Handbook of Statistical Methods, 6.2.6 and 7.2.4.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

import numpy as np

from halfsplit.belief.posterior import Array
from halfsplit.frozen import dataclass

__all__ = [
    "Sequential", "bounds", "hours_needed", "quiet_chance", "quiet_trials", "rule_of_three",
    "trials_needed", "upper_bound",
]  # fmt: skip

_HALVINGS = 200
_MOST = 10**12
_JEFFREYS = 0.5
"""Both parameters of the beta prior of a rate that nothing is known of (H. Jeffreys, Theory of
Probability, 3.10)."""
_FRACTIONS = 20_000
_TINY = 1e-300


def trials_needed(reliability: float, confidence: float, failures: int = 0) -> int:
    """The least number of trials, at most ``failures`` of them bad, that shows with
    ``confidence`` that a share ``reliability`` of trials is good; without failures the success
    run ln(1 - C) / ln(R). Raises ValueError outside 0 to 1."""
    _open_share("reliability", reliability)
    _open_share("confidence", confidence)
    if failures < 0:
        raise ValueError(f"failures must be 0 or more, got {failures}")
    bad = 1.0 - reliability

    def enough(n: int) -> bool:
        return float(_at_most(np.array(float(failures)), np.array(float(n)), bad)) <= 1 - confidence

    return _least(enough, failures + 1)


def rule_of_three(n: int) -> float:
    """Upper limit of the rate of failure at 95 % after ``n`` trials without one, 3/n: near for
    n of 30 and more; :func:`upper_bound` is exact."""
    if n < 1:
        raise ValueError(f"expected at least one trial, got {n}")
    return min(3.0 / n, 1.0)


def upper_bound(failures: Array, n: Array, confidence: float) -> Array:
    """[...] one-sided upper limit of the rate of failure, ``failures`` in ``n`` trials."""
    _open_share("confidence", confidence)
    failures, n = np.broadcast_arrays(np.asarray(failures, float), np.asarray(n, float))
    if (n < 1).any() or (failures < 0).any() or (failures > n).any():
        raise ValueError("expected at least one trial, and failures from 0 to the trials")
    low, high = np.zeros(n.shape), np.ones(n.shape)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        above = _at_most(failures, n, middle) <= 1.0 - confidence
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    limit: Array = np.where(failures == n, 1.0, high)
    return limit


def bounds(failures: Array, n: Array, confidence: float) -> tuple[Array, Array]:
    """[...] lower and upper limit of the rate of failure, two-sided (Clopper and Pearson)."""
    each = 0.5 * (1.0 + confidence)
    failures, n = np.asarray(failures, float), np.asarray(n, float)
    return 1.0 - upper_bound(n - failures, n, each), upper_bound(failures, n, each)


def hours_needed(hours_between: float, confidence: float, failures: int = 0) -> float:
    """Hours of running, at most ``failures`` failures in them, that show with ``confidence`` that
    there are ``hours_between`` failures or more: chi-square with 2 (r + 1) degrees over two, for
    failures that come at a steady rate."""
    _open_share("confidence", confidence)
    low, high = 0.0, 1.0
    while _poisson_at_most(failures, high) > 1.0 - confidence:
        high *= 2.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if _poisson_at_most(failures, middle) > 1.0 - confidence:
            low = middle
        else:
            high = middle
    return hours_between * high


def quiet_chance(seen: int, of: int, trials: Array) -> Array:
    """[...] probability that a fault seen ``seen`` times in ``of`` trials, and still there, keeps
    quiet through ``trials`` more. Its rate is as uncertain as those few sightings leave it:
    beta posterior from Jeffreys' prior."""
    if not 0 <= seen <= of:
        raise ValueError(f"expected from 0 to {of} sightings, got {seen}")
    a, b = seen + _JEFFREYS, of - seen + _JEFFREYS
    m = np.asarray(trials, float)
    chance: Array = np.exp(
        _log_gamma(b + m) - _log_gamma(a + b + m) + math.lgamma(a + b) - math.lgamma(b)
    )
    return chance


def quiet_trials(seen: int, of: int, confidence: float) -> int:
    """The least number of quiet trials after which a fault of that kind, were it still there,
    would have shown itself with ``confidence``."""
    _open_share("confidence", confidence)
    return _least(lambda m: float(quiet_chance(seen, of, np.array(m))) <= 1.0 - confidence, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequential:
    """Wald's test: a rate of failure of ``good`` is to pass but for a risk ``alpha``, one of
    ``bad`` to fail but for ``beta``; the count of trials is not fixed beforehand."""

    good: float
    bad: float
    alpha: float = 0.05
    beta: float = 0.05

    def __post_init__(self) -> None:
        for name in ("good", "bad", "alpha", "beta"):
            _open_share(name, getattr(self, name))
        if self.good >= self.bad:
            raise ValueError(f"good must be below bad, got {self.good:g} and {self.bad:g}")
        if self.alpha + self.beta >= 1.0:
            raise ValueError("alpha and beta must sum to less than 1")

    @property
    def k(self) -> float:
        """Log odds ratio, what one failure weighs."""
        return math.log(self.bad * (1.0 - self.good) / (self.good * (1.0 - self.bad)))

    @property
    def pass_line(self) -> float:
        """Failures that the line of passing lies below the slope, h1."""
        return math.log((1.0 - self.alpha) / self.beta) / self.k

    @property
    def fail_line(self) -> float:
        """Failures that the line of failing lies above the slope, h2."""
        return math.log((1.0 - self.beta) / self.alpha) / self.k

    @property
    def slope(self) -> float:
        """Failures for each trial that decide nothing."""
        return math.log((1.0 - self.good) / (1.0 - self.bad)) / self.k

    def passes_at(self, failures: int) -> int:
        """The least number of trials at which so many failures pass."""
        return math.ceil((failures + self.pass_line) / self.slope - 1e-9)

    def verdict(self, failures: int, trials: int) -> Literal["pass", "fail", "go on"]:
        """How the test stands."""
        if failures <= self.slope * trials - self.pass_line:
            return "pass"
        return "fail" if failures >= self.slope * trials + self.fail_line else "go on"


def _least(enough: Callable[[int], bool], start: int) -> int:
    high = start
    while not enough(high):
        high *= 2
        if high > _MOST:
            raise ValueError(f"more than {_MOST:g} trials would be needed")
    low = max(high // 2, start - 1)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _at_most(failures: Array, n: Array, rate: float | Array) -> Array:
    """[...] binomial probability of at most ``failures`` in ``n``."""
    rate = np.broadcast_to(np.asarray(rate, float), n.shape)
    whole = failures >= n
    a, b = np.where(whole, 1.0, n - failures), failures + 1.0
    chance: Array = np.where(whole, 1.0, _beta_share(a, b, 1.0 - rate))
    return chance


def _beta_share(a: Array, b: Array, x: Array) -> Array:
    """[...] regularised incomplete beta function, by its continued fraction (NIST Digital Library
    of Mathematical Functions, 8.17.22), summed by Lentz's method."""
    turned = x > (a + 1.0) / (a + b + 2.0)
    p, q = np.where(turned, b, a), np.where(turned, a, b)
    y = np.clip(np.where(turned, 1.0 - x, x), _TINY, 1.0)
    rest = np.clip(np.where(turned, x, 1.0 - x), _TINY, 1.0)
    front = np.exp(
        _log_gamma(p + q) - _log_gamma(p) - _log_gamma(q) + p * np.log(y) + q * np.log(rest)
    )
    c = np.ones(p.shape)
    d = 1.0 / _kept(1.0 - (p + q) * y / (p + 1.0))
    total = d.copy()
    for m in range(1, _FRACTIONS):
        even = m * (q - m) * y / ((p + 2 * m - 1.0) * (p + 2 * m))
        odd = -(p + m) * (p + q + m) * y / ((p + 2 * m) * (p + 2 * m + 1.0))
        for term in (even, odd):
            d, c = 1.0 / _kept(1.0 + term * d), _kept(1.0 + term / c)
            step = c * d
            total = total * step
        if (np.abs(step - 1.0) < 1e-14).all():
            break
    share = front * total / p
    found: Array = np.where(turned, 1.0 - share, share)
    return found


def _kept(x: Array) -> Array:
    kept: Array = np.where(np.abs(x) < _TINY, _TINY, x)
    return kept


def _log_gamma(x: Array) -> Array:
    found: Array = np.vectorize(math.lgamma, otypes=[float])(x)
    return found


def _poisson_at_most(count: int, mean: float) -> float:
    term = total = math.exp(-mean)
    for k in range(1, count + 1):
        term *= mean / k
        total += term
    return total


def _open_share(name: str, value: float) -> None:
    if not 0.0 < value < 1.0:
        raise ValueError(f"{name} must be between 0 and 1, got {value:g}")
