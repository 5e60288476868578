"""A logic chip as elements: what each connected pin takes and gives.

Element names: ``in3`` input current of pin 3 (bipolar), ``clamp3`` diode from ground to pin 3,
``top3`` diode from pin 3 to the supply (MOS), ``out3`` output, ``icc`` supply current, ``vcc``
a leak between the supply pins.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from halfsplit.board.model import Part
from halfsplit.parts._base import OPEN, terminal
from halfsplit.parts._logic_chips import Chip, ChipOutput, ChipPin, rename
from halfsplit.parts._logic_families import Drive, Family, Junction
from halfsplit.parts._supply import supply_elements
from halfsplit.solve.law import Clocked, Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.laws.logic import LogicOutput, TtlInput

__all__ = ["Wiring"]

_STEEP = 20.0
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
                found += self._clamps(pin, _OUTPUT_JUNCTION, leak=OPEN, top=self._pulls_up)
        return tuple(found)

    def inputs(self) -> tuple[ChipPin, ...]:
        """Input pins that are connected, or that a connected output looks at."""
        wanted = {name for output in self.outputs() for name in output.inputs()}
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

    def looking_at(self, pin: ChipPin) -> tuple[tuple[ChipPin, int], ...]:
        """The connected outputs that look at an input: pin, and place of the input from 1."""
        return tuple(
            (self.chip.pin(output.name), output.inputs().index(pin.name) + 1)
            for output in self.outputs()
            if pin.name in output.inputs()
        )

    def drive(self) -> Drive:
        """The strength of its outputs."""
        return self.family.drive(self.chip.drive_of(self.family.name))

    @property
    def _pulls_up(self) -> bool:
        return self.chip.output != "oc"

    def _spread(self, what: str, **width: float) -> Spread:
        """A spread that all of the chip shares: one die."""
        shape = "normal" if "absolute" in width else "log"
        return Spread(**width, shape=shape, together=f"{self.part.designator} {what}")

    def _pin(self, name: str) -> str:
        return terminal(self.part, self.chip.pin(name).number)

    def _supply(self) -> Iterator[Element]:
        amps = self.chip.icc.get(self.family.name, self.family.icc * 1e3) * 1e-3
        yield from supply_elements(
            "icc", self._pin("VCC"), self._pin("GND"), amps, self._spread("supply", relative=0.25)
        )

    def _input(self, pin: ChipPin) -> list[Element]:
        family = self.family
        if family.mos:
            return self._clamps(pin, family.clamp, leak=family.leak, top=True)
        load = self.chip.load(family.name, pin.name)
        pnp = self.chip.inputs == "pnp" and family.pnp_r
        taken = Element(
            name=f"in{pin.number}",
            law=TtlInput(),
            terminals=(terminal(self.part, pin.number), self._pin("VCC"), self._pin("GND")),
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
        breaks_at = junction.bv
        if pin.role == "oc":
            breaks_at = self.drive().breaks_at
        params = {
            "is_": junction.is_, "n": junction.n, "bv": breaks_at, "nbv": 2.0, "gp": leak,
        }  # fmt: skip
        clamp = Element(
            name=f"clamp{pin.number}",
            law=Diode(),
            terminals=(self._pin("GND"), here),
            params=params,
            spread={"is_": self._spread("junctions", relative=0.5)},
        )
        if not (self.family.clamp_high and top):
            return [clamp]
        high = replace(clamp, name=f"top{pin.number}", terminals=(here, self._pin("VCC")))
        return [clamp, high]

    def _output(self, output: ChipOutput, pin: ChipPin) -> Element:
        family, drive = self.family, self.drive()
        names = output.inputs()
        inner = {name: f"p{k}" for k, name in enumerate(names, start=1)}
        params = {
            "vth": family.vth, "rel": family.rel, "steep": _STEEP, "swing": 0.0,
            "a0": 0.0, "a1": 1.0, "e0": 0.0, "e1": 1.0, "bit": 0.0, "kl": 1.0, "kh": 1.0,
            "il": drive.il, "rl": drive.rl, "off": drive.off,
            "ih": drive.ih or drive.il, "rh": drive.rh, "drop": family.drop,
            "on_at": family.on_at, "leak": OPEN if self._pulls_up else family.oc_leak,
        }  # fmt: skip
        for k in range(1, len(names) + 1):
            params |= {f"o{k}": 0.0, f"w{k}": 1.0}
        if not output.enable:
            params |= {"e0": 1.0, "e1": 0.0}
        clocked = output.clocked
        if self.chip.schmitt:  # the inputs' AND is what the Schmitt stage sees, and remembers
            up, down = family.schmitt
            params |= {"vth": 0.5 * (up + down), "swing": up - down}
            clocked = Clocked(clock="1", data=" & ".join(names), edge=False)
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
        return Element(
            name=f"out{pin.number}",
            law=LogicOutput(
                inputs=tuple(inner.values()),
                level=rename(output.level, inner),
                enable=rename(output.enable, inner),
                high=family.high if self._pulls_up else "none",
            ),
            terminals=(
                terminal(self.part, pin.number),
                self._pin("VCC"),
                self._pin("GND"),
                *(self._pin(name) for name in names),
            ),
            params=params,
            spread=spread,
            clocked=_renamed(clocked, inner),
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
