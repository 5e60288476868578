"""The logic of a board as a network of gates: chips without memory become gates, the rest is the
world around them.

A net that such a chip does not feed is an input, a net that something else looks at is an output.
Rails and ground are constants. Every chip pin is a place of its own, so that a bad pin is not taken
for a bad net; gates inside a chip are neither listed as faults nor offered to the probe.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field

from halfsplit.board.model import Board
from halfsplit.build.gates import Fed, NamedGates, named_gates
from halfsplit.errors import BoardError, Problem
from halfsplit.frozen import dataclass
from halfsplit.parts.logic import LogicChip
from halfsplit.parts.registry import KINDS
from halfsplit.solve.expression import parse
from halfsplit.solve.gates import Kind

__all__ = ["board_gates", "chip_gates", "has_gates"]

_GATE = {"&": Kind.AND, "|": Kind.OR, "^": Kind.XOR}


def board_gates(board: Board) -> NamedGates:
    """The gates of a board. Raises :class:`BoardError` when no chip on it is pure logic, or when
    a net is fed by several of them that do not share it as open collectors do."""
    made = _Made(title=board.title)
    constant = {board.ground: Kind.ZERO} | {rail.net: Kind.ONE for rail in board.rails}
    wanted = {output.target for output in board.outputs}
    for part in board.parts:
        logic = _logic(part.kind)
        if logic is None:
            wanted.update(part.pins.values())
        else:
            made.chip(logic, part.designator, part.pins)
    if not made.drivers:
        raise made.refused("expected at least one logic chip without memory, such as 74LS00")
    return made.named(constant, wanted)


def has_gates(board: Board) -> bool:
    """Whether a chip of the board is logic without memory."""
    return any(_logic(part.kind) is not None for part in board.parts)


def chip_gates(kind: str) -> NamedGates:
    """One logic chip such as ``74LS181`` alone, its nets named after the functions of its pins.

    Raises :class:`~halfsplit.errors.UnknownName`, and ValueError for a chip with memory.
    """
    KINDS.get(kind)
    logic = _logic(kind)
    if logic is None:
        raise ValueError(f"expected a logic chip without memory, got {kind}")
    made = _Made(title=kind)
    made.chip(logic, "U1", {pin.number: pin.name for pin in logic.chip.pins})
    return made.named({}, made.drivers.keys())


@dataclass(frozen=True, slots=True)
class _Driver:
    node: str
    open_collector: bool
    pin: str


@dataclass(slots=True)
class _Made:
    """``fed``: nodes so far; ``drivers`` of each net; ``inside``: gates of an expression."""

    title: str
    fed: dict[str, Fed] = field(default_factory=dict)
    drivers: dict[str, list[_Driver]] = field(default_factory=dict)
    pins: set[str] = field(default_factory=set)
    inside: set[str] = field(default_factory=set)

    def chip(self, logic: LogicChip, name: str, nets: Mapping[str, str]) -> None:
        """Gates of one chip; what its pins are on is joined later."""
        node = {core.name: f"{name}:{core.name}" for core in logic.chip.cores}
        for pin in logic.chip.pins:
            if pin.role == "in":
                node[pin.name] = f"{name}.{pin.number}"
                self.pins.add(node[pin.name])
                self.fed[node[pin.name]] = _looking(nets.get(pin.number), logic)
        for core in logic.chip.cores:
            self._expression(node[core.name], core.level, node)
        for output in logic.chip.outputs:
            number = logic.chip.pin(output.name).number
            if number in nets:
                inner = f"{name}:{output.name}"
                self._expression(inner, output.level, node)
                driver = _Driver(inner, output.kind == "oc", f"{name}.{number}")
                self.drivers.setdefault(nets[number], []).append(driver)

    def named(self, constant: Mapping[str, Kind], wanted: Collection[str]) -> NamedGates:
        """The nets that lead to a driven one, each fed; seen from outside are those ``wanted``
        there and those that nothing here looks at."""
        for net, drivers in self.drivers.items():
            self.fed[net] = self._join(net, drivers)
        needed: dict[str, Fed] = {}
        edge = list(self.drivers)
        while edge:
            name = edge.pop()
            if name not in needed:
                needed[name] = self.fed.get(name, (constant.get(name, Kind.INPUT), ()))
                edge += needed[name][1]
        looked = {each for _, feeding in needed.values() for each in feeding}
        return named_gates(
            dict(sorted(needed.items())),
            [net for net in self.drivers if net in wanted or net not in looked],
            title=self.title,
            spots={},
            unread=(self.pins | self.inside | constant.keys()) & needed.keys(),
            inside=(self.inside | constant.keys()) & needed.keys(),
        )

    def refused(self, message: str) -> BoardError:
        """The board as a whole cannot be used."""
        problem = Problem(line=0, column=0, severity="error", message=message)
        return BoardError([problem], source=self.title)

    def _join(self, net: str, drivers: Sequence[_Driver]) -> Fed:
        if len(drivers) > 1 and not all(driver.open_collector for driver in drivers):
            named = ", ".join(driver.pin for driver in drivers)
            raise self.refused(
                f"expected one output on {net}, or open collectors alone, got {named}"
            )
        kind = Kind.BUF if len(drivers) == 1 else Kind.AND
        return kind, tuple(driver.node for driver in drivers)

    def _expression(self, name: str, text: str, node: Mapping[str, str]) -> None:
        stack: list[str] = []
        symbols = parse(text)
        for at, symbol in enumerate(symbols):
            out = name if at == len(symbols) - 1 else f"{name}#{at}"
            if symbol == "!":
                self.fed[out] = (Kind.NOT, (stack.pop(),))
            elif symbol in _GATE:
                other = stack.pop()
                self.fed[out] = (_GATE[symbol], (stack.pop(), other))
            elif symbol in "01":
                self.fed[out] = (Kind.ONE if symbol == "1" else Kind.ZERO, ())
            elif out == name:
                self.fed[out] = (Kind.BUF, (node[symbol],))
            else:
                stack.append(node[symbol])
                continue
            self.inside.add(out)
            stack.append(out)


def _looking(net: str | None, logic: LogicChip) -> Fed:
    """What an input pin sees; a bipolar input that is left open acts as high (family data sheets),
    of a MOS one somebody has to say what it does."""
    if net is not None:
        return Kind.BUF, (net,)
    return Kind.INPUT if logic.family.mos else Kind.ONE, ()


def _logic(name: str) -> LogicChip | None:
    """The kind of that name, if it is a logic chip without memory."""
    kind = KINDS.get(name) if name in KINDS else None
    if not isinstance(kind, LogicChip):
        return None
    each = (*kind.chip.outputs, *kind.chip.cores)
    return None if any(one.clocked or one.enable for one in each) else kind
