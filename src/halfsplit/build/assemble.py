"""Board and parts to one circuit: nodes for nets, legs and inner points; joints; bridges; rails.

Every pin has a leg node joined to its net by a conductance, so an open joint is a parameter and
the two sides of it are two places. The net's own node stands for its pads and track.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping

from halfsplit.board.model import Board, OffSheet, Part
from halfsplit.build.fault import PinRef
from halfsplit.frozen import dataclass
from halfsplit.parts.joints import GOOD, GOOD_SPREAD, neighbours, package_pins
from halfsplit.parts.kind import PartKind
from halfsplit.parts.offsheet import offsheet_elements, supply_range
from halfsplit.parts.registry import KINDS
from halfsplit.solve.circuit import Circuit, Placed, make_circuit
from halfsplit.solve.law import TROUBLE, Clocked, Element, Spread
from halfsplit.solve.laws.linear import Conductance, Source

__all__ = ["BOARD", "Assembly", "ClockedAt", "SpreadAt", "assemble"]

BOARD = "*"
"""Owner of the elements that belong to no part."""


_SMALL = 4
"""Parts with at most so many pins are measured across any two of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockedAt:
    """A stored bit of the circuit: the element, its law's input names, and how it is clocked."""

    key: tuple[str, str]
    inputs: tuple[str, ...]
    rule: Clocked


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadAt:
    """A parameter that varies from board to board."""

    key: tuple[str, str]
    param: str
    spread: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """The circuit and what its nodes are.

    ``net_node`` maps net -> node (-1 for ground); ``leg_node`` a pin -> node; ``trouble_node`` the
    net of a block -> the node whose volts are its trouble. ``kinds`` maps
    designator -> kind. ``bridges`` lists neighbouring pins that solder could join, by id.
    """

    board: Board
    circuit: Circuit
    kinds: Mapping[str, PartKind]
    net_node: Mapping[str, int]
    leg_node: Mapping[PinRef, int]
    trouble_node: Mapping[str, int]
    node_names: tuple[str, ...]
    spreads: tuple[SpreadAt, ...]
    clocked: tuple[ClockedAt, ...]
    bridges: Mapping[str, tuple[PinRef, PinRef]]


def assemble(board: Board) -> Assembly:
    """Build the circuit of a board. Raises UnknownName for a kind nobody registered, BoardError
    for a part whose fields make no sense."""
    maker = _Maker(board)
    maker.rails()
    for part in board.parts:
        maker.part(part)
    for leaving in board.offsheet:
        maker.offsheet(leaving)
    maker.bridge_all()
    return maker.finish()


class _Maker:
    def __init__(self, board: Board) -> None:
        self.board = board
        self.names: list[str] = []
        self.nets: dict[str, int] = {board.ground: -1}
        self.legs: dict[PinRef, int] = {}
        self.troubles: dict[str, int] = {}
        self.kinds: dict[str, PartKind] = {}
        self.placed: list[Placed] = []
        self.spreads: list[SpreadAt] = []
        self.clocked: list[ClockedAt] = []
        self.bridges: dict[str, tuple[PinRef, PinRef]] = {}

    def node(self, name: str) -> int:
        self.names.append(name)
        return len(self.names) - 1

    def net(self, name: str) -> int:
        if name not in self.nets:
            self.nets[name] = self.node(f"net {name}")
        return self.nets[name]

    def rails(self) -> None:
        for rail in self.board.rails:
            self.elements(
                BOARD,
                (
                    Element(
                        name=f"rail:{rail.net}",
                        law=Source(),
                        terminals=("net", "0"),
                        params={"g": 1.0 / max(rail.ohms, 1e-3), "volts": rail.volts},
                        spread={"volts": Spread(relative=rail.tolerance)},
                    ),
                ),
                {"net": self.net(rail.net)},
            )

    def part(self, part: Part) -> None:
        kind = KINDS.get(part.kind)
        self.kinds[part.designator] = kind
        at: dict[str, int] = {}
        joints = []
        for pin, net in part.pins.items():
            ref = PinRef(designator=part.designator, pin=pin)
            self.legs[ref] = at[pin] = self.node(str(ref))
            joints.append((pin, self.net(net)))
        elements = kind.elements(part)
        for end in {end for one in elements for end in one.terminals if end.startswith(TROUBLE)}:
            net = part.pins[end.removeprefix(TROUBLE)]
            if net not in self.troubles:
                self.troubles[net] = self.node(f"trouble {net}")
            at[end] = self.troubles[net]
        self.elements(part.designator, elements, at)
        for pin, net_node in joints:
            self.elements(
                part.designator,
                (
                    Element(
                        name=f"joint:{pin}",
                        law=Conductance(),
                        terminals=("leg", "net"),
                        params={"g": GOOD},
                        spread={"g": Spread(relative=GOOD_SPREAD, shape="log")},
                    ),
                ),
                {"leg": at[pin], "net": net_node},
            )

    def offsheet(self, leaving: OffSheet) -> None:
        low, high = supply_range(leaving)
        fits = [rail for rail in self.board.rails if low <= rail.volts <= high]
        supply = self.net(min(fits, key=lambda r: abs(r.volts - 5.0)).net) if fits else -1
        at = {
            "pin": self.net(leaving.net),
            "supply": supply,
            "other": self.net(leaving.net_to or self.board.ground),
        }
        self.elements(f"offsheet {leaving.net}", offsheet_elements(leaving), at)

    def bridge_all(self) -> None:
        for part in self.board.parts:
            package = package_pins(self.kinds[part.designator].word, part)
            for first, second in neighbours(part, package):
                one, two = part.pins[first], part.pins[second]
                if one == two:
                    continue
                ends = (
                    PinRef(designator=part.designator, pin=first),
                    PinRef(designator=part.designator, pin=second),
                )
                name = f"{ends[0]}-{ends[1]}"
                self.bridges[name] = ends
                self.elements(
                    BOARD,
                    (
                        Element(
                            name=f"bridge:{name}",
                            law=Conductance(),
                            terminals=("a", "b"),
                            params={"g": 0.0},
                        ),
                    ),
                    {"a": self.net(one), "b": self.net(two)},
                )

    def meter_pairs(self) -> list[tuple[int, int]]:
        """Legs of one small part: a meter is put across them."""
        found: list[tuple[int, int]] = []
        for part in self.board.parts:
            refs = [PinRef(designator=part.designator, pin=pin) for pin in part.pins]
            if len(refs) <= _SMALL:
                found += itertools.combinations([self.legs[ref] for ref in refs], 2)
        return found

    def elements(self, owner: str, elements: Iterable[Element], at: Mapping[str, int]) -> None:
        inner: dict[str, int] = {}
        for element in elements:
            nodes = []
            for terminal in element.terminals:
                if terminal == "0":
                    nodes.append(-1)
                elif terminal.startswith("~"):
                    if terminal not in inner:
                        inner[terminal] = self.node(f"{owner}{terminal}")
                    nodes.append(inner[terminal])
                else:
                    nodes.append(at[terminal])
            key = (owner, element.name)
            self.placed.append(
                Placed(key=key, law=element.law, nodes=tuple(nodes), params=element.params)
            )
            self.spreads.extend(
                SpreadAt(key=key, param=param, spread=spread)
                for param, spread in element.spread.items()
            )
            if element.clocked is not None:
                inputs: tuple[str, ...] = getattr(element.law, "inputs", ())
                self.clocked.append(ClockedAt(key=key, inputs=inputs, rule=element.clocked))

    def finish(self) -> Assembly:
        return Assembly(
            board=self.board,
            circuit=make_circuit(len(self.names), self.placed, self.meter_pairs()),
            kinds=self.kinds,
            net_node=self.nets,
            leg_node=self.legs,
            trouble_node=self.troubles,
            node_names=tuple(self.names),
            spreads=tuple(self.spreads),
            clocked=tuple(self.clocked),
            bridges=self.bridges,
        )
