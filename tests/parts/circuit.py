"""Small circuits of a part's elements, solved by scipy: an arithmetic that is not the program's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.integrate import solve_ivp
from scipy.optimize import root

from halfsplit.board.model import Part
from halfsplit.parts.joints import lead_of
from halfsplit.parts.kind import Change
from halfsplit.parts.registry import KINDS
from halfsplit.solve.law import Element

Vector = npt.NDArray[np.float64]


def part_of(kind: str, pins: str, *, type: str = "", value: float | None = None,
            fields: Mapping[str, str] | None = None) -> Part:  # fmt: skip
    """A part with each of the pins (space between) on a net of its own name."""
    return Part(designator="X1", kind=kind, type=type, value=value, fields=fields or {},
                pins={pin: f"N{pin}" for pin in pins.split()})  # fmt: skip


def elements_of(part: Part, changes: Sequence[Change] = ()) -> list[Element]:
    """The part's elements with changes applied; behind a lead that is open the terminal has a node
    of its own."""
    found = {element.name: element for element in KINDS.get(part.kind).elements(part)}
    for change in changes:
        if lead := lead_of(change):
            inner = {lead: f"~lead {lead}"}
            for name, element in found.items():
                ends = tuple(inner.get(end, end) for end in element.terminals)
                found[name] = replace(element, terminals=ends)
            continue
        element = found[change.element]
        params = dict(element.params)
        params[change.param] = change.value * (params[change.param] if change.scale else 1.0)
        found[change.element] = replace(element, params=params)
    return list(found.values())


def mode_changes(part: Part, name: str) -> Sequence[Change]:
    """The changes of one of its modes."""
    return next(mode for mode in KINDS.get(part.kind).modes(part) if mode.name == name).changes


def evaluate(element: Element, volts: Vector) -> tuple[Vector, Vector]:
    """Currents [E] into the terminals and slopes [E, E] at terminal voltages [E]."""
    p = np.array([element.params[name] for name in element.law.parameters])
    i, g = element.law.evaluate(volts[:, None, None], p[:, None, None], False)
    return i[:, 0, 0], g[:, :, 0, 0]


def solve(
    elements: Sequence[Element], held: Mapping[str, float], driven: Mapping[str, float],
    start: Mapping[str, float],
) -> tuple[dict[str, float], dict[str, float]]:  # fmt: skip
    """Voltages of all nodes and currents that flow into the held ones from outside.

    ``held`` node -> volts, ``driven`` node -> ampere pushed into it, ``start`` where to begin.
    """
    fixed = {"0": 0.0, **held}
    free = sorted({node for e in elements for node in e.terminals} - set(fixed))

    def sums(x: Vector) -> tuple[dict[str, float], Vector]:
        at = {**fixed, **dict(zip(free, x, strict=True))}
        total = dict.fromkeys(at, 0.0)
        slope = np.zeros((len(free), len(free)))
        for element in elements:
            i, g = evaluate(element, np.array([at[node] for node in element.terminals]))
            for row, node in enumerate(element.terminals):
                total[node] += float(i[row])
                for column, other in enumerate(element.terminals):
                    if node in free and other in free:
                        slope[free.index(node), free.index(other)] += g[row, column]
        return total, slope

    def excess(x: Vector) -> Vector:
        total, _ = sums(x)
        return np.array([driven.get(node, 0.0) - total[node] for node in free])

    # let it settle with 1 F on every node, then polish
    x = np.array([start.get(node, 0.0) for node in free])
    if free:
        settled = solve_ivp(lambda _, y: excess(y), (0.0, 1e9), x, method="Radau",
                            jac=lambda _, y: -sums(y)[1], rtol=1e-6, atol=1e-9)  # fmt: skip
        assert settled.success, settled.message
        x = root(excess, settled.y[:, -1], jac=lambda y: -sums(y)[1], options={"xtol": 1e-13}).x
        left = float(np.abs(excess(x)).max())
        assert left < 1e-8, f"not settled: {left:g} A left"
    total, _ = sums(x)
    return dict(zip(free, map(float, x), strict=True)), {n: total[n] for n in held}
