"""Logic chips: real input and output stages around a core that computes the function.

What a chip does (its expressions and pins) is read from the table of chips; how it behaves
electrically is this folder's own. Plain NAND gates and inverters of the bipolar families have no
core at all: their input transistor drives the phase splitter, as on the die.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.frozen import dataclass
from halfsplit.parts.logic import LogicChip
from halfsplit.solve import expression
from halfsplit.solve.law import Clocked, Element
from halfsplit.solve.laws.logic import LogicOutput
from halfsplit.trial import spice_stages as stages
from halfsplit.trial.sheet import Sheet, Wrong

__all__ = ["Bit", "render_chip", "spoken"]

_INVERTING = re.compile(r"!\(?\w+( & \w+)*\)?")
_FATES = {
    "open": "open",
    "open, read high": "open",
    "open, read low": "open",
    "shorted to ground": "to ground",
    "leaky": "leaky",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bit:
    """A stored bit: the source that holds it, and the nodes that say what it does next.

    ``edge`` as in :class:`halfsplit.solve.law.Clocked`; empty nodes are never true.
    """

    source: str
    clock: str
    data: str
    edge: bool
    force_high: str = ""
    force_low: str = ""


def render_chip(sheet: Sheet, part: Part, kind: LogicChip, wrong: Wrong) -> list[Bit]:
    """Write a chip; returns its stored bits."""
    if not part.pins:
        return []
    return _ChipWriter(sheet, part, kind, wrong).write()


def spoken(text: str, nodes: Mapping[str, str]) -> str:
    """A logic expression in the simulator's language over nodes that stand at 0..1.

    And is the least, or the greatest, exclusive or the difference: right on the corners, and no
    operand is written twice.
    """
    stack: list[str] = []
    for token in expression.parse(text):
        if token == "!":
            stack.append(f"(1-{stack.pop()})")
        elif token in "&|^" and len(token) == 1:
            b, a = stack.pop(), stack.pop()
            stack.append({"&": f"min({a},{b})", "|": f"max({a},{b})", "^": f"abs({a}-{b})"}[token])
        elif token in "01":
            stack.append(token)
        else:
            stack.append(f"v({nodes[token]})")
    return stack[0]


class _ChipWriter:
    def __init__(self, sheet: Sheet, part: Part, kind: LogicChip, wrong: Wrong) -> None:
        self.sheet, self.part, self.kind, self.wrong = sheet, part, kind, wrong
        gates = [each for each in kind.elements(part) if isinstance(each.law, LogicOutput)]
        self.cores = [gate for gate in gates if gate.terminals[0].startswith("~")]
        self.elements = [gate for gate in gates if gate not in self.cores]
        self.chip = self._chip()
        self.levels: dict[str, str] = {}
        self.insides: dict[str, str] = {}
        self.bits: dict[tuple[str, ...], Bit] = {}
        self.drive = kind.chip.drive_of(kind.family.name)
        self.always: set[str] = set()
        enabled = wrong.like(r"(\d+(?:, \d+)*) always enabled")
        if enabled:
            self.always = set(enabled[1].split(", "))

    def write(self) -> list[Bit]:
        direct = [element for element in self.elements if self._is_direct(element)]
        inside = (*self.elements, *self.cores)
        wanted = {name for element in inside for name in element.terminals[3:]}
        through = {name for element in direct for name in element.terminals[3:]}
        numbers = [pin.number for pin in self.kind.chip.pins if pin.role in ("in", "io")]
        for number in numbers:
            terminal = number if number in self.part.pins else f"~{number}"
            if terminal in through or not (terminal in wanted or number in self.part.pins):
                continue
            self._input(terminal)
        amps = self.kind.chip.icc.get(self.kind.family.name, 0.0) * 0.5e-3
        stages.supply_current(
            self.sheet, self.chip.part, self.chip.vcc, self.chip.gnd, amps * self.sheet.factor(0.2)
        )
        self._inner_gates()
        for element in self.elements:
            if element in direct:
                self._direct(element)
            else:
                self._cored(element)
        return list(self.bits.values())

    def _chip(self) -> stages.Chip:
        sheet, part = self.sheet, self.part
        vcc, gnd = (self._node(self._supply(role)) for role in ("supply", "ground"))
        if self.wrong.is_("supply short"):
            sheet.ohms(sheet.name("r", part, "crowbar"), vcc, gnd, sheet.near(0.6, 0.4))
        for fate, old in (("supply open", vcc), ("ground open", gnd)):
            if self.wrong.is_(fate):
                inside = sheet.inner(part, fate)
                sheet.ohms(sheet.name("r", part, fate), old, inside, 1e9)
                vcc, gnd = (inside, gnd) if fate == "supply open" else (vcc, inside)
        return stages.Chip(
            part=part,
            family=stages.family(self.kind.family.name),
            vcc=vcc,
            gnd=gnd,
            ohms=sheet.near(1.0, 0.18),
        )

    def _supply(self, role: str) -> str:
        number = next(pin.number for pin in self.kind.chip.pins if pin.role == role)
        return number if number in self.part.pins else f"~{number}"

    def _node(self, terminal: str) -> str:
        if terminal.startswith("~"):
            return self.sheet.inner(self.part, f"nc_{terminal[1:]}")
        return self.sheet.pin(self.part, terminal)

    def _inside(self, terminal: str) -> str:
        """The node behind a pin's bond wire, made once."""
        if terminal not in self.insides:
            fate = next(
                (word for end, word in _FATES.items() if self.wrong.is_(f"{terminal} {end}")), ""
            )
            self.insides[terminal] = stages.bond(
                self.sheet, self.chip, terminal, self._node(terminal), fate
            )
        return self.insides[terminal]

    def _input(self, terminal: str) -> None:
        """An input stage, or the level that a broken one is taken for."""
        inside = self._inside(terminal)
        level = stages.input_stage(
            self.sheet, self.chip, terminal, inside, loads=self._loads(terminal)
        )
        if self.wrong.is_(f"{terminal} open, read high", f"{terminal} open, read low"):
            level = self.sheet.inner(self.part, f"read{terminal}")
            taken = 1.0 if self.wrong.mode.endswith("high") else 0.0
            self.sheet.volts(self.sheet.name("v", self.part, f"read{terminal}"), level, "0", taken)
        self.levels[terminal] = level

    def _loads(self, terminal: str) -> float:
        number = terminal.lstrip("~")
        name = next(pin.name for pin in self.kind.chip.pins if pin.number == number)
        low = 0.25 if self.kind.chip.inputs == "pnp" and self.chip.family.schottky else 1.0
        return low * self.kind.chip.load(self.kind.family.name, name)

    def _is_direct(self, element: Element) -> bool:
        """Whether a gate is written without a core."""
        law = element.law
        assert isinstance(law, LogicOutput)
        if self.chip.family.mos or element.clocked or law.enable or self.kind.chip.schmitt:
            return False
        pins, out = element.terminals[3:], element.terminals[0]
        alone = all(
            sum(pin in other.terminals[3:] for other in (*self.elements, *self.cores)) == 1
            and self._loads(pin) == 1.0
            for pin in pins
        )
        upset = any(
            self.wrong.is_(f"{out} {end}")
            for end in ("stuck high", "stuck low", "weak low", "weak high")
        )
        return alone and not upset and _INVERTING.fullmatch(law.level) is not None

    def _direct(self, element: Element) -> None:
        sheet, part, chip = self.sheet, self.part, self.chip
        out = element.terminals[0]
        base = sheet.inner(part, f"b{out}")
        collector = base if chip.family.schottky else sheet.inner(part, f"c{out}")
        sheet.ohms(sheet.name("r", part, f"b{out}"), chip.vcc, base, chip.family.base * chip.ohms)
        for pin in element.terminals[3:]:
            stages.input_junction(sheet, chip, pin, base, collector, self._inside(pin))
        self._stage(element, direct=collector)

    def _inner_gates(self) -> None:
        """Gates and bits inside, as levels of the core."""
        for core in self.cores:
            name = core.terminals[0].lstrip("~")
            self.levels[core.terminals[0]] = self.sheet.inner(self.part, f"core_{name}")
        for core in self.cores:
            at, name = self.levels[core.terminals[0]], core.terminals[0].lstrip("~")
            law, nodes = self._seen(core, name)
            spoke = spoken(law.level, nodes)
            self.sheet.add(f"{self.sheet.name('b', self.part, f'core_{name}')} {at} 0 v={spoke}")

    def _seen(self, gate: Element, out: str) -> tuple[LogicOutput, dict[str, str]]:
        """The gate's law, and the nodes of what its expressions name."""
        law = gate.law
        assert isinstance(law, LogicOutput)
        ends = zip(law.inputs, gate.terminals[3:], strict=True)
        nodes = {name: self.levels[pin] for name, pin in ends}
        if gate.clocked:
            nodes["q"] = self._bit(gate.clocked, nodes, out)
        return law, nodes

    def _cored(self, element: Element) -> None:
        out = element.terminals[0]
        law, nodes = self._seen(element, out)
        level = spoken(law.level, nodes)
        enable = spoken(law.enable, nodes) if law.enable else ""
        if self.wrong.is_(f"{out} stuck high", f"{out} stuck low"):
            level, enable = ("1" if self.wrong.mode.endswith("high") else "0"), ""
        if out in self.always:
            enable = ""
        if not enable and law.enable:
            enable = "1"
        self._stage(element, level=level, enable=enable)

    def _stage(
        self, element: Element, *, level: str = "", enable: str = "", direct: str = ""
    ) -> None:
        law, out = element.law, element.terminals[0]
        assert isinstance(law, LogicOutput)
        node = self._inside(out)
        weak = {"weak low": "area", "weak high": "upper"}
        drive = stages.DRIVES.get(self.drive, stages.DRIVES["standard"])
        for end, which in weak.items():
            if self.wrong.is_(f"{out} {end}"):
                drive = (
                    replace(drive, area=drive.area * 0.12, push=drive.push * 0.12)
                    if which == "area"
                    else replace(drive, upper=drive.upper * 0.12)
                )
        stages.output_stage(
            self.sheet, self.chip, out, node, pulls_up=law.high != "none", drive=drive,
            level=level, enable=enable, direct=direct,
        )  # fmt: skip

    def _bit(self, rule: Clocked, nodes: Mapping[str, str], out: str) -> str:
        """The node of a stored bit; outputs with the same rule share it."""
        texts = (rule.clock, rule.data, rule.force_high, rule.force_low)
        held = self.sheet.inner(self.part, f"bit{out}")
        key = tuple(spoken(text, {**nodes, "q": "q"}) if text else "" for text in texts)
        if key in self.bits:
            return self.bits[key].source.replace("v_", "i_", 1)
        told = [spoken(text, {**nodes, "q": held}) if text else "" for text in texts]
        source = self.sheet.name("v", self.part, f"bit{out}")
        self.sheet.volts(source, held, "0", 0.0, knob=True)
        names = []
        for what, text in zip(("ck", "d", "fh", "fl"), told, strict=True):
            node = self.sheet.inner(self.part, f"{what}{out}") if text else ""
            if node:
                self.sheet.add(f"{self.sheet.name('b', self.part, what + out)} {node} 0 v={text}")
            names.append(node)
        clock, data, high, low = names
        self.bits[key] = Bit(source=source, clock=clock, data=data, edge=rule.edge,
                             force_high=high, force_low=low)  # fmt: skip
        return held
