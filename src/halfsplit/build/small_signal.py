"""Power off: what a meter of capacitance or series resistance sees between two places.

Such a meter puts on a tenth of a volt that changes too little to turn a junction on. So every
law is its slope at nought volts, capacitors and coils are their admittances at the meter's
frequency, and a fault is a change of few entries of one matrix, whose inverse is known: M. A.
Woodbury's formula (W. W. Hager, SIAM Review 31, 1989).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import Assembly
from halfsplit.build.fault import Fault, PinRef
from halfsplit.build.parameters import Overlay, lay
from halfsplit.build.world import Numbers, Storage
from halfsplit.parts.kind import Store
from halfsplit.solve.circuit import LEAK
from halfsplit.solve.law import Array

__all__ = ["SmallSignal", "told_storage"]

Complex = npt.NDArray[np.complex128]
Index = npt.NDArray[np.intp]
_Entries = list[tuple[list[int], Complex]]
"""Nodes of an element (N for ground) and what it adds between them."""
_LEAST_OHMS = 1e-4
_LOST = 5.0
"""Loss factor above which a meter finds no capacitor (assumed)."""
_FARADS, _OHMS = 0.2, 0.5
"""Spread of the natural log: capacitors are made within 5 to 50 %, and the series resistance of
one size differs by three times from maker to maker (assumed)."""
_UNKNOWN = 1.0
"""The same where nobody gave the value."""
_HOW_FAR = (0.6, 1.0)
"""The same, farads and ohms, for a capacitor that failed: how far it went is assumed."""


class SmallSignal:
    """The board at one frequency; ``base`` [P, M, 1] has every supply gone."""

    def __init__(
        self,
        assembly: Assembly,
        base: Sequence[Array],
        faults: Sequence[Fault],
        overlays: Sequence[Overlay],
        hertz: float,
    ) -> None:
        self.circuit, self.base = assembly.circuit, base
        self.omega = 2.0 * math.pi * hertz
        self.stores = {
            (part.designator, store.name): store
            for part in assembly.board.parts
            for store in assembly.kinds[part.designator].stores(part)
        }
        self.legs = assembly.leg_node
        size = self.circuit.size
        matrix = np.diag(np.full(size + 1, LEAK, dtype=np.complex128))
        for group, at in enumerate(self.circuit.groups):
            for member in range(at.nodes.shape[1]):
                _add(matrix, [(at.nodes[:, member].tolist(), self._slopes(base, group, member))])
        for key in self.stores:
            _add(matrix, [self._stored(key, base, {})])
        self.inverse = np.zeros_like(matrix)
        self.inverse[:size, :size] = np.linalg.inv(matrix[:size, :size])
        self.changes = [
            self._change(fault, what) for fault, what in zip(faults, overlays, strict=True)
        ]

    def impedance(self, red: Index, black: Index) -> Complex:
        """[F, P] between P pairs of nodes (-1 is ground), ohm."""
        z = self.inverse
        into, out = z[:, red] - z[:, black], z[red] - z[black]
        pairs = np.arange(red.size)
        good = into[red, pairs] - into[black, pairs]
        found = np.repeat(good[None, :], len(self.changes), axis=0)
        for row, (nodes, change) in enumerate(self.changes):
            if nodes.size:
                inner = np.eye(nodes.size) + change @ z[np.ix_(nodes, nodes)]
                moved = np.linalg.solve(inner, change @ into[nodes])
                found[row] -= np.einsum("ps,sp->p", out[:, nodes], moved)
        return found

    def known(self, red: int, black: int) -> bool:
        """Whether somebody gave the value of every capacitor right between two nodes."""
        ends = {self.node(red), self.node(black)}
        return all(
            store.known for key, store in self.stores.items() if set(self._legs(key, store)) == ends
        )

    def node(self, node: int) -> int:
        """The number of a node, ground (-1) last."""
        return self.circuit.size if node < 0 else int(node)

    def _legs(self, key: tuple[str, str], store: Store) -> list[int]:
        pins = (PinRef(designator=key[0], pin=pin) for pin in store.terminals)
        return [self.node(self.legs[pin]) for pin in pins]

    def _change(self, fault: Fault, what: Overlay) -> tuple[Index, Complex]:
        """Nodes that a fault touches, and what it adds between them."""
        touched = {(group, member) for group, _, member, _, _ in what}
        scaled: dict[tuple[str, str], dict[str, float]] = {}
        for owner, change in fault.stored:
            key = (owner, change.element)
            if key in self.stores:
                value = getattr(self.stores[key], change.param)
                scaled.setdefault(key, {})[change.param] = (
                    value * change.value if change.scale else change.value
                )
        entries: _Entries = []
        after = list(self.base)
        for group in {group for group, _ in touched}:
            after[group] = after[group].copy()
        lay(after, what, slice(None))
        for group, member in sorted(touched):
            nodes = self.circuit.groups[group].nodes[:, member].tolist()
            step = self._slopes(after, group, member) - self._slopes(self.base, group, member)
            entries.append((nodes, step))
        for key, store in self.stores.items():
            beside = self.circuit.where[key[0], store.beside]
            if key in scaled or (store.what == "coil" and beside in touched):
                nodes, new = self._stored(key, after, scaled.get(key, {}))
                entries.append((nodes, new - self._stored(key, self.base, {})[1]))
        return _gathered(entries, self.circuit.size)

    def _slopes(self, params: Sequence[Array], group: int, member: int) -> Complex:
        """[E, E] of one element at nought volts."""
        law = self.circuit.groups[group].law
        zero = np.zeros((law.terminals, 1, 1))
        p = params[group][:, member : member + 1]
        found: Complex = np.asarray(law.evaluate(zero, p, False)[1])[:, :, 0, 0].astype(complex)
        return found

    def _stored(
        self, key: tuple[str, str], params: Sequence[Array], scaled: dict[str, float]
    ) -> tuple[list[int], Complex]:
        """A store between its legs; a coil less the copper that stands there already."""
        store: Store = self.stores[key]
        value, ohms = scaled.get("value", store.value), scaled.get("ohms", store.ohms)
        if store.what == "capacitor":
            y = 1.0 / complex(max(ohms, _LEAST_OHMS), -1.0 / (self.omega * max(value, 1e-18)))
        else:
            group, member = self.circuit.where[key[0], store.beside]
            copper = float(params[group][0, member, 0])
            y = copper / complex(1.0, self.omega * value * copper) - copper
        return self._legs(key, store), y * np.array([[1.0, -1.0], [-1.0, 1.0]], dtype=complex)


def told_storage(
    board: SmallSignal,
    pairs: Sequence[Sequence[Index]],
    faults: Sequence[Fault],
    hertz: float,
) -> Storage:
    """What a meter shows at C pairs of places, each given by two arrays of nodes [F]."""
    rows = np.arange(len(faults))
    columns = []
    for two in pairs:
        ends = np.stack(tuple(two))
        distinct, which = np.unique(ends, axis=1, return_inverse=True)
        columns.append(board.impedance(distinct[0], distinct[1])[rows, which.reshape(-1)])
    z = np.stack(columns, axis=1)
    with np.errstate(all="ignore"):
        y = 1.0 / z
    lost = ~np.isfinite(y) | (y.imag <= 0.0) | (y.real > _LOST * y.imag)
    failed = np.array([bool(fault.stored) for fault in faults])[:, None]
    guessed = [not board.known(two[0][0], two[1][0]) for two in pairs]
    farads, ohms = (
        np.hypot(np.where(guessed, _UNKNOWN, made), np.where(failed, state, 0.0))
        for made, state in zip((_FARADS, _OHMS), _HOW_FAR, strict=True)
    )
    return Storage(
        farads=_numbers(y.imag / (2.0 * math.pi * hertz), farads, lost),
        ohms=_numbers(np.maximum(z.real, _LEAST_OHMS), ohms, ~np.isfinite(z)),
    )


def _numbers(mean: Array, spread: Array, lost: npt.NDArray[np.bool_]) -> Numbers:
    return Numbers(
        mean=np.where(lost, np.nan, mean),
        spread=np.broadcast_to(spread, mean.shape),
        other=np.full_like(mean, np.nan),
        other_spread=np.full_like(mean, np.nan),
        floating=np.zeros_like(lost),
        unresolved=lost,
    )


def _add(matrix: Complex, entries: _Entries) -> None:
    for nodes, step in entries:
        np.add.at(matrix, np.ix_(nodes, nodes), step)


def _gathered(entries: _Entries, ground: int) -> tuple[Index, Complex]:
    """The entries in one small matrix over the nodes they touch, ground left out."""
    nodes = sorted({node for at, step in entries for node in at if step.any()} - {ground})
    place = {node: k for k, node in enumerate(nodes)}
    small = np.zeros((len(nodes) + 1, len(nodes) + 1), dtype=complex)
    for at, step in entries:
        where = [place.get(node, len(nodes)) for node in at]
        np.add.at(small, np.ix_(where, where), step)
    return np.asarray(nodes, dtype=np.intp), small[:-1, :-1]
