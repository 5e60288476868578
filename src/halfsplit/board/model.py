"""What a board file says, as plain data. Nothing here knows how a part behaves.

Two boards are equal when they say the same: spots, and the text it came from, do not count.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from halfsplit.frozen import dataclass

__all__ = [
    "BLOCK",
    "DESCRIBED",
    "GROUND",
    "Board",
    "DescribedPin",
    "Description",
    "Drive",
    "Gives",
    "OffSheet",
    "Output",
    "Part",
    "Rail",
    "Remarks",
    "Spot",
    "State",
    "Step",
]

GROUND = "GND"
"""Default name of the ground net."""
DESCRIBED = "described"
"""Kind of the parts that the board file itself describes."""
BLOCK = "block"
"""Kind of a stage with inputs and outputs of which nobody has said what is inside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where something was typed; lines and columns count from 1, 0 when made by a program."""

    line: int = 0
    column: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """A supply that this board receives, e.g. ``+5``.

    ``tolerance`` is a fraction (0.05); ``ohms`` the supply's own resistance, ohm.
    """

    net: str
    volts: float
    tolerance: float = 0.05
    ohms: float = 0.05
    spot: Spot = field(default_factory=Spot, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remarks:
    """What a person knows about a part, apart from how it is wired."""

    spare: bool = False
    """One is in the drawer."""
    price: float | None = None
    irreplaceable: bool = False
    socketed: bool = False
    verified: bool = False
    """Checked on this very board against the schematic."""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DescribedPin:
    """A pin of a described part: ``name`` as on the package (``"3"``), ``title`` its function."""

    name: str
    title: str
    role: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Gives:
    """What the output of that function gives: logic expressions over functions of inputs.

    ``enable`` is empty for always on; with a ``clock`` it takes ``level`` as that rises.
    """

    output: str
    level: str
    enable: str = ""
    clock: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """A part that the table of kinds lacks. An output that no ``gives`` is for is a black box."""

    name: str
    family: str
    title: str = ""
    pins: tuple[DescribedPin, ...] = ()
    gives: tuple[Gives, ...] = ()
    spot: Spot = field(default_factory=Spot, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part as typed.

    ``kind`` names a part kind (``"resistor"``, ``"74LS38"``); ``type`` the type number typed,
    if any (``"2N3904"``). ``value`` is SI, ``None`` when the kind takes none or it is unknown
    (``?``); ``tolerance`` a fraction or ``None`` for the kind's default. ``fields`` are the
    kind's further fields as typed. ``pins`` maps the kind's pin name to a net, in typed order;
    a pin that is not connected is absent, and power pins implied by the family are present
    here (marked in ``implied``).
    """

    designator: str
    kind: str
    type: str = ""
    value: float | None = None
    tolerance: float | None = None
    fields: Mapping[str, str] = field(default_factory=dict)
    pins: Mapping[str, str] = field(default_factory=dict)
    implied: frozenset[str] = frozenset()
    roles: Mapping[str, str] = field(default_factory=dict)
    """Pin name -> role, for kinds whose pins the file declares (controllers, off-sheet)."""
    description: Description | None = None
    """Of a part of kind ``described``; its ``type`` is the description's name."""
    remarks: Remarks = field(default_factory=Remarks)
    spot: Spot = field(default_factory=Spot, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """One thing set in a state: ``target`` (a net, rail, switch, connector or part) to ``value``.

    ``value`` is as typed: ``low``, ``high``, ``open`` (not driven), a voltage ``2.4V``, ``off``
    (a rail), ``out`` (a connector unplugged), a word that the part's kind understands
    (``closed``, ``blocked``), or of a block's net ``pulses`` or ``good`` (fed in).
    """

    target: str
    value: str
    spot: Spot = field(default_factory=Spot, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """All that is set at one moment of a state."""

    drives: tuple[Drive, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A named operating condition: its steps in order; readings are taken after the last."""

    name: str
    steps: tuple[Step, ...]
    powered: bool = True
    note: str = ""
    spot: Spot = field(default_factory=Spot, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class OffSheet:
    """A net that leaves what was typed.

    ``what`` is ``"drive"`` (an output of ``family`` drives it, at a level the states give),
    ``"load"`` (``count`` inputs of ``family``, or ``ohms`` to ``net_to``) or ``"unknown"``.
    """

    net: str
    what: Literal["drive", "load", "unknown"]
    family: str = ""
    count: int = 1
    ohms: float | None = None
    net_to: str = ""
    spot: Spot = field(default_factory=Spot, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """Something the owner sees the equipment do: how the symptom is stated.

    ``measure`` is ``"current"`` (of part ``target``, on above ``threshold`` ampere),
    ``"volts"`` (of net ``target``, on above ``threshold`` volt), ``"level"`` (of net
    ``target``: high, low or undefined, by the family on the net) or ``"right"`` (of net
    ``target``: as on a good board).
    """

    name: str
    measure: Literal["current", "volts", "level", "right"]
    target: str
    threshold: float = 0.0
    spot: Spot = field(default_factory=Spot, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A board: title, rails, parts, states, off-sheet nets, outputs, and the text it came from."""

    title: str
    revision: str = ""
    ground: str = GROUND
    rails: tuple[Rail, ...] = ()
    descriptions: tuple[Description, ...] = ()
    parts: tuple[Part, ...] = ()
    states: tuple[State, ...] = ()
    offsheet: tuple[OffSheet, ...] = ()
    outputs: tuple[Output, ...] = ()
    testpoints: Mapping[str, str] = field(default_factory=dict)
    """Test point name -> net."""
    notes: tuple[str, ...] = ()
    text: str = field(default="", compare=False)

    def part(self, designator: str) -> Part | None:
        """The part of that designator, or ``None``."""
        return next((part for part in self.parts if part.designator == designator), None)

    def state(self, name: str) -> State | None:
        """The state of that name, or ``None``."""
        return next((state for state in self.states if state.name == name), None)

    def nets(self) -> dict[str, tuple[tuple[str, str], ...]]:
        """Net -> its pins as (designator, pin), in the order of first mention; ground included."""
        found: dict[str, list[tuple[str, str]]] = {}
        for part in self.parts:
            for pin, net in part.pins.items():
                found.setdefault(net, []).append((part.designator, pin))
        for net in [rail.net for rail in self.rails] + [leaving.net for leaving in self.offsheet]:
            found.setdefault(net, [])
        return {net: tuple(pins) for net, pins in found.items()}
