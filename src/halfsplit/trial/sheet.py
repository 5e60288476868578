"""The sheet on which a board is written as a circuit: nodes, lines, and what may be altered.

A pin's leg and its net are one node while nothing is wrong between them. Only where the hidden
fault sits does the leg get a node of its own, joined by the bad joint; so the circuit stays
small and still answers for the leg and for the pad.
"""

from __future__ import annotations

import math
import re
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from halfsplit.board.model import Board, Part
from halfsplit.build.fault import Fault
from halfsplit.errors import PlaceError, TrialError

__all__ = ["OFF", "Sheet", "Wrong"]

OFF = 1e12
"""Ohms of what is not there: a supply unplugged, a pin let go."""
_CUT = 1e9
"""Ohms over a cracked joint or track: a surface must keep 1e8 in damp heat (85 °C, 85 %: the limit
of IPC J-STD-004, from memory), and has ten times that on a bench (judgement)."""

_OPTIONS = ".options gmin=1e-12 reltol=1e-4 abstol=1e-11 vntol=1e-5 itl1=300 itl2=100 gminsteps=10"


@dataclass(slots=True)
class Wrong:
    """What is wrong with one part: the mode of the hidden fault, and whether it was understood."""

    mode: str
    understood: bool = False

    def is_(self, *modes: str) -> bool:
        """Whether the mode is one of these; asking with the right name marks it understood."""
        hit = self.mode in modes
        self.understood = self.understood or hit
        return hit

    def like(self, pattern: str) -> re.Match[str] | None:
        """The match of the whole mode with a pattern; a match marks it understood."""
        match = re.fullmatch(pattern, self.mode) if self.mode else None
        self.understood = self.understood or match is not None
        return match


@dataclass(slots=True)
class Sheet:
    """One board with a hidden fault, and ``also`` others in other parts, written as a circuit.

    ``knobs`` are elements that states and meters alter, with their resting values. Random draws
    are made part by part, so that a board drawn with the same seed is the same board whatever
    its fault.
    """

    board: Board
    fault: Fault
    seed: int
    also: tuple[Fault, ...] = ()
    lines: list[tuple[str, str]] = field(default_factory=list)
    """Each with what stands in its place when no supply is on."""
    models: dict[str, str] = field(default_factory=dict)
    knobs: dict[str, float] = field(default_factory=dict)
    empty: list[str] = field(default_factory=list)
    """Knobs of capacitors that hold a net low or high until they have filled."""
    rng: np.random.Generator = field(init=False)
    _nodes: dict[str, str] = field(default_factory=dict)
    _legs: dict[tuple[str, str], str] = field(default_factory=dict)
    _pads: dict[tuple[str, str], str] = field(default_factory=dict)
    _tails: dict[tuple[str, str], str] = field(default_factory=dict)
    _nets: dict[tuple[str, str], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 0])
        self._nodes[self.board.ground] = "0"
        for net in self.board.nets():
            self._nodes.setdefault(net, f"n{len(self._nodes)}")
        for part in self.board.parts:
            for pin, net in part.pins.items():
                self._nets[part.designator, pin] = net
        self._break_connections()

    def net(self, name: str) -> str:
        """The node of a net; ground is ``0``. Raises :class:`PlaceError`."""
        if name not in self._nodes:
            raise PlaceError(f"expected a net of board {self.board.title!r}, got {name!r}")
        return self._nodes[name]

    def leg(self, designator: str, pin: str) -> str:
        """The node of a pin's leg. Raises :class:`PlaceError`."""
        key = (designator, pin)
        return self._legs[key] if key in self._legs else self._net_of(key)

    def pad(self, designator: str, pin: str) -> str:
        """The node of the pad under a pin. Raises :class:`PlaceError`."""
        key = (designator, pin)
        return self._pads[key] if key in self._pads else self._net_of(key)

    def tail(self, designator: str, pin: str) -> str:
        """The node where a socket's pin comes out. Raises :class:`PlaceError`."""
        key = (designator, pin)
        return self._tails[key] if key in self._tails else self._net_of(key)

    def nodes(self) -> dict[str, str]:
        """Net -> node, ground left out."""
        return {net: node for net, node in self._nodes.items() if node != "0"}

    def open_legs(self) -> tuple[str, ...]:
        """Nodes of their own: legs and pads cut from their net by the fault."""
        return tuple(dict.fromkeys([*self._legs.values(), *self._pads.values()]))

    def pin(self, part: Part, pin: str) -> str:
        """The node of a part's pin; a pin that is not connected gets a node of its own."""
        if pin in part.pins:
            return self.leg(part.designator, pin)
        return self.inner(part, f"nc_{pin}")

    def inner(self, part: Part, name: str) -> str:
        """A node inside a part."""
        return f"i_{plain(part.designator)}_{plain(name)}"

    def name(self, letter: str, part: Part, name: str) -> str:
        """An element name: the letter that the simulator wants, the part, and what it is."""
        return f"{letter}_{plain(part.designator)}_{plain(name)}"

    def add(self, line: str, quiet: str = "") -> None:
        """A line as it stands; ``quiet`` stands in its place while no supply is on, where a
        source that decides a logic level only makes work."""
        self.lines.append((line, quiet or line))

    def ohms(self, name: str, a: str, b: str, ohms: float, *, knob: bool = False) -> None:
        """A resistor; a knob when a state or a meter alters it."""
        if knob:
            self.knobs[name] = ohms
        self.add(f"{name} {a} {b} {max(ohms, 1e-3):.6g}")

    def volts(self, name: str, a: str, b: str, volts: float, *, knob: bool = False) -> None:
        """A voltage source; a knob when a state or a meter alters it."""
        if knob:
            self.knobs[name] = volts
        self.add(f"{name} {a} {b} {volts:.6g}")

    def model(self, name: str, text: str) -> str:
        """Name a device model once; the text is what follows the name. Returns the name."""
        kept = self.models.setdefault(name, text)
        if kept != text:
            name = f"{name}_{len(self.models)}"
            self.models[name] = text
        return name

    @property
    def faults(self) -> tuple[Fault, ...]:
        """All that is hidden."""
        return (self.fault, *self.also)

    def wrong(self, part: Part) -> Wrong:
        """What the hidden faults say about a part; an empty mode when it is good."""
        modes = [
            fault.mode
            for fault in self.faults
            if fault.where == "part" and fault.designator == part.designator
        ]
        return Wrong(modes[0] if modes else "", understood=not modes)

    @contextmanager
    def drawing(self, what: str) -> Iterator[None]:
        """Draw from a stream of random numbers of its own."""
        kept, self.rng = self.rng, np.random.default_rng([self.seed, zlib.crc32(what.encode())])
        try:
            yield
        finally:
            self.rng = kept

    def near(self, value: float, relative: float) -> float:
        """A value within a flat tolerance."""
        return float(value * (1.0 + relative * self.rng.uniform(-1.0, 1.0)))

    def factor(self, sigma: float) -> float:
        """A factor with a lognormal spread, cut at two sigma."""
        return math.exp(sigma * min(max(float(self.rng.standard_normal()), -2.0), 2.0))

    def text(self, extra: Sequence[str] = (), *, quiet: bool = False) -> str:
        """The whole circuit with ``extra`` lines; ``quiet`` for one without supplies."""
        models = [f".model {name} {text}" for name, text in self.models.items()]
        body = [pair[quiet] for pair in self.lines]
        title = f"* {plain(self.board.title)}"
        return "\n".join([title, _OPTIONS, *models, *body, *extra, ".end", ""])

    def _net_of(self, key: tuple[str, str]) -> str:
        if key not in self._nets:
            raise PlaceError(f"expected a connected pin, got {key[0]}.{key[1]}")
        return self._nodes[self._nets[key]]

    def _break_connections(self) -> None:
        """Joints, contacts, tracks and bridges: the faults between parts."""
        for number, fault in enumerate(self.faults):
            if fault.where in ("part", "rail", "off-board", "none"):
                continue
            with self.drawing("connection" if not number else f"connection {number}"):
                self._break(fault, number)

    def _break(self, fault: Fault, number: int) -> None:
        where = fault.where
        if where in ("joint", "contact"):
            also: tuple[dict[tuple[str, str], str], ...]
            also = () if where == "contact" else (self._tails,)
            self._cut(fault, {"open": _CUT, "resistive": self._poor()}, number, also)
        elif where == "track":
            also = (self._tails, self._pads)
            self._cut(fault, {"broken": _CUT, "resistive": self._poor()}, number, also)
        elif where == "bridge" and len(fault.pins) == 2:
            a, b = (self.pad(ref.designator, ref.pin) for ref in fault.pins)
            self.ohms(f"r_bridge{number or ''}", a, b, self.near(0.5, 0.5))
        else:
            raise _not_understood(fault)

    def _poor(self) -> float:
        """Ohms of a poor connection, spread over what is met at the bench."""
        return float(np.exp(self.rng.uniform(np.log(30.0), np.log(1000.0))))

    def _cut(
        self, fault: Fault, ohms: dict[str, float], number: int,
        also: tuple[dict[tuple[str, str], str], ...],
    ) -> None:  # fmt: skip
        """Part a leg from its net, with what hangs on it ``also``."""
        way = fault.mode.split()[-1]
        if way not in ohms or not fault.pins:
            raise _not_understood(fault)
        for k, ref in enumerate(fault.pins, start=10 * number):
            key, node = (ref.designator, ref.pin), f"cut{k}"
            self.ohms(f"r_cut{k}", node, self._net_of(key), ohms[way])
            for cut_off in (self._legs, *also):
                cut_off[key] = node


def _not_understood(fault: Fault) -> TrialError:
    return TrialError(
        f"expected a fault the independent simulator can play, got {fault.id!r} "
        f"(where {fault.where!r}, mode {fault.mode!r}): add it to halfsplit.trial.sheet"
    )


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Letters, digits and underscores only; other signs are told apart by their code."""
    return re.sub(r"[^a-z0-9]", lambda sign: f"_{ord(sign[0]):x}", text.casefold())
