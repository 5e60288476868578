"""Logic over time: which edges come where and when, healthy and with every fault.

For what happens in nanoseconds to milliseconds between chips; what coils and capacitors do is
:mod:`halfsplit.build.transient`. Both play the same schedules.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.compiled import Compiled
from halfsplit.build.events_gates import Gate, find_gates
from halfsplit.build.events_shots import find_shots
from halfsplit.build.events_walk import Walk
from halfsplit.build.transient_network import Case, Network, make_network
from halfsplit.build.transient_schedule import Schedule
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.solve.law import Array
from halfsplit.solve.transient_stores import AT_REST, Stores

__all__ = ["WORDS", "Played", "play"]

WORDS = "01XZ"
"""Level 0, 1, unknown, not driven, by code."""
_UNKNOWN, _FREE = 2, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What F faults did at J moments.

    ``time`` [J] seconds; ``levels`` place -> [F, J] codes of :data:`WORDS` from that moment on;
    ``volts`` place -> [F] at the end; ``unresolved`` [F] could not be solved; ``restless`` [F]
    oscillate: what is in the loop is unknown.
    """

    time: Array
    faults: tuple[str, ...]
    levels: Mapping[str, npt.NDArray[np.int8]]
    volts: Mapping[str, Array]
    unresolved: npt.NDArray[np.bool_]
    restless: npt.NDArray[np.bool_]

    def edges(self, place: str, fault: str) -> tuple[tuple[float, str], ...]:
        """(seconds, level) of each change at a place, the level at the start first."""
        row = self.levels[place][self.faults.index(fault)]
        new = np.flatnonzero(np.diff(row, prepend=-1))
        return tuple((float(self.time[k]), WORDS[row[k]]) for k in new)

    def at(self, place: str, seconds: float) -> str:
        """Levels of all faults at a moment, one letter each."""
        k = int(np.searchsorted(self.time, seconds, side="right")) - 1
        return "".join(WORDS[code] for code in self.levels[place][:, max(k, 0)])


def play(
    compiled: Compiled,
    schedule: Schedule,
    *,
    faults: Sequence[str] | None = None,
    places: Sequence[str] = (),
) -> Played:
    """Play ``schedule`` for ``faults`` (ids; None for all). Nothing is stored at the start: bits
    are unknown until they are clocked, set or cleared. Raises UnknownName, PlaceError,
    ScheduleError."""
    known = {fault.id: row for row, fault in enumerate(compiled.faults)}
    for name in faults or ():
        if name not in known:
            raise UnknownName("fault", name, known)
    rows = [known[name] for name in faults] if faults is not None else list(known.values())
    network = make_network(compiled.assembly)
    cases = [network.case(compiled.faults[row]) for row in rows]
    distinct = list(dict.fromkeys(cases))
    where = {case: k for k, case in enumerate(distinct)}
    columns = np.asarray([where[case] for case in cases], dtype=np.intp)
    gates = find_gates(compiled.assembly, network.circuit)
    eyes = [_Eye.make(compiled, gates, rows, name) for name in places]
    moments = schedule.moments(compiled.board)
    first, stores = _parameters(network, distinct, network.moment(moments[0]))
    shots = find_shots(network, gates, first, stores)
    walk = Walk(network.circuit, gates, first, shots)
    time: list[float] = []
    seen: list[npt.NDArray[np.int8]] = []

    def record(t: float) -> None:
        codes = np.asarray([eye.look(walk, columns) for eye in eyes], dtype=np.int8)
        if time and time[-1] == t:
            seen[-1] = codes
        else:
            time.append(t)
            seen.append(codes)

    for moment in moments:
        if moment.at > 0.0 and not time:
            walk.restart()
            record(0.0)
        for t in walk.until(moment.at if moment.at > 0.0 else np.inf):
            if time:
                record(t)
        walk.set(_parameters(network, distinct, network.moment(moment))[0])
        if not moment.at:
            for _ in walk.until(np.inf):
                pass
    if not time:
        walk.restart()
        record(0.0)
    for t in walk.until(schedule.seconds):
        record(t)
    history = np.asarray(seen, dtype=np.int8).reshape(len(time), len(eyes), len(rows))
    return Played(
        time=np.asarray(time),
        faults=tuple(compiled.faults[row].id for row in rows),
        levels={eye.name: history[:, k].T.copy() for k, eye in enumerate(eyes)},
        volts={eye.name: eye.volts(walk, columns) for eye in eyes},
        unresolved=walk.lost[columns],
        restless=walk.restless[columns],
    )


def _parameters(
    network: Network, cases: Sequence[Case], what: tuple[tuple[int, int, int, float, bool], ...]
) -> tuple[list[Array], Stores]:
    """Of all cases while ``what`` is set, capacitors and coils at rest."""
    params, stores = network.parameters(what, cases)
    still = np.zeros((len(network.stores), len(cases)))
    stores.write(params, still, AT_REST, np.zeros((1, 1)))
    return params, stores


@dataclass(frozen=True, slots=True, kw_only=True)
class _Eye:
    """A place that is watched: nodes [F] by fault, levels (below, above) in volt, and the gates
    that drive its net by number."""

    name: str
    nodes: npt.NDArray[np.intp]
    levels: tuple[float, float]
    drivers: tuple[int, ...]

    @classmethod
    def make(
        cls, compiled: Compiled, gates: Sequence[Gate], rows: Sequence[int], name: str
    ) -> _Eye:
        place = compiled.place(name)
        legs = {
            node
            for ref, node in compiled.assembly.leg_node.items()
            if (part := compiled.board.part(ref.designator)) and part.pins.get(ref.pin) == place.net
        }
        legs.add(compiled.assembly.net_node[place.net])
        return cls(
            name=name,
            nodes=compiled.nodes(place)[list(rows)],
            levels=compiled.thresholds(place.net),
            drivers=tuple(k for k, gate in enumerate(gates) if int(gate.nodes[0]) in legs),
        )

    def look(self, walk: Walk, columns: npt.NDArray[np.intp]) -> npt.NDArray[np.int8]:
        """[F] codes."""
        low, high = walk.low[self.nodes, columns], walk.high[self.nodes, columns]
        below = (low < self.levels[0]) & (high < self.levels[0])
        above = (low > self.levels[1]) & (high > self.levels[1])
        codes = np.where(below, 0, np.where(above, 1, _UNKNOWN))
        if self.drivers:
            on = np.asarray(walk.enable[1][list(self.drivers)].any(axis=0))
            off = ~on[columns]
            codes = np.where(off & (codes == _UNKNOWN), _FREE, codes)
        return np.where(walk.lost[columns], _UNKNOWN, codes).astype(np.int8)

    def volts(self, walk: Walk, columns: npt.NDArray[np.intp]) -> Array:
        """[F] volts; not-a-number where a level is unknown by more than a tenth of a volt."""
        low, high = walk.low[self.nodes, columns], walk.high[self.nodes, columns]
        sure = (np.abs(high - low) < 0.1) & ~walk.lost[columns]
        return np.where(sure, 0.5 * (low + high), np.nan)
