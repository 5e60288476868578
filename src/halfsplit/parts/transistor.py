"""Bipolar transistors, NPN and PNP."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import (
    JUNCTION_SHORT,
    OPEN,
    SHORT,
    BaseKind,
    changed,
    connected,
    failing,
    scaled,
    terminal,
    types_of,
)
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts._transistor_types import NPN as MORE_NPN
from halfsplit.parts._transistor_types import PNP as MORE_PNP
from halfsplit.parts.joints import lead_open
from halfsplit.parts.kind import Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Bipolar
from halfsplit.solve.laws.linear import Conductance

__all__ = ["BREAKDOWN_MARGIN", "KINDS", "TRANSISTOR_PINS", "Transistor", "base_ohms"]

_ROW = "Transistor bipolar"
_FROM_MEMORY = "datasheet, from memory"
BREAKDOWN_MARGIN = 1.5
"""Collector breakdown above its rating: assumed; makers leave a margin."""


_INNER = "~b"
_SMALL = 1.0
"""Largest dissipation of a small type, W."""
_BASE, _POWER_BASE = 10.0, 1.0
"""Ohms between the lead and the junctions of the base, up to 1 W and above: makers' simulation
models give 10 for small types (from memory); that of power types is assumed."""


def base_ohms(watts: float) -> float:
    """Ohms between the lead and the junctions of the base of a type rated so many watts."""
    return _POWER_BASE if watts > _SMALL else _BASE


@dataclass(frozen=True, kw_only=True)
class Transistor(BaseKind):
    """Collector, base, emitter."""

    sign: float

    def elements(self, part: Part) -> Sequence[Element]:
        if len(part.pins) < 2:
            return ()
        return (
            Element(
                name="q",
                law=Bipolar(sign=self.sign),
                terminals=(terminal(part, "c"), _INNER, terminal(part, "e")),
                params={
                    "is_": self.number(part, "is"),
                    "bf": self.number(part, "gain"),
                    "br": self.number(part, "reverse"),
                    "n": 1.0,
                    "bvce": BREAKDOWN_MARGIN * self.number(part, "volts"),
                    "gbe": OPEN, "gbc": OPEN, "gce": 1e-9,
                },
                spread={
                    "is_": Spread(relative=0.4, shape="log"),
                    "bf": Spread(relative=0.3, shape="log"),
                },
            ),
            Element(name="base", law=Conductance(), terminals=(terminal(part, "b"), _INNER),
                    params={"g": 1.0 / base_ohms(self.number(part, "watts"))},
                    spread={"g": Spread(relative=0.4, shape="log")}),
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        if len(part.pins) < 2:
            return ()
        weak, through = scaled("q", bf=0.1), changed("base", g=SHORT)
        found = (
            failing("c short to e", "shorted from collector to emitter",
                    changed("q", gce=JUNCTION_SHORT), row=(_ROW, "short"), of=0.45, test_out=1.0),
            failing("b short to c", "shorted from base to collector",
                    (*changed("q", gbc=JUNCTION_SHORT), *through), row=(_ROW, "short"),
                    of=0.2, test_out=1.0),
            failing("b short to e", "shorted from base to emitter",
                    (*changed("q", gbe=JUNCTION_SHORT), *through), row=(_ROW, "short"),
                    of=0.2, test_out=1.0),
            failing("c leaky to e", "leaking from collector to emitter", changed("q", gce=1e-3),
                    row=(_ROW, "short"), of=0.15, test_out=0.8),
            failing("b open", "open at its base inside", lead_open("b"),
                    row=(_ROW, "open"), of=0.35, pin="b", test_out=1.0),
            failing("c open", "open at its collector inside", lead_open("c"),
                    row=(_ROW, "open"), of=0.25, pin="c", test_out=1.0),
            failing("e open", "open at its emitter inside", lead_open("e"),
                    row=(_ROW, "open"), of=0.25, pin="e", test_out=1.0),
            failing("low gain", "down to a tenth of its gain", weak, row=(_ROW, "open"), of=0.15,
                    test_out=0.5),
        )  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        if self._large(part):
            return part_count_rate("Transistor bipolar power")
        return part_count_rate("Transistor bipolar small signal")

    def _large(self, part: Part) -> bool:
        return self.number(part, "watts") > _SMALL

    def ratings(self, part: Part) -> Sequence[Rating]:
        return self.limits(part, _FROM_MEMORY, volts="collector-emitter voltage",
                           amps="collector current", watts="dissipation")  # fmt: skip


TRANSISTOR_PINS = (
    PinWord(name="c", title="collector", other_names=("C", "collector")),
    PinWord(name="b", title="base", other_names=("B", "base")),
    PinWord(name="e", title="emitter", other_names=("E", "emitter")),
)

_COLUMNS = ("is", "gain", "reverse", "volts", "amps", "watts")


_POWER = (("29", "30", "1", "30"), ("31", "32", "3", "40"), ("41", "42", "6", "65"))
"""TIP number of the NPN, of the PNP, A, W."""
_LETTERS = (("", "40"), ("A", "60"), ("B", "80"), ("C", "100"))
"""Suffix and volts."""


def _power(column: int) -> list[tuple[str, ...]]:
    return [
        (f"TIP{row[column]}{suffix}", "1p", "60", "5", volts, row[2], row[3])
        for row in _POWER
        for suffix, volts in _LETTERS
    ]


_NPN = (
    ("2N3904", "6.7f", "200", "0.7", "40", "0.2", "0.625"),
    ("2N2222", "14f", "200", "6", "30", "0.8", "0.5"),
    ("2N2222A", "14f", "200", "6", "40", "0.8", "0.5"),
    ("2N4401", "26f", "200", "4", "40", "0.6", "0.625"),
    ("BC547", "18f", "290", "6", "45", "0.1", "0.5"),
    ("BC548", "18f", "290", "6", "30", "0.1", "0.5"),
    ("BC337", "40f", "250", "10", "45", "0.8", "0.625"),
    ("BC107", "18f", "250", "6", "45", "0.1", "0.3"),
    ("2N3053", "50f", "120", "5", "40", "0.7", "5"),
    ("2N3055", "1p", "50", "5", "60", "15", "115"),
    *_power(0),
    *MORE_NPN,
)
_PNP = (
    ("2N3906", "1.4f", "180", "5", "40", "0.2", "0.625"),
    ("2N2907", "2f", "200", "4", "40", "0.6", "0.4"),
    ("2N2907A", "2f", "200", "4", "60", "0.6", "0.4"),
    ("2N4403", "2f", "200", "4", "40", "0.6", "0.625"),
    ("BC557", "10f", "290", "5", "45", "0.1", "0.5"),
    ("BC558", "10f", "290", "5", "30", "0.1", "0.5"),
    ("BC327", "30f", "250", "10", "45", "0.8", "0.625"),
    ("BC177", "10f", "200", "5", "45", "0.1", "0.3"),
    *_power(1),
    *MORE_PNP,
)
"""Type, saturation current, gain, reverse gain, rated volts, amps, watts: datasheet typical and
maker's simulation models, from memory."""


def _word(name: str, title: str, example: str) -> KindWord:
    return KindWord(
        name=name,
        title=title,
        pins=TRANSISTOR_PINS,
        fields=(
            FieldWord(name="is", unit="A", default="10f", help="transport saturation current"),
            FieldWord(name="gain", unit="1", default="150", help="forward current gain"),
            FieldWord(name="reverse", unit="1", default="3", help="reverse current gain"),
            FieldWord(name="volts", unit="V", default="40", help="rated collector-emitter voltage"),
            FieldWord(name="amps", unit="A", default="0.2", help="rated collector current"),
            FieldWord(name="watts", unit="W", default="0.5", help="rated dissipation"),
        ),
        help="Collector, base, emitter; names beat order: leads of one type differ by maker.",
        example=example,
    )


KINDS = (
    Transistor(
        sign=1.0, types=types_of("npn", _COLUMNS, _NPN),
        word=_word("npn", "Transistor, NPN", "Q1 npn 2N3904 c=OUT b=IN e=GND"),
    ),
    Transistor(
        sign=-1.0, types=types_of("pnp", _COLUMNS, _PNP),
        word=_word("pnp", "Transistor, PNP", "Q2 pnp 2N3906 c=OUT b=IN e=+5"),
    ),
)  # fmt: skip
