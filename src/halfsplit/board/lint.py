"""What a repairer would ask about a board that reads well.

Each warning stands at the net, pin or word it is about when the board came from a text, and at
line 0 when a program made the board.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Literal

from halfsplit.board.feedback import feedback
from halfsplit.board.model import BLOCK, Board, Drive, Spot
from halfsplit.board.netlist import Netlist
from halfsplit.board.vocabulary import Vocabulary
from halfsplit.board.where import Where
from halfsplit.errors import Problem

__all__ = ["WIRES", "warnings"]

WIRES = ("wire", "link", "jumper")
"""Names of kinds that join two nets outright."""

_Found = tuple[Spot, str]


def warnings(board: Board, vocabulary: Vocabulary) -> tuple[Problem, ...]:
    """Everything doubtful about ``board``, in the order of its lines."""
    netlist = Netlist.of(board, vocabulary)
    where = Where(board)
    found: list[Problem] = []
    for rule in _ERRORS:
        found += [_problem(spot, "error", message) for spot, message in rule(netlist, where)]
    for rule in _WARNINGS:
        found += [_problem(spot, "warning", message) for spot, message in rule(netlist, where)]
    return tuple(sorted(found, key=lambda problem: (problem.line, problem.column)))


def _same_designator(netlist: Netlist, where: Where) -> Iterator[_Found]:
    seen: set[str] = set()
    for part in netlist.board.parts:
        if part.designator in seen:
            yield part.spot, f"{part.designator} is on this board twice; expected one"
        seen.add(part.designator)


def _no_such_pin(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for part in netlist.board.parts:
        kind = netlist.kind(part)
        if kind is None or kind.free_pins:
            continue
        names = [pin.name for pin in kind.pins]
        for pin in part.pins:
            if pin not in names:
                message = f"{kind.name} has no pin {pin}; its pins are {', '.join(names)}"
                yield where.net(part, part.pins[pin], pin), message


def _lone_net(netlist: Netlist, where: Where) -> Iterator[_Found]:
    board = netlist.board
    named = {board.ground, *netlist.rails, *board.testpoints.values()}
    named |= {o.target for o in board.outputs if o.measure != "current"}
    named |= {leaving.net for leaving in board.offsheet}
    named |= {leaving.net_to for leaving in board.offsheet}
    for net, pins in netlist.nets.items():
        if len(pins) == 1 and net not in named and not netlist.has_far_pin(net):
            pin = pins[0]
            if pin.part.kind == BLOCK and pin.role == "in":
                continue
            message = (
                f"net {net} has one pin only, {pin}; "
                "a slip of the pen, or an offsheet line missing?"
            )
            yield where.pin(pin), message


def _idle_rail(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for rail in netlist.board.rails:
        if not netlist.nets.get(rail.net):
            yield rail.spot, f"rail {rail.net} feeds nothing"
    parts = [part for part in netlist.board.parts if part.kind != BLOCK]
    if parts and not netlist.nets.get(netlist.board.ground):
        message = (
            f"nothing is on ground ({netlist.board.ground}); "
            "type e.g. ground 0V if it has another name"
        )
        yield Spot(), message


def _outputs_tied(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for net, pins in netlist.nets.items():
        outs = [pin for pin in pins if pin.role == "out"]
        others = [pin for pin in pins if pin.role in ("oc", "tri")]
        driven = [o for o in netlist.board.offsheet if o.net == net and o.what == "drive"]
        names = [str(pin) for pin in (*outs, *others)] + ["an off-sheet drive"] * len(driven)
        if outs and (net in netlist.rails or net == netlist.board.ground):
            yield where.pin(outs[-1]), f"output {outs[-1]} is tied to {net}, a supply"
        elif len(outs) + len(driven) > 1 or (outs and others):
            spot = where.pin(outs[-1]) if outs else driven[-1].spot
            message = (
                f"outputs tied together on net {net}: {', '.join(names)}; "
                "only open-collector or three-state outputs may share a net"
            )
            yield spot, message


def _floating(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for net, pins in netlist.nets.items():
        if not pins or netlist.is_fed(net):
            continue
        roles = {pin.role for pin in pins}
        inputs = [pin for pin in pins if pin.role == "in"]
        if all(pin.part.kind == BLOCK for pin in pins):
            continue  # what comes in from elsewhere is taken for good
        if inputs and roles <= {"in", "nc"}:
            message = f"nothing drives net {net}, so input {inputs[0]} floats"
            yield where.pin(inputs[0]), message
        elif "oc" in roles and roles <= {"oc", "in", "nc"} and len(pins) > 1:
            first = next(pin for pin in pins if pin.role == "oc")
            message = (
                f"nothing pulls net {net} up, which open-collector output {first} only pulls down"
            )
            yield where.pin(first), message


def _pins_left(netlist: Netlist, where: Where) -> Iterator[_Found]:
    """Inputs of chips that are not typed at all: single ones, and those of units left over."""
    for part in netlist.board.parts:
        kind = netlist.kind(part)
        if kind is None or kind.free_pins:
            continue
        units: dict[str, list[str]] = {}
        for pin in kind.pins:
            units.setdefault(pin.unit, []).append(pin.name)
        for pin in kind.pins:
            used = not pin.unit or any(name in part.pins for name in units[pin.unit])
            if pin.role == "in" and used and pin.name not in part.pins:
                message = f"input {part.designator}.{pin.name} is not connected and floats"
                yield part.spot, message
        for unit, names in units.items():
            inputs = [p.name for p in kind.pins if p.unit == unit and p.role == "in"]
            if unit and inputs and not any(name in part.pins for name in names):
                message = (
                    f"unit {unit} of {part.designator} (pins {', '.join(names)}) is not typed; "
                    "if it is left over, its inputs float unless they are tied"
                )
                yield part.spot, message


def _no_power(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for part in netlist.board.parts:
        kind = netlist.kind(part)
        for pin in kind.pins if kind is not None else ():
            if pin.role in ("supply", "ground") and pin.name not in part.pins:
                yield part.spot, f"{pin.role} pin {pin.name} of {part.designator} is not connected"


def _across_itself(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for part in netlist.board.parts:
        kind = netlist.kind(part)
        nets = set(part.pins.values())
        if kind is not None and not kind.free_pins and len(part.pins) > 1 and len(nets) == 1:
            net = nets.pop()
            yield where.net(part, net), f"{part.designator} has all its pins on one net, {net}"


def _supplies_joined(netlist: Netlist, where: Where) -> Iterator[_Found]:
    """A wire, or a chain of wires, from one supply to another or to ground."""
    leader: dict[str, str] = {}

    def find(net: str) -> str:
        while leader.setdefault(net, net) != net:
            net = leader[net]
        return net

    supply = {net: net for net in (*netlist.rails, netlist.board.ground)}
    for part in netlist.board.parts:
        if part.kind.casefold() not in WIRES:
            continue
        nets = list(part.pins.values())
        for first, second in pairwise(nets):
            a, b = find(first), find(second)
            if a == b:
                continue
            if a in supply and b in supply:
                message = f"{part.designator} joins {supply[a]} to {supply[b]}: a short circuit"
                yield where.net(part, second), message
            leader[a] = b
            if a in supply:
                supply.setdefault(b, supply[a])


def _undriven_state(netlist: Netlist, where: Where) -> Iterator[_Found]:
    """A state sets a net that nothing on the board, or off the sheet, could drive."""
    board, told = netlist.board, set[tuple[str, Spot]]()
    designators = {part.designator for part in board.parts}
    for drive in _drives(board):
        net = drive.target
        if net in designators or net in netlist.rails or (net, drive.spot) in told:
            continue
        told.add((net, drive.spot))
        pins = netlist.nets.get(net, ())
        driven = any(pin.role in ("out", "oc", "tri", "io") for pin in pins)
        if not driven and not any(o.net == net and o.what != "load" for o in board.offsheet):
            message = (
                f"a state sets net {net}, which no output drives; "
                f"type a line such as offsheet {net} drive 74LS if it comes from elsewhere"
            )
            yield drive.spot, message


def _loop(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for loop in feedback(netlist.board):
        part = netlist.board.part(loop.blocks[0])
        if part and not loop.broken_in:
            yield part.spot, loop.sentence


def _unsaid(netlist: Netlist, where: Where) -> Iterator[_Found]:
    """A block drives parts, and a state does not say what it gives them."""
    board = netlist.board
    for net, pins in netlist.nets.items():
        given = [pin for pin in pins if pin.part.kind == BLOCK and pin.role == "out"]
        if not given or all(pin.part.kind == BLOCK for pin in pins):
            continue
        for state in board.states:
            said = any(drive.target == net for drive in state.steps[-1].drives)
            if state.powered and not said:
                what = f"block {given[0]} drives parts, and state {state.name} does not say what"
                yield where.pin(given[0]), f"{what} it gives; type {net}=high or {net}=2.4V there"


def _only_case(netlist: Netlist, where: Where) -> Iterator[_Found]:
    seen: dict[str, str] = {}
    for net, pins in netlist.nets.items():
        other = seen.setdefault(net.casefold(), net)
        if other != net:
            spot = where.pin(pins[0]) if pins else Spot()
            yield spot, f"nets {other} and {net} differ only in capitals; are they one?"
    names: dict[str, str] = {}
    for part in netlist.board.parts:
        other = names.setdefault(part.designator.casefold(), part.designator)
        if other != part.designator:
            message = f"{other} and {part.designator} differ only in capitals; are they one part?"
            yield part.spot, message


def _far_side_of_nothing(netlist: Netlist, where: Where) -> Iterator[_Found]:
    for net, pins in netlist.nets.items():
        designator, slash, _ = net.partition("/")
        letters = designator.rstrip("0123456789")
        implied = netlist.implied(letters)
        if not slash or designator == letters or implied is None or not implied.free_pins:
            continue
        if pins and netlist.board.part(designator) is None:
            message = (
                f"there is no {designator} on this board, so {net} is taken as an ordinary net"
            )
            yield where.pin(pins[0]), message


def _incomplete(netlist: Netlist, where: Where) -> Iterator[_Found]:
    board = netlist.board
    if not board.title:
        yield Spot(), 'no title; type a line such as board "Carriage drive" rev B'
    if not board.parts:
        yield Spot(), "no parts; type a line such as R1 4k7 +5 A"
    if not board.states:
        yield Spot(), "no states; type a line such as state rest CLK=low"
    if not board.outputs:
        yield Spot(), 'no outputs; type a line such as output "home seen" level HOME'


def _drives(board: Board) -> Iterator[Drive]:
    for state in board.states:
        for step in state.steps:
            yield from step.drives


def _problem(spot: Spot, severity: Literal["error", "warning"], message: str) -> Problem:
    return Problem(line=spot.line, column=spot.column, severity=severity, message=message)


_Rule = Callable[[Netlist, Where], Iterator[_Found]]
_ERRORS: tuple[_Rule, ...] = (_same_designator, _no_such_pin)
_WARNINGS: tuple[_Rule, ...] = (
    _lone_net,
    _idle_rail,
    _outputs_tied,
    _floating,
    _pins_left,
    _no_power,
    _across_itself,
    _supplies_joined,
    _undriven_state,
    _loop,
    _unsaid,
    _only_case,
    _far_side_of_nothing,
    _incomplete,
)
