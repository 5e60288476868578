"""Parameters of a batch of cases: base values, tolerance samples, states and faults laid over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import Assembly, SpreadAt
from halfsplit.build.settings import Owned
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array, Spread

__all__ = [
    "Overlay",
    "Setting",
    "base_parameters",
    "drawn_deviations",
    "independent_draws",
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
    return [np.take(p, columns, axis=2) for p in params]


def independent_draws(assembly: Assembly) -> tuple[str, ...]:
    """Names of the K draws that a board is made of; parameters that belong together share one."""
    return tuple(dict.fromkeys(map(_draw, assembly.spreads)))


def sample_deviations(assembly: Assembly, samples: int, seed: int = 1983) -> list[Array]:
    """Deviations of every parameter from its base, for each group [P, M, T]; sample 0 is nominal.

    Each draw takes stratified uniform numbers (Latin hypercube, M. D. McKay et al.,
    Technometrics 21, 1979), so that few samples still have the right mean and spread.
    """
    count = samples - 1
    rng = np.random.default_rng(seed)
    quantiles = {
        name: np.append(0.5, (rng.permutation(count) + rng.uniform(size=count)) / max(count, 1))
        for name in independent_draws(assembly)
    }
    return _deviations(
        assembly,
        samples,
        {
            name: (2.0 * u - 1.0, np.append(0.0, _normal_quantile(u[1:])))
            for name, u in quantiles.items()
        },
    )


def drawn_deviations(assembly: Assembly, deviations: Array) -> list[Array]:
    """Deviations of every parameter from its base, for each group [P, M, S], when the K draws are
    off by ``deviations`` [K, S] standard deviations."""
    flat = deviations / np.sqrt(3.0)
    rows = zip(independent_draws(assembly), flat, deviations, strict=True)
    return _deviations(assembly, deviations.shape[1], {name: (low, row) for name, low, row in rows})


def _deviations(
    assembly: Assembly, samples: int, draws: Mapping[str, tuple[Array, Array]]
) -> list[Array]:
    """For each group [P, M, S]; ``draws`` by name: where each sample lies between the ends of a
    flat spread (-1 to 1), and how many standard deviations off in a normal one."""
    circuit = assembly.circuit
    found = [np.zeros((*group.base.shape, samples)) for group in circuit.groups]
    for at in assembly.spreads:
        group, row, member = circuit.locate(at.key, at.param)
        base = circuit.groups[group].base[row, member]
        found[group][row, member] = _deviation(at.spread, base, *draws[_draw(at)])
    return found


def _draw(at: SpreadAt) -> str:
    """The draw that a parameter follows."""
    shared = at.spread.together
    owner, element = at.key
    return f"{owner}:{f'all {shared}' if shared else element}:{at.param}"


def _deviation(spread: Spread, base: float, flat: Array, normal: Array) -> Array:
    width = abs(base) * spread.relative + spread.absolute
    if spread.shape == "log":
        return base * np.expm1(normal * spread.relative)
    return (flat if spread.shape == "flat" else normal) * width


def _normal_quantile(u: Array) -> Array:
    """Inverse normal distribution, absolute error below 4.5e-4 (M. Abramowitz and I. A. Stegun,
    Handbook of Mathematical Functions, 26.2.23)."""
    tail = np.clip(np.minimum(u, 1.0 - u), 1e-9, 0.5)
    t = np.sqrt(-2.0 * np.log(tail))
    x: Array = t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (
        1.0 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t**3
    )
    return np.where(u < 0.5, -x, x)
