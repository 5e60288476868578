"""Parameters of a batch of cases: base values, tolerance samples, states and faults laid over."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import Assembly, SpreadAt
from halfsplit.build.settings import Owned
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array

__all__ = [
    "Overlay",
    "Setting",
    "base_parameters",
    "lay",
    "overlay",
    "sample_deviations",
    "take_columns",
]

Setting = tuple[int, int, int, float, bool]
"""Group, parameter row, member, value, scale."""
Overlay = tuple[Setting, ...]
"""The changes of one fault or state."""


def overlay(circuit: Circuit, changes: Iterable[Owned]) -> Overlay:
    """Find where each change goes. Raises SolveError for an element that is not there."""
    found = []
    for owner, change in changes:
        group, row, member = circuit.locate((owner, change.element), change.param)
        found.append((group, row, member, change.value, change.scale))
    return tuple(found)


def base_parameters(circuit: Circuit, deviations: Sequence[Array]) -> list[Array]:
    """For each group [P, M, T]: the base values and the deviation of each sample."""
    return [
        group.base[:, :, None] + deviation
        for group, deviation in zip(circuit.groups, deviations, strict=True)
    ]


def lay(params: Sequence[Array], what: Overlay, columns: slice | npt.NDArray[np.intp]) -> None:
    """Write one overlay into some columns of the batch, in place."""
    for group, row, member, value, scale in what:
        if scale:
            params[group][row, member, columns] *= value
        else:
            params[group][row, member, columns] = value


def take_columns(params: Sequence[Array], columns: npt.NDArray[np.intp]) -> list[Array]:
    """The batch's columns ``columns`` (repeats allowed), copied."""
    return [p[:, :, columns] for p in params]


def sample_deviations(
    assembly: Assembly, samples: int, seed: int = 1983, share: float = 1.0
) -> list[Array]:
    """Deviations of every parameter from its base, for each group [P, M, T]; sample 0 is nominal.
    ``share`` of the spread is drawn (the whole: 1), in the logarithm where that is what spreads.

    Each parameter draws stratified uniform numbers (Latin hypercube, M. D. McKay et al.,
    Technometrics 21, 1979), so that few samples still have the right mean and spread. Parameters
    that belong together share one.
    """
    circuit = assembly.circuit
    found = [np.zeros((*group.base.shape, samples)) for group in circuit.groups]
    if samples < 2:
        return found
    rng = np.random.default_rng(seed)
    drawn: dict[str, Array] = {}
    for at in assembly.spreads:
        name = at.spread.together and f"{at.key[0]}:{at.spread.together}:{at.param}"
        u = drawn.get(name) if name else None
        if u is None:
            strata = (rng.permutation(samples - 1) + rng.uniform(size=samples - 1)) / (samples - 1)
            u = strata
            if name:
                drawn[name] = u
        group, row, member = circuit.locate(at.key, at.param)
        base = circuit.groups[group].base[row, member]
        found[group][row, member, 1:] = _deviation(at, base, u, share)
    return found


def _deviation(at: SpreadAt, base: float, u: Array, share: float) -> Array:
    """Deviation from ``base`` at quantiles ``u``."""
    spread = at.spread
    width = share * (abs(base) * spread.relative + spread.absolute)
    if spread.shape == "flat":
        return (2.0 * u - 1.0) * width
    normal = _normal_quantile(u)
    if spread.shape == "log":
        return base * np.expm1(normal * spread.relative * share)
    return normal * width


def _normal_quantile(u: Array) -> Array:
    """Inverse normal distribution, absolute error below 4.5e-4 (M. Abramowitz and I. A. Stegun,
    Handbook of Mathematical Functions, 26.2.23)."""
    tail = np.clip(np.minimum(u, 1.0 - u), 1e-9, 0.5)
    t = np.sqrt(-2.0 * np.log(tail))
    x: Array = t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (
        1.0 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t**3
    )
    return np.where(u < 0.5, -x, x)
