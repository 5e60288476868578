"""What a stage does to its inputs: gates by name, decoders and anything else by truth table."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfsplit.errors import UnknownName, WaveError
from halfsplit.frozen import dataclass
from halfsplit.waves.line import MOST_LINES, Line, merge

__all__ = ["GATES", "Function", "apply", "function_named"]

GATES = ("buffer", "inverter", "and", "nand", "or", "nor", "xor", "xnor")
"""Functions that go by name; buffer and inverter take one input, the others two or more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Function:
    """``outputs`` [2^n] for every code of n inputs (bit i of a code is input i): ``0``, ``1``, or
    ``x`` where it does not matter."""

    name: str
    outputs: str

    @property
    def inputs(self) -> int:
        return len(self.outputs).bit_length() - 1


def function_named(name: str, inputs: int) -> Function:
    """A gate of :data:`GATES`, or a truth table typed as its outputs for the codes 0, 1, 2, ...
    (the first input is the lowest bit), such as ``1101``. Raises UnknownName, WaveError."""
    if name and set(name) <= set("01x"):
        if len(name) != 1 << inputs:
            raise WaveError(
                f"expected a truth table of {1 << inputs} outputs for {inputs} inputs, got "
                f"{len(name)}: {name}"
            )
        return Function(name=f"table {name}", outputs=name)
    if name not in GATES:
        raise UnknownName("function of a stage", name, GATES)
    if (name in ("buffer", "inverter")) != (inputs == 1):
        raise WaveError(f"a {name} does not take {inputs} inputs")
    ones = [code.bit_count() for code in range(1 << inputs)]
    plain = {
        "buffer": [n == 1 for n in ones], "inverter": [n == 1 for n in ones],
        "and": [n == inputs for n in ones], "nand": [n == inputs for n in ones],
        "or": [n > 0 for n in ones], "nor": [n > 0 for n in ones],
        "xor": [n % 2 == 1 for n in ones], "xnor": [n % 2 == 1 for n in ones],
    }[name]  # fmt: skip
    inverts = name in ("inverter", "nand", "nor", "xnor")
    return Function(name=name, outputs="".join(str(int(value != inverts)) for value in plain))


def apply(function: Function, inputs: Sequence[Line], name: str) -> Line:
    """What the output should be, at once and without delay; ``x`` keeps the value before.

    Raises :class:`WaveError` for another number of inputs, or none at the same time.
    """
    if len(inputs) != function.inputs or len(inputs) > MOST_LINES:
        raise WaveError(f"{function.name} takes {function.inputs} inputs, got {len(inputs)}")
    states = merge(inputs)
    wanted = np.array([function.outputs[code] for code in states.codes.tolist()])
    known = np.maximum.accumulate(np.where(wanted != "x", np.arange(len(wanted)), -1))
    level = np.where(known >= 0, wanted[np.maximum(known, 0)] == "1", False)
    change = np.flatnonzero(np.diff(level)) + 1
    return Line(
        name=name, start=float(states.times[0]), stop=states.stop, first=bool(level[0]),
        edges=states.times[change], resolution=states.resolution,
    )  # fmt: skip
