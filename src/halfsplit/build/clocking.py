"""Stored bits of clocked elements between the solves of a walk through a state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from halfsplit.build.assemble import ClockedAt
from halfsplit.solve import expression
from halfsplit.solve.circuit import Circuit
from halfsplit.solve.law import Array
from halfsplit.solve.laws.logic import LogicOutput

__all__ = ["Bits"]

Mask = npt.NDArray[np.bool_]


@dataclass(slots=True)
class Bits:
    """Bits [K, B] of K clocked elements in B cases, whether each is known, and what clock and
    data were at the last solve."""

    circuit: Circuit
    elements: Sequence[ClockedAt]
    value: Mask
    known: Mask
    clock: Mask | None = None
    data: Mask | None = None

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
        clock, data = (None if x is None else x[:, columns] for x in (self.clock, self.data))
        return Bits(
            self.circuit, self.elements, self.value[:, columns], self.known[:, columns], clock, data
        )

    def advance(self, v: Array, params: Sequence[Array]) -> Mask:
        """Let the bits follow a solution ``v`` [N, B]; which columns changed [B]."""
        width = v.shape[1]
        padded = np.concatenate((v, np.zeros((1, width))))
        clock, data = np.zeros_like(self.value), np.zeros_like(self.value)
        value, known = self.value.copy(), self.known.copy()
        for k, at in enumerate(self.elements):
            levels = self._levels(at, padded, params, self.value[k], value[k])
            rule = at.rule
            clock[k] = _true(rule.clock, levels, width)
            data[k] = _true(rule.data, levels, width)
            sure = np.ones(width, dtype=bool)
            if not rule.edge:
                take, new = clock[k], data[k]
                other = self._levels(at, padded, params, ~self.value[k], value[k])
                sure = new == _true(rule.data, other, width)  # false within a hysteresis
            elif self.clock is None or self.data is None:
                take, new = np.zeros(width, dtype=bool), data[k]
            else:
                take, new = clock[k] & ~self.clock[k], self.data[k]
            value[k] = np.where(take, new, value[k])
            known[k] |= take & sure
            for text, forced in ((rule.force_high, True), (rule.force_low, False)):
                if text:
                    now = _true(text, levels, width)
                    value[k] = np.where(now, forced, value[k])
                    known[k] |= now
        changed: Mask = (value != self.value).any(axis=0)
        self.value, self.known, self.clock, self.data = value, known, clock, data
        return changed

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
