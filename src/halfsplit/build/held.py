"""Places that only a junction holds: what a meter finds there.

The emitter of a follower without a load, or the cathode of a diode that feeds nothing, has a source
resistance of megohms, and yet no meter pulls it far: it gives way by kT/q for each factor e of
current. The slope at the solution, drawn on as a straight line, would put such a place near ground.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.parameters import Overlay
from halfsplit.build.sweep import StateResult
from halfsplit.frozen import dataclass
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.smooth import VT

__all__ = ["Holders"]

Index = npt.NDArray[np.intp]

_SOFT = 1e5
"""Source resistance from which on a junction's slope is no straight line to a meter, ohm: a meter's
microamp across it is as much as kT/q."""
_SAME = 0.01
"""Two legs of one net whose joints are good are within this, V and share of ohms."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Junction:
    """From node ``anode`` (-1: ground) to node ``cathode``, of a part that is as good as new but in
    ``spoilt`` rows."""

    anode: int
    cathode: int
    amps: float
    volts: float
    spoilt: frozenset[int]

    def is_at(self, row: int, v: float, ohms: float, at: StateResult) -> bool:
        """Whether the cathode is joined to a node of so many volts and ohms on its net."""
        same = abs(at.nominal[self.cathode, row] - v) < _SAME
        return bool(same and abs(at.ohms[self.cathode, row] / ohms - 1.0) < _SAME)

    def holds(self, row: int, at: StateResult, meter: float) -> float:
        """Volts below which no meter pulls the cathode, minus infinity where it is not held."""
        if row in self.spoilt or self.amps <= 0.0 or self.anode < 0:
            return -math.inf
        above = float(at.nominal[self.anode, row])
        amps = max(above, 0.0) / meter
        sag = amps * float(at.ohms[self.anode, row])
        return above - sag - self.volts * math.log1p(amps / self.amps)


class Holders:
    """The junctions of a circuit by the net that they can pull up, under F faults. ``nets`` has
    the net of each node that is on one."""

    def __init__(
        self, circuit: Circuit, overlays: Sequence[Overlay], nets: Mapping[int, str]
    ) -> None:
        spoilt = defaultdict(list)
        for row, changes in enumerate(overlays):
            for number, _, member, *_ in changes:
                spoilt[number, member].append(row)
        self._onto: dict[str, list[_Junction]] = defaultdict(list)
        for number, group in enumerate(circuit.groups):
            for ends in _ends(group.law):
                anodes, cathodes = (group.nodes[end].tolist() for end in ends)
                names = group.law.parameters
                amps, bend = (group.base[names.index(name)] for name in ("is_", "n"))
                for member, (anode, cathode) in enumerate(zip(anodes, cathodes, strict=True)):
                    one = _Junction(
                        anode=anode if anode < circuit.size else -1,
                        cathode=cathode,
                        amps=float(amps[member]),
                        volts=VT * float(bend[member]),
                        spoilt=frozenset(spoilt[number, member]),
                    )
                    if cathode in nets:
                        self._onto[nets[cathode]].append(one)

    def least(self, net: str, nodes: Index, at: StateResult, meter: float) -> Array:
        """[F] volts below which no ``meter`` of so many ohms pulls the ``nodes`` [F] of a net;
        minus infinity where no junction holds them."""
        found = np.full(len(nodes), -np.inf)
        junctions = self._onto.get(net, ())
        if not junctions:
            return found
        rows = np.arange(len(nodes))
        v, ohms = at.nominal[nodes, rows], at.ohms[nodes, rows]
        for row in np.flatnonzero((nodes >= 0) & (ohms > _SOFT) & (v > 0.0)).tolist():
            here = [one for one in junctions if one.is_at(row, v[row], ohms[row], at)]
            found[row] = max((one.holds(row, at, meter) for one in here), default=-np.inf)
        least: Array = np.fmin(found, v)
        return least


def _ends(law: object) -> tuple[tuple[int, int], ...]:
    """Anode and cathode among the terminals of a law with junctions that can pull up."""
    if isinstance(law, Diode):
        return ((0, 1),)
    if isinstance(law, Bipolar):
        return ((1, 2),) if law.sign > 0.0 else ((2, 1),)
    return ()
