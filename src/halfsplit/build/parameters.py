"""Parameters of a batch of cases: base values, tolerance samples, states and faults laid over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

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
_FOLLOWS = {"off_at": "vth"}
"""Parameters of one chip that follow the draw of another: where a TTL input stops pushing is where
the gate behind turns over, two junctions of one die, so an open input is always taken for high."""


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
    drawn = [rng.permutation(count) + rng.uniform(size=count) for _ in independent_draws(assembly)]
    u = np.reshape(drawn, (len(drawn), count)) / max(count, 1)
    nominal = np.zeros((len(drawn), 1))
    flat, normal = (
        np.hstack((nominal, deviation)) for deviation in (2.0 * u - 1.0, _normal_quantile(u))
    )
    return _deviations(assembly, flat, normal)


def drawn_deviations(assembly: Assembly, deviations: Array) -> list[Array]:
    """Deviations of every parameter from its base, for each group [P, M, S], when the K draws are
    off by ``deviations`` [K, S] standard deviations."""
    return _deviations(assembly, deviations / np.sqrt(3.0), deviations)


def _deviations(assembly: Assembly, flat: Array, normal: Array) -> list[Array]:
    """For each group [P, M, S]; of the K draws [K, S]: where each sample lies between the ends of
    a flat spread (-1 to 1), and how many standard deviations off in a normal one."""
    circuit = assembly.circuit
    found = [np.zeros((*group.base.shape, flat.shape[1])) for group in circuit.groups]
    number = {name: k for k, name in enumerate(independent_draws(assembly))}
    of_group: dict[int, list[tuple[int, int, int, Spread]]] = defaultdict(list)
    for at in assembly.spreads:
        group, row, member = circuit.locate(at.key, at.param)
        of_group[group].append((row, member, number[_draw(at)], at.spread))
    for group, spreads in of_group.items():
        row, member, draw = np.asarray([where[:3] for where in spreads], dtype=np.intp).T
        base = circuit.groups[group].base[row, member][:, None]
        found[group][row, member] = _deviation(
            [where[3] for where in spreads], base, flat[draw], normal[draw]
        )
    return found


def _draw(at: SpreadAt) -> str:
    """The draw that a parameter follows."""
    shared = at.spread.together
    owner, element = at.key
    param = _FOLLOWS.get(at.param, at.param)
    return f"{owner}:{f'all {shared}' if shared else element}:{param}"


def _deviation(spreads: Sequence[Spread], base: Array, flat: Array, normal: Array) -> Array:
    """[K, S] of K parameters with these spreads and ``base`` [K, 1] values."""
    relative = np.asarray([spread.relative for spread in spreads])[:, None]
    absolute = np.asarray([spread.absolute for spread in spreads])[:, None]
    shape = np.asarray([spread.shape for spread in spreads])[:, None]
    by_width = np.where(shape == "flat", flat, normal) * (np.abs(base) * relative + absolute)
    found: Array = np.where(shape == "log", base * np.expm1(normal * relative), by_width)
    return found


def _normal_quantile(u: Array) -> Array:
    """Inverse normal distribution, absolute error below 4.5e-4 (M. Abramowitz and I. A. Stegun,
    Handbook of Mathematical Functions, 26.2.23)."""
    tail = np.clip(np.minimum(u, 1.0 - u), 1e-9, 0.5)
    t = np.sqrt(-2.0 * np.log(tail))
    x: Array = t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (
        1.0 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t**3
    )
    return np.where(u < 0.5, -x, x)
