"""Small circuits by node name, for tests of the solver."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from halfsplit.solve.circuit import LEAK, Circuit, Placed, make_circuit
from halfsplit.solve.law import Array, Law
from halfsplit.solve.laws.analog import Comparator, PhotoTransistor, Regulator
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance, Source
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.solve.laws.mosfet import Mosfet
from halfsplit.solve.newton import Solution, solve

NPN: Mapping[str, float] = {
    "is_": 1e-14, "bf": 100.0, "br": 1.0, "n": 1.0, "bvce": 1e3, "gbe": 0.0, "gbc": 0.0, "gce": 0.0,
}  # fmt: skip
DIODE: Mapping[str, float] = {"is_": 1e-14, "n": 1.0, "bv": 1e3, "nbv": 1.0, "gp": 0.0}
MOSFET: Mapping[str, float] = {"k": 0.02, "vth": 2.0, "gds": 0.0, "ggs": 0.0, "ggd": 0.0}
REGULATOR: Mapping[str, float] = {
    "vset": 5.0, "drop": 2.0, "r": 0.02, "ilim": 2.0, "iq": 5e-3, "k": 1.0, "gio": 0.0, "gog": 1e-6,
}  # fmt: skip
TTL_INPUT: Mapping[str, float] = {"r": 4e3, "drop": 0.7, "off_at": 1.5, "k": 1.0, "g": 0.0}
GATE: Mapping[str, float] = {
    "vth": 1.3, "rel": 0.0, "steep": 20.0, "a0": 0.0, "a1": 1.0, "e0": 0.0, "e1": 1.0, "bit": 0.0,
    "kl": 1.0, "kh": 1.0, "il": 0.03, "rl": 25.0, "off": 0.12, "ih": 0.045, "rh": 110.0,
    "drop": 1.4, "on_at": 2.5, "leak": 1e-9, "swing": 0.0,
}  # fmt: skip
COMPARATOR: Mapping[str, float] = {
    "vos": 0.0, "steep": 500.0, "a0": 0.0, "a1": 1.0, "k": 1.0, "il": 16e-3, "rl": 32.0,
    "on_at": 1.6, "ib": 25e-9, "gp": 1e-10, "gm": 1e-10, "leak": 1e-10,
}  # fmt: skip
STAGE: Mapping[str, float] = {
    "low": 0.1, "high": 0.2, "wrong": 0.1, "is_low": 0.3, "is_high": 0.4, "most": 0.8, "tol": 0.1,
    **{f"{what}{k}": value for k in (1, 2, 3)
       for what, value in (("u", 0.6), ("s", 0.4), ("want", 0.7), ("width", 1.1), ("least", 0.5))},
}  # fmt: skip

AMPLIFIER: Mapping[str, float] = {
    "vos": 1e-3, "steep": 200.0, "high": 1.5, "low": 0.02, "ro": 50.0, "ilim": 0.02, "k": 1.0,
    "on_at": 2.0, "ib": 45e-9, "gp": 1e-8, "gm": 1e-8, "leak": 1e-8,
}  # fmt: skip
CONTACT: Mapping[str, float] = {
    "gon": 20.0,
    "goff": 1e-9,
    "pull": 3.0,
    "steep": 12.0,
    "a0": 0.0,
    "a1": 1.0,
}


def seen_inputs(law: LogicOutput) -> dict[str, float]:
    """Inputs seen as they are."""
    return {
        f"{what}{k}": float(what == "w") for k in range(1, len(law.inputs) + 1) for what in "ow"
    }


@dataclass(slots=True)
class Sketch:
    """Elements between named nodes; ``"0"`` is ground."""

    elements: list[tuple[str, Law, tuple[str, ...], dict[str, float]]] = field(default_factory=list)

    def add(
        self, name: str, law: Law, nodes: str, base: Mapping[str, float], **changed: float
    ) -> None:
        self.elements.append((name, law, tuple(nodes.split()), {**base, **changed}))

    def r(self, name: str, nodes: str, ohms: float) -> None:
        self.add(name, Conductance(), nodes, {"g": 1.0 / ohms})

    def source(self, name: str, node: str, volts: float, ohms: float = 1e-3) -> None:
        self.add(name, Source(), f"{node} 0", {"g": 1.0 / ohms, "volts": volts})

    def npn(self, name: str, nodes: str, sign: float = 1.0, **changed: float) -> None:
        self.add(name, Bipolar(sign=sign), nodes, NPN, **changed)

    def diode(self, name: str, nodes: str, **changed: float) -> None:
        self.add(name, Diode(), nodes, DIODE, **changed)

    def mosfet(self, name: str, nodes: str, sign: float = 1.0, **changed: float) -> None:
        self.add(name, Mosfet(sign=sign), nodes, MOSFET, **changed)

    def regulator(self, name: str, nodes: str, sign: float = 1.0, **changed: float) -> None:
        self.add(name, Regulator(sign=sign), nodes, REGULATOR, **changed)

    def comparator(self, name: str, nodes: str, **changed: float) -> None:
        self.add(name, Comparator(), nodes, COMPARATOR, **changed)

    def sensor(self, name: str, nodes: str, **changed: float) -> None:
        base = {"is_": 1e-14, "n": 1.6, "ctr": 0.2, "light": 1.0, "dark": 1e-9}
        self.add(name, PhotoTransistor(), nodes, base, **changed)

    def gate(self, name: str, law: LogicOutput, nodes: str, **changed: float) -> None:
        self.add(name, law, nodes, {**GATE, **seen_inputs(law)}, **changed)

    def names(self) -> list[str]:
        """Nodes in the order of their first mention."""
        every = (node for _, _, nodes, _ in self.elements for node in nodes if node != "0")
        return list(dict.fromkeys(every))

    def make(self, names: Sequence[str] | None = None) -> Circuit:
        order = list(names or self.names())
        number = {"0": -1, **{name: k for k, name in enumerate(order)}}
        return make_circuit(
            len(order),
            [
                Placed(key=("x", name), law=law, nodes=tuple(number[n] for n in nodes), params=p)
                for name, law, nodes, p in self.elements
            ],
        )

    def volts(self) -> dict[str, float]:
        """Solve; node -> volts, ground included. Fails when unresolved."""
        done = solve(self.make(), base(self.make()))
        assert done.resolved.all()
        return {"0": 0.0, **dict(zip(self.names(), done.v[:, 0].tolist(), strict=True))}


def base(circuit: Circuit, width: int = 1) -> list[Array]:
    """The typed parameters, [P, M, B] for each group."""
    return [np.repeat(group.base[:, :, None], width, axis=2) for group in circuit.groups]


def excess(circuit: Circuit, params: Sequence[Array], done: Solution) -> Array:
    """What flows out of each node by the laws alone, ampere [N, B]: zero by Kirchhoff."""
    v = np.concatenate((done.v, np.zeros((1, done.v.shape[1]))))
    total = LEAK * v
    for group, p in zip(circuit.groups, params, strict=True):
        wide = np.broadcast_to(p, (*p.shape[:2], v.shape[1]))
        i, _ = group.law.evaluate(v[group.nodes], wide, False)
        np.add.at(total, group.nodes, i)
    flows: Array = total[:-1]
    return flows
