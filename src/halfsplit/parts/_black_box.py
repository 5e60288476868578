"""What black boxes with logic pins share: how their pins load and drive, and how they fail."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.frozen import dataclass
from halfsplit.parts._base import changed, failing
from halfsplit.parts._families import (
    clamp_elements,
    family,
    input_elements,
    let_go,
    output_element,
    set_to,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._supply import supply_elements
from halfsplit.parts.kind import Change, Mode, Rate
from halfsplit.parts.offsheet import DRIVE, unknown_drive, unknown_elements
from halfsplit.solve.law import Element, Spread

__all__ = ["BlackBox", "Boxed"]

_ROW = "Microcircuit digital MOS"
_SUM = 1.01
"""The handbook's row adds up to 1.01."""
_SHORT = 0.2
"""A pin shorted to ground inside, S."""
_LEAKY = 1e-3
"""A pin that leaks to ground, S (assumed)."""
_OUTPUTS = frozenset({"out", "oc", "tri", "io"})
_INPUTS = frozenset({"in", "io"})
_UNKNOWN = "analog"


@dataclass(frozen=True, slots=True, kw_only=True)
class BlackBox:
    """Connected ``pins`` with their roles (those of the vocabulary, and "analog" for one that is a
    load nobody knows), a logic family's strength, terminals of the supply, and what it draws at
    5 V. Outputs are let go until a state drives them."""

    pins: tuple[tuple[str, str], ...]
    family: str
    supply: str
    ground: str
    amps: float

    def elements(self) -> Sequence[Element]:
        """Inputs, outputs and clamps of each pin, and the supply's current."""
        found: list[Element] = []
        for pin, role in self.pins:
            if role == _UNKNOWN:
                found += unknown_elements(pin, pin)
                continue
            if role in _INPUTS:
                found += input_elements(f"in {pin}", self.family, pin, self.supply, self.ground)
            if role in _OUTPUTS:
                found.append(
                    output_element(f"out {pin}", self.family, pin, self.supply, self.ground,
                                   pulls_up=role != "oc")
                )  # fmt: skip
            if role in _INPUTS | _OUTPUTS:
                found += clamp_elements(pin, self.family, pin, self.supply, self.ground)
        wide = Spread(relative=0.4, shape="log")
        found.extend(supply_elements("supply", self.supply, self.ground, self.amps, wide))
        return found

    def modes(self) -> Sequence[Mode]:
        """Dead altogether, and each pin's own ways."""
        outputs = [pin for pin, role in self.pins if role in _OUTPUTS]
        inputs = [pin for pin, role in self.pins if role in _INPUTS]
        unknown = [pin for pin, role in self.pins if role == _UNKNOWN]
        found: list[Mode] = []
        if outputs:
            dead: list[Change] = []
            for pin in outputs:
                dead += let_go(f"out {pin}")
            found.append(
                failing("dead", "dead (no output driven)", dead, row=(_ROW, "supply open"),
                        of=1.0 / _SUM)
            )  # fmt: skip
        for pin in outputs:
            element, of = f"out {pin}", 1.0 / len(outputs) / _SUM
            found += [
                failing(f"{pin} output open", f"open at output {pin} inside", let_go(element),
                        row=(_ROW, "output open"), of=of, pin=pin),
                failing(f"{pin} stuck low", f"stuck low at {pin}", set_to(element, 0.0),
                        row=(_ROW, "output stuck low"), of=of, pin=pin),
                failing(f"{pin} stuck high", f"stuck high at {pin}", set_to(element, 1.0),
                        row=(_ROW, "output stuck high"), of=of, pin=pin),
            ]  # fmt: skip
        of = 1.0 / max(len(inputs) + len(unknown), 1) / _SUM
        for pin in inputs:
            found += [
                failing(f"{pin} input open", f"open at input {pin} inside", self._no_load(pin),
                        row=(_ROW, "input open"), of=0.7 * of, pin=pin),
                failing(f"{pin} input short", f"shorted to ground at input {pin}",
                        changed(f"in {pin}", g=_SHORT), row=(_ROW, "input open"), of=0.2 * of,
                        pin=pin),
                failing(f"{pin} input leaky", f"leaking to ground at input {pin}",
                        changed(f"in {pin}", g=_LEAKY), row=(_ROW, "input open"), of=0.1 * of,
                        pin=pin, test_out=0.6),
            ]  # fmt: skip
        for pin in unknown:
            found.append(
                failing(f"{pin} input short", f"shorted to ground at {pin}",
                        changed(f"load {pin}", g=_SHORT), row=(_ROW, "input open"), of=of, pin=pin)
            )  # fmt: skip
        return found

    def drive(self, pin: str, level: float | None) -> Sequence[Change]:
        """What a state's word does to a pin."""
        role = dict(self.pins).get(pin)
        if role == _UNKNOWN:
            return unknown_drive(f"{DRIVE} {pin}", level)
        if role not in _OUTPUTS:
            return ()
        return let_go(f"out {pin}") if level is None else set_to(f"out {pin}", level)

    def _no_load(self, pin: str) -> tuple[Change, ...]:
        off = changed(f"in {pin}", g=0.0)
        if family(self.family).r:
            return (*off, Change(element=f"in {pin}", param="k", value=0.0))
        return (*off, Change(element=f"in {pin} up", param="g", value=0.0))


class Boxed(ABC):
    """What kinds of part have in common of which only the pins are known."""

    @abstractmethod
    def box(self, part: Part) -> BlackBox:
        """The part's pins, their roles and its family. Raises :class:`BoardError`."""

    def elements(self, part: Part) -> Sequence[Element]:
        return self.box(part).elements()

    def modes(self, part: Part) -> Sequence[Mode]:
        return self.box(part).modes()

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC MOS microprocessor to 8 bit")

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        return self.box(part).drive(pin, level)
