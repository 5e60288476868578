"""Opto couplers in eight pins with a supply at their output side: 6N135 to 6N139."""

from __future__ import annotations

from halfsplit.board.vocabulary import FieldWord, KindWord, PinWord, TypeWord
from halfsplit.parts.opto import Opto, coupler_pins

__all__ = ["KIND"]

_TYPES = (
    ("6N135", "0.18"), ("6N136", "0.24"), ("6N137", "3"), ("6N138", "13"), ("6N139", "15"),
    ("HCPL2601", "3"), ("HCPL4502", "0.3"),
)  # fmt: skip
"""Type and transfer ratio: typical of the data sheets, from memory; of the 6N137, whose output is
a gate (13 mA at 5 mA of its LED), what the gate comes to."""

KIND = Opto(
    slotted=False,
    types=tuple(TypeWord(name=n, kind="fast-coupler", fields={"ctr": r}) for n, r in _TYPES),
    word=KindWord(
        name="fast-coupler", title="Opto coupler with a supply pin",
        pins=(
            *coupler_pins("2", "3", "6", "5"),
            PinWord(name="vcc", title="supply", other_names=("8", "VCC")),
            PinWord(name="vb", title="base or enable", other_names=("7", "VB", "VE")),
        ),
        fields=(FieldWord(name="ctr", unit="1", default="0.2", help="current transfer ratio"),),
        help="LED anode and cathode (2, 3), output and ground (6, 5) as a phototransistor; supply "
        "(8) and base or enable (7) load nothing here.",
        example="OP3 fast-coupler 6N137 a=A k=K c=OUT e=GND vcc=+5",
    ),
)  # fmt: skip
