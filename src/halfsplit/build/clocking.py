"""Stored bits of clocked elements between the solves of a walk through a state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import ClockedAt
from halfsplit.solve import expression
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.logic import LogicOutput

__all__ = ["Bits"]

Mask = npt.NDArray[np.bool_]
_NOWHERE = -2
"""Node of a stored bit itself."""


@dataclass(slots=True)
class Bits:
    """Bits [K, B] of K clocked elements in B cases, whether each is known, what clock and data
    were at the last solve, whether the data was sure, and whether both sides were forced."""

    circuit: Circuit
    elements: Sequence[ClockedAt]
    value: Mask
    known: Mask
    clock: Mask | None = None
    data: Mask | None = None
    sure: Mask | None = None
    both: Mask | None = None

    @classmethod
    def at_power_up(cls, circuit: Circuit, elements: Sequence[ClockedAt], width: int) -> Bits:
        """Nothing stored yet: value false, not known."""
        shape = (len(elements), width)
        return cls(circuit, elements, np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool))

    def write(self, params: Sequence[Array], columns: npt.NDArray[np.intp] | slice) -> None:
        """Put the bits into the parameters of the batch's columns."""
        for k, at in enumerate(self.elements):
            group, row, member = self.circuit.locate(at.key, "bit")
            params[group][row, member] = self.value[k, columns]

    def take(self, columns: npt.NDArray[np.intp]) -> Bits:
        """Those of the cases ``columns``."""
        last = (self.clock, self.data, self.sure, self.both)
        clock, data, sure, both = (None if x is None else x[:, columns] for x in last)
        return replace(
            self,
            value=self.value[:, columns],
            known=self.known[:, columns],
            clock=clock,
            data=data,
            sure=sure,
            both=both,
        )

    def turned(self) -> Bits:
        """The same with every bit that is not known the other way."""
        return replace(self, value=np.where(self.known, self.value, ~self.value))

    def advance(self, v: Array, params: Sequence[Array]) -> Mask:
        """Let the bits follow a solution ``v`` [N, B]; which columns changed [B]. Preset and clear
        let go at once leave a bit that nobody knows ("this configuration is nonstable", function
        table of the SN74LS74A data sheet)."""
        width = v.shape[1]
        padded = np.concatenate((v, np.zeros((1, width))))
        clock, data = np.zeros_like(self.value), np.zeros_like(self.value)
        both = np.zeros_like(self.value)
        value, known, sure = self.value.copy(), self.known.copy(), self._sure(padded, params)
        for k, at in enumerate(self.elements):
            levels = self._levels(at, padded, params, self.value[k], value[k])
            rule = at.rule
            clock[k] = _true(rule.clock, levels, width)
            data[k] = _true(rule.data, levels, width)
            if not rule.edge:
                take, new, certain = clock[k], data[k], sure[k]
            elif self.clock is None or self.data is None or self.sure is None:
                take, new, certain = np.zeros(width, dtype=bool), data[k], sure[k]
            else:
                take, new, certain = clock[k] & ~self.clock[k], self.data[k], self.sure[k]
            high, low = (
                _true(text or "0", levels, width) for text in (rule.force_high, rule.force_low)
            )
            both[k] = high & low
            if self.both is not None:
                known[k] &= ~self.both[k]
            known[k] |= (take & certain) | high | low
            value[k] = np.where(take, new, value[k])
            value[k] = (value[k] | high) & ~low
        changed: Mask = (value != self.value).any(axis=0)
        self.value, self.known = value, known
        self.clock, self.data, self.sure, self.both = clock, data, sure, both
        return changed

    def _sure(self, padded: Array, params: Sequence[Array]) -> Mask:
        """[K, B] where the data of an element does not hang on a bit that nobody knows: its own,
        its place within a hysteresis, or one inside the same chip that it looks at. Three-valued
        logic: an unknown is a half, and so is, in the smooth extension, whatever depends on it."""
        sure = np.ones_like(self.value)
        open_to = np.flatnonzero(~self.known.all(axis=0))
        if not open_to.size:
            return sure
        if open_to.size < sure.shape[1]:
            some = [p if p.shape[2] == 1 else p[:, :, open_to] for p in params]
            sure[:, open_to] = self.take(open_to)._sure(padded[:, open_to], some)
            return sure
        doubts: dict[int, Mask] = {}
        for at, known in zip(self.elements, self.known, strict=True):
            group, member = self.circuit.where[at.key]
            doubts[int(self.circuit.groups[group].nodes[0, member])] = ~known
        for k, at in enumerate(self.elements):
            group, member = self.circuit.where[at.key]
            bit = self.value[k]
            one, other = (self._levels(at, padded, params, x, x) for x in (bit, ~bit))
            nodes = (*self.circuit.groups[group].nodes[3:, member], _NOWHERE)
            crisp = {}
            for name, node in zip((*at.inputs, "q"), nodes, strict=True):
                doubt = ~self.known[k] & ((one[name] > 0.5) != (other[name] > 0.5))
                doubt = doubt | doubts.get(int(node), np.False_)
                crisp[name] = np.where(doubt, 0.5, one[name] > 0.5)
            value = expression.evaluate(at.rule.data, crisp)
            sure[k] = (value == 0.0) | (value == 1.0)
        return sure

    def _levels(
        self, at: ClockedAt, padded: Array, params: Sequence[Array], swung: Mask, bit: Mask
    ) -> dict[str, Array]:
        """Levels that the element sees with the thresholds that a bit ``swung`` leaves."""
        group, member = self.circuit.where[at.key]
        law = self.circuit.groups[group].law
        assert isinstance(law, LogicOutput)
        nodes = self.circuit.groups[group].nodes[:, member]
        width = padded.shape[1]
        p = np.repeat(params[group][:, member], width // params[group].shape[2], axis=1)
        p[law.parameters.index("bit")] = swung
        levels, _ = law.logic(padded[nodes][:, None, :], p[:, None, :])
        found = {name: np.asarray(level)[0] for name, level in levels.items()}
        found["q"] = bit.astype(float)
        return found


def _true(text: str, levels: dict[str, Array], width: int) -> Mask:
    crisp = {name: (level > 0.5).astype(float) for name, level in levels.items()}
    truth: Mask = np.broadcast_to(expression.evaluate(text, crisp) > 0.5, (width,)).copy()
    return truth
