"""What is read off while a board goes through time: volts at places, currents of parts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.compiled import Compiled
from halfsplit.build.transient_network import Network
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.transient import March

__all__ = ["Probe"]

Index = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Current:
    """Of one part: element as (group, member), its sign, and the stores that add to it."""

    group: int
    member: int
    sign: float
    stores: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """``nodes`` [places, F] (a broken track takes its pad along), and currents."""

    network: Network
    nodes: Index
    currents: tuple[_Current, ...]

    @classmethod
    def make(
        cls, compiled: Compiled, network: Network, rows: Sequence[int], places: Sequence[str],
        currents: Sequence[str],
    ) -> Probe:  # fmt: skip
        """Raises PlaceError and UnknownName."""
        nodes = [compiled.nodes(compiled.place(name))[list(rows)] for name in places]
        return cls(
            network=network,
            nodes=np.asarray(nodes, dtype=np.intp).reshape(len(places), len(rows)),
            currents=tuple(_current(compiled, network, name) for name in currents),
        )

    @property
    def height(self) -> int:
        """Rows of what is read."""
        return len(self.nodes) + len(self.currents)

    def read(self, march: March, rows: Index, columns: Index) -> Array:
        """[height, R] for ``rows`` [R] of the faults, which are ``columns`` [R] of the march."""
        v = np.concatenate((march.now.v, np.zeros((1, march.which.size))))
        found = np.empty((self.height, rows.size))
        for k, nodes in enumerate(self.nodes):
            found[k] = v[nodes[rows], columns]
        for k, current in enumerate(self.currents, start=len(self.nodes)):
            found[k] = current.sign * self._amps(current, march, v)[columns]
        return found

    def _amps(self, current: _Current, march: March, v: Array) -> Array:
        """[B] ampere; an element beside a coil carries nothing of its own."""
        if current.stores and all(self.network.coil[k, 0] for k in current.stores):
            held: Array = march.now.x[list(current.stores)].sum(axis=0)
            return held
        at = self.network.circuit.groups[current.group]
        here = v[at.nodes[:, current.member]][:, None, :]
        p = march.params[current.group][:, current.member][:, None, :]
        amps: Array = at.law.evaluate(here, p, False)[0][0, 0]
        for k in current.stores:
            amps = amps + march.stores.value[k] * march.now.slope[k]
        return amps


def _current(compiled: Compiled, network: Network, designator: str) -> _Current:
    watched = compiled.watched
    if designator not in watched:
        raise UnknownName("part with a current", designator, watched)
    part = compiled.board.part(designator)
    assert part is not None
    reading = network.assembly.kinds[designator].current(part)
    assert reading is not None
    group, member = network.circuit.where[designator, reading.element]
    stores = tuple(k for k, where in enumerate(network.beside) if where == (group, member))
    return _Current(group, member, reading.sign, stores)
