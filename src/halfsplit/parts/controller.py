"""Controller: a black box with pins whose levels the states give."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.parts._base import BaseKind, changed, failing, refuse
from halfsplit.parts._families import (
    FAMILIES,
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
from halfsplit.solve.law import Element, Spread

__all__ = ["KIND", "Controller"]

_ROW = "Microcircuit digital MOS"
_SUM = 1.01
"""The handbook's row adds up to 1.01."""
_SHORT = 0.2
"""A pin shorted to ground inside, S."""
_LEAKY = 1e-3
"""A pin that leaks to ground, S (assumed)."""
_OUTPUTS = frozenset({"out", "oc", "tri", "io"})
_INPUTS = frozenset({"in", "io"})


@dataclass(frozen=True, kw_only=True)
class Controller(BaseKind):
    """Pins and roles come from the file. Outputs are let go until a state drives them."""

    def elements(self, part: Part) -> Sequence[Element]:
        name = self.family(part)
        supply, ground = self._supply(part), self._ground(part)
        found: list[Element] = []
        for pin, role in self._pins(part):
            if role in _INPUTS:
                found += input_elements(f"in {pin}", name, pin, supply, ground)
            if role in _OUTPUTS:
                found.append(
                    output_element(f"out {pin}", name, pin, supply, ground, pulls_up=role != "oc")
                )
            found += clamp_elements(pin, name, pin, supply, ground)
        draw = max(family(name).icc, 1e-6)
        wide = Spread(relative=0.4, shape="log")
        found.extend(supply_elements("supply", supply, ground, draw, wide))
        return found

    def modes(self, part: Part) -> Sequence[Mode]:
        outputs = [pin for pin, role in self._pins(part) if role in _OUTPUTS]
        inputs = [pin for pin, role in self._pins(part) if role in _INPUTS]
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
        for pin in inputs:
            of = 1.0 / len(inputs) / _SUM
            found += [
                failing(f"{pin} input open", f"open at input {pin} inside",
                        self._no_load(part, pin), row=(_ROW, "input open"), of=0.7 * of, pin=pin),
                failing(f"{pin} input short", f"shorted to ground at input {pin}",
                        changed(f"in {pin}", g=_SHORT), row=(_ROW, "input open"), of=0.2 * of,
                        pin=pin),
                failing(f"{pin} input leaky", f"leaking to ground at input {pin}",
                        changed(f"in {pin}", g=_LEAKY), row=(_ROW, "input open"), of=0.1 * of,
                        pin=pin, test_out=0.6),
            ]  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate("IC MOS microprocessor to 8 bit")

    def drive(self, part: Part, pin: str, level: float | None) -> Sequence[Change]:
        if part.roles.get(pin) not in _OUTPUTS:
            return ()
        return let_go(f"out {pin}") if level is None else set_to(f"out {pin}", level)

    def family(self, part: Part) -> str:
        """The family named. Raises :class:`BoardError`."""
        name = self.text(part, "family")
        if name not in FAMILIES:
            raise refuse(part, str(UnknownName("logic family", name, FAMILIES)))
        return name

    def _no_load(self, part: Part, pin: str) -> tuple[Change, ...]:
        off = changed(f"in {pin}", g=0.0)
        if family(self.family(part)).r:
            return (*off, Change(element=f"in {pin}", param="k", value=0.0))
        return (*off, Change(element=f"in {pin} up", param="g", value=0.0))

    def _pins(self, part: Part) -> tuple[tuple[str, str], ...]:
        """Signal pins that are connected, with their roles."""
        return tuple(
            (pin, part.roles[pin]) for pin in part.pins if part.roles.get(pin) in _OUTPUTS | _INPUTS
        )

    def _supply(self, part: Part) -> str:
        found = self._one(part, "supply")
        if not found:
            raise refuse(
                part, "expected a pin with the role supply, got none; type e.g. supply 40=+5"
            )
        return found

    def _ground(self, part: Part) -> str:
        return self._one(part, "ground") or "0"

    def _one(self, part: Part, role: str) -> str:
        return next((pin for pin in part.pins if part.roles.get(pin) == role), "")


KIND = Controller(
    word=KindWord(
        name="controller",
        title="Controller (black box)",
        free_pins=True,
        fields=(
            FieldWord(name="family", default="nmos", help="strength of its pins: "
                      + ", ".join(sorted(FAMILIES))),
        ),
        help="A programmed chip known only by its pins: states say what its outputs do. Roles (in, "
        "out, oc, tri, io, supply, ground) stand before the pins they go for. A programmed chip "
        "of the same number is not the same part: it holds a program.",
        example="U1 controller family=nmos supply 40=+5 ground 20=GND in 1=T0 out 21=P20 22=P21",
    ),
)  # fmt: skip
