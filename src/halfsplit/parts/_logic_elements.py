"""A logic chip as elements: what each connected pin takes and gives.

Element names: ``in3`` input current of pin 3 (bipolar), ``clamp3`` diode from ground to pin 3,
``top3`` diode from pin 3 to the supply (MOS), ``out3`` output, ``core a`` a gate or stored bit
inside with the node ``~a`` to itself, ``icc`` supply current, ``vcc`` a leak between the supply
pins.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from halfsplit.board.model import Part
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, terminal
from halfsplit.parts._logic_chips import Chip, ChipOutput, ChipPin, rename
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts._supply import supply_elements
from halfsplit.solve.law import Clocked, Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.logic import LogicOutput, Pull, TtlInput

__all__ = ["Wiring"]

_STEEP = 20.0
_CORE_LEAK = 1e-6
"""Holds the node of a core down when the chip has no supply, S."""
_TIMING_LEAK = 1e-6
"""From a pin for a timing resistor or capacitor to ground, S: something must hold it (assumed)."""
_OUTPUT_JUNCTION = Junction(is_=1e-14)
"""Collector to substrate: silicon in every bipolar family."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiring:
    """A chip of a family as wired on the board."""

    chip: Chip
    family: Family
    part: Part

    def elements(self) -> tuple[Element, ...]:
        """All elements; empty when no pin is connected."""
        if not self.part.pins:
            return ()
        found = list(self._supply())
        for pin in self.inputs():
            found += self._input(pin)
        looking = {pin.number for pin in self.inputs()}
        for output in self.outputs():
            pin = self.chip.pin(output.name)
            found.append(self._output(output, pin))
            if pin.number not in looking:
                found += self._clamps(pin, _OUTPUT_JUNCTION, leak=OPEN, top=output.pulls_up)
        for pin in self.chip.pins:
            if pin.role == "passive" and pin.number in self.part.pins:
                found += self._clamps(pin, self.family.clamp, leak=_TIMING_LEAK, top=True)
        found += [self._core(core) for core in self.cores()]
        return tuple(found)

    def inputs(self) -> tuple[ChipPin, ...]:
        """Input pins that are connected, or that a connected output looks at."""
        wanted = {name for each in self._working() for name in each.inputs()}
        return tuple(
            pin
            for pin in self.chip.pins
            if pin.role in ("in", "io") and (pin.number in self.part.pins or pin.name in wanted)
        )

    def outputs(self) -> tuple[ChipOutput, ...]:
        """Outputs whose pin is connected."""
        return tuple(
            output
            for output in self.chip.outputs
            if self.chip.pin(output.name).number in self.part.pins
        )

    def cores(self) -> tuple[ChipOutput, ...]:
        """Gates and bits inside that a connected output depends on."""
        inside = {core.name: core for core in self.chip.cores}
        left = [name for output in self.outputs() for name in output.inputs()]
        needed: set[str] = set()
        while left:
            name = left.pop()
            if name in inside and name not in needed:
                needed.add(name)
                left += inside[name].inputs()
        return tuple(core for core in self.chip.cores if core.name in needed)

    def looking_at(self, pin: ChipPin) -> tuple[tuple[str, int], ...]:
        """The elements that look at an input: name, and place of the input from 1."""
        return tuple(
            (self.element_of(each), each.inputs().index(pin.name) + 1)
            for each in self._working()
            if pin.name in each.inputs()
        )

    def element_of(self, each: ChipOutput) -> str:
        """Name of the element of an output or core."""
        if each in self.chip.cores:
            return f"core {each.name}"
        return f"out{self.chip.pin(each.name).number}"

    def _working(self) -> tuple[ChipOutput, ...]:
        return (*self.outputs(), *self.cores())

    def drive(self) -> Drive:
        """The strength of its outputs."""
        return self.family.drive(self.chip.drive_of(self.family.name))

    def _spread(self, what: str, **width: float) -> Spread:
        """A spread that all of the chip shares: one die."""
        shape = "normal" if "absolute" in width else "log"
        return Spread(**width, shape=shape, together=f"{self.part.designator} {what}")

    def _pin(self, name: str) -> str:
        """Where a function name, or a core's, is found."""
        if any(core.name == name for core in self.chip.cores):
            return f"~{name}"
        return terminal(self.part, self.chip.pin(name).number)

    def _power(self) -> tuple[str, str]:
        """Supply and ground terminals."""
        supply, ground = self.chip.power("supply"), self.chip.power("ground")
        return terminal(self.part, supply.number), terminal(self.part, ground.number)

    def _supply(self) -> Iterator[Element]:
        amps = self.chip.icc.get(self.family.name, self.family.icc * 1e3) * 1e-3
        yield from supply_elements(
            "icc", *self._power(), amps, self._spread("supply", relative=0.25)
        )

    def _input(self, pin: ChipPin) -> list[Element]:
        family = self.family
        if family.mos:
            top = self.chip.inputs != "tolerant"
            return self._clamps(pin, family.clamp, leak=family.leak, top=top)
        load = self.chip.load(family.name, pin.name)
        pnp = self.chip.inputs == "pnp" and family.pnp_r
        taken = Element(
            name=f"in{pin.number}",
            law=TtlInput(),
            terminals=(terminal(self.part, pin.number), *self._power()),
            params={
                "r": (family.pnp_r if pnp else family.r) / load,
                "drop": family.in_drop,
                "off_at": family.off_at,
                "k": 1.0,
                "g": family.leak * load,
            },
            spread={
                "r": self._spread("ohms", relative=0.15),
                "off_at": self._spread("threshold", absolute=family.vth_spread),
            },
        )
        return [taken, *self._clamps(pin, family.clamp, leak=OPEN, top=False)]

    def _clamps(self, pin: ChipPin, junction: Junction, *, leak: float, top: bool) -> list[Element]:
        here = terminal(self.part, pin.number)
        supply, ground = self._power()
        breaks_at = junction.bv
        if pin.role == "oc":
            breaks_at = self.drive().breaks_at
        params = {
            "is_": junction.is_, "n": junction.n, "bv": breaks_at, "nbv": 2.0, "gp": leak,
        }  # fmt: skip
        clamp = Element(
            name=f"clamp{pin.number}",
            law=Diode(),
            terminals=(ground, here),
            params=params,
            spread={"is_": self._spread("junctions", relative=0.5)},
        )
        if not (self.family.clamp_high and top):
            return [clamp]
        high = replace(clamp, name=f"top{pin.number}", terminals=(here, supply))
        return [clamp, high]

    def _output(self, output: ChipOutput, pin: ChipPin) -> Element:
        family, drive = self.family, self.drive()
        leak = OPEN if output.pulls_up else family.oc_leak
        current, ohms = (
            self._spread("strength", relative=0.2),
            self._spread("ohms", relative=0.15),
        )
        spread = {
            "vth": self._spread("threshold", absolute=family.vth_spread),
            "il": current, "ih": current, "rl": ohms, "rh": ohms,
        }  # fmt: skip
        if family.drop:
            spread["drop"] = self._spread("drop", absolute=0.1)
        high = family.high if output.pulls_up else "none"
        at = terminal(self.part, pin.number)
        return replace(self._gate(output, at, high, drive, leak), spread=spread)

    def _core(self, core: ChipOutput) -> Element:
        drive = self.family.drive("standard")
        return self._gate(core, f"~{core.name}", self.family.high, drive, _CORE_LEAK)

    def _gate(
        self, what: ChipOutput, at: str, high: Pull, drive: Drive,
        leak: float,
    ) -> Element:  # fmt: skip
        family, names = self.family, what.inputs()
        inner = {name: f"p{k}" for k, name in enumerate(names, start=1)}
        up, down = family.schmitt if self.chip.schmitt else (family.vth, family.vth)
        params = {
            "vth": 0.5 * (up + down), "rel": family.rel, "steep": _STEEP, "swing": up - down,
            "a0": 0.0, "a1": 1.0, "e0": 0.0, "e1": 1.0, "bit": 0.0, "kl": 1.0, "kh": 1.0,
            "il": drive.il, "rl": drive.rl, "off": drive.off,
            "ih": drive.ih or drive.il, "rh": drive.rh, "drop": family.drop,
            "on_at": family.on_at, "leak": leak,
        }  # fmt: skip
        for k in range(1, len(names) + 1):
            params |= {f"o{k}": 0.0, f"w{k}": 1.0}
        if not what.enable:
            params |= {"e0": 1.0, "e1": 0.0}
        return Element(
            name=self.element_of(what),
            law=LogicOutput(
                inputs=tuple(inner.values()),
                level=rename(what.level, inner),
                enable=rename(what.enable, inner),
                high=high,
            ),
            terminals=(at, *self._power(), *(self._pin(name) for name in names)),
            params=params,
            clocked=_renamed(what.clocked, inner),
        )


def _renamed(spec: Clocked | None, inner: dict[str, str]) -> Clocked | None:
    if spec is None:
        return None
    return Clocked(
        clock=rename(spec.clock, inner),
        data=rename(spec.data, inner),
        edge=spec.edge,
        force_high=rename(spec.force_high, inner),
        force_low=rename(spec.force_low, inner),
    )
