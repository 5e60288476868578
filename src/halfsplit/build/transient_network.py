"""A board's circuit with its capacitors and coils in it, and the parameters of cases over time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import Assembly
from halfsplit.build.fault import Fault, PinRef
from halfsplit.build.parameters import Overlay, base_parameters, lay, overlay
from halfsplit.build.settings import Owned, step_changes
from halfsplit.build.transient_schedule import Moment, Sine
from halfsplit.frozen import dataclass
from halfsplit.parts.kind import Store
from halfsplit.solve.circuit import Circuit, Placed, make_circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.linear import Source
from halfsplit.solve.transient_stores import Stores

__all__ = ["Case", "Network", "StoreAt", "make_network"]

Index = npt.NDArray[np.intp]

_LEAST_OHMS = 1e-4
_FACTOR = {"value": 0, "ohms": 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreAt:
    """A store of the part ``designator``."""

    designator: str
    store: Store


@dataclass(frozen=True, slots=True)
class Case:
    """One fault as it is laid over: changes of the circuit, and of the stores as (store, row 0
    for value and 1 for ohms, factor or value, whether it is a factor)."""

    circuit: Overlay
    stores: tuple[tuple[int, int, float, bool], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """The circuit with a source for each of the K stores, numbered as ``stores``."""

    assembly: Assembly
    circuit: Circuit
    stores: tuple[StoreAt, ...]
    group: int
    members: Index
    coil: npt.NDArray[np.bool_]
    beside: tuple[tuple[int, int], ...]
    """Group and member of the element that each store goes with."""

    def case(self, fault: Fault) -> Case:
        """What a fault changes here."""
        number = {(at.designator, at.store.name): k for k, at in enumerate(self.stores)}
        stored = tuple(
            (number[owner, change.element], _FACTOR[change.param], change.value, change.scale)
            for owner, change in fault.stored
            if (owner, change.element) in number
        )
        return Case(overlay(self.circuit, fault.changes), stored)

    def moment(self, moment: Moment) -> Overlay:
        """What a step of a state changes here."""
        changes: Sequence[Owned] = step_changes(self.assembly, moment.state, moment.step)
        return overlay(self.circuit, changes)

    def parameters(self, what: Overlay, cases: Sequence[Case]) -> tuple[list[Array], Stores]:
        """Parameters [P, M, B] and stores of B cases while ``what`` is set."""
        zero = [np.zeros((*group.base.shape, 1)) for group in self.circuit.groups]
        base = base_parameters(self.circuit, zero)
        lay(base, what, slice(None))
        params = [np.repeat(p, len(cases), axis=2) for p in base]
        kept = np.asarray([(at.store.value, at.store.ohms) for at in self.stores])
        held = np.repeat(kept.reshape(-1, 2).T[:, :, None], len(cases), axis=2)
        for column, case in enumerate(cases):
            lay(params, case.circuit, slice(column, column + 1))
            for k, row, value, scale in case.stores:
                held[row, k, column] = held[row, k, column] * value if scale else value
        for k, (group, member) in enumerate(self.beside):
            if self.coil[k, 0]:
                held[1, k] = 1.0 / params[group][0, member]
                params[group][0, member] = 0.0
        stores = Stores(
            circuit=self.circuit, group=self.group, members=self.members, coil=self.coil,
            value=held[0], ohms=np.maximum(held[1], _LEAST_OHMS),
        )  # fmt: skip
        return params, stores

    def scales(self) -> Array:
        """[K, 1] what is much for each store: the highest rail, or the current it drives."""
        volts = max((abs(rail.volts) for rail in self.assembly.board.rails), default=5.0)
        base = [self.circuit.groups[group].base[0, member] for group, member in self.beside]
        return volts * np.where(self.coil, np.asarray(base).reshape(-1, 1), 1.0)

    def swings(self, sines: Sequence[Sine]) -> list[tuple[Sine, int, int]]:
        """Where the volts of each swinging rail are: group and member."""
        return [(sine, *self.circuit.where["*", f"rail:{sine.rail}"]) for sine in sines]


def make_network(assembly: Assembly) -> Network:
    """The circuit of ``assembly`` again, with its stores."""
    old = assembly.circuit
    placed = [
        Placed(
            key=key,
            law=old.groups[group].law,
            nodes=_nodes(old, group, member),
            params=dict(
                zip(
                    old.groups[group].law.parameters,
                    map(float, old.groups[group].base[:, member]),
                    strict=True,
                )
            ),
        )
        for key, (group, member) in old.where.items()
    ]
    stores = tuple(
        StoreAt(designator=part.designator, store=store)
        for part in assembly.board.parts
        for store in assembly.kinds[part.designator].stores(part)
    )
    law = Source()
    for at in stores:
        legs = (PinRef(designator=at.designator, pin=pin) for pin in at.store.terminals)
        placed.append(
            Placed(
                key=(at.designator, _key(at.store)),
                law=law,
                nodes=tuple(assembly.leg_node[leg] for leg in legs),
                params={"g": 0.0, "volts": 0.0},
            )
        )
    circuit = make_circuit(old.size, placed)
    where = [circuit.where[at.designator, _key(at.store)] for at in stores]
    return Network(
        assembly=assembly,
        circuit=circuit,
        stores=stores,
        group=where[0][0] if where else 0,
        members=np.asarray([member for _, member in where], dtype=np.intp),
        coil=np.asarray([at.store.what == "coil" for at in stores], dtype=bool).reshape(-1, 1),
        beside=tuple(circuit.where[at.designator, at.store.beside] for at in stores),
    )


def _key(store: Store) -> str:
    return f"store:{store.name}"


def _nodes(circuit: Circuit, group: int, member: int) -> tuple[int, ...]:
    at = circuit.groups[group].nodes[:, member]
    return tuple(-1 if node == circuit.size else int(node) for node in at)
