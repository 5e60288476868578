"""The gates of a board as the event simulation sees them, for B cases at once.

A gate is any element whose law is a logic output: of a chip, inside a chip, of a controller. Its
expressions, its stored bit and what a fault makes of them are the very parameters that the DC
engine uses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import Assembly
from halfsplit.frozen import dataclass
from halfsplit.parts.logic import LogicChip
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.events_kleene import HIGH, LOW, Maybe, either, evaluate, of_level, pick
from halfsplit.solve.law import Array, Clocked
from halfsplit.solve.laws.logic import LogicOutput

__all__ = ["Bit", "Gate", "find_gates", "hold", "next_bit"]

Index = npt.NDArray[np.intp]

_DELAYS: Mapping[str, float] = {
    "74": 12e-9, "74LS": 10e-9, "74S": 4e-9, "74ALS": 6e-9, "74F": 4e-9, "74HC": 10e-9,
    "74HCT": 12e-9, "4000": 60e-9,
}  # fmt: skip
"""Typical delay of one gate, s: data sheets of the 00 (and 4011 at 10 V), from memory. That what
is stored is there after two is assumed."""
_USUAL = 10e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Bit:
    """The stored bit of a gate: number in the arrays of bits, and how it is clocked."""

    number: int
    rule: Clocked


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """One gate: element ``key``, place in the circuit, ``delay`` seconds."""

    key: tuple[str, str]
    group: int
    member: int
    law: LogicOutput
    nodes: Index
    delay: float
    bit: Bit | None

    def inputs(self, params: Sequence[Array], low: Array, high: Array) -> dict[str, Maybe]:
        """What it sees at node voltages between ``low`` and ``high`` [N + 1, B]."""
        p = params[self.group][:, self.member][:, None, :]
        found: dict[str, Maybe] = {}
        seen = [self.law.logic(v[self.nodes][:, None, :], p)[0] for v in (low, high)]
        for name in self.law.inputs:
            least, most = (np.asarray(levels[name])[0] for levels in seen)
            found[name] = of_level(least, most)
        return found

    def output(self, params: Sequence[Array], inputs: Mapping[str, Maybe], q: Maybe) -> Maybe:
        """Level [B] that it gives; a fault may hold it."""
        level = evaluate(self.law.level, {**inputs, "q": q})
        return self._with_fault(params, "a", level)

    def enabled(self, params: Sequence[Array], inputs: Mapping[str, Maybe], q: Maybe) -> Maybe:
        """Whether it drives its pin."""
        on = evaluate(self.law.enable, {**inputs, "q": q}) if self.law.enable else HIGH
        return self._with_fault(params, "e", on)

    def _with_fault(self, params: Sequence[Array], which: str, value: Maybe) -> Maybe:
        names = self.law.parameters
        base = params[self.group][names.index(f"{which}0"), self.member]
        weight = params[self.group][names.index(f"{which}1"), self.member]
        fixed = of_level(base, base)
        return pick(weight > 0.5, (np.broadcast_to(value[0], base.shape),
                                   np.broadcast_to(value[1], base.shape)), fixed)  # fmt: skip


def next_bit(
    rule: Clocked, bit: Maybe, inputs: Mapping[str, Maybe], before: tuple[Maybe, Maybe] | None
) -> tuple[Maybe, tuple[Maybe, Maybe]]:
    """The stored bit [B] after its inputs have changed, and clock and data to remember;
    ``before``: those of the last time. An unknown clock stores the old bit or the new."""
    levels = {**inputs, "q": bit}
    shape = bit[0].shape
    clock, data = (_full(evaluate(text, levels), shape) for text in (rule.clock, rule.data))
    if rule.edge:
        was, new = before if before is not None else (clock, data)
        sure = ~was[1] & ~clock[0]
        maybe = was[0] & clock[1]
    else:
        new, sure, maybe = data, ~clock[0], clock[1]
    bit = pick(sure, new, pick(maybe, either(bit, new), bit))
    for text, forced in ((rule.force_high, HIGH), (rule.force_low, LOW)):
        if text:
            now = _full(evaluate(text, levels), shape)
            bit = pick(~now[0], forced, pick(now[1], either(bit, forced), bit))
    return bit, (clock, data)


def find_gates(assembly: Assembly, circuit: Circuit) -> tuple[Gate, ...]:
    """Every gate of the board."""
    rules = {at.key: at.rule for at in assembly.clocked}
    found: list[Gate] = []
    bits = 0
    for key, (group, member) in circuit.where.items():
        law = circuit.groups[group].law
        if not isinstance(law, LogicOutput):
            continue
        bit = None
        if key in rules:
            bit, bits = Bit(number=bits, rule=rules[key]), bits + 1
        nodes = circuit.groups[group].nodes[:, member]
        found.append(
            Gate(
                key=key, group=group, member=member, law=law, nodes=nodes,
                delay=_delay(assembly, key[0], law, stores=bit is not None), bit=bit,
            )
        )  # fmt: skip
    return tuple(found)


def hold(
    gates: Sequence[Gate], params: Sequence[Array], levels: npt.NDArray[np.float64],
    enables: npt.NDArray[np.float64],
) -> None:  # fmt: skip
    """Write into ``params`` that gate g gives ``levels`` [G, B] while ``enables`` [G, B], where no
    fault holds it."""
    for k, gate in enumerate(gates):
        p, names = params[gate.group], gate.law.parameters
        for which, value in (("a", levels[k]), ("e", enables[k])):
            fixed, weight = names.index(f"{which}0"), names.index(f"{which}1")
            free = p[weight, gate.member] > 0.5
            p[fixed, gate.member] = np.where(free, value, p[fixed, gate.member])
            p[weight, gate.member] = 0.0


def _delay(assembly: Assembly, designator: str, law: LogicOutput, *, stores: bool) -> float:
    if not law.inputs:
        return 0.0  # a state or a fault sets it
    kind = assembly.kinds.get(designator)
    family = kind.family.name if isinstance(kind, LogicChip) else ""
    return _DELAYS.get(family, _USUAL) * (2.0 if stores else 1.0)


def _full(value: Maybe, shape: tuple[int, ...]) -> Maybe:
    return np.broadcast_to(value[0], shape), np.broadcast_to(value[1], shape)
