"""Parts that the board file itself describes, because the table of kinds lacks them.

An output with an equation or a truth table behaves as one of a logic chip of the family named; one
without is a black box, let go until a state drives it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.board.model import DESCRIBED, Description, Part
from halfsplit.board.vocabulary import KindWord
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.parts._base import refuse
from halfsplit.parts._families import FAMILIES
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._logic_chips import Chip, ChipOutput, ChipPin
from halfsplit.parts._logic_elements import Wiring
from halfsplit.parts._logic_modes import modes
from halfsplit.parts.kind import Change, Defaults, Mode, Rate
from halfsplit.solve.law import Clocked, Element
from halfsplit.solve.laws.linear import Conductance
from halfsplit.solve.laws.logic import LogicOutput

__all__ = ["KIND", "Described"]

_NEVER = "0"
"""Level and enable of a black box's output until a state drives it."""
_OUTPUTS = frozenset({"out", "oc", "tri", "io"})
_SIGNALS = _OUTPUTS | {"in"}
_JOINED = 100.0
"""Between pins of one chip that are one net inside, S."""


@dataclass(frozen=True, kw_only=True)
class Described(Defaults):
    """The kind of every described part; what it is comes with the part."""

    word: KindWord

    @property
    def name(self) -> str:
        return self.word.name

    def elements(self, part: Part) -> Sequence[Element]:
        wiring = _wiring(part)
        if wiring is None:
            return ()
        only_low = {f"out{pin.name}" for pin in _described(part).pins if pin.role == "oc"}
        found = [
            replace(each, law=replace(each.law, high="none"))
            if each.name in only_low and isinstance(each.law, LogicOutput)
            else each
            for each in wiring.elements()
        ]
        return (*found, *_more_power(part))

    def modes(self, part: Part) -> Sequence[Mode]:
        wiring = _wiring(part)
        return () if wiring is None else modes(wiring)

    def rate(self, part: Part) -> Rate:
        wiring = _wiring(part)
        mos = wiring is not None and wiring.family.mos
        return part_count_rate(f"IC digital {'MOS' if mos else 'bipolar'} 101-1000 gates")

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        wiring = _wiring(part)
        if wiring is None:
            return ()
        black = {
            wiring.chip.pin(output.name).number
            for output in wiring.outputs()
            if output.enable == _NEVER
        }
        if pin not in black:
            return ()
        to = {"e0": 0.0} if level is None else {"a0": level, "a1": 0.0, "e0": 1.0}
        return tuple(
            Change(element=f"out{pin}", param=param, value=value)
            for param, value in {**to, "e1": 0.0}.items()
        )


def _described(part: Part) -> Description:
    if part.description is None:
        raise refuse(part, "expected a description; type a describe line for it")
    return part.description


def _wiring(part: Part) -> Wiring | None:
    """The chip as wired; None for one without a signal pin."""
    described = _described(part)
    if described.family not in FAMILIES:
        raise refuse(part, str(UnknownName("logic family", described.family, FAMILIES)))
    if not any(pin.role in _SIGNALS for pin in described.pins):
        return None
    return Wiring(chip=_chip(described), family=FAMILIES[described.family], part=part)


def _chip(described: Description) -> Chip:
    seen: set[str] = set()
    pins = []
    for pin in described.pins:
        role = pin.role
        if role in ("supply", "ground"):  # the first of each; others are joined, or only load
            role = "passive" if role in seen else role
            seen.add(pin.role)
        pins.append(ChipPin(number=pin.name, name=pin.title, role=role))
    given = {each.output: each for each in described.gives}
    outputs = []
    for pin in described.pins:
        if pin.role not in _OUTPUTS:
            continue
        gives = given.get(pin.title)
        if gives is None:
            outputs.append(ChipOutput(name=pin.title, level=_NEVER, enable=_NEVER))
        elif gives.clock:
            stored = Clocked(clock=gives.clock, data=gives.level)
            outputs.append(
                ChipOutput(name=pin.title, level="q", enable=gives.enable, clocked=stored)
            )
        else:
            outputs.append(ChipOutput(name=pin.title, level=gives.level, enable=gives.enable))
    every = {pin.role for pin in described.pins if pin.role in _OUTPUTS}
    return Chip(
        number=described.name, title=described.title, families=(), pins=tuple(pins),
        outputs=tuple(outputs), output="oc" if every == {"oc"} else "totem",
    )  # fmt: skip


def _more_power(part: Part) -> Sequence[Element]:
    """Further ground pins are one with the first inside."""
    grounds = [pin.name for pin in _described(part).pins if pin.role == "ground"]
    connected = [pin for pin in grounds if pin in part.pins]
    return tuple(
        Element(name=f"ground {pin}", law=Conductance(), terminals=(connected[0], pin),
                params={"g": _JOINED})
        for pin in connected[1:]
    )  # fmt: skip


KIND = Described(
    word=KindWord(
        name=DESCRIBED,
        title="Part described in the board file",
        free_pins=True,
        help="A chip that this table lacks: a line `describe` gives its pins, `gives` lines what "
        "its outputs give; see the board file's page. Then its name stands where a kind does.",
        example='describe MINE 74LS "a gate described here" in 1=A 2=B out 3=Y supply 14=VCC '
        "ground 7=GND\ngives MINE.Y !(A & B)\nU1 MINE 1=X 2=Z 3=W",
    )
)
