"""The L200: an adjustable regulator for 2 A with a pin that limits the current."""

from __future__ import annotations

from halfsplit.board.vocabulary import KindWord, TypeWord
from halfsplit.parts._dip import numbered
from halfsplit.parts.precision_regulator import PrecisionRegulator

__all__ = ["KIND"]

KIND = PrecisionRegulator(
    reference=2.77,
    tied=(("V+", "1"), ("V-", "3"), ("VREF", "~ref"), ("IN+", "~ref"), ("IN-", "4"),
          ("COMP", "~drive"), ("VC", "1"), ("VOUT", "5"), ("CL", "5"), ("CS", "2")),
    limiter=2.7e-11,
    high=0.9,
    amps=2.0,
    sheet="data sheet of the L200, from memory",
    types=(TypeWord(name="L200C", kind="L200"),),
    word=KindWord(
        name="L200", title="Regulator, adjustable, with current limit",
        pins=numbered("supply/IN in/LIMIT ground/GND in/REF passive/OUT"),
        help="Output at the limit pin = 2.77 x (1 + upper / lower resistor at REF); it limits at "
        "0.45 V from OUT to LIMIT.",
        example="U1 L200 1=RAW 2=OUT 3=GND 4=FB 5=SENSE",
    ),
)  # fmt: skip
"""Pins, 2.77 V (2.64 to 2.86), 0.45 V (0.38 to 0.52): data sheet of the L200, from memory; the
limiting transistor carries 1 mA at 0.45 V."""
