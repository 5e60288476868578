"""A schedule played by ngspice with the same laws: its own steps, its own method, its own error.

Parameters that the schedule moves are node voltages of piecewise linear sources; capacitors and
coils are ngspice's own.
"""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.solve.spice import _element, _leak

from halfsplit.build.compiled import Compiled
from halfsplit.build.transient_network import Network, make_network
from halfsplit.build.transient_run import Runner
from halfsplit.build.transient_schedule import Schedule
from halfsplit.solve.circuit import LEAK
from halfsplit.solve.law import Array
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.solve.transient import March

__all__ = ["Played", "decks", "play"]

_OPTIONS = (
    ".options reltol=1e-4 vntol=1e-6 abstol=1e-9 gmin=1e-12 itl1=300 itl4=500 method=gear\n"
    ".options temp=27 tnom=27"
)
_EDGE = 5e-6
_STRAY = 1e-9
"""Farads at the outputs of gates, and a third of it everywhere: without them an edge has no width,
and ngspice finds no step there. The price is an edge late by 2 us at most, and a ring with the
coils when a clamp lets go: 2 to 8 mA here, less with the root of the farads."""


@dataclass(frozen=True, slots=True)
class Played:
    """``time`` [J]; ``amps`` [J] of each coil by designator, ``volts`` [J] of nets asked for."""

    time: Array
    amps: dict[str, Array]
    volts: dict[str, Array]


class _Moving(float):
    """A parameter that is the voltage of a node."""

    def __new__(cls, node: str) -> _Moving:
        made = super().__new__(cls, 0.5)
        made.node = node
        return made

    node: str

    def __format__(self, spec: str) -> str:
        return f"v({self.node})"


def decks(
    world: Compiled, schedule: Schedule, faults: Sequence[str], step: float,
    nets: Sequence[str] = (),
) -> list[str]:  # fmt: skip
    """One netlist for each fault; ``step`` seconds is the longest of ngspice's steps; the
    volts of ``nets`` are written beside the currents of the coils."""
    network = make_network(world.assembly)
    runner = Runner.make(network, schedule, longest=None, accuracy=1e-3, emf=())
    course = runner.lead(network.case(world.faults[0]))
    found = []
    for name in faults:
        fault = next(f for f in world.faults if f.id == name)
        followed = runner.follow(course, [network.case(fault)])
        found.append(_deck(network, course.time, followed, schedule, step, nets))
    return found


def play(program: str, folder: Path, deck: str) -> Played:
    """Run one. Raises RuntimeError with what ngspice said."""
    (folder / "t.cir").write_text(deck, encoding="ascii")
    (folder / "t.out").unlink(missing_ok=True)
    done = subprocess.run(
        [program, "-b", "t.cir"], cwd=folder, capture_output=True, text=True, timeout=600,
        check=False,
    )  # fmt: skip
    if not (folder / "t.out").exists():
        raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
    names = deck.splitlines()[0].split()[1:]
    table = np.loadtxt(folder / "t.out", ndmin=2)
    found = {name: table[:, 2 * k + 1] for k, name in enumerate(names)}
    volts = {name[4:]: found.pop(name) for name in names if name.startswith("net:")}
    return Played(table[:, 0], found, volts)


def _deck(
    network: Network, time: Array, followed: object, schedule: Schedule, step: float,
    nets: Sequence[str],
) -> str:  # fmt: skip
    swings = {(group, member): sine for sine, group, member in network.swings(schedule.sines)}
    marches: list[list[Array]] = []
    first: March | None = None
    for march in followed:  # type: ignore[attr-defined]
        if first is None:
            first, volts = march, march.now.v[:, 0].copy()
        marches.append([p[:, :, 0].copy() for p in march.params])
    assert first is not None
    circuit = network.circuit
    lines = []
    for n in range(circuit.size):
        lines += [f".nodeset v(n{n})={volts[n]:.6g}", f"Rleak{n} n{n} 0 {1.0 / LEAK:.12g}",
                  f"Cstray{n} n{n} 0 {_STRAY / 3.0:g}"]  # fmt: skip
    mine = set(map(int, network.members))
    for k, group in enumerate(circuit.groups):
        history = np.stack([p[k] for p in marches])  # [K, P, M]
        for member in range(group.nodes.shape[1]):
            if k == network.group and member in mine:
                continue
            values: dict[str, float] = {}
            for row, name in enumerate(group.law.parameters):
                values[name] = float(history[0, row, member])
                if np.ptp(history[:, row, member]) > 0.0:
                    node = f"p{k}x{row}x{member}"
                    bit, sine = name == "bit", swings.get((k, member))
                    if sine is None:
                        lines.append(_moving(node, time, history[:, row, member], bit))
                    else:
                        lines.append(
                            f"V{node} {node} 0 SIN({sine.offset} {sine.volts} {sine.hertz})"
                        )
                    values[name] = _Moving(node)
            if isinstance(group.law, LogicOutput):
                lines.append(f"Cstray{k}x{member} n{group.nodes[0, member]} 0 {_STRAY:g}")
            at = ["0" if n == circuit.size else f"n{n}" for n in group.nodes[:, member]]
            lines += _element(group.law, f"{k}_{member}", at, values)
    shown = []
    for k, stored in enumerate(network.stores):
        a, b = (
            "0" if n == circuit.size else f"n{n}"
            for n in circuit.groups[network.group].nodes[:, network.members[k]]
        )
        value, ohms = float(first.stores.value[k, 0]), float(first.stores.ohms[k, 0])
        middle = f"s{k}"
        lines += _leak(f"store{k}", middle, b, 1.0 / ohms)
        if stored.store.what == "coil":
            lines.append(f"Lstore{k} {a} {middle} {value:.12g}")
            shown.append((stored.designator, f"i(lstore{k})"))
        else:
            lines.append(f"Cstore{k} {a} {middle} {value:.12g}")
    for net in nets:
        shown.append((f"net:{net}", f"v(n{network.assembly.net_node[net]})"))
    control = [
        ".control", f"tran {step:g} {schedule.seconds:.9g} 0 {step:g}",
        "wrdata t.out " + " ".join(text for _, text in shown), "quit", ".endc", ".end", "",
    ]  # fmt: skip
    title = "* " + " ".join(name for name, _ in shown)
    return "\n".join([title, *lines, _OPTIONS, *control])


def _moving(node: str, time: Array, values: Array, bit: bool) -> str:
    """A bit jumps at the end of the step in which it was seen to, others at its beginning."""
    points = [(0.0, values[0])]
    for k in range(1, values.size):
        if values[k] != values[k - 1]:
            begin = time[k] if bit else time[k - 1]
            points += [(begin - 0.5 * _EDGE, values[k - 1]), (begin + 0.5 * _EDGE, values[k])]
    text = " ".join(f"{t:.10g} {v:.10g}" for t, v in points)
    return f"V{node} {node} 0 PWL({text})"
