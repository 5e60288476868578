"""One-shots: what triggers them, and how long they stay.

Widths by the data sheets (from memory): 121 and 221 0.7 R C (ln 2), 122 and 123 0.45 R C, their
standard TTL makes 0.28 R C (1 + 0.7 kΩ/R). R and C are found on the timing pins; a fault of either
changes the width, and without one of them the pulse has no end or does not begin to be one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Part
from halfsplit.build.events_gates import Gate
from halfsplit.build.fault import PinRef
from halfsplit.build.transient_network import Network
from halfsplit.frozen import dataclass
from halfsplit.parts.logic import LogicChip
from halfsplit.solve.events_kleene import Maybe, evaluate, of_level
from halfsplit.solve.law import Array
from halfsplit.solve.smooth import sigmoid
from halfsplit.solve.transient_stores import Stores

if TYPE_CHECKING:
    from halfsplit.build.events_walk import Walk

__all__ = ["Shot", "Shots", "Spec", "find_shots"]

Index = npt.NDArray[np.intp]

_SURE_OF = 20.0
"""Steepness of an input, 1/V, as of the gates."""
_INNER_OHMS = 2e3
"""Timing resistor inside the 121, ohm."""
_DELAY = 40e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Spec:
    """One chip number: ``trigger`` fires when it becomes true, ``clear`` ends the pulse.
    ``units`` are the suffixes of the names of its pins."""

    trigger: str
    clear: str
    again: bool
    units: tuple[str, ...] = ("1", "2")


_SPECS: Mapping[str, Spec] = {
    "121": Spec(trigger="B & (!A1 | !A2)", clear="0", again=False, units=("",)),
    "122": Spec(trigger="B1 & B2 & (!A1 | !A2) & nCLR", clear="!nCLR", again=True, units=("",)),
    "123": Spec(trigger="B# & !A# & nCLR#", clear="!nCLR#", again=True),
    "221": Spec(trigger="B# & !A# & nCLR#", clear="!nCLR#", again=False),
}


@dataclass(slots=True, kw_only=True)
class Shot:
    """One one-shot in B cases: its output gates by number, the nodes it looks at by name,
    threshold V, expressions, and ``seconds`` [B] of its pulse."""

    q: int | None
    nq: int | None
    nodes: Mapping[str, int]
    vth: float
    trigger: str
    clear: str
    again: bool
    seconds: Array
    was: Maybe | None = None
    ends: npt.NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))


@dataclass(slots=True)
class Shots:
    """All one-shots; ``outputs`` are the elements that they speak for."""

    shots: Sequence[Shot]
    outputs: frozenset[tuple[str, str]]

    def look(
        self, walk: Walk, params: Sequence[Array], low: Array, high: Array, columns: Index
    ) -> None:
        """Fire what is triggered at node voltages between ``low`` and ``high`` [N + 1, C]."""
        for shot in self.shots:
            pins = {
                name: of_level(*(sigmoid(_SURE_OF * (v[n] - shot.vth))[0] for v in (low, high)))
                for name, n in shot.nodes.items()
            }
            now, clear = evaluate(shot.trigger, pins), evaluate(shot.clear, pins)
            if shot.was is None:
                shot.was = (np.ones(walk.lost.size, bool), np.zeros(walk.lost.size, bool))
                shot.ends = np.zeros(walk.lost.size, dtype=np.int64)
                shot.was[0][columns], shot.was[1][columns] = now
                _give(walk, shot, columns, False, np.full(columns.size, np.inf))
                continue
            rose = ~shot.was[1][columns] & ~now[0]
            shot.was[0][columns], shot.was[1][columns] = now
            running = shot.ends[columns] > walk.tick
            fires = columns[rose & (shot.again | ~running)]
            if fires.size:
                _give(walk, shot, fires, True, shot.seconds[fires])
                width = np.nan_to_num(shot.seconds[fires] * 1e12, posinf=2.0**62)
                shot.ends[fires] = walk.tick + np.minimum(width, 2.0**62 - walk.tick).astype(int)
            ended = columns[np.broadcast_to(~clear[0], columns.shape) & running]
            if ended.size:
                _give(walk, shot, ended, False, np.full(ended.size, np.inf))
                shot.ends[ended] = walk.tick


def find_shots(
    network: Network, gates: Sequence[Gate], params: Sequence[Array], stores: Stores
) -> Shots:
    """The one-shots of a board, with widths by the parameters [P, M, B] and stores of B cases."""
    number = {gate.key: k for k, gate in enumerate(gates)}
    found: list[Shot] = []
    outputs: list[tuple[str, str]] = []
    for part in network.assembly.board.parts:
        kind = network.assembly.kinds[part.designator]
        if not isinstance(kind, LogicChip) or kind.chip.number not in _SPECS:
            continue
        spec = _SPECS[kind.chip.number]
        for unit in spec.units:
            keys = [
                (part.designator, f"out{kind.chip.pin(name + unit).number}") for name in ("Q", "nQ")
            ]
            outputs += keys
            ohms = _ohms(network, part, kind, unit, params)
            farads = _farads(network, part, kind, unit, stores)
            trigger, clear = (text.replace("#", unit) for text in (spec.trigger, spec.clear))
            found.append(
                Shot(
                    q=number.get(keys[0]),
                    nq=number.get(keys[1]),
                    nodes=dict(_pins(network, part, kind, trigger)),
                    vth=kind.family.vth * (5.0 if kind.family.rel else 1.0),
                    trigger=trigger,
                    clear=clear,
                    again=spec.again,
                    seconds=_seconds(kind, ohms, farads),
                )
            )
    return Shots(found, frozenset(outputs))


def _give(walk: Walk, shot: Shot, columns: Index, level: bool, seconds: Array) -> None:
    for gate, value in ((shot.q, level), (shot.nq, not level)):
        if gate is not None:
            walk.pulse(gate, columns, value, _DELAY, seconds)


def _seconds(kind: LogicChip, ohms: Array, farads: Array) -> Array:
    if kind.chip.number in ("121", "221"):
        return 0.7 * ohms * farads
    if kind.family.name == "74":
        return 0.28 * farads * (ohms + 700.0)
    return 0.45 * ohms * farads


def _pins(
    network: Network, part: Part, kind: LogicChip, text: str
) -> Iterator[tuple[str, int]]:  # fmt: skip
    """Nodes of the pins in an expression; one that is not connected is left at ground's node."""
    from halfsplit.solve import expression

    for name in expression.names(text):
        ref = PinRef(designator=part.designator, pin=kind.chip.pin(name).number)
        yield name, network.assembly.leg_node.get(ref, network.circuit.size)


def _ohms(
    network: Network, part: Part, kind: LogicChip, unit: str, params: Sequence[Array]
) -> Array:
    """[B] of the timing resistor; infinite without one."""
    width = params[0].shape[2]
    timing = part.pins.get(kind.chip.pin(f"REXT{unit}").number)
    rails = {rail.net for rail in network.assembly.board.rails}
    if timing is None and kind.chip.number == "121":
        return np.full(width, _INNER_OHMS)
    for other in network.assembly.board.parts:
        nets = set(other.pins.values())
        if other.kind == "resistor" and timing in nets and nets & rails:
            reading = network.assembly.kinds[other.designator].current(other)
            assert reading is not None
            group, member = network.circuit.where[other.designator, reading.element]
            ohms: Array = 1.0 / params[group][0, member]
            return np.where(ohms > 1e9, np.inf, ohms)
    return np.full(width, np.inf)


def _farads(network: Network, part: Part, kind: LogicChip, unit: str, stores: Stores) -> Array:
    """[B] of the timing capacitor; a stray 20 pF without one."""
    ends = {part.pins.get(kind.chip.pin(f"{name}{unit}").number) for name in ("CEXT", "REXT")} - {
        None
    }
    for k, at in enumerate(network.stores):
        other = network.assembly.board.part(at.designator)
        if other is not None and at.store.what == "capacitor" and ends <= set(other.pins.values()):
            farads: Array = stores.value[k]
            return farads
    return np.full(stores.value.shape[1] if len(network.stores) else 1, 20e-12)
