"""What the solver asks of a part: laws, and the elements that obey them.

A *law* turns terminal voltages and parameters into currents and their slopes, for many elements
and many cases at once. The solver groups the elements of a circuit by law (laws are hashable)
and never asks what a part is.

Arrays: **M** elements of one law, **B** cases (batch columns, last axis), **P** parameters,
**E** terminals. Currents flow from the circuit *into* the element's terminal, ampere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Protocol

import numpy as np
import numpy.typing as npt

from halfsplit.frozen import dataclass

__all__ = ["TROUBLE", "Array", "Clocked", "Element", "Law", "Spread"]

Array = npt.NDArray[np.float64]

TROUBLE = "?"
"""Before the name of a pin: the node with the trouble of the pin's net, see ``laws.stage``."""


class Law(Protocol):
    """Terminal voltages and parameters -> currents and slopes. Implementations are hashable."""

    @property
    def name(self) -> str:
        """For messages."""
        ...

    @property
    def terminals(self) -> int:
        """E, the number of terminals."""
        ...

    @property
    def parameters(self) -> tuple[str, ...]:
        """Names of the P parameters, in the order of the rows of ``p``."""
        ...

    @property
    def linear(self) -> bool:
        """True when the slopes do not depend on the voltages (evaluated once per case)."""
        ...

    def evaluate(self, v: Array, p: Array, frozen: bool) -> tuple[Array, Array]:
        """Currents [E, M, B] and slopes dI/dV [E, E, M, B] at ``v`` [E, M, B], ``p`` [P, M, B].

        ``frozen`` asks a logic law to leave out the slopes of its output with respect to its
        inputs (the logic phase of the iteration); other laws ignore it.
        """
        ...

    def limit(self, v: Array, old: Array, p: Array) -> Array:
        """The terminal voltages [E, M, B] at which to evaluate instead of ``v``, given those
        of the last iteration: junction limiting. Return ``v`` itself when nothing is limited."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How far a parameter varies from board to board.

    ``relative`` and ``absolute`` are half-widths of a uniform spread for ``shape="flat"``, the
    standard deviation for ``"normal"``; ``"log"`` takes ``relative`` as the natural log of the
    factor at one standard deviation. Parameters with the same non-empty ``together`` draw alike
    (resistors in one pack, transistors on one die).
    """

    relative: float = 0.0
    absolute: float = 0.0
    shape: str = "flat"
    together: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clocked:
    """How an element's ``bit`` parameter is stored between the steps of a state.

    ``clock`` and ``data`` are logic expressions over the element's input names. ``edge`` True:
    the bit takes ``data`` *before* the step in which ``clock`` goes from false to true; False:
    while ``clock`` is true the bit follows ``data``. ``force_high``/``force_low`` are
    asynchronous (expressions, empty for none). At power-up the bit is unknown.
    """

    clock: str
    data: str
    edge: bool = True
    force_high: str = ""
    force_low: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One element of a part: a law between terminals.

    ``name`` is unique within the part. ``terminals`` are pin names of the part, ``"0"`` for the
    ground reference of the solver, ``"~x"`` for a node inside the part, or ``"?3"`` for the
    trouble of the net on pin 3. ``params`` gives every
    parameter of the law; ``spread`` says which of them vary.
    """

    name: str
    law: Law
    terminals: tuple[str, ...]
    params: Mapping[str, float]
    spread: Mapping[str, Spread] = field(default_factory=dict)
    clocked: Clocked | None = None
