"""Seven-segment displays: eight light-emitting diodes with one end in common."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.board.model import Part
from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord
from halfsplit.frozen import dataclass
from halfsplit.parts._base import JUNCTION_SHORT, BaseKind, changed, connected, failing, terminal
from halfsplit.parts._handbook import part_count_rate
from halfsplit.parts.diode import dead_diode
from halfsplit.parts.kind import Change, Mode, Rate, Rating
from halfsplit.solve.law import Element, Spread
from halfsplit.solve.laws.junction import Diode
from halfsplit.solve.smooth import VT

__all__ = ["KINDS", "SevenSegment"]

_ROW = "Optoelectronic LED"
_SEGMENTS = ("a", "b", "c", "d", "e", "f", "g", "dp")
_N = 2.0
_COMMON = "com"


@dataclass(frozen=True, kw_only=True)
class SevenSegment(BaseKind):
    """Segments ``a`` to ``g`` and ``dp``, and the common end."""

    anode: bool

    def elements(self, part: Part) -> Sequence[Element]:
        common = terminal(part, _COMMON)
        saturation = 10e-3 * math.exp(-self.number(part, "drop") / (_N * VT))
        return tuple(
            Element(
                name=segment, law=Diode(),
                terminals=(common, segment) if self.anode else (segment, common),
                params={"is_": saturation, "n": _N, "bv": 15.0, "nbv": 1.0, "gp": 1e-9},
                spread={"is_": Spread(relative=1.0, shape="log", together="die")},
            )
            for segment in self._used(part)
        )  # fmt: skip

    def modes(self, part: Part) -> Sequence[Mode]:
        used = self._used(part)
        if not used:
            return ()
        found: list[Mode] = []
        for segment in used:
            of = 1.0 / len(used)
            found += [
                failing(f"{segment} open", f"open in its segment {segment} (dark)",
                        changed(segment, **dead_diode()), row=(_ROW, "open"), of=0.9 * of,
                        pin=segment, test_out=1.0),
                failing(f"{segment} short", f"shorted in its segment {segment}",
                        changed(segment, gp=JUNCTION_SHORT), row=(_ROW, "short"), of=of,
                        pin=segment, test_out=1.0),
            ]  # fmt: skip
        dark: list[Change] = [one for each in used for one in changed(each, **dead_diode())]
        found.append(failing("common open", "open at its common end inside", dark,
                             row=(_ROW, "open"), of=0.1, pin=_COMMON, test_out=1.0))  # fmt: skip
        return connected(part, found)

    def rate(self, part: Part) -> Rate:
        return part_count_rate("Emitter (LED)", 8.0)

    def ratings(self, part: Part) -> Sequence[Rating]:
        return (Rating(name="forward current", value=0.02, unit="A",
                       source="common practice, no source"),)  # fmt: skip

    def _used(self, part: Part) -> tuple[str, ...]:
        return tuple(each for each in _SEGMENTS if each in part.pins)


def _kind(name: str, title: str, anode: bool, example: str) -> SevenSegment:
    titles = {"dp": "decimal point"}
    return SevenSegment(
        anode=anode,
        word=KindWord(
            name=name, title=title,
            pins=(
                *(PinWord(name=each, title=titles.get(each, f"segment {each}"),
                          other_names=(each.upper(),)) for each in _SEGMENTS),
                PinWord(name=_COMMON, title="common end", other_names=("COM",)),
            ),
            fields=(FieldWord(name="drop", unit="V", default="1.75",
                              help="drop of a segment at 10 mA"),),
            help="Pins by function: displays differ in their numbers. Two common pins are one net.",
            example=example,
        ),
    )  # fmt: skip


KINDS = (
    _kind("display-anode", "Seven-segment display, common anode", True,
          "DS1 display-anode a=SA b=SB com=+5"),
    _kind("display-cathode", "Seven-segment display, common cathode", False,
          "DS1 display-cathode a=SA b=SB com=GND"),
)  # fmt: skip
"""Drop of a red segment: trade data sheets, from memory."""
