"""A logic chip on the bench: its elements evaluated at the corners, many runs side by side."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from halfsplit.board.model import Part
from halfsplit.parts.logic import KINDS, LogicChip
from halfsplit.solve import expression
from halfsplit.solve.law import Clocked
from halfsplit.solve.laws.logic import LogicOutput

Bools = npt.NDArray[np.bool_]
_TURNS = 8
"""As many as the program walks after each step."""


def whole(kind: LogicChip) -> Part:
    """The chip with every pin on a net of its own."""
    pins = {pin.name: f"N{pin.name}" for pin in kind.word.pins if pin.role != "nc"}
    return Part(designator="U1", kind=kind.name, pins=pins)


def one_of_each_row() -> list[LogicChip]:
    """The chip of the first family of every row."""
    return list({kind.key: kind for kind in reversed(KINDS)}.values())[::-1]


class Bench:
    """A chip and its stored bits, B runs."""

    def __init__(self, kind: LogicChip, width: int) -> None:
        self.kind, self.width = kind, width
        names = {pin.number: pin.name for pin in kind.chip.pins}
        self.elements = [e for e in kind.elements(whole(kind)) if isinstance(e.law, LogicOutput)]
        self.laws = [e.law for e in self.elements if isinstance(e.law, LogicOutput)]
        self.out = [names.get(e.terminals[0], e.terminals[0]) for e in self.elements]
        self.inputs = [[names.get(t, t) for t in e.terminals[3:]] for e in self.elements]
        self.bits = [np.zeros(width, dtype=bool) for _ in self.elements]
        self.old: dict[int, tuple[Bools, Bools]] = {}
        self.settled: dict[str, Bools] = {}

    def step(self, pins: Mapping[str, Bools]) -> dict[str, list[int | None]]:
        """Levels of the outputs in every run after the pins took these levels; ``None``: let go."""
        for _ in range(_TURNS):
            self._settle(pins)
            if not self._advance():
                break
        answers = {}
        for k, law in enumerate(self.laws):
            if self.out[k].startswith("~"):
                continue
            level = self._true(law.level, k)
            on = self._true(law.enable, k) if law.enable else np.ones(self.width, dtype=bool)
            answers[self.out[k]] = [int(x) if y else None for x, y in zip(level, on, strict=True)]
        return answers

    def _settle(self, pins: Mapping[str, Bools]) -> None:
        self.settled = dict(pins)
        cores = [k for k, name in enumerate(self.out) if name.startswith("~")]
        for k in cores:
            self.settled.setdefault(self.out[k], np.zeros(self.width, dtype=bool))
        for _ in range(len(cores) + 1):
            moved = False
            for k in cores:
                new = self._true(self.laws[k].level, k)
                moved |= bool((new != self.settled[self.out[k]]).any())
                self.settled[self.out[k]] = new
            if not moved:
                return
        raise AssertionError(f"{self.kind.name}: gates inside do not come to rest")

    def _advance(self) -> bool:
        """The rule of :class:`halfsplit.solve.law.Clocked`."""
        moved, now = False, {}
        for k, element in enumerate(self.elements):
            rule = element.clocked
            if rule is None:
                continue
            clock, data = self._true(rule.clock, k), self._true(rule.data, k)
            bit = self._stored(rule, k, clock, data)
            for text, forced in ((rule.force_high, True), (rule.force_low, False)):
                if text:
                    bit = np.where(self._true(text, k), forced, bit)
            moved |= bool((bit != self.bits[k]).any())
            now[k] = (clock, data, bit)
        for k, (clock, data, bit) in now.items():
            self.bits[k], self.old[k] = bit, (clock, data)
        return moved

    def _stored(self, rule: Clocked, k: int, clock: Bools, data: Bools) -> Bools:
        if not rule.edge:
            return np.where(clock, data, self.bits[k])
        if k not in self.old:
            return self.bits[k]
        before, held = self.old[k]
        return np.where(clock & ~before, held, self.bits[k])

    def _true(self, text: str, k: int) -> Bools:
        seen = {
            inner: self.settled[name].astype(float)
            for inner, name in zip(self.laws[k].inputs, self.inputs[k], strict=True)
        }
        seen["q"] = self.bits[k].astype(float)
        return np.broadcast_to(expression.evaluate(text, seen) > 0.5, (self.width,))
