"""Resistor networks: bussed (one common pin) and isolated packs."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import OPEN, SHORT, BaseKind, changed, failing, refuse, tolerance_of
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.linear import Conductance

__all__ = ["KINDS", "ResistorNetwork"]

_MOST = 16
_PINS = tuple(PinWord(name=str(n)) for n in range(1, _MOST + 1))


@dataclass(frozen=True, kw_only=True)
class ResistorNetwork(BaseKind):
    """Several equal resistors in one package; the film is one, so they drift together."""

    bussed: bool

    def elements(self, part: Part) -> Sequence[Element]:
        ohms = self.value(part, 10e3)
        typed = tolerance_of(part, 0.02, self.value_known(part))
        spread = Spread(relative=typed.relative, shape=typed.shape, together="pack")
        return tuple(
            Element(
                name=f"r{first}-{second}",
                law=Conductance(),
                terminals=(first, second),
                params={"g": 1.0 / ohms},
                spread={"g": spread},
            )
            for first, second in self.resistors(part)
        )

    def modes(self, part: Part) -> Sequence[Mode]:
        pairs = self.resistors(part)
        short = max(SHORT, 10.0 / self.value(part, 10e3))
        found: list[Mode] = []
        for first, second in pairs:
            element, pin = f"r{first}-{second}", second
            found.append(
                failing(f"{element} open", f"open between pins {first} and {second}",
                        changed(element, g=OPEN), row=("Resistor network", "open"),
                        of=1.0 / len(pairs), pin=pin, test_out=1.0)
            )  # fmt: skip
            found.append(
                failing(f"{element} short", f"shorted between pins {first} and {second}",
                        changed(element, g=short), row=("Resistor network", "short"),
                        of=1.0 / len(pairs), pin=pin, test_out=1.0)
            )  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Resistor network")

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="dissipation per resistor", value=self.number(part, "watts"), unit="W",
                   source="common practice, no source"),
        )  # fmt: skip

    def resistors(self, part: Part) -> tuple[tuple[str, str], ...]:
        """Pin pairs with a resistor between, both connected, in the order of pins."""
        if self.bussed:
            common = self.text(part, "common")
            if common not in {pin.name for pin in _PINS}:
                raise refuse(part, f"common must be a pin from 1 to {_MOST}, got {common!r}")
            pairs = [(common, pin.name) for pin in _PINS if pin.name != common]
        else:
            pairs = self._isolated(part)
        return tuple((a, b) for a, b in pairs if a in part.pins and b in part.pins)

    def _isolated(self, part: Part) -> list[tuple[str, str]]:
        layout = self.text(part, "layout")
        if layout == "single":
            return [(str(n), str(n + 1)) for n in range(1, _MOST, 2)]
        if layout == "dual":
            size = int(self.number(part, "package"))
            if size % 2 or not 4 <= size <= _MOST:
                raise refuse(part, f"package must be an even number from 4 to {_MOST}, got {size}")
            return [(str(n), str(size + 1 - n)) for n in range(1, size // 2 + 1)]
        raise refuse(part, f"layout must be single or dual, got {layout!r}")


_WATTS = FieldWord(name="watts", unit="W", default="0.125", help="rated dissipation of each")

KINDS = (
    ResistorNetwork(
        bussed=True,
        word=KindWord(
            name="bussed-network",
            title="Resistor network, bussed",
            value_unit="Ω",
            pins=_PINS,
            fields=(FieldWord(name="common", default="1", help="the common pin"), _WATTS),
            help="Each pin through one resistor to the common pin. Leave out unused pins.",
            example="RN1 bussed-network 4k7 1=+5 2=D0 3=D1 4=D2",
        ),
    ),
    ResistorNetwork(
        bussed=False,
        word=KindWord(
            name="isolated-network",
            title="Resistor network, isolated",
            value_unit="Ω",
            pins=_PINS,
            fields=(
                FieldWord(name="layout", default="single",
                          help="single (in line: 1-2, 3-4) or dual (two rows: 1-16, 2-15)"),
                FieldWord(name="package", unit="1", default="16", help="pins of a dual layout"),
                _WATTS,
            ),
            help="Separate resistors between pairs of pins.",
            example="RN2 isolated-network 330 1=A 2=B 3=C 4=D",
        ),
    ),
)  # fmt: skip
