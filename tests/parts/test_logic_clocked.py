"""Flip-flops and latches, stepped as :class:`halfsplit.solve.law.Clocked` says.

The models on the other side are written from the function tables of the data sheets (7474, 7475,
74174 read beside the pin lists N of ``tests/truth/logic_pins.toml``; 273 read in SDLS090; 175,
373, 374 from memory).
"""

from collections.abc import Callable, Mapping

import numpy as np
import pytest

from halfsplit.board.model import Part
from halfsplit.parts.logic import KINDS, LogicChip
from halfsplit.solve import expression
from halfsplit.solve.law import Element
from halfsplit.solve.laws.logic import LogicOutput

Bits = Mapping[str, int]
STEPS = 300


def true(text: str, seen: Mapping[str, float]) -> bool:
    """Whether a clock, data or force expression holds; an empty one does not."""
    return bool(text) and bool(
        expression.evaluate(text, {name: np.asarray(x) for name, x in seen.items()}) > 0.5
    )


class Stepped:
    """One output element and its stored bit."""

    def __init__(self, kind: LogicChip, name: str) -> None:
        pins = {pin.name: f"N{pin.name}" for pin in kind.word.pins}
        part = Part(designator="U1", kind=kind.name, pins=pins)
        number = kind.chip.pin(name).number
        element = next(e for e in kind.elements(part) if e.name == f"out{number}")
        assert isinstance(element.law, LogicOutput)
        self.element: Element = element
        self.law: LogicOutput = element.law
        self.names = [kind.chip.pins[int(pin) - 1].name for pin in element.terminals[3:]]
        self.bit = 0.0

    def step(self, before: Bits, after: Bits) -> int | None:
        """Level after a step, ``None`` when let go."""
        spec = self.element.clocked
        assert spec is not None
        old = {
            inner: float(before[n]) for inner, n in zip(self.law.inputs, self.names, strict=True)
        }
        new = {inner: float(after[n]) for inner, n in zip(self.law.inputs, self.names, strict=True)}
        if spec.edge:
            if not true(spec.clock, old) and true(spec.clock, new):
                self.bit = float(true(spec.data, old))
        elif true(spec.clock, new):
            self.bit = float(true(spec.data, new))
        if true(spec.force_high, new):
            self.bit = 1.0
        if true(spec.force_low, new):
            self.bit = 0.0
        seen = {**new, "q": self.bit}
        if self.law.enable and not true(self.law.enable, seen):
            return None
        return int(true(self.law.level, seen))


def flip_flop_74(q: int, before: Bits, after: Bits, u: str) -> tuple[int, int, int]:
    """Stored bit, Q and its complement: the seven rows of the table."""
    preset, clear = not after[f"nPRE{u}"], not after[f"nCLR{u}"]
    if before[f"CLK{u}"] == 0 and after[f"CLK{u}"] == 1:
        q = before[f"D{u}"]
    if preset and clear:
        return 0, 1, 1
    if preset:
        return 1, 1, 0
    if clear:
        return 0, 0, 1
    return q, q, 1 - q


def register(q: int, before: Bits, after: Bits, u: str) -> tuple[int, int, int]:
    """174, 175, 273."""
    if not after["nCLR"]:
        return 0, 0, 1
    if (before["CLK"], after["CLK"]) == (0, 1):
        q = before[f"D{u}"]
    return q, q, 1 - q


def register_374(q: int, before: Bits, after: Bits, u: str) -> tuple[int, int | None, int]:
    if (before["CLK"], after["CLK"]) == (0, 1):
        q = before[f"D{u}"]
    return q, (None if after["nOC"] else q), 1 - q


def latch_373(q: int, before: Bits, after: Bits, u: str) -> tuple[int, int | None, int]:
    q = after[f"D{u}"] if after["LE"] else q
    return q, (None if after["nOC"] else q), 1 - q


def latch_75(q: int, before: Bits, after: Bits, u: str) -> tuple[int, int, int]:
    q = after[f"D{u}"] if after["C12" if u in "12" else "C34"] else q
    return q, q, 1 - q


Model = Callable[[int, Bits, Bits, str], tuple[int, int | None, int]]
MODELS: dict[str, tuple[Model, str, bool]] = {
    "74": (flip_flop_74, "12", True),
    "75": (latch_75, "1234", True),
    "174": (register, "123456", False),
    "175": (register, "1234", True),
    "273": (register, "12345678", False),
    "373": (latch_373, "12345678", False),
    "374": (register_374, "12345678", False),
}


@pytest.mark.parametrize("number", MODELS)
def test_steps_like_the_function_table(number: str, rng: np.random.Generator) -> None:
    model, units, complement = MODELS[number]
    kind = next(kind for kind in KINDS if kind.name == f"74LS{number}")
    inputs = [pin.name for pin in kind.chip.pins if pin.role == "in"]
    # clears and presets are rare, so that the stored bit shows
    one = {name: 0.85 if name.startswith(("nCLR", "nPRE")) else 0.5 for name in inputs}
    q = dict.fromkeys(units, 0)
    outputs = {f"Q{u}": Stepped(kind, f"Q{u}") for u in units}
    if complement:
        outputs |= {f"nQ{u}": Stepped(kind, f"nQ{u}") for u in units}
    before: dict[str, int] = dict.fromkeys(inputs, 0)
    for _ in range(STEPS):
        after = {name: int(rng.random() < one[name]) for name in inputs}
        for u in units:
            q[u], true_out, other = model(q[u], before, after, u)
            assert outputs[f"Q{u}"].step(before, after) == true_out
            if complement:
                assert outputs[f"nQ{u}"].step(before, after) == other
        before = after


def test_both_outputs_of_a_7474_store_alike_with_preset_and_clear_low() -> None:
    """Both low: both outputs high (data sheet); on release the bit may fall either way, but the
    two outputs must agree on it."""
    kind = next(kind for kind in KINDS if kind.name == "7474")
    q, not_q = Stepped(kind, "Q1"), Stepped(kind, "nQ1")
    low = {"nPRE1": 0, "nCLR1": 0, "D1": 1, "CLK1": 1}
    assert (q.step(low, low), not_q.step(low, low)) == (1, 1)
    released = {**low, "nPRE1": 1, "nCLR1": 1}
    assert {q.step(low, released), not_q.step(low, released)} == {0, 1}
