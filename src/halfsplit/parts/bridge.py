"""Bridge rectifiers."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, BaseKind, changed, failing, terminal
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode

__all__ = ["KIND", "Bridge"]

_ROW = "Diode rectifier"
_NOTE = "datasheet typical, from memory"
_LEGS = (("ac1", "+"), ("ac2", "+"), ("-", "ac1"), ("-", "ac2"))
"""Anode and cathode of the four diodes."""


@dataclass(frozen=True, kw_only=True)
class Bridge(BaseKind):
    """Four diodes in one case."""

    def elements(self, part: Part) -> Sequence[Element]:
        return tuple(
            Element(
                name=f"d {anode} {cathode}", law=Diode(),
                terminals=(terminal(part, anode), terminal(part, cathode)),
                params={"is_": 15e-9 * self.number(part, "amps"), "n": 2.0,
                        "bv": 1.3 * self.number(part, "volts"), "nbv": 1.0, "gp": 1e-9},
                spread={"is_": Spread(relative=0.5, shape="log", together="die")},
            )
            for anode, cathode in self._used(part)
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        found: list[Mode] = []
        for anode, cathode in used:
            element, where, of = f"d {anode} {cathode}", f"{anode} to {cathode}", 1.0 / len(used)
            found += [
                failing(f"{where} short", f"shorted from {where}",
                        changed(element, gp=JUNCTION_SHORT), row=(_ROW, "short"), of=of,
                        test_out=1.0),
                failing(f"{where} open", f"open from {where} (half a wave is missing)",
                        changed(element, **dead_diode()), row=(_ROW, "open"), of=of,
                        test_out=1.0),
                failing(f"{where} leaky", f"leaking from {where}", changed(element, gp=1e-4),
                        row=(_ROW, "parameter change"), of=of, test_out=0.9),
            ]  # fmt: skip
        return found

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Diode power rectifier or Schottky", 4.0)

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (
            Rating(name="reverse voltage", value=self.number(part, "volts"), unit="V",
                   source=_NOTE),
            Rating(name="forward current", value=self.number(part, "amps"), unit="A",
                   source=_NOTE),
        )  # fmt: skip

    def _used(self, part: Part) -> tuple[tuple[str, str], ...]:
        """Legs with both ends connected."""
        return tuple(leg for leg in _LEGS if leg[0] in part.pins and leg[1] in part.pins)


KIND = Bridge(
    types=tuple(
        TypeWord(name=name, kind="bridge", fields={"volts": volts, "amps": amps})
        for name, volts, amps in (
            ("W005", "50", "1.5"), ("W02", "200", "1.5"), ("W04", "400", "1.5"),
            ("KBL02", "200", "4"), ("KBU4D", "200", "4"), ("KBPC2502", "200", "25"),
            ("MDA970A1", "50", "4"), ("DB104", "400", "1"),
        )
    ),
    word=KindWord(
        name="bridge", title="Bridge rectifier",
        pins=(
            PinWord(name="ac1", title="one AC input", other_names=("~1",)),
            PinWord(name="ac2", title="other AC input", other_names=("~2", "~")),
            PinWord(name="+", title="positive output", other_names=("pos",)),
            PinWord(name="-", title="negative output", other_names=("neg",)),
        ),
        fields=(
            FieldWord(name="volts", unit="V", default="200", help="rated reverse voltage"),
            FieldWord(name="amps", unit="A", default="1.5", help="rated forward current"),
        ),
        help="Fed by a transformer: its state shows one half-wave at a time. The reservoir "
        "behind it holds its charge: discharge it through a resistor first.",
        example="BR1 bridge W04 ac1=SEC1 ac2=SEC2 +=RAW -=GND",
    ),
)  # fmt: skip
